//! Groups of one space.

use ndarray::{Array2, Axis};
use rayon::prelude::*;

use super::super::AnalysisError;
use super::super::params::{CompareParams, Groups};
use super::super::statistics::{adjusted_rand, silhouette};
use super::choice::{self, Chosen, MOST_CHOSEN_ON, Starts, drawn};
use super::evidence::Evidence;
use super::kmeans::distinct_rows;
use super::method::Method;
use super::mixture::{CovarianceFamily, MixtureFit, judge};
use super::partition::{Partition, again, partition};
use super::stability::stability;
use crate::math::kd_tree::KdTree;
use crate::quantity::Seed;

/// Fewer vessels are one group whatever they look like.
const FEWEST_VESSELS: usize = 5;

/// A row with a greater probability of belonging to no group is called stray ("project": well above even, so that the rim
/// of a group is not).
const STRAY_FROM: f64 = 0.9;

/// One candidate of one method.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The method, with the family of covariances.
    pub method: String,
    /// How many groups.
    pub groups: usize,
    /// The criterion: `bic` (greatest is best; the published mixture takes the fewest groups within 2 of it), `gap` (least
    /// number within a standard error of the greatest) or `silhouette` (greatest, if simulated corpora of one group do not
    /// reach it).
    pub criterion: &'static str,
    /// Its value.
    pub value: f64,
    /// Whether the method chose it.
    pub chosen: bool,
}

/// The partition of a method that is not the published one.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherPartition {
    /// The method.
    pub method: Method,
    /// Group of each row; `None`: in no group.
    pub labels: Vec<Option<usize>>,
    /// How many groups it chose.
    pub groups: usize,
    /// Adjusted Rand index with the published groups, over the rows that are in a group of both.
    pub adjusted_rand: f64,
    /// Mean silhouette of the rows in a group; `None` with one group.
    pub silhouette: Option<f64>,
    /// Agglomerative coefficient of its tree, where it has one.
    pub agglomerative: Option<f64>,
    /// Rows it was run on; the others went with the nearest of them.
    pub sampled: usize,
}

/// The groups of one space, in the order of its rows.
///
/// The published groups are, if no other method is asked for, those of the noise-aware Gaussian mixture: over the numbers of
/// groups, one included, and the families of covariances, the fewest groups whose BIC is no more than 2 below the greatest.
/// A gain over one group of 20 or less is held against simulated corpora of one group and must be reached by no more than 1
/// of 99. Where the evidence allows for strays, a vessel that no group explains belongs to none and shapes none. Group 0 is
/// the greatest.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grouping {
    /// The method whose groups are published.
    pub method: Method,
    /// How many groups.
    pub groups: usize,
    /// Likeliest group of each row, of a stray row the nearest.
    pub labels: Vec<usize>,
    /// Its probability; empty of a method that has none.
    pub probabilities: Vec<f64>,
    /// Whether a row belongs to no group.
    pub stray: Vec<bool>,
    /// Bootstrap Jaccard stability of each group; `None` of one group, or without resamples.
    pub stability: Vec<Option<f64>>,
    /// What the covariances of the groups have in common; `None` if nothing was fitted.
    pub family: Option<CovarianceFamily>,
    /// Probability of such a gain in a corpus of one group, where it was tested.
    pub p_one_group: Option<f64>,
    /// Mean silhouette of the published groups.
    pub silhouette: Option<f64>,
    /// Rows on which the number of groups was chosen.
    pub sampled: usize,
    /// Every candidate of every method.
    pub choices: Vec<Choice>,
    /// What other methods make of the same places.
    pub others: Vec<OtherPartition>,
}

