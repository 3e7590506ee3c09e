//! What is said of a corpus: form against precision, form against size.

use ndarray::{Array1, Array2, Axis, s};
use rand::seq::SliceRandom;

use super::super::corpus::{Vessel, instrument_numbers};
use super::super::form::FormSpace;
use super::super::permutation::{Draws, PermutationTest};
use super::super::precision::PrecisionSpace;
use super::super::reliability::reliabilities;
use super::super::statistics::benjamini_hochberg;
use super::regression::regression_on;
use super::two_block::two_block;
use crate::math::robust::quantile;
use crate::quantity::Seed;

/// Vessels needed ("project": of fewer, chance alone brings an RV above a tenth).
const FEWEST: usize = 10;

/// Vessels of one test at most, as for differences: above, so many are drawn.
const MOST_TESTED: usize = 5_000;

/// Components of form that hold this share of the variance are looked at, as for differences.
const FORM_SHARE: f64 = 0.999;

/// Forms are drawn at these standard deviations along the first pair.
const DRAWN_AT: [f64; 2] = [-2.0, 2.0];

/// Forms are drawn at these quantiles of the size.
const SIZES: [f64; 2] = [0.05, 0.95];

/// Below this p, adjusted for both tests, form is said to go with size.
const LEVEL: f64 = 0.05;

/// What form is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Partner {
    /// Logarithms of the precision measures.
    Precision,
    /// Logarithm of the centroid size.
    Size,
}

impl Partner {
    /// The word for the association in tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Precision => "form_precision",
            Self::Size => "form_size",
        }
    }
}

/// A form that goes with one end of the partner.
#[derive(Clone, Debug, PartialEq)]
pub struct PredictedForm {
    /// Standard deviations along the first pair, against precision.
    pub deviations: Option<f64>,
    /// Centroid size, mm, against size.
    pub size_mm: Option<f64>,
    /// Radius and height in centroid sizes.
    pub outline: Vec<(f64, f64)>,
}

