//! How many groups, by the Bayesian information criterion and a test against one group.

use ndarray::{Array2, Axis};
use rand::Rng;
use rand::seq::index;
use rand_distr::StandardNormal;
use rayon::prelude::*;

use super::evidence::Evidence;
use super::kmeans::kmeans;
use super::linkage::{Merge, cut, ward_tree};
use super::mixture::{CovarianceFamily, Effort, Mixture, MixtureFit, climb, first_mixture, fit_mixture, improve};
use crate::math::cholesky;
use crate::math::kd_tree::KdTree;
use crate::math::robust::quantile;
use crate::quantity::Seed;

/// Most groups that are looked for ("project": a typology of more is not read from a corpus of this kind).
const MOST_GROUPS: usize = 10;

/// A group has at least one vessel in [`FEWEST_SHARE`] of the corpus, within these bounds: two or three can always be
/// joined by a line, and a handful at the edge of a wide group is not a form of its own ("project").
const FEWEST_MEMBERS: (usize, usize) = (3, 5);
const FEWEST_SHARE: usize = 12;

/// Vessels wanted per group that is looked for.
const VESSELS_PER_GROUP: usize = 4;

/// Starts of k-means behind one start of the mixture.
const KMEANS_STARTS: usize = 5;

/// A gain in BIC up to this is "not worth more than a bare mention" (Kass & Raftery 1995): fewer groups are kept.
const BARE_MENTION: f64 = 2.0;

/// Above this gain one group is out of the question and is not tested ("very strong" is 10 in Kass & Raftery 1995).
const NO_TEST_ABOVE: f64 = 20.0;

/// Which neighbour tells company from solitude: the third, since a group has at least three members.
const NEIGHBOUR: usize = 3;

/// Interquartile ranges above the upper quartile from which on a row is far off (Tukey's outer fence).
const FAR: f64 = 3.0;

/// Numbers of groups tried beyond the best so far.
const LOOK_AHEAD: usize = 4;

/// Simulated corpora of one group, and how many of them may gain as much: a test at 2 / 100, so that with what the
/// simulation leaves out a corpus of one group is still kept as one in 95 of 100.
const SIMULATED: u64 = 99;
const MAY_GAIN: usize = 1;

/// Corpora simulated before the next decision to go on; fixed, so that the number of threads changes nothing.
const AT_ONCE: u64 = 9;

/// Groups looked for in a simulated corpus at most.
const MOST_GROUPS_SIMULATED: usize = 3;

/// The number of groups is chosen, and trees and silhouettes are made, on at most this many vessels, drawn at random.
///
/// Of a group that is 2 % of the corpus 20 are then drawn, and fewer than 10 of them in one of two hundred draws; what that
/// leaves of a rarer group may be too few to be one. With 2,000 that share is half as great, and the choice takes twice as long.
pub(super) const MOST_CHOSEN_ON: usize = 1_000;

/// Of more vessels only the start that is likeliest after a few steps is carried on; of fewer all, which costs little there.
const MOST_FROM_ALL_STARTS: usize = 500;

/// One candidate: a number of groups and a family of covariances.
pub(super) struct Candidate {
    pub(super) groups: usize,
    pub(super) fit: MixtureFit,
}

/// The candidates and the one chosen.
pub(super) struct Chosen {
    pub(super) candidates: Vec<Candidate>,
    /// Index of the chosen one.
    pub(super) best: usize,
    /// Probability of such a gain in a corpus of one group, where it was tested.
    pub(super) p_one_group: Option<f64>,
    /// The chosen mixture on all vessels.
    pub(super) fit: MixtureFit,
}

