//! Groups as places where vessels lie close.

use ndarray::{Array2, Axis};
use rand::Rng;
use rand_distr::StandardNormal;
use rayon::prelude::*;

use super::super::statistics::silhouette_by;
use crate::math::robust::quantile;
use crate::quantity::Seed;

/// Vessels within reach, itself included, that make a vessel the inside of a group (Ester et al. 1996 take 4).
const COMPANY: usize = 4;

/// The reaches tried: quantiles of the distance to the third neighbour, from half the vessels inside to nearly all.
const SHARES: [f64; 12] = [0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.93, 0.96, 0.98];

/// Simulated corpora of one group; 19 give a test at 1 / 20.
const SIMULATED: u64 = 19;

/// One reach and what it makes.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct DensityCandidate {
    pub(super) share: f64,
    pub(super) groups: usize,
    /// Sum of the silhouettes of the vessels in a group, over all vessels: those in none count as 0.
    pub(super) value: f64,
}

/// Distances between all rows of `points`, and from each to its third neighbour.
struct Apart {
    rows: usize,
    /// Row by row.
    distances: Vec<f64>,
    thirds: Vec<f64>,
}

impl Apart {
    fn new(points: &Array2<f64>) -> Self {
        let rows = points.nrows();
        let mut distances = vec![0.0; rows * rows];
        for (row, one) in points.rows().into_iter().enumerate() {
            for (other, another) in points.rows().into_iter().enumerate().take(row) {
                let distance = one.iter().zip(another).map(|(a, b)| (a - b) * (a - b)).sum::<f64>().sqrt();
                (distances[row * rows + other], distances[other * rows + row]) = (distance, distance);
            }
        }
        let third = |row: usize| {
            let mut near: Vec<f64> = distances[row * rows..(row + 1) * rows].to_vec();
            near.swap_remove(row);
            // Of fewer neighbours the farthest.
            near.len()
                .min(COMPANY - 1)
                .checked_sub(1)
                .map_or(0.0, |at| *near.select_nth_unstable_by(at, f64::total_cmp).1)
        };
        Self { rows, thirds: (0..rows).map(third).collect(), distances }
    }

    /// The distance within which this share of the rows have [`COMPANY`]; `None` where it is nought.
    fn reach(&self, share: f64) -> Option<f64> {
        quantile(&mut self.thirds.clone(), share).filter(|reach| *reach > 0.0 && reach.is_finite())
    }

    /// Rows within reach of one, itself included.
    fn within(&self, row: usize, reach: f64) -> impl Iterator<Item = usize> {
        let distances = &self.distances[row * self.rows..(row + 1) * self.rows];
        distances.iter().enumerate().filter(move |(_, distance)| **distance <= reach).map(|(other, _)| other)
    }

    /// Groups of the rows that reach one another; `None`: in no group.
    fn groups(&self, reach: f64) -> Vec<Option<usize>> {
        let inside: Vec<bool> = self.thirds.iter().map(|third| *third <= reach && self.rows >= COMPANY).collect();
        let mut labels = vec![None; self.rows];
        let mut groups = 0;
        for first in 0..self.rows {
            if labels[first].is_some() || !inside[first] {
                continue;
            }
            labels[first] = Some(groups);
            let mut open = vec![first];
            while let Some(row) = open.pop() {
                for other in self.within(row, reach) {
                    if labels[other].is_none() {
                        labels[other] = Some(groups);
                        open.extend(Some(other).filter(|other| inside[*other]));
                    }
                }
            }
            groups += 1;
        }
        labels
    }
}

/// Groups by density; `None`: in no group. The distance within which they reach one another comes with them.
///
/// `share` of the vessels have [`COMPANY`] within that distance. A vessel with less that is within reach of several groups
/// goes with the one whose first member stands first.
///
/// # References
/// Ester, Kriegel, Sander & Xu 1996, A density-based algorithm for discovering clusters.
pub(super) fn by_density(points: &Array2<f64>, share: f64) -> Option<(Vec<Option<usize>>, f64)> {
    let apart = Apart::new(points);
    let reach = apart.reach(share)?;
    Some((apart.groups(reach), reach))
}

