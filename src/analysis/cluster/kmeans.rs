//! k-means.

use ndarray::Array2;
use rand::Rng;

use super::choice::drawn;
use crate::quantity::Seed;

/// Rounds of Lloyd steps at most, far more than small corpora need.
const MOST_ROUNDS: usize = 100;

/// Starts are compared on at most this many rows; the best goes on with all.
const MOST_COMPARED_ON: usize = 2_000;

/// A partition by k-means.
#[derive(Clone, Debug, PartialEq)]
pub struct KMeansPartition {
    /// Group of each row.
    pub labels: Vec<usize>,
    /// Sum of squared distances from the group means.
    pub within: f64,
}

/// k-means of the rows of `points`, the best of several starts; `None` if fewer than `groups` rows differ or a value is not finite.
///
/// The clustering package's centres are drawn towards the ones before (each old centre counts as a point) and take ten times as
/// long, most of which the gap statistic would spend; a test holds these partitions against the package's.
///
/// # Example
/// ```
/// use ndarray::array;
/// use tornus::Seed;
/// use tornus::analysis::cluster::kmeans;
/// let found = kmeans(&array![[0.0], [1.0], [10.0]], 2, 5, Seed::new(1)).expect("more points than groups");
/// assert_eq!(found.labels[0], found.labels[1]);
/// assert!((found.within - 0.5).abs() < 1e-12); // 0 and 1 lie half from their mean: 2 x 0.25
/// ```
///
/// # References
/// Lloyd 1982, Least squares quantization in PCM; Arthur & Vassilvitskii 2007, k-means++ (starts).
#[must_use]
pub fn kmeans(points: &Array2<f64>, groups: usize, starts: usize, seed: Seed) -> Option<KMeansPartition> {
    if groups == 0 || points.iter().any(|value| !value.is_finite()) || points.nrows() < groups {
        return None;
    }
    if points.nrows() <= MOST_COMPARED_ON {
        return Flat::new(points).best(groups, starts, seed);
    }
    let rows = drawn(points.nrows(), MOST_COMPARED_ON, seed.derive(0));
    let part = Flat::new(&points.select(ndarray::Axis(0), &rows));
    let best = part.best(groups, starts, seed)?;
    let centres = part.means(&best.labels, vec![0.0; groups * part.dimensions]);
    Some(Flat::new(points).lloyd(centres))
}

/// Points one after the other.
struct Flat {
    values: Vec<f64>,
    dimensions: usize,
}

impl Flat {
    fn new(points: &Array2<f64>) -> Self {
        Self { values: points.iter().copied().collect(), dimensions: points.ncols().max(1) }
    }

    fn rows(&self) -> std::slice::ChunksExact<'_, f64> {
        self.values.chunks_exact(self.dimensions)
    }

    fn best(&self, groups: usize, starts: usize, seed: Seed) -> Option<KMeansPartition> {
        let one = |start: usize| Some(self.lloyd(self.start(groups, seed.derive(1 + start as u64))?));
        let found: Option<Vec<KMeansPartition>> = (0..starts.max(1)).map(one).collect();
        found?.into_iter().reduce(|best, next| if next.within < best.within { next } else { best })
    }

    /// Centres drawn one after the other, each row as likely as its squared distance from those before is great.
    fn start(&self, groups: usize, seed: Seed) -> Option<Vec<f64>> {
        let mut rng = seed.rng();
        let first = self.rows().nth(rng.gen_range(0..self.rows().len()))?;
        let mut centres = first.to_vec();
        let mut squares: Vec<f64> = self.rows().map(|row| square(row, first)).collect();
        for _ in 1..groups {
            let total: f64 = squares.iter().sum();
            if total <= 0.0 {
                return None;
            }
            let mut left = rng.r#gen::<f64>() * total;
            let passes = |square: &f64| {
                left -= square;
                left < 0.0
            };
            let farthest = || squares.iter().rposition(|square| *square > 0.0);
            let next = self.rows().nth(squares.iter().position(passes).or_else(farthest)?)?;
            centres.extend(next);
            squares.iter_mut().zip(self.rows()).for_each(|(least, row)| *least = least.min(square(row, next)));
        }
        Some(centres)
    }

    /// Lloyd steps until no label changes.
    fn lloyd(&self, mut centres: Vec<f64>) -> KMeansPartition {
        let mut labels = self.nearest(&centres);
        for _ in 0..MOST_ROUNDS {
            centres = self.means(&labels, centres);
            let next = self.nearest(&centres);
            if next == labels {
                break;
            }
            labels = next;
        }
        let centres = self.means(&labels, centres);
        let own = |label: usize| &centres[label * self.dimensions..(label + 1) * self.dimensions];
        let within = self.rows().zip(&labels).map(|(row, &label)| square(row, own(label))).sum();
        KMeansPartition { labels, within }
    }

    fn nearest(&self, centres: &[f64]) -> Vec<usize> {
        let one = |row: &[f64]| {
            let mut best = (0, f64::INFINITY);
            for (label, centre) in centres.chunks_exact(self.dimensions).enumerate() {
                let square = square(row, centre);
                if square < best.1 {
                    best = (label, square);
                }
            }
            best.0
        };
        self.rows().map(one).collect()
    }

    /// Means of the groups; one that has emptied keeps the centre it had `before`.
    fn means(&self, labels: &[usize], before: Vec<f64>) -> Vec<f64> {
        let mut sums = vec![0.0; before.len()];
        let mut counts = vec![0_usize; before.len() / self.dimensions];
        for (row, &label) in self.rows().zip(labels) {
            counts[label] += 1;
            sums[label * self.dimensions..].iter_mut().zip(row).for_each(|(sum, value)| *sum += value);
        }
        let mut centres = before;
        for (group, count) in counts.into_iter().enumerate().filter(|(_, count)| *count > 0) {
            let at = group * self.dimensions..(group + 1) * self.dimensions;
            centres[at.clone()].iter_mut().zip(&sums[at]).for_each(|(mean, sum)| *mean = sum / count as f64);
        }
        centres
    }
}