impl Chosen {
    /// Returns to one group where several gain too little, or no more than a corpus of one group does.
    fn hold_against_one_group(&mut self, evidence: &Evidence, seed: Seed) {
        let one = self.candidates.iter().position(|c| c.groups == 1);
        let Some(one) = one.filter(|_| self.candidates[self.best].groups > 1) else { return };
        let gain = self.candidates[self.best].fit.bic - self.candidates[one].fit.bic;
        let kept = if gain <= BARE_MENTION {
            true
        } else if gain <= NO_TEST_ABOVE {
            let test = one_group_test(evidence, &self.candidates[one].fit.mixture, gain, seed);
            self.p_one_group = Some(test.p);
            !test.several
        } else {
            false
        };
        if kept {
            self.best = one;
            self.fit = self.candidates[one].fit.clone();
        }
    }
}

/// First partitions for expectation-maximisation.
pub(super) struct Starts {
    /// Rows that are partitioned; the others start in no group.
    rows: Vec<usize>,
    all: usize,
    points: Array2<f64>,
    trees: [Vec<Merge>; 2],
    seed: Seed,
}

impl Starts {
    /// Ward's trees of the points and of the standardised points.
    pub(super) fn new(evidence: &Evidence, seed: Seed) -> Self {
        let all = evidence.len();
        let rows = if evidence.stray_log_density().is_some() { company(&evidence.points) } else { (0..all).collect() };
        let points = evidence.points.select(Axis(0), &rows);
        let spread = points.std_axis(Axis(0), 0.0).mapv(|s| if s > 0.0 { s } else { 1.0 });
        let standardised = &points / &spread;
        Self { trees: [ward_tree(&points), ward_tree(&standardised)], rows, all, points, seed }
    }

    fn partitions(&self, groups: usize) -> Vec<Vec<Option<usize>>> {
        let mut partitions: Vec<_> = self.trees.iter().map(|tree| cut(tree, self.rows.len(), groups)).collect();
        let seed = self.seed.derive(groups as u64);
        partitions.extend(kmeans(&self.points, groups, KMEANS_STARTS, seed).map(|found| found.labels));
        partitions.dedup();
        let spread_out = |labels: Vec<usize>| {
            let mut whole = vec![None; self.all];
            self.rows.iter().zip(labels).for_each(|(&row, label)| whole[row] = Some(label));
            whole
        };
        partitions.into_iter().map(spread_out).collect()
    }

    /// The labels of the likeliest fit of one number of groups and one family: the starts are carried on a few steps, the
    /// likeliest of them until labels rest.
    pub(super) fn labels(&self, evidence: &Evidence, groups: usize, family: CovarianceFamily) -> Option<Vec<usize>> {
        let mixture = most_promising(evidence, &self.partitions(groups), groups, family)?;
        Some(improve(evidence, mixture, Effort::LABELS)?.labels())
    }
}

fn likeliest(
    evidence: &Evidence,
    starts: &[Vec<Option<usize>>],
    groups: usize,
    family: CovarianceFamily,
) -> Option<MixtureFit> {
    if evidence.len() > MOST_FROM_ALL_STARTS {
        return improve(evidence, most_promising(evidence, starts, groups, family)?, Effort::FULL);
    }
    let fits = starts.iter().filter_map(|start| fit_mixture(evidence, start, groups, family));
    fits.reduce(|best, next| if next.log_likelihood > best.log_likelihood { next } else { best })
}

/// The likeliest mixture after a few steps from each start.
///
/// # References
/// Biernacki, Celeux & Govaert 2003, Choosing starting values for the EM algorithm (short runs).
fn most_promising(
    evidence: &Evidence,
    starts: &[Vec<Option<usize>>],
    groups: usize,
    family: CovarianceFamily,
) -> Option<Mixture> {
    let run = |start: &Vec<_>| climb(evidence, first_mixture(evidence, start, groups, family)?, Effort::SHORT);
    let runs = starts.iter().filter_map(run);
    runs.reduce(|best, next| if next.1 > best.1 { next } else { best }).map(|(mixture, _)| mixture)
}

