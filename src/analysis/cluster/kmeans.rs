//! k-means.

use linfa::DatasetBase;
use linfa::prelude::{Fit, Predict};
use linfa_clustering::KMeans;
use ndarray::{Array2, ArrayView1};

use crate::quantity::Seed;

/// Rounds of the last Lloyd steps, far more than small corpora need.
const MOST_ROUNDS: usize = 100;

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
/// The package's centres are drawn towards the ones before (each old centre counts as a point), its counts may belong to
/// another start, and its start breaks off where fewer rows differ than groups are asked for. So the rows are checked
/// before, and its centres are only where plain Lloyd steps begin, whose labels are counted here.
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
/// Lloyd 1982, Least squares quantization in PCM; Arthur & Vassilvitskii 2007 (starts).
#[must_use]
pub fn kmeans(points: &Array2<f64>, groups: usize, starts: usize, seed: Seed) -> Option<KMeansPartition> {
    if groups == 0 || points.iter().any(|value| !value.is_finite()) || distinct_rows(points) < groups {
        return None;
    }
    if groups == 1 {
        return Some(lloyd(points, vec![0; points.nrows()], 1));
    }
    let dataset = DatasetBase::from(points.view());
    let model = KMeans::params_with_rng(groups, seed.rng()).n_runs(starts.max(1)).fit(&dataset).ok()?;
    Some(lloyd(points, model.predict(points).to_vec(), groups))
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

/// Lloyd steps until no label changes; a group that empties keeps its centre out of play.
fn lloyd(points: &Array2<f64>, mut labels: Vec<usize>, groups: usize) -> KMeansPartition {
    for _ in 0..MOST_ROUNDS {
        let centres = means(points, &labels, groups);
        let next: Vec<usize> = points.rows().into_iter().map(|row| nearest(row, &centres)).collect();
        if next == labels {
            break;
        }
        labels = next;
    }
    let within = within(points, &labels, groups);
    KMeansPartition { labels, within }
}

fn means(points: &Array2<f64>, labels: &[usize], groups: usize) -> Vec<Option<Vec<f64>>> {
    let mut sums = vec![(0_usize, vec![0.0; points.ncols()]); groups];
    for (row, &label) in points.rows().into_iter().zip(labels) {
        sums[label].0 += 1;
        sums[label].1.iter_mut().zip(row).for_each(|(sum, value)| *sum += value);
    }
    let mean = |(count, sum): (usize, Vec<f64>)| {
        (count > 0).then(|| sum.into_iter().map(|value| value / count as f64).collect())
    };
    sums.into_iter().map(mean).collect()
}

pub(super) fn square_distance(row: ArrayView1<'_, f64>, centre: &[f64]) -> f64 {
    row.iter().zip(centre).map(|(a, b)| (a - b) * (a - b)).sum()
}

fn nearest(row: ArrayView1<'_, f64>, centres: &[Option<Vec<f64>>]) -> usize {
    let mut best = (0, f64::INFINITY);
    for (label, centre) in centres.iter().enumerate() {
        if let Some(centre) = centre {
            let square = square_distance(row, centre);
            if square < best.1 {
                best = (label, square);
            }
        }
    }
    best.0
}

/// Sum of squared distances of the rows from the means of their groups.
pub(super) fn within(points: &Array2<f64>, labels: &[usize], groups: usize) -> f64 {
    let centres = means(points, labels, groups);
    let one = |(row, &label): (ArrayView1<'_, f64>, &usize)| {
        centres[label].as_ref().map_or(0.0, |centre| square_distance(row, centre))
    };
    points.rows().into_iter().zip(labels).map(one).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn rows_that_do_not_differ_are_no_groups() {
        // The package's start breaks off with a panic here: every weight is zero once the one distinct row is drawn.
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
    fn counts_are_those_of_the_labels_for_every_number_of_starts() {
        let points = Array2::from_shape_fn((30, 1), |(i, _)| (i / 10) as f64 * 8.0 + (i % 10) as f64 * 0.2);
        for starts in 1..6 {
            let found = kmeans(&points, 3, starts, Seed::new(starts as u64 + 40)).unwrap();
            let centres = means(&points, &found.labels, 3);
            for (row, &label) in points.rows().into_iter().zip(&found.labels) {
                assert_eq!(nearest(row, &centres), label); // at rest: each row with the nearest mean of the labels' own
            }
        }
    }

    #[test]
    fn centres_are_means_and_not_drawn_towards_earlier_ones() {
        let points = array![[0.0], [1.0], [2.0], [20.0], [21.0], [25.0]];
        let found = kmeans(&points, 2, 10, Seed::new(3)).unwrap();
        assert!((found.within - 16.0).abs() < 1e-9); // means 1 and 22: 1 + 0 + 1 + 4 + 1 + 9
    }
}
