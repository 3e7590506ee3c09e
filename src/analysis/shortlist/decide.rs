//! The decisions of each vessel and what a tomography would add to them.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::belief::{Belief, Gain};
use super::input::{Level, MeasureNoise, Piece};
use super::params::CtTerms;
use crate::math::cholesky;
use crate::math::density::{normal_log_density, normal_quantile};

/// False discovery rate at which vessels are named unusual, as in the comparison.
const FALSE_DISCOVERY_RATE: f64 = 0.05;

/// Unusual vessels deviate at least so many times as far as usual ones (project): nearer ones cannot be told apart.
const LEAST_UNUSUAL: f64 = 3.0;

/// How many times as far they may deviate; the likeliest is taken.
const TIMES: [f64; 5] = [LEAST_UNUSUAL, 4.0, 5.0, 6.5, 8.0];

/// Rounds of expectation and maximisation; the share settles in about twenty.
const ROUNDS: usize = 60;

/// What remains between vessels is at least this share of the spread stated, or a wide measurement would leave none.
const LEAST_SHARE: f64 = 0.1;

/// Vessels wanted per score that tells groups apart.
const VESSELS_PER_SCORE: usize = 5;

/// 95 % of a normal lie within so many standard deviations to each side.
const NORMAL_95: f64 = 1.959_964;

/// What is decided of a vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    /// Finer, usual or coarser than its peers.
    Precision,
    /// Which group by form.
    FormGroup,
    /// Which group by precision.
    PrecisionGroup,
    /// Modern work or not, by the screening value.
    Modern,
    /// What its interior, where not seen, says of its precision.
    Interior,
}

impl Question {
    /// The question in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Precision => "whether it is unusually true or untrue",
            Self::FormGroup => "which group by form it belongs to",
            Self::PrecisionGroup => "which group by precision it belongs to",
            Self::Modern => "what its screening value says",
            Self::Interior => "what its interior shows",
        }
    }
}

/// One decision of one vessel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decision {
    /// What is decided.
    pub question: Question,
    /// How sure it is now, and what a tomography would add.
    pub gain: Gain,
    /// How much it counts.
    pub weight: f64,
}

/// What the corpus says of unusual precision.
struct Usual {
    /// Standard deviations beyond which a vessel is named.
    bound: f64,
    /// Share of unusual vessels.
    share: f64,
    /// Their spread over that of usual ones.
    times: f64,
}

/// The decisions of every piece, in order.
pub(super) fn decisions(pieces: &[Piece], terms: &CtTerms) -> Vec<Vec<Decision>> {
    let usual = usual(pieces);
    let form = by_group(pieces, |piece| piece.form_group, |piece| &piece.form_scores, |piece| form_ratio(piece, terms));
    let precision = by_group(
        pieces,
        |piece| piece.precision_group,
        |piece| &piece.precision_scores,
        |piece| noise_ratio(&piece.noises, terms.u_ct_mm),
    );
    let weights = terms.weights;
    let of = |place: usize, piece: &Piece| {
        let found = [
            (
                Question::Precision,
                weights.precision,
                piece.level.map(|level| of_precision(level, piece, &usual, terms)),
            ),
            (Question::FormGroup, weights.group, form[place]),
            (Question::PrecisionGroup, weights.group, precision[place]),
            (Question::Modern, weights.modern, of_screening(piece, terms)),
            (Question::Interior, weights.interior, Some(of_interior(piece, &usual))),
        ];
        let decision =
            |(question, weight, gain): (Question, f64, Option<Gain>)| Some(Decision { question, gain: gain?, weight });
        found.into_iter().filter_map(decision).collect()
    };
    pieces.par_iter().enumerate().map(|(place, piece)| of(place, piece)).collect()
}

