//! Groups of one space.

use ndarray::Array2;

use super::super::AnalysisError;
use super::super::params::{CompareParams, Groups};
use super::super::statistics::{adjusted_rand, agglomerative_coefficient, silhouette};
use super::choice::{self, Chosen, MOST_CHOSEN_ON, most_groups};
use super::evidence::Evidence;
use super::full_mixture::full_mixture;
use super::gap::{self, Gap};
use super::kmeans::{distinct_rows, kmeans};
use super::mixture::{CovarianceFamily, MixtureFit, judge};
use super::stability::stability;
use super::ward::{cut, ward_tree};
use crate::quantity::Seed;

/// Fewer vessels are one group whatever they look like.
const FEWEST_VESSELS: usize = 5;

/// A row with a greater probability of belonging to no group is called stray ("project": well above even, so that the rim
/// of a group is not).
const STRAY_FROM: f64 = 0.9;

/// Starts of k-means of the points themselves, and of a reference of the gap statistic.
const KMEANS_STARTS: usize = 10;

/// One candidate of one method.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The method, with the family of covariances.
    pub method: String,
    /// How many groups.
    pub groups: usize,
    /// The criterion: `bic` (greatest is best) or `gap` (least number within a standard error of the greatest).
    pub criterion: &'static str,
    /// Its value.
    pub value: f64,
    /// Whether the method chose it.
    pub chosen: bool,
}

/// The partition of another method.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherPartition {
    /// The method.
    pub method: &'static str,
    /// Group of each row.
    pub labels: Vec<usize>,
    /// How many groups it chose.
    pub groups: usize,
    /// Adjusted Rand index with the published groups.
    pub adjusted_rand: f64,
    /// Mean silhouette; `None` with one group, or on more vessels than are compared pair by pair.
    pub silhouette: Option<f64>,
    /// Agglomerative coefficient of its tree, where it has one.
    pub agglomerative: Option<f64>,
}

/// The groups of one space, in the order of its rows.
///
/// The published groups are those of the noise-aware Gaussian mixture with the greatest BIC over the numbers of groups
/// and the families of covariances, one group included. A gain over one group of 2 or less is none; one of 20 or less is
/// held against simulated corpora of one group and must be reached by no more than 1 of 99. Where the evidence allows for
/// strays, a vessel that no group explains belongs to none and shapes none. Group 0 is the greatest.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grouping {
    /// How many groups.
    pub groups: usize,
    /// Likeliest group of each row, of a stray row the nearest.
    pub labels: Vec<usize>,
    /// Its probability.
    pub probabilities: Vec<f64>,
    /// Whether a row most likely belongs to no group.
    pub stray: Vec<bool>,
    /// Bootstrap Jaccard stability of each group; `None` of one group, or without resamples.
    pub stability: Vec<Option<f64>>,
    /// What the covariances of the groups have in common; `None` if nothing was fitted.
    pub family: Option<CovarianceFamily>,
    /// Probability of such a gain in a corpus of one group, where it was tested.
    pub p_one_group: Option<f64>,
    /// Mean silhouette of the published groups.
    pub silhouette: Option<f64>,
    /// Every candidate of every method.
    pub choices: Vec<Choice>,
    /// What other methods make of the same places.
    pub others: Vec<OtherPartition>,
}

/// Groups the rows of `evidence`; only the rows `shaping` shape the groups, the others are given the likeliest.
pub(in crate::analysis) fn group(
    space: &'static str,
    evidence: &Evidence,
    shaping: &[usize],
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
    let mut grouping = published(&chosen, &fit);
    if grouping.groups > 1 {
        let labels: Vec<usize> = shaping.iter().map(|&row| grouping.labels[row]).collect();
        let again = stability(&part, &labels, grouping.groups, fit.mixture.family, params.resamples(), seed.derive(2));
        grouping.stability = again;
    }
    grouping.silhouette = mean_silhouette(&evidence.points, &grouping.labels);
    other_methods(&mut grouping, &evidence.points, fixed, seed.derive(3));
    Ok(grouping)
}

fn single(vessels: usize) -> Grouping {
    Grouping {
        groups: usize::from(vessels > 0),
        labels: vec![0; vessels],
        probabilities: vec![1.0; vessels],
        stray: vec![false; vessels],
        stability: vec![None; usize::from(vessels > 0)],
        ..Grouping::default()
    }
}

fn published(chosen: &Chosen, fit: &MixtureFit) -> Grouping {
    let order = by_size(fit);
    let groups = order.len();
    let place = |label: usize| order.iter().position(|group| *group == label).unwrap_or_default();
    let labels: Vec<usize> = fit.labels();
    let probability = |(row, &label): (usize, &usize)| fit.probabilities[[row, label]];
    let choices = chosen.candidates.iter().enumerate().map(|(index, candidate)| Choice {
        method: format!("mixture, {} covariance", candidate.fit.mixture.family.word()),
        groups: candidate.groups,
        criterion: "bic",
        value: candidate.fit.bic,
        chosen: index == chosen.best,
    });
    Grouping {
        groups,
        probabilities: labels.iter().enumerate().map(probability).collect(),
        stray: fit.stray_probabilities().into_iter().map(|stray| stray > STRAY_FROM).collect(),
        labels: labels.iter().map(|&label| place(label)).collect(),
        stability: vec![None; groups],
        family: Some(fit.mixture.family),
        p_one_group: chosen.p_one_group,
        choices: choices.collect(),
        ..Grouping::default()
    }
}

