//! How far a ratio could lie off: other references of the same kinds, and the vessel measured again.

use std::collections::{BTreeMap, BTreeSet};

use rand::Rng;
use rand_distr::StandardNormal;
use rayon::prelude::*;

use super::calibration::Calibration;
use super::model::{Bounds, fit_rows};
use super::population::Subject;
use crate::analysis::precision::LogReading;
use crate::math::density::t_quantile;
use crate::math::robust::quantile;
use crate::math::variance::moments;
use crate::quantity::Seed;

/// Share of the resamples outside the interval at each end.
const TAIL: f64 = 0.025;

/// A reference needs so many resamples without it for an interval of its own; each is absent from about a third.
const FEWEST_RESAMPLES: usize = 10;

/// Of more vessels the ends are found by fewer resamples: every vessel's score in each of them would take most of the time of
/// a screening.
const MOST_OF_QUANTILES: usize = 2_000;

/// The spread of 40 normals is known to 11 % of itself, a quantile at 2.5 % of 100 to 14 % of its distance from the mean.
const RESAMPLES_OF_SPREADS: u16 = 40;

/// A reference needs so many of these without it; fewer of 40 are left in one of two thousand.
const FEWEST_OF_SPREAD: usize = 6;

/// A resample needs so many different references of each kind: fewer have no spread of their own.
const FEWEST_DIFFERENT: usize = 4;

/// What the resampling draws from.
pub(super) struct Resampled<'a> {
    pub(super) subjects: &'a [Subject],
    /// Rows of the modern and of the old references.
    pub(super) references: &'a [Vec<usize>; 2],
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
    ///
    /// The ends are quantiles; of more than [`MOST_OF_QUANTILES`] vessels, those that the mean and the spread of fewer resamples
    /// give a normal.
    pub(super) fn intervals(&self, resamples: u16, seed: Seed) -> Vec<Option<[f64; 2]>> {
        if self.subjects.len() > MOST_OF_QUANTILES {
            return self.between(resamples.min(RESAMPLES_OF_SPREADS), seed, of_spread);
        }
        self.between(resamples, seed, of_quantiles)
    }

    /// The same from so many resamples, each vessel's ratios made an interval by `ends`.
    pub(super) fn between(
        &self,
        resamples: u16,
        seed: Seed,
        ends: fn(&mut [f64]) -> Option<[f64; 2]>,
    ) -> Vec<Option<[f64; 2]>> {
        let ratios: Vec<Vec<Option<f64>>> =
            (0..u64::from(resamples)).into_par_iter().filter_map(|draw| self.ratios(seed.derive(draw))).collect();
        let of = |row: usize| {
            let ends = ends(&mut ratios.iter().filter_map(|of| of[row]).collect::<Vec<f64>>())?;
            Some(ends.map(|end| self.bounds.hold(end)))
        };
        (0..self.subjects.len()).into_par_iter().map(of).collect()
    }

    /// Ratios of all vessels but the references drawn; `None` where a resample cannot be fitted.
    fn ratios(&self, seed: Seed) -> Option<Vec<Option<f64>>> {
        let mut rng = seed.rng();
        let drawn = self.references.each_ref().map(|rows| draw(rows, &mut rng));
        let populations = fit_rows(self.subjects, [&drawn[0], &drawn[1]])?;
        let scores = drawn.each_ref().map(|rows| rows.iter().filter_map(|row| self.scores.get(row).copied()).collect());
        let [modern, old]: [Vec<f64>; 2] = scores;
        let calibration = Calibration::fit(&modern, &old)?;
        let seen: BTreeSet<usize> = drawn.iter().flatten().copied().collect();
        let bounds = self.bounds;
        let ratios = self.subjects.iter().enumerate().map(|(row, subject)| {
            let again = measured_again(subject, &mut rng);
            (!seen.contains(&row)).then(|| {
                let score = bounds.hold(populations.score(&again));
                bounds.hold(calibration.ln_ratio(score))
            })
        });
        Some(ratios.collect())
    }
}

/// The quantiles of a vessel's ratios; `None` of too few.
pub(super) fn of_quantiles(values: &mut [f64]) -> Option<[f64; 2]> {
    if values.len() < FEWEST_RESAMPLES {
        return None;
    }
    Some([quantile(values, TAIL)?, quantile(values, 1.0 - TAIL)?])
}

