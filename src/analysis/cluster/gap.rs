//! The number of groups of a method that has no likelihood.

use ndarray::{Array2, Axis};
use rand::Rng;
use rayon::prelude::*;

use super::kmeans::within;
use crate::quantity::Seed;

/// Corpora without groups to compare with (Tibshirani et al. 2001 use 10 to 50).
const REFERENCES: usize = 20;

/// The gap statistic of one number of groups.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Gap {
    /// Mean log of the references' sum of squares less that of the points.
    pub(super) gap: f64,
    /// Its standard error, simulation included.
    pub(super) error: f64,
}

/// Gap statistics for 1, 2, .. groups, as many as `partition` can make of the points and of every reference.
///
/// References are uniform in the box that holds the points, whose columns are principal components already.
///
/// # References
/// Tibshirani, Walther & Hastie 2001, Estimating the number of clusters in a data set via the gap statistic.
pub(super) fn gaps<P>(points: &Array2<f64>, most: usize, seed: Seed, partition: P) -> Vec<Gap>
where
    P: Fn(&Array2<f64>, usize, Seed) -> Vec<Vec<usize>> + Sync,
{
    let logs = |points: &Array2<f64>, seed: Seed| -> Vec<f64> {
        let labels = partition(points, most, seed);
        let sums = labels.iter().enumerate().map(|(k, labels)| within(points, labels, k + 1));
        sums.take_while(|sum| *sum > 0.0).map(f64::ln).collect()
    };
    let found = logs(points, seed.derive(0));
    let references: Vec<Vec<f64>> = (1..=REFERENCES as u64)
        .into_par_iter()
        .map(|reference| logs(&uniform_box(points, seed.derive(reference)), seed.derive(1_000 + reference)))
        .collect();
    let numbers = references.iter().map(Vec::len).min().unwrap_or(0).min(found.len());
    (0..numbers)
        .map(|k| {
            let mean = references.iter().map(|logs| logs[k]).sum::<f64>() / REFERENCES as f64;
            let square = references.iter().map(|logs| (logs[k] - mean) * (logs[k] - mean)).sum::<f64>();
            let error = (square / REFERENCES as f64 * (1.0 + 1.0 / REFERENCES as f64)).sqrt();
            Gap { gap: mean - found[k], error }
        })
        .collect()
}

/// The least number of groups whose gap lies within a standard error of the greatest.
///
/// # References
/// Dudoit & Fridlyand 2002, A prediction-based resampling method for estimating the number of clusters (this rule; that of
/// 2001 stops before three groups at equal distances).
pub(super) fn chosen(gaps: &[Gap]) -> usize {
    let greatest = gaps.iter().max_by(|a, b| a.gap.total_cmp(&b.gap));
    greatest.and_then(|most| gaps.iter().position(|gap| gap.gap >= most.gap - most.error)).map_or(1, |k| k + 1)
}

fn uniform_box(points: &Array2<f64>, seed: Seed) -> Array2<f64> {
    let mut rng = seed.rng();
    let low = points.fold_axis(Axis(0), f64::INFINITY, |a, b| a.min(*b));
    let high = points.fold_axis(Axis(0), f64::NEG_INFINITY, |a, b| a.max(*b));
    Array2::from_shape_fn(points.dim(), |(_, k)| low[k] + (high[k] - low[k]) * rng.r#gen::<f64>())
}