/// Groups from the greatest to the least; of equals, the one with the earlier first member.
fn by_size(fit: &MixtureFit) -> Vec<usize> {
    let labels = fit.labels();
    let groups = fit.probabilities.ncols();
    let mut order: Vec<usize> = (0..groups).collect();
    let size = |group: usize| labels.iter().filter(|label| **label == group).count();
    let first = |group: usize| labels.iter().position(|label| *label == group).unwrap_or(usize::MAX);
    order.sort_by_key(|&group| (usize::MAX - size(group), first(group)));
    order
}

fn mean_silhouette(points: &Array2<f64>, labels: &[usize]) -> Option<f64> {
    if points.nrows() > MOST_CHOSEN_ON {
        return None;
    }
    let widths = silhouette(points, labels);
    (!widths.is_empty()).then(|| widths.iter().sum::<f64>() / widths.len() as f64)
}

/// k-means, Ward's tree and the full-covariance mixture, for agreement; the last two only where pairs fit in memory.
fn other_methods(grouping: &mut Grouping, points: &Array2<f64>, fixed: Option<usize>, seed: Seed) {
    by_kmeans(grouping, points, fixed, seed.derive(1));
    if points.nrows() <= MOST_CHOSEN_ON {
        by_ward(grouping, points, fixed, seed.derive(2));
        by_full_mixture(grouping, points, fixed, seed.derive(3));
    }
}

fn by_kmeans(grouping: &mut Grouping, points: &Array2<f64>, fixed: Option<usize>, seed: Seed) {
    let partitions = |points: &Array2<f64>, most: usize, seed: Seed| -> Vec<Vec<usize>> {
        let one = |groups: usize| kmeans(points, groups, 3, seed.derive(groups as u64)).map(|found| found.labels);
        (1..=most).map_while(one).collect()
    };
    let part = points.select(ndarray::Axis(0), &choice::drawn(points.nrows(), MOST_CHOSEN_ON, seed.derive(9)));
    let groups = fixed.unwrap_or_else(|| by_gap(grouping, "k-means", &part, seed, partitions));
    if let Some(found) = kmeans(points, groups, KMEANS_STARTS, seed.derive(7)) {
        add(grouping, "k-means", found.labels, points, None);
    }
}

fn by_ward(grouping: &mut Grouping, points: &Array2<f64>, fixed: Option<usize>, seed: Seed) {
    let partitions = |points: &Array2<f64>, most: usize, _: Seed| -> Vec<Vec<usize>> {
        let tree = ward_tree(points);
        (1..=most).map(|groups| cut(&tree, points.nrows(), groups)).collect()
    };
    let groups = fixed.unwrap_or_else(|| by_gap(grouping, "Ward linkage", points, seed, partitions));
    let tree = ward_tree(points);
    let merges: Vec<_> = tree.iter().map(|merge| (merge.first, merge.second, merge.height)).collect();
    let coefficient = agglomerative_coefficient(points.nrows(), &merges);
    add(grouping, "Ward linkage", cut(&tree, points.nrows(), groups), points, coefficient);
}

fn by_gap<P>(grouping: &mut Grouping, method: &str, points: &Array2<f64>, seed: Seed, partitions: P) -> usize
where
    P: Fn(&Array2<f64>, usize, Seed) -> Vec<Vec<usize>>,
{
    let gaps: Vec<Gap> = gap::gaps(points, most_groups(points.nrows()), seed, partitions);
    let chosen = gap::chosen(&gaps);
    grouping.choices.extend(gaps.iter().enumerate().map(|(index, gap)| Choice {
        method: method.to_owned(),
        groups: index + 1,
        criterion: "gap",
        value: gap.gap,
        chosen: index + 1 == chosen,
    }));
    chosen
}

fn by_full_mixture(grouping: &mut Grouping, points: &Array2<f64>, fixed: Option<usize>, seed: Seed) {
    const METHOD: &str = "mixture, full covariances";
    let numbers = fixed.map_or(1..=most_groups(points.nrows()), |groups| groups..=groups);
    let fits: Vec<_> = numbers
        .filter_map(|groups| Some((groups, full_mixture(points, groups, seed.derive(groups as u64))?)))
        .collect();
    let better = |best: usize, next: usize| if fits[next].1.bic > fits[best].1.bic { next } else { best };
    let Some(best) = (0..fits.len()).reduce(better) else { return };
    grouping.choices.extend(fits.iter().enumerate().map(|(index, (groups, fit))| Choice {
        method: METHOD.to_owned(),
        groups: *groups,
        criterion: "bic",
        value: fit.bic,
        chosen: index == best,
    }));
    add(grouping, METHOD, fits[best].1.labels.clone(), points, None);
}

fn add(
    grouping: &mut Grouping,
    method: &'static str,
    labels: Vec<usize>,
    points: &Array2<f64>,
    agglomerative: Option<f64>,
) {
    grouping.others.push(OtherPartition {
        method,
        groups: labels.iter().max().map_or(0, |most| most + 1),
        adjusted_rand: adjusted_rand(&grouping.labels, &labels),
        silhouette: mean_silhouette(points, &labels),
        agglomerative,
        labels,
    });
}