/// Where a further ratio would lie were they normal; `None` of too few.
pub(super) fn of_spread(values: &mut [f64]) -> Option<[f64; 2]> {
    if values.len() < FEWEST_OF_SPREAD {
        return None;
    }
    let found = moments(values)?;
    let reach = t_quantile(1.0 - TAIL, values.len() as f64 - 1.0) * found.standard_deviation;
    Some([found.mean - reach, found.mean + reach])
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

/// The vessel as another scan could have shown it; a bound stays.
fn measured_again(subject: &Subject, rng: &mut impl Rng) -> Subject {
    let again = |reading: &LogReading| match *reading {
        LogReading::Known { value, variance, hidden } => {
            let value = value + variance.sqrt() * rng.sample::<f64, _>(StandardNormal);
            LogReading::Known { value, variance, hidden }
        }
        other => other,
    };
    Subject { regressors: subject.regressors.clone(), readings: subject.readings.iter().map(again).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Vessels whose three logarithms scatter by 0.5 about `at` and are measured to 0.1.
    fn pieces(count: usize, at: f64, seed: u64) -> Vec<Subject> {
        let mut rng = Seed::new(seed).rng();
        let mut value = || at + 0.5 * rng.sample::<f64, _>(StandardNormal);
        let mut reading = || LogReading::Known { value: value(), variance: 0.01, hidden: 0.0 };
        (0..count).map(|_| Subject { regressors: vec![1.0], readings: (0..3).map(|_| reading()).collect() }).collect()
    }

    /// What fewer resamples change: the ends of 40 resamples' spread and of 100 resamples' quantiles.
    ///
    /// In standard deviations of a ratio, an end by spread errs by 0.16 (the mean of 40) and 2.02 x 0.11 (the spread of 40),
    /// together 0.28; a quantile at 2.5 % of 100 normals by 0.27. Half as much again as both together, 0.39, is allowed for
    /// ratios that are not quite normal. Of 100 normals that quantile lies between the third and the fourth, at 1.87 (Blom's
    /// plotting positions), so that the spread's ends are 2.02 / 1.87 = 1.08 times as far apart; 15 % more is allowed likewise.
    #[test]
    fn the_spread_of_forty_says_what_quantiles_of_a_hundred_do() {
        let sets = [pieces(80, 0.0, 1), pieces(80, 0.6, 2), pieces(100, 0.1, 3), pieces(100, 0.5, 4)];
        let subjects = sets.concat();
        let references = [(0..80).collect::<Vec<_>>(), (80..160).collect()];
        let whole = fit_rows(&subjects, [&references[0], &references[1]]).unwrap();
        let scores = (0..160).map(|row| (row, whole.score(&subjects[row]))).collect();
        let bounds = Bounds::of(1_000_000, 1_000_000); // far off: ends held at a bound would agree whatever their spread
        let of = Resampled { subjects: &subjects, references: &references, scores: &scores, bounds };
        let quantiles = of.between(100, Seed::new(7), of_quantiles);
        let spreads = of.between(RESAMPLES_OF_SPREADS, Seed::new(8), of_spread);
        let (mut squares, mut widths, mut others, mut count) = (0.0, 0.0, 0.0, 0.0);
        for (quantiles, spread) in quantiles.iter().zip(&spreads).skip(160) {
            let (quantiles, spread) = (quantiles.unwrap(), spread.unwrap());
            let deviation = (spread[1] - spread[0]) / (2.0 * 2.02);
            squares += (0..2).map(|end| ((spread[end] - quantiles[end]) / deviation).powi(2)).sum::<f64>();
            (widths, others) = (widths + spread[1] - spread[0], others + quantiles[1] - quantiles[0]);
            count += 2.0;
        }
        let root = (squares / count).sqrt();
        assert!(root < 1.5 * 0.39, "{root}");
        assert!((widths / others / 1.08 - 1.0).abs() < 0.15, "{}", widths / others);
        assert!(spreads[..160].iter().all(Option::is_some), "references without an interval of their own");
        assert_eq!(of_spread(&mut [1.0; FEWEST_OF_SPREAD - 1]), None);
    }
}
