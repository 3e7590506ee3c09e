//! What is left of each group when the corpus is drawn again.

use rand::Rng;
use rayon::prelude::*;

use super::super::statistics::best_jaccard;
use super::choice::Starts;
use super::evidence::Evidence;
use super::mixture::CovarianceFamily;
use crate::quantity::Seed;

/// Vessels drawn per resample at most; more say nothing that this many do not.
const MOST_DRAWN: usize = 500;

/// Mean over bootstrap resamples of the best Jaccard similarity of each group with a group found again, 0 to 1.
///
/// Every resample is grouped from scratch with the same number of groups and family. 0.75 and more is commonly read as
/// stable, 0.5 and less as dissolved. `None` for a group of which no resample held a member, and without resamples.
///
/// # References
/// Hennig 2007, Cluster-wise assessment of cluster stability.
pub(super) fn stability(
    evidence: &Evidence,
    labels: &[usize],
    groups: usize,
    family: CovarianceFamily,
    resamples: u16,
    seed: Seed,
) -> Vec<Option<f64>> {
    let each: Vec<Vec<Option<f64>>> = (0..u64::from(resamples))
        .into_par_iter()
        .filter_map(|resample| one(evidence, labels, groups, family, seed.derive(resample)))
        .collect();
    (0..groups)
        .map(|group| {
            let found: Vec<f64> = each.iter().filter_map(|resample| resample[group]).collect();
            (!found.is_empty()).then(|| found.iter().sum::<f64>() / found.len() as f64)
        })
        .collect()
}

fn one(
    evidence: &Evidence,
    labels: &[usize],
    groups: usize,
    family: CovarianceFamily,
    seed: Seed,
) -> Option<Vec<Option<f64>>> {
    let mut rng = seed.rng();
    let count = evidence.len().min(MOST_DRAWN);
    let rows: Vec<usize> = (0..count).map(|_| rng.gen_range(0..evidence.len())).collect();
    let part = evidence.select(&rows);
    let fit = Starts::new(&part, seed.derive(1)).best(&part, groups, family)?;
    let found: Vec<Option<usize>> = fit.labels().into_iter().map(Some).collect();
    let members = |group: usize| rows.iter().map(|&row| labels[row] == group).collect::<Vec<_>>();
    Some((0..groups).map(|group| best_jaccard(&members(group), &found)).collect())
}