fn usual(pieces: &[Piece]) -> Usual {
    let levels: Vec<Level> = pieces.iter().filter_map(|piece| piece.level).collect();
    let n = levels.len().max(1) as f64;
    let named = levels.iter().filter(|level| level.named);
    // Those named have the smallest p; the largest among them is where naming begins. Without any, the smallest p that
    // would be named.
    let last = named.filter_map(|level| level.p).fold(FALSE_DISCOVERY_RATE / n, f64::max);
    let known: Vec<(Level, f64, f64)> = pieces
        .iter()
        .filter_map(|piece| {
            let level = piece.level.filter(|level| !level.bound)?;
            let (between, now) = variances(level, piece);
            Some((level, between, now))
        })
        .collect();
    let best = TIMES.map(|times| unusual(&known, times)).into_iter().max_by(|a, b| a.2.total_cmp(&b.2));
    let (share, times, _) = best.unwrap_or((0.5 / (n + 1.0), LEAST_UNUSUAL, 0.0));
    Usual { bound: normal_quantile(1.0 - 0.5 * last.clamp(1e-9, 0.5)), share, times }
}

/// Share of vessels that deviate so many times as far as usual ones, with that number and the log-likelihood.
///
/// By expectation and maximisation, half a vessel of each kind added: a corpus that shows no unusual vessel may still hold
/// one (Jeffreys).
fn unusual(known: &[(Level, f64, f64)], times: f64) -> (f64, f64, f64) {
    let n = known.len() as f64;
    let densities: Vec<(f64, f64)> = known
        .iter()
        .map(|(level, between, now)| {
            let density =
                |variance: f64| normal_log_density(level.residual, 0.0, variance).exp().max(f64::MIN_POSITIVE);
            (density(between + now), density(times * times * between + now))
        })
        .collect();
    let mut share = 0.1;
    for _ in 0..ROUNDS {
        let belongs: f64 =
            densities.iter().map(|(usual, odd)| share * odd / (share * odd + (1.0 - share) * usual)).sum();
        share = (belongs + 0.5) / (n + 1.0);
    }
    let log_likelihood = densities.iter().map(|(usual, odd)| (share * odd + (1.0 - share) * usual).ln()).sum();
    (share, times, log_likelihood)
}

/// Variance between vessels, and of the measurement, of a vessel's level.
fn variances(level: Level, piece: &Piece) -> (f64, f64) {
    let now = level_variance(&piece.noises, |noise| Some(noise.u_mm).filter(|_| !noise.bound)).unwrap_or(0.0);
    let square = level.spread * level.spread;
    let between = if level.bound { square } else { (square - now).max(LEAST_SHARE * LEAST_SHARE * square) };
    (between, now)
}

/// Variance of a vessel's level by measurement: the measures of one scan share its noise, so their errors are added.
fn level_variance(noises: &[MeasureNoise], u: impl Fn(&MeasureNoise) -> Option<f64>) -> Option<f64> {
    let (mut sum, mut weights) = (0.0, 0.0);
    for noise in noises {
        let Some(u) = u(noise) else { continue };
        let weight = 1.0 / (noise.spread * noise.spread);
        sum += weight * u / noise.value_mm;
        weights += weight;
    }
    (weights > 0.0).then(|| (sum / weights).powi(2))
}

/// Variance of the tomography's level over that of the scans' now.
fn noise_ratio(noises: &[MeasureNoise], u_ct_mm: f64) -> Option<f64> {
    let now = level_variance(noises, |noise| Some(noise.u_mm).filter(|_| !noise.bound))?;
    let ct = level_variance(noises, |noise| Some(u_ct_mm).filter(|_| !noise.bound))?;
    (now > 0.0).then(|| ct / now)
}

fn form_ratio(piece: &Piece, terms: &CtTerms) -> Option<f64> {
    piece.u_radius_mm.filter(|u| *u > 0.0).map(|u| (terms.u_ct_mm / u).powi(2))
}