fn square(row: &[f64], centre: &[f64]) -> f64 {
    row.iter().zip(centre).map(|(a, b)| (a - b) * (a - b)).sum()
}

/// How many rows differ from all before them.
pub(super) fn distinct_rows(points: &Array2<f64>) -> usize {
    let mut rows: Vec<Vec<f64>> = points.rows().into_iter().map(|row| row.to_vec()).collect();
    let order = |a: &Vec<f64>, b: &Vec<f64>| {
        a.iter().zip(b).map(|(a, b)| a.total_cmp(b)).find(|o| o.is_ne()).unwrap_or(std::cmp::Ordering::Equal)
    };
    rows.sort_by(order);
    rows.dedup();
    rows.len()
}

/// Sum of squared distances of the rows from the means of their groups.
pub(super) fn within(points: &Array2<f64>, labels: &[usize], groups: usize) -> f64 {
    let flat = Flat::new(points);
    let centres = flat.means(labels, vec![0.0; groups * flat.dimensions]);
    let own = |label: usize| &centres[label * flat.dimensions..(label + 1) * flat.dimensions];
    flat.rows().zip(labels).map(|(row, &label)| square(row, own(label))).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::statistics::adjusted_rand;
    use linfa::DatasetBase;
    use linfa::prelude::{Fit, Predict};
    use linfa_clustering::KMeans;
    use ndarray::array;

    #[test]
    fn rows_that_do_not_differ_are_no_groups() {
        assert_eq!(kmeans(&Array2::ones((5, 2)), 2, 3, Seed::new(1)), None);
        assert_eq!(kmeans(&array![[1.0], [2.0]], 3, 3, Seed::new(1)), None);
        assert_eq!(kmeans(&array![[1.0], [2.0]], 0, 3, Seed::new(1)), None);
    }

    #[test]
    fn what_is_not_finite_never_reaches_the_package() {
        assert_eq!(kmeans(&array![[f64::NAN], [0.0], [1.0]], 2, 3, Seed::new(1)), None);
        assert_eq!(kmeans(&array![[f64::INFINITY], [0.0], [1.0]], 2, 3, Seed::new(1)), None);
    }

    #[test]
    fn groups_are_those_of_the_package_on_clean_data() {
        let points = Array2::from_shape_fn((90, 2), |(i, k)| {
            [[0.0, 0.0], [8.0, 1.0], [3.0, 9.0]][i / 30][k] + ((i * (7 + 6 * k)) % 11) as f64 * 0.1
        });
        let dataset = DatasetBase::from(points.view());
        let model = KMeans::params_with_rng(3, Seed::new(4).rng()).n_runs(10).fit(&dataset).unwrap();
        let ours = kmeans(&points, 3, 10, Seed::new(5)).unwrap();
        assert!((adjusted_rand(&model.predict(&points).to_vec(), &ours.labels) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_partition_is_at_rest() {
        let points = Array2::from_shape_fn((30, 1), |(i, _)| (i / 10) as f64 * 8.0 + (i % 10) as f64 * 0.2);
        for starts in 1..6 {
            let found = kmeans(&points, 3, starts, Seed::new(starts as u64 + 40)).unwrap();
            let flat = Flat::new(&points);
            let centres = flat.means(&found.labels, vec![0.0; 3]);
            assert_eq!(flat.nearest(&centres), found.labels); // each row with the nearest mean of the labels' own
        }
    }

    #[test]
    fn many_rows_are_grouped_as_few_are() {
        let points = Array2::from_shape_fn((9_000, 1), |(i, _)| (i % 3) as f64 * 8.0 + (i % 10) as f64 * 0.2);
        let found = kmeans(&points, 3, 5, Seed::new(2)).unwrap();
        let truth: Vec<usize> = (0..9_000).map(|i| i % 3).collect();
        assert!((adjusted_rand(&truth, &found.labels) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn centres_are_means_and_not_drawn_towards_earlier_ones() {
        let points = array![[0.0], [1.0], [2.0], [20.0], [21.0], [25.0]];
        let found = kmeans(&points, 2, 10, Seed::new(3)).unwrap();
        assert!((found.within - 16.0).abs() < 1e-9); // means 1 and 22: 1 + 0 + 1 + 4 + 1 + 9
    }
}