/// Rows with company: those whose third neighbour is not much farther off than most rows' is.
fn company(points: &Array2<f64>) -> Vec<usize> {
    let rows = points.nrows();
    let tree = KdTree::new(points);
    let reach = |row: usize| {
        let nearest = tree.nearest(points.row(row), NEIGHBOUR, Some(row));
        nearest.last().map(|farthest| farthest.square.sqrt())
    };
    let reaches: Option<Vec<f64>> = (0..rows).map(reach).collect();
    let Some(reaches) = reaches else { return (0..rows).collect() };
    let quartile = |share: f64| quantile(&mut reaches.clone(), share).unwrap_or_default();
    let far = quartile(0.75) + FAR * (quartile(0.75) - quartile(0.25));
    (0..rows).filter(|&row| reaches[row] <= far).collect()
}

/// The most groups worth looking for among this many vessels.
pub(super) fn most_groups(vessels: usize) -> usize {
    (vessels / VESSELS_PER_GROUP).clamp(1, MOST_GROUPS)
}

/// Chooses the number of groups between 1 and `most`, or takes `fixed`; `None` if no mixture at all can be fitted.
pub(super) fn choose(evidence: &Evidence, fixed: Option<usize>, seed: Seed) -> Option<Chosen> {
    let rows = drawn(evidence.len(), MOST_CHOSEN_ON, seed);
    let part = if rows.len() < evidence.len() { evidence.select(&rows) } else { evidence.clone() };
    let numbers: Vec<usize> = fixed.map_or_else(|| (1..=most_groups(part.len())).collect(), |groups| vec![groups]);
    let candidates = candidates(&part, &numbers, fixed.is_some(), seed.derive(1));
    let best = best_by_bic(&candidates)?;
    let mut chosen = Chosen { fit: candidates[best].fit.clone(), best, candidates, p_one_group: None };
    chosen.hold_against_one_group(&part, seed.derive(2));
    if rows.len() < evidence.len() {
        chosen.fit = improve(evidence, chosen.fit.mixture, Effort::FULL)?;
    }
    Some(chosen)
}

/// `wanted` of `all` rows at random, in order; all if there are no more.
pub(in crate::analysis) fn drawn(all: usize, wanted: usize, seed: Seed) -> Vec<usize> {
    if all <= wanted {
        return (0..all).collect();
    }
    let mut rows = index::sample(&mut seed.rng(), all, wanted).into_vec();
    rows.sort_unstable();
    rows
}

fn candidates(evidence: &Evidence, numbers: &[usize], forced: bool, seed: Seed) -> Vec<Candidate> {
    let starts = Starts::new(evidence, seed);
    let mut found: Vec<Candidate> = Vec::new();
    for &groups in numbers {
        let families: Vec<CovarianceFamily> =
            CovarianceFamily::ALL.into_iter().filter(|family| groups > 1 || family.of_one_group()).collect();
        let partitions = starts.partitions(groups);
        let fits: Vec<Candidate> = families
            .into_par_iter()
            .filter_map(|family| Some(Candidate { groups, fit: likeliest(evidence, &partitions, groups, family)? }))
            .filter(|candidate| forced || groups == 1 || admissible(&candidate.fit))
            .collect();
        found.extend(fits);
        // Once several more groups have brought nothing, still more will not.
        if best_by_bic(&found).is_some_and(|best| groups >= found[best].groups + LOOK_AHEAD) {
            break;
        }
    }
    found
}

/// Whether every group is the likeliest of enough vessels.
fn admissible(fit: &MixtureFit) -> bool {
    let mut members = vec![0_usize; fit.mixture.components.len()];
    for (label, stray) in fit.labels().into_iter().zip(fit.stray_probabilities()) {
        members[label] += usize::from(stray < 0.5);
    }
    let fewest = (fit.probabilities.nrows() / FEWEST_SHARE).clamp(FEWEST_MEMBERS.0, FEWEST_MEMBERS.1);
    members.iter().all(|count| *count >= fewest)
}