/// One association of form, with precision by partial least squares or with size by regression.
#[derive(Clone, Debug, PartialEq)]
pub struct Association {
    /// With what.
    pub partner: Partner,
    /// Vessels with both, sorted.
    pub vessels: Vec<String>,
    /// RV coefficient with precision; share of the variance of form that goes with size.
    pub effect: f64,
    /// The mean of it over all rearrangements.
    pub by_chance: f64,
    /// Correlation of the scores.
    pub correlation: f64,
    /// Share of the squared covariance that the first pair holds; `None` with size.
    pub share: Option<f64>,
    /// The effect against its rearrangements: within instruments against precision.
    pub test: PermutationTest,
    /// Its p adjusted over both associations.
    pub q: Option<f64>,
    /// Scores of form, in order of the vessels, with their standard uncertainties.
    pub form_scores: Vec<(f64, f64)>,
    /// Scores of precision with their standard uncertainties, or logarithms of size over its geometric mean.
    pub partner_scores: Vec<(f64, Option<f64>)>,
    /// What makes up the direction: block, variable, weight.
    pub weights: Vec<(&'static str, String, f64)>,
    /// Forms at either end.
    pub forms: Vec<PredictedForm>,
    /// What a reader must know.
    pub note: Option<String>,
}

/// Form against precision and against size, as far as there are vessels enough.
///
/// Precision takes part as the expected true logarithms of its space: a value from a poor scan is drawn to the mean, a value
/// below its detection limit is a bound. Since that drawing depends on the scanner, vessels are exchanged only within one
/// instrument, and what instruments share is taken off first. Components of form that are no more than noise take no part.
pub(in crate::analysis) fn associations(
    form: &FormSpace,
    precision: &PrecisionSpace,
    vessels: &[Vessel],
    seed: Seed,
) -> Vec<Association> {
    let clear = clear_components(form);
    let size = with_size(form, &clear, seed.derive(1));
    let with_precision = with_precision(form, &clear, precision, vessels, seed.derive(0));
    let mut found: Vec<Association> = with_precision.into_iter().chain(size).collect();
    let q = benjamini_hochberg(&found.iter().map(|one| Some(one.test.p())).collect::<Vec<_>>());
    found.iter_mut().zip(q).for_each(|(one, q)| one.q = q);
    let with_size = found.iter().any(|one| one.partner == Partner::Size && one.q.is_some_and(|q| q <= LEVEL));
    if with_size {
        let claimed = |one: &&mut Association| one.partner == Partner::Precision && one.q.is_some_and(|q| q <= LEVEL);
        let against = found.iter_mut().filter(claimed);
        against.for_each(|one| {
            let words = "form goes with size too: size may stand behind both";
            one.note = Some(one.note.take().map_or_else(|| words.to_owned(), |note| format!("{note}; {words}")));
        });
    }
    found
}

/// Components of form that are more than noise, within those that hold nearly all of the variance.
fn clear_components(form: &FormSpace) -> Vec<usize> {
    let held = form.components.holding(FORM_SHARE, form.components.rank());
    let noise = reliabilities(form.components.variances.view(), form.u_scores.view(), form.noisy);
    (0..held).filter(|&k| !noise[k].below_noise).collect()
}

/// Of these rows at most so many as a test takes, drawn at random, in order.
fn sampled(mut rows: Vec<usize>, seed: Seed) -> Vec<usize> {
    if rows.len() > MOST_TESTED {
        rows.shuffle(&mut seed.rng());
        rows.truncate(MOST_TESTED);
        rows.sort_unstable();
    }
    rows
}

/// A direction among components as one among coordinates.
fn among_coordinates(form: &FormSpace, components: &[usize], weights: &Array1<f64>) -> Array1<f64> {
    form.components.loadings.select(Axis(0), components).t().dot(weights)
}

fn component_weights(components: &[usize], weights: &Array1<f64>) -> Vec<(&'static str, String, f64)> {
    components.iter().zip(weights).map(|(k, weight)| ("form", format!("pc{}", k + 1), *weight)).collect()
}

fn with_precision(
    form: &FormSpace,
    clear: &[usize],
    space: &PrecisionSpace,
    vessels: &[Vessel],
    seed: Seed,
) -> Option<Association> {
    let row_in_space = |row: &usize| space.vessels.binary_search(&form.vessels[*row]).ok();
    let both = (0..form.vessels.len()).filter(|row| row_in_space(row).is_some()).collect();
    let rows = sampled(both, seed.derive(0));
    let others: Vec<usize> = rows.iter().filter_map(row_in_space).collect();
    if rows.len() < FEWEST || space.measures.is_empty() {
        return None;
    }
    let x = form.scores.select(Axis(0), &rows).select(Axis(1), clear);
    let y = space.expected.select(Axis(0), &others);
    let ids: Vec<String> = rows.iter().map(|&row| form.vessels[row].clone()).collect();
    let instruments = instrument_numbers(&ids, vessels);
    let found = two_block(&x, &y, instruments.as_deref(), Draws::affordable(rows.len()), seed.derive(1))?;
    let direction = among_coordinates(form, clear, &found.x_weights);
    let u_form = form.u_along(direction.view());
    let u_precision = |row: usize| space.u_along(row, &found.y_weights);
    let spread = (found.x_scores.dot(&found.x_scores) / (rows.len() - 1) as f64).sqrt();
    let drawn = |deviations: f64| PredictedForm {
        deviations: Some(deviations),
        size_mm: None,
        outline: form.outline((&form.components.mean + &(&direction * (deviations * spread))).view()),
    };
    let measures = space.measures.iter().zip(&found.y_weights);
    let mut weights = component_weights(clear, &found.x_weights);
    weights.extend(measures.map(|(measure, weight)| ("precision", (*measure).to_owned(), *weight)));
    Some(Association {
        partner: Partner::Precision,
        vessels: ids,
        effect: found.rv,
        by_chance: found.rv_by_chance,
        correlation: found.correlation,
        share: Some(found.share),
        test: found.test,
        q: None,
        form_scores: found.x_scores.iter().zip(&rows).map(|(score, &row)| (*score, u_form[row])).collect(),
        partner_scores: found
            .y_scores
            .iter()
            .zip(&others)
            .map(|(score, &row)| (*score, Some(u_precision(row))))
            .collect(),
        weights,
        forms: DRAWN_AT.map(drawn).to_vec(),
        note: instruments.is_some().then(|| "tested within instruments".to_owned()),
    })
}

fn with_size(form: &FormSpace, clear: &[usize], seed: Seed) -> Option<Association> {
    let rows = sampled((0..form.vessels.len()).collect(), seed.derive(0));
    if rows.len() < FEWEST {
        return None;
    }
    let values: Array2<f64> = form.scores.select(Axis(0), &rows).select(Axis(1), clear);
    let sizes: Vec<f64> = rows.iter().map(|&row| form.centroid_size_mm[row].ln()).collect();
    let found = regression_on(&values, &sizes, Draws::affordable(rows.len()), seed.derive(1))?;
    let length = found.slopes.dot(&found.slopes).sqrt().max(f64::MIN_POSITIVE);
    let weights = &found.slopes / length;
    let direction = among_coordinates(form, clear, &weights);
    let u_form = form.u_along(direction.view());
    let drawn = |share: f64| {
        let size = quantile(&mut sizes.clone(), share)?;
        let scores = found.predicted(size);
        let coordinates = &form.components.mean + &among_coordinates(form, clear, &scores);
        Some(PredictedForm {
            deviations: None,
            size_mm: Some(size.exp()),
            outline: form.outline(coordinates.slice(s![..])),
        })
    };
    Some(Association {
        partner: Partner::Size,
        vessels: rows.iter().map(|&row| form.vessels[row].clone()).collect(),
        effect: found.r2,
        by_chance: found.r2_by_chance,
        correlation: found.correlation,
        share: None,
        test: found.test,
        q: None,
        form_scores: found.scores.iter().zip(&rows).map(|(score, &row)| (*score, u_form[row])).collect(),
        partner_scores: sizes.iter().map(|size| (size - found.centre, None)).collect(),
        weights: component_weights(clear, &weights),
        forms: SIZES.into_iter().filter_map(drawn).collect(),
        note: None,
    })
}