fn of_precision(level: Level, piece: &Piece, usual: &Usual, terms: &CtTerms) -> Gain {
    let (between, now) = variances(level, piece);
    let ct = level_variance(&piece.noises, |_| Some(terms.u_ct_mm)).unwrap_or(f64::INFINITY);
    let prior = Belief::of_population(between, usual.share, usual.times * usual.times * between);
    let belief = if level.bound { prior.below(level.residual) } else { prior.measured(level.residual, now) };
    let bound = usual.bound * between.sqrt();
    if ct.is_finite() { belief.gain(&[-bound, bound], ct) } else { belief.gain(&[], 1.0) }
}

fn of_screening(piece: &Piece, terms: &CtTerms) -> Option<Gain> {
    let (ratio, low, high) = piece.modern.filter(|_| !piece.documented)?;
    let spread = (high - low) / (2.0 * NORMAL_95);
    let times = noise_ratio(&piece.noises, terms.u_ct_mm)?;
    (spread > 0.0).then(|| Belief::normal(ratio, spread * spread).gain(&[0.0], spread * spread * times))
}

/// An interior not seen is taken to be usual; in the share of unusual vessels that is wrong, and a tomography shows it.
fn of_interior(piece: &Piece, usual: &Usual) -> Gain {
    let gain = usual.share * (1.0 - piece.inner_seen);
    Gain { now: 1.0 - gain, gain }
}