/// Groups the rows of `evidence` by `method`; only the rows `shaping` shape the groups of the mixture, the others are given
/// the likeliest.
pub(in crate::analysis) fn group(
    space: &'static str,
    evidence: &Evidence,
    shaping: &[usize],
    method: Method,
    params: &CompareParams,
    seed: Seed,
) -> Result<Grouping, AnalysisError> {
    let fixed = match params.groups() {
        Groups::Auto => None,
        Groups::Number(number) => Some(usize::from(number.get())),
    };
    let distinct = distinct_rows(&evidence.points);
    if let Some(asked) = fixed.filter(|asked| *asked > distinct && !evidence.is_empty()) {
        return Err(AnalysisError::TooManyGroups { space, asked, distinct });
    }
    let too_few = fixed.is_none() && (shaping.len() < FEWEST_VESSELS || distinct < 2);
    if too_few || evidence.is_empty() || evidence.dimensions == 0 {
        return Ok(single(evidence.len()));
    }
    let part = evidence.select(shaping);
    let chosen = choice::choose(&part, fixed, seed.derive(1));
    let judged = chosen.and_then(|chosen| Some((judge(evidence, chosen.fit.mixture.clone())?, chosen)));
    let Some((fit, chosen)) = judged else { return Ok(single(evidence.len())) };
    let mut all = vec![(Method::Mixture, of_mixture(&chosen, &fit, part.len()))];
    all.extend(by_other_methods(&evidence.points, fixed, seed.derive(3)));
    let Some(place) = all.iter().position(|(found, _)| *found == method) else {
        return Err(AnalysisError::NoGroupsByMethod { space, method: method.key() });
    };
    let mut grouping = if method == Method::Mixture {
        let mut grouping = published(method, &all[place].1, fit.labels());
        let likeliest = fit.probabilities.rows().into_iter().map(|row| row.iter().copied().fold(0.0, f64::max));
        grouping.probabilities = likeliest.collect();
        grouping.family = Some(fit.mixture.family);
        grouping.p_one_group = chosen.p_one_group;
        let labels: Vec<usize> = shaping.iter().map(|&row| grouping.labels[row]).collect();
        let regroup = |rows: &[usize], seed: Seed| mixture_again(&part.select(rows), &fit, seed);
        grouping.stability = stability(&labels, grouping.groups, params.resamples(), seed.derive(2), regroup);
        grouping
    } else {
        let found = &all[place].1;
        let mut grouping = published(method, found, with_nearest(&evidence.points, &found.labels));
        let regroup = |rows: &[usize], seed: Seed| again(method, found, &evidence.points, rows, seed);
        grouping.stability = stability(&grouping.labels, grouping.groups, params.resamples(), seed.derive(2), regroup);
        grouping
    };
    grouping.silhouette = mean_silhouette(&evidence.points, &all[place].1.labels, seed.derive(4));
    grouping.choices = all.iter().flat_map(|(_, found)| found.choices.clone()).collect();
    all.remove(place);
    grouping.others = all.into_iter().map(|other| beside(&grouping, other, &evidence.points, seed.derive(4))).collect();
    Ok(grouping)
}

fn single(vessels: usize) -> Grouping {
    Grouping {
        groups: usize::from(vessels > 0),
        labels: vec![0; vessels],
        probabilities: vec![1.0; vessels],
        stray: vec![false; vessels],
        stability: vec![None; usize::from(vessels > 0)],
        sampled: vessels,
        ..Grouping::default()
    }
}

/// The mixture as a partition; strays are in no group.
fn of_mixture(chosen: &Chosen, fit: &MixtureFit, shaping: usize) -> Partition {
    let choices = chosen.candidates.iter().enumerate().map(|(index, candidate)| Choice {
        method: format!("mixture, {} covariance", candidate.fit.mixture.family.word()),
        groups: candidate.groups,
        criterion: "bic",
        value: candidate.fit.bic,
        chosen: index == chosen.best,
    });
    let strays = fit.stray_probabilities();
    let label = |(label, stray): (usize, f64)| (stray <= STRAY_FROM).then_some(label);
    Partition {
        choices: choices.collect(),
        groups: fit.probabilities.ncols(),
        sampled: shaping.min(MOST_CHOSEN_ON),
        ..Partition::new(fit.labels().into_iter().zip(strays).map(label).collect())
    }
}