/// The fewest groups whose BIC is no more than a bare mention below the greatest; of equally many the greatest.
fn best_by_bic(candidates: &[Candidate]) -> Option<usize> {
    let greatest = candidates.iter().map(|c| c.fit.bic).max_by(f64::total_cmp)?;
    let close = candidates.iter().enumerate().filter(|(_, c)| c.fit.bic >= greatest - BARE_MENTION);
    let order = |a: &Candidate, b: &Candidate| a.groups.cmp(&b.groups).then(b.fit.bic.total_cmp(&a.fit.bic));
    close.min_by(|a, b| order(a.1, b.1)).map(|(index, _)| index)
}

/// A gain in BIC held against simulated corpora of one group.
struct OneGroupTest {
    /// How often a corpus of one group gains as much.
    p: f64,
    /// Whether that is seldom enough to speak of several groups.
    several: bool,
}

/// How often a corpus of one group, measured with the same noise, gains as much BIC from several groups; the simulation ends
/// as soon as too many have.
///
/// # References
/// McLachlan 1987, On bootstrapping the likelihood ratio test statistic for the number of components; Besag & Clifford 1991,
/// Sequential Monte Carlo p-values.
fn one_group_test(evidence: &Evidence, one: &Mixture, gain: f64, seed: Seed) -> OneGroupTest {
    let numbers: Vec<usize> = (1..=MOST_GROUPS_SIMULATED.min(most_groups(evidence.len()))).collect();
    let reached = |item: u64| {
        let simulated = simulate(evidence, one, seed.derive(item));
        let found = candidates(&simulated, &numbers, false, seed.derive(1_000 + item));
        let best = |several: bool| {
            let fits = found.iter().filter(|c| (c.groups > 1) == several).map(|c| c.fit.bic);
            fits.fold(f64::NEG_INFINITY, f64::max)
        };
        best(true) - best(false) >= gain
    };
    let (mut count, mut done) = (0, 0);
    while done < SIMULATED && count <= MAY_GAIN {
        count += (done..done + AT_ONCE).into_par_iter().filter(|&item| reached(item)).count();
        done += AT_ONCE;
    }
    OneGroupTest { p: (1 + count) as f64 / (1 + done) as f64, several: count <= MAY_GAIN }
}

fn simulate(evidence: &Evidence, one: &Mixture, seed: Seed) -> Evidence {
    let n = evidence.dimensions;
    let component = &one.components[0];
    let mut lower = component.covariance;
    if !cholesky::factorise(&mut lower[..n * n], n) {
        return evidence.clone();
    }
    let mut rng = seed.rng();
    let mut normals = || Array2::from_shape_fn(evidence.points.dim(), |_| rng.sample::<f64, _>(StandardNormal));
    let (places, noise) = (normals(), normals());
    let truth = Array2::from_shape_fn(places.dim(), |(row, k)| {
        component.mean[k] + (0..=k).map(|j| lower[k * n + j] * places[[row, j]]).sum::<f64>()
    });
    evidence.repeated_at(&truth, &noise)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::statistics::adjusted_rand;

    /// What the drawing may lose: a group of one vessel in fifty, of which 20 of 1,000 drawn are expected, is still found, and
    /// every vessel of 4,000 goes with its own. Groups lie 12 standard deviations apart, where no vessel is between two.
    #[test]
    fn a_group_of_one_in_fifty_is_found_among_the_drawn() {
        for seed in [1, 2, 3] {
            let mut rng = Seed::new(seed).rng();
            let truth: Vec<usize> = (0..4_000).map(|row| if row % 50 == 0 { 2 } else { row % 2 }).collect();
            let points = Array2::from_shape_fn((4_000, 2), |(row, k)| {
                let at = [[0.0, 0.0], [12.0, 0.0], [0.0, 12.0]][truth[row]][k];
                at + rng.sample::<f64, _>(StandardNormal)
            });
            let found = choose(&Evidence::from_points(&points, &[0.0; 2]), None, Seed::new(seed)).unwrap();
            assert_eq!(found.fit.mixture.components.len(), 3);
            assert!(adjusted_rand(&truth, &found.fit.labels()) > 0.999);
        }
    }
}