/// Whether the group a vessel was put in is the one its exact scores would put it in, against the next likely.
///
/// Scores of the groups share a covariance; along the line that tells two groups best apart, the logarithm of their odds
/// is linear in the scores (Fisher's discriminant), and its measurement uncertainty follows from theirs.
fn by_group<'a>(
    pieces: &'a [Piece],
    group: impl Fn(&Piece) -> Option<i64> + Sync,
    scores: impl Fn(&'a Piece) -> &'a Vec<(f64, f64)> + Sync,
    ratio: impl Fn(&Piece) -> Option<f64> + Sync,
) -> Vec<Option<Gain>> {
    let mut members: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
    for (place, piece) in pieces.iter().enumerate() {
        if let Some(group) = group(piece) {
            members.entry(group).or_default().push(place);
        }
    }
    let count: usize = members.values().map(Vec::len).sum();
    let most = count.saturating_sub(members.len()) / VESSELS_PER_SCORE;
    let known = members.values().flatten().map(|&place| scores(&pieces[place]).len()).min().unwrap_or(0);
    let dimensions = known.min(most);
    let nothing = vec![None; pieces.len()];
    if members.len() < 2 || dimensions == 0 {
        return nothing;
    }
    let value = |place: usize, k: usize| scores(&pieces[place])[k].0;
    let mean = |places: &Vec<usize>| -> Vec<f64> {
        (0..dimensions).map(|k| places.iter().map(|&p| value(p, k)).sum::<f64>() / places.len() as f64).collect()
    };
    let means: Vec<(i64, f64, Vec<f64>)> =
        members.iter().map(|(group, places)| (*group, (places.len() as f64).ln(), mean(places))).collect();
    let mut within = vec![0.0; dimensions * dimensions];
    for ((_, places), (_, _, mean)) in members.iter().zip(&means) {
        for &place in places {
            for (i, j) in (0..dimensions).flat_map(|i| (0..dimensions).map(move |j| (i, j))) {
                within[i * dimensions + j] += (value(place, i) - mean[i]) * (value(place, j) - mean[j]);
            }
        }
    }
    within.iter_mut().for_each(|sum| *sum /= (count - members.len()).max(1) as f64);
    if !cholesky::factorise(&mut within, dimensions) {
        return nothing;
    }
    let of = |place: usize, piece: &Piece| {
        let own = means.iter().find(|(known, ..)| group(piece) == Some(*known))?;
        let ratio = ratio(piece)?;
        let against = |other: &(i64, f64, Vec<f64>)| {
            let mut direction: Vec<f64> = own.2.iter().zip(&other.2).map(|(a, b)| a - b).collect();
            cholesky::solve(&within, dimensions, &mut direction);
            let from_middle = |k: usize| value(place, k) - 0.5 * (own.2[k] + other.2[k]);
            let odds = own.1 - other.1 + (0..dimensions).map(|k| direction[k] * from_middle(k)).sum::<f64>();
            let variance = (0..dimensions).map(|k| (direction[k] * scores(&pieces[place])[k].1).powi(2)).sum::<f64>();
            (odds, variance)
        };
        let others = means.iter().filter(|(known, ..)| *known != own.0).map(against);
        let (odds, variance) = others.min_by(|a, b| a.0.total_cmp(&b.0))?;
        (variance > 0.0).then(|| Belief::normal(odds, variance).gain(&[0.0], variance * ratio))
    };
    pieces.par_iter().enumerate().map(|(place, piece)| of(place, piece)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noise(value_mm: f64, u_mm: f64) -> MeasureNoise {
        MeasureNoise { spread: 0.5, bound: false, value_mm, u_mm }
    }

    fn piece(residual: f64, u_mm: f64) -> Piece {
        let level = Level { residual, spread: 0.5, bound: false, p: Some(0.5), named: false };
        Piece { level: Some(level), noises: vec![noise(0.1, u_mm)], inner_seen: 1.0, ..Piece::default() }
    }

    fn of(pieces: &[Piece], question: Question) -> Vec<Option<Gain>> {
        let found = decisions(pieces, &CtTerms::default());
        found.iter().map(|all| all.iter().find(|one| one.question == question).map(|one| one.gain)).collect()
    }

    #[test]
    fn doubt_near_the_bound_is_worth_a_scan_and_certainty_is_not() {
        // twenty vessels: naming begins at p = 0.05 / 20, 3.02 standard deviations
        let mut pieces = vec![piece(0.0, 0.005); 18];
        pieces.push(piece(1.3, 0.03)); // 30 % of its value uncertain, near the bound
        pieces.push(piece(1.3, 0.001)); // just as far out, but well known
        let found: Vec<f64> = of(&pieces, Question::Precision).iter().map(|gain| gain.unwrap().gain).collect();
        assert!(found[18] > 0.05 && found[18] > 10.0 * found[19] && found[18] > 10.0 * found[0], "{found:?}");
    }

    #[test]
    fn an_interior_not_seen_is_worth_the_share_of_unusual_vessels() {
        let mut pieces = vec![piece(0.0, 0.005); 9];
        pieces.push(Piece { inner_seen: 0.25, ..piece(0.0, 0.005) });
        let found = of(&pieces, Question::Interior);
        // ten usual vessels: about half a vessel of eleven may be unusual, of three quarters of the interior
        let share = found[9].unwrap().gain / 0.75;
        assert!((0.5 / 11.0..2.0 / 11.0).contains(&share), "{share}");
        assert!(found[0].unwrap().gain.abs() < 1e-12);
    }

    #[test]
    fn a_vessel_between_two_groups_is_worth_more_than_one_within() {
        let at = |score: f64, group: i64| Piece {
            precision_scores: vec![(score, 0.3)],
            precision_group: Some(group),
            ..piece(0.0, 0.02)
        };
        let mut pieces: Vec<Piece> = (0..10).map(|k| at(0.1 * f64::from(k), 1)).collect();
        pieces.extend((0..10).map(|k| at(4.0 + 0.1 * f64::from(k), 2)));
        pieces.push(at(2.4, 1));
        let found: Vec<f64> = of(&pieces, Question::PrecisionGroup).iter().map(|gain| gain.unwrap().gain).collect();
        assert!(found[20] > 0.1 && found[0] < 1e-6, "{found:?}");
        assert!(of(&pieces[..10], Question::PrecisionGroup).iter().all(Option::is_none)); // one group: no decision
    }

    #[test]
    fn documented_pieces_are_not_screened() {
        let screened = Piece { modern: Some((0.2, -1.0, 1.4)), ..piece(0.0, 0.02) };
        let documented = Piece { documented: true, ..screened.clone() };
        let found = of(&[screened, documented], Question::Modern);
        assert!(found[0].unwrap().gain > 0.1 && found[1].is_none());
    }
}
