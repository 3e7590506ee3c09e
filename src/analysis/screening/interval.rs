//! How far a ratio could lie off: other references of the same kinds, and the vessel measured again.

use std::collections::{BTreeMap, BTreeSet};

use rand::Rng;
use rand_distr::StandardNormal;
use rayon::prelude::*;

use super::calibration::Calibration;
use super::model::{Bounds, fit_rows};
use super::population::{Populations, Subject};
use crate::analysis::precision::LogReading;
use crate::math::robust::quantile;
use crate::quantity::Seed;

/// Share of the resamples outside the interval at each end.
const TAIL: f64 = 0.025;

/// A reference needs so many resamples without it for an interval of its own; each is absent from about a third.
const FEWEST_RESAMPLES: usize = 10;

/// A resample needs so many different references of each kind: fewer have no spread of their own.
const FEWEST_DIFFERENT: usize = 4;

/// What the resampling draws from.
pub(super) struct Resampled<'a> {
    pub(super) subjects: &'a [Subject],
    /// Rows of the modern and of the old references.
    pub(super) references: &'a [Vec<usize>; 2],
    /// The populations fitted to all of them.
    pub(super) populations: &'a Populations,
    /// Scores of the references, each from a model without it.
    pub(super) scores: &'a BTreeMap<usize, f64>,
    pub(super) bounds: Bounds,
}

impl Resampled<'_> {
    /// Intervals (95 %) of the natural logarithms of all vessels' ratios, by row.
    ///
    /// Each resample draws references of each kind with replacement, fits populations and calibration anew, and measures every
    /// vessel anew within its uncertainty. A reference is judged only by resamples without it. What sources have in common
    /// is not in the interval: a few sources cannot be resampled. The ratios with sources left out speak of it.
    pub(super) fn intervals(&self, resamples: u16, seed: Seed) -> Vec<Option<[f64; 2]>> {
        let ratios: Vec<Vec<Option<f64>>> =
            (0..u64::from(resamples)).into_par_iter().filter_map(|draw| self.ratios(seed.derive(draw))).collect();
        (0..self.subjects.len())
            .into_par_iter()
            .map(|row| {
                let mut values: Vec<f64> = ratios.iter().filter_map(|of| of[row]).collect();
                if values.len() < FEWEST_RESAMPLES {
                    return None;
                }
                Some([quantile(&mut values, TAIL)?, quantile(&mut values, 1.0 - TAIL)?])
            })
            .collect()
    }

    /// Ratios of all vessels but the references drawn; `None` where a resample cannot be fitted.
    fn ratios(&self, seed: Seed) -> Option<Vec<Option<f64>>> {
        let mut rng = seed.rng();
        let drawn = self.references.each_ref().map(|rows| draw(rows, &mut rng));
        let populations = fit_rows(self.subjects, [&drawn[0], &drawn[1]], Some(self.populations))?;
        let scores = drawn.each_ref().map(|rows| rows.iter().filter_map(|row| self.scores.get(row).copied()).collect());
        let [modern, old]: [Vec<f64>; 2] = scores;
        let calibration = Calibration::fit(&modern, &old)?;
        let seen: BTreeSet<usize> = drawn.iter().flatten().copied().collect();
        let bounds = self.bounds;
        let mut again = Subject { regressors: Vec::new(), readings: Vec::new() };
        let ratios = self.subjects.iter().enumerate().map(|(row, subject)| {
            measure_again(subject, &mut again, &mut rng);
            (!seen.contains(&row)).then(|| {
                let score = bounds.hold(populations.score(&again));
                bounds.hold(calibration.ln_ratio(score))
            })
        });
        Some(ratios.collect())
    }
}

/// As many references as there are, drawn with replacement until enough of them differ.
fn draw(rows: &[usize], rng: &mut impl Rng) -> Vec<usize> {
    loop {
        let drawn: Vec<usize> = (0..rows.len()).map(|_| rows[rng.gen_range(0..rows.len())]).collect();
        if drawn.iter().collect::<BTreeSet<_>>().len() >= FEWEST_DIFFERENT.min(rows.len()) {
            return drawn;
        }
    }
}

/// Makes `again` the vessel as another scan could have shown it; a bound stays.
fn measure_again(subject: &Subject, again: &mut Subject, rng: &mut impl Rng) {
    again.regressors.clone_from(&subject.regressors);
    again.readings.clone_from(&subject.readings);
    for reading in &mut again.readings {
        if let LogReading::Known { value, variance, .. } = reading {
            *value += variance.sqrt() * rng.sample::<f64, _>(StandardNormal);
        }
    }
}