/// The candidates with the greatest value for each number of groups, and the one chosen, if any beats one group.
///
/// The value of the best must be greater than in each of 19 simulated corpora of one normal group with the same spread along
/// each component, treated alike: a chance of 1 in 20.
pub(super) fn candidates(points: &Array2<f64>, seed: Seed) -> (Vec<DensityCandidate>, Option<usize>) {
    let found = of_each_number(points);
    let greatest = |found: &[DensityCandidate]| found.iter().map(|c| c.value).fold(0.0, f64::max);
    let best = greatest(&found);
    let spread = points.std_axis(Axis(0), 0.0);
    let reached = |item: u64| {
        let mut rng = seed.derive(item).rng();
        let normals = Array2::from_shape_fn(points.dim(), |(_, k)| spread[k] * rng.sample::<f64, _>(StandardNormal));
        greatest(&of_each_number(&normals)) >= best
    };
    let beaten = best <= 0.0 || (0..SIMULATED).into_par_iter().any(reached);
    let chosen = found.iter().position(|candidate| !beaten && candidate.value >= best);
    (found, chosen)
}

fn of_each_number(points: &Array2<f64>) -> Vec<DensityCandidate> {
    let mut found: Vec<DensityCandidate> = Vec::new();
    let apart = Apart::new(points);
    for share in SHARES {
        let Some(labels) = apart.reach(share).map(|reach| apart.groups(reach)) else { continue };
        let rows: Vec<usize> = (0..labels.len()).filter(|&row| labels[row].is_some()).collect();
        let kept: Vec<usize> = labels.into_iter().flatten().collect();
        let groups = kept.iter().max().map_or(0, |most| most + 1);
        if groups < 2 {
            continue;
        }
        let distance = |one: usize, other: usize| apart.distances[rows[one] * apart.rows + rows[other]];
        let value = silhouette_by(&kept, distance).iter().sum::<f64>() / points.nrows() as f64;
        match found.iter_mut().find(|candidate| candidate.groups == groups) {
            Some(same) if same.value >= value => {}
            Some(same) => *same = DensityCandidate { share, groups, value },
            None => found.push(DensityCandidate { share, groups, value }),
        }
    }
    found.sort_by_key(|candidate| candidate.groups);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use linfa::traits::Transformer;
    use linfa_clustering::Dbscan;

    #[test]
    fn groups_are_those_of_the_package() {
        for (seed, groups, apart) in [(1, 3, 12.0), (2, 4, 4.0), (3, 2, 3.0), (4, 1, 0.0)] {
            let points = corpus(groups, apart, seed);
            for share in SHARES {
                let (labels, reach) = by_density(&points, share).unwrap();
                assert_eq!(labels, Dbscan::params(COMPANY).tolerance(reach).transform(&points).unwrap().to_vec());
            }
        }
    }

    /// Groups of twenty normal vessels each, `apart` standard deviations from one to the next, and one far away.
    fn corpus(groups: usize, apart: f64, seed: u64) -> Array2<f64> {
        let mut rng = Seed::new(seed).rng();
        let mut points = Array2::from_shape_fn((20 * groups + 1, 2), |_| rng.sample::<f64, _>(StandardNormal));
        (0..20 * groups).for_each(|row| points[[row, 0]] += apart * (row / 20) as f64);
        points[[20 * groups, 1]] = 40.0;
        points
    }

    #[test]
    fn groups_far_apart_are_found_and_the_lonely_vessel_is_in_none() {
        let points = corpus(3, 12.0, 1);
        let (found, chosen) = candidates(&points, Seed::new(2));
        let chosen = &found[chosen.unwrap()];
        assert_eq!(chosen.groups, 3);
        let (labels, _) = by_density(&points, chosen.share).unwrap();
        assert_eq!(labels[60], None);
        for group in 0..3 {
            // Vessels at the rim may be in no group; of the others none is in a second.
            let own: std::collections::BTreeSet<usize> =
                labels[20 * group..20 * group + 20].iter().flatten().copied().collect();
            assert_eq!(own.len(), 1);
        }
    }

    #[test]
    fn one_group_is_rarely_taken_for_several() {
        // 20 corpora at 1 in 20: more than 4 come in one of 400 runs of this test.
        let several = |seed: &u64| {
            candidates(&corpus(1, 0.0, *seed).slice(ndarray::s![..20, ..]).to_owned(), Seed::new(*seed)).1.is_some()
        };
        assert!((100..120).filter(several).count() <= 4);
    }

    #[test]
    fn twins_have_no_density() {
        assert_eq!(by_density(&Array2::zeros((9, 2)), 0.9), None);
        assert_eq!(by_density(&Array2::zeros((0, 2)), 0.9), None);
    }
}