/// The same family of mixtures with as many groups on other evidence.
fn mixture_again(evidence: &Evidence, like: &MixtureFit, seed: Seed) -> Option<Vec<Option<usize>>> {
    let groups = like.probabilities.ncols();
    let labels = Starts::new(evidence, seed.derive(1)).labels(evidence, groups, like.mixture.family)?;
    Some(labels.into_iter().map(Some).collect())
}

/// A partition as published groups, the greatest first; `labels` has a group for the rows in none too.
fn published(method: Method, found: &Partition, labels: Vec<usize>) -> Grouping {
    let order = by_size(&labels, found.groups);
    let place = |label: usize| order.iter().position(|group| *group == label).unwrap_or_default();
    Grouping {
        method,
        groups: found.groups,
        stray: found.labels.iter().map(Option::is_none).collect(),
        labels: labels.into_iter().map(place).collect(),
        stability: vec![None; found.groups],
        sampled: found.sampled,
        ..Grouping::default()
    }
}

/// Groups from the greatest to the least; of equals, the one with the earlier first member.
fn by_size(labels: &[usize], groups: usize) -> Vec<usize> {
    let mut sizes = vec![0_usize; groups];
    labels.iter().for_each(|label| sizes[*label] += 1);
    let mut order: Vec<usize> = (0..groups).collect();
    let first = |group: usize| labels.iter().position(|label| *label == group).unwrap_or(usize::MAX);
    order.sort_by_key(|&group| (usize::MAX - sizes[group], first(group)));
    order
}

/// Labels in which a row of no group has that of the nearest row in one.
fn with_nearest(points: &Array2<f64>, labels: &[Option<usize>]) -> Vec<usize> {
    let grouped: Vec<usize> = (0..labels.len()).filter(|&row| labels[row].is_some()).collect();
    let tree = KdTree::new(&points.select(Axis(0), &grouped));
    let nearest = |row: usize| tree.nearest(points.row(row), 1, None).first().and_then(|n| labels[grouped[n.row]]);
    (0..labels.len()).map(|row| labels[row].or_else(|| nearest(row)).unwrap_or_default()).collect()
}

/// Mean silhouette of the rows in a group, of at most so many drawn at random as pairs can be held of.
fn mean_silhouette(points: &Array2<f64>, labels: &[Option<usize>], seed: Seed) -> Option<f64> {
    let grouped: Vec<usize> = (0..labels.len()).filter(|&row| labels[row].is_some()).collect();
    let rows: Vec<usize> = drawn(grouped.len(), MOST_CHOSEN_ON, seed).into_iter().map(|at| grouped[at]).collect();
    let kept: Vec<usize> = rows.iter().filter_map(|&row| labels[row]).collect();
    let widths = silhouette(&points.select(Axis(0), &rows), &kept);
    (!widths.is_empty()).then(|| widths.iter().sum::<f64>() / widths.len() as f64)
}

/// What every method but the mixture that knows of noise makes of the same places.
fn by_other_methods(points: &Array2<f64>, fixed: Option<usize>, seed: Seed) -> Vec<(Method, Partition)> {
    let others: Vec<(u64, Method)> = (0..).zip(Method::ALL).filter(|(_, method)| *method != Method::Mixture).collect();
    let one = |(place, method): (u64, Method)| Some((method, partition(method, points, fixed, seed.derive(place))?));
    others.into_par_iter().filter_map(one).collect()
}

fn beside(
    grouping: &Grouping,
    (method, found): (Method, Partition),
    points: &Array2<f64>,
    seed: Seed,
) -> OtherPartition {
    let both = |row: &usize| !grouping.stray[*row] && found.labels[*row].is_some();
    let rows: Vec<usize> = (0..found.labels.len()).filter(both).collect();
    let published: Vec<usize> = rows.iter().map(|&row| grouping.labels[row]).collect();
    let own: Vec<usize> = rows.iter().filter_map(|&row| found.labels[row]).collect();
    OtherPartition {
        method,
        groups: found.groups,
        adjusted_rand: adjusted_rand(&published, &own),
        silhouette: mean_silhouette(points, &found.labels, seed),
        agglomerative: found.agglomerative,
        sampled: found.sampled,
        labels: found.labels,
    }
}
