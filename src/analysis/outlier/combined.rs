//! One level of precision per vessel from all its measures.

use rayon::prelude::*;

use super::super::precision::LogReading;
use crate::math::density::{inverse_mills, normal_cdf};
use crate::math::robust::{mad, median};

/// Rounds of levels given the measures and measures given the levels; they settle in about five.
const ROUNDS: usize = 20;

/// Movement of a measure's usual logarithm or scatter below which they have settled: a millionth of a deviation.
const SETTLED: f64 = 1e-6;

/// Newton steps of a level; the likelihood is concave.
const NEWTON_STEPS: usize = 50;

/// Least scatter of a measure about the level of its vessel: 10 % ("project"; below it one measure would outvote all).
const LEAST_SCATTER: f64 = 0.1;

/// A level known only as a bound is at most the one that its bounds leave this likely.
const BOUND_LIKELIHOOD: f64 = 0.05;

/// What is known of a vessel's level: its logarithmic distance from the usual deviation of every measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Level {
    /// The level.
    Known {
        /// Its logarithm.
        value: f64,
        /// Variance of the logarithm from how far the measures disagree.
        scatter: f64,
        /// Standard deviation that the scanner's noise adds to the level itself, not to its logarithm, in units of the
        /// usual deviation: noise adds to deviations, so that a poor scan of a true vessel is far off in logarithms.
        noise: f64,
        /// Variance of the logarithm from what the scan may hide: a share of the level, whatever that is.
        hidden: f64,
    },
    /// The level is at most this.
    AtMost(f64),
    /// Nothing is known.
    Missing,
}

impl Level {
    /// A level with the variance of its logarithm; `None` of a bound.
    ///
    /// Noise is taken relative to the level or to what is usual, whichever is less: a poor scan is seen above its limit only
    /// where noise has raised it.
    pub(super) fn with_variance(self) -> Option<(f64, f64)> {
        let Self::Known { value, scatter, noise, hidden } = self else { return None };
        let relative = noise / value.exp().min(1.0);
        Some((value, scatter + hidden + (relative * relative).ln_1p()))
    }
}

/// Levels of all vessels and what is usual of each measure.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Levels {
    pub(super) levels: Vec<Level>,
    /// Usual logarithm of each measure at level 0.
    pub(super) usual: Vec<f64>,
    /// Standard deviation of each measure about the level of its vessel.
    pub(super) scatter: Vec<f64>,
}

/// Estimates the levels: reading = usual of its measure + level of its vessel + scatter + noise.
///
/// Medians throughout, so that unusual vessels do not set what is usual. A bound enters the level's likelihood as the
/// probability of lying below it.
pub(super) fn levels(readings: &[Vec<LogReading>]) -> Levels {
    let measures = readings.first().map_or(0, Vec::len);
    let mut found = Levels {
        levels: vec![Level::Known { value: 0.0, scatter: 0.0, noise: 0.0, hidden: 0.0 }; readings.len()],
        usual: vec![0.0; measures],
        scatter: vec![1.0; measures],
    };
    let noises: Vec<Vec<f64>> = readings.par_iter().map(|row| noises(row)).collect();
    for round in 0..=ROUNDS {
        let moved = found.refresh_measures(readings);
        found.levels = readings.par_iter().zip(&noises).map(|(row, noises)| found.level(row, noises)).collect();
        if moved < SETTLED || round == ROUNDS {
            break;
        }
        found.centre();
    }
    found
}

impl Levels {
    /// Usual value and scatter of each measure from the vessels whose level is known; how far the one that moved most has.
    fn refresh_measures(&mut self, readings: &[Vec<LogReading>]) -> f64 {
        let mut moved = 0.0_f64;
        for measure in 0..self.usual.len() {
            let (mut rests, mut noises) = (Vec::new(), Vec::new());
            for (row, level) in readings.iter().zip(&self.levels) {
                if let (LogReading::Known { value, variance, .. }, Level::Known { value: level, .. }) =
                    (row[measure], level)
                {
                    rests.push(value - level);
                    noises.push(variance);
                }
            }
            if let (Some((centre, spread)), Some(noise)) = (mad(&mut rests), median(&mut noises)) {
                let scatter = (spread * spread - noise).max(LEAST_SCATTER * LEAST_SCATTER).sqrt();
                moved = moved.max((centre - self.usual[measure]).abs()).max((scatter - self.scatter[measure]).abs());
                (self.usual[measure], self.scatter[measure]) = (centre, scatter);
            }
        }
        moved
    }

    /// Moves the levels so that their median is 0.
    fn centre(&mut self) {
        let known = |level: &Level| if let Level::Known { value, .. } = level { Some(*value) } else { None };
        let mut values: Vec<f64> = self.levels.iter().filter_map(known).collect();
        let Some(centre) = median(&mut values) else { return };
        for level in &mut self.levels {
            if let Level::Known { value, .. } | Level::AtMost(value) = level {
                *value -= centre;
            }
        }
    }

    /// The likeliest level of one vessel; `noises` are those of its readings.
    ///
    /// A first level, of values weighed by the noise beside them, serves to weigh them by the noise beside what they should be:
    /// a value that noise has raised must not count for more.
    fn level(&self, row: &[LogReading], noises: &[f64]) -> Level {
        let first = self.value(row, &self.weights(row, noises, None));
        let Some(about) = first else { return self.bound(row).map_or(Level::Missing, Level::AtMost) };
        let weights = self.weights(row, noises, Some(about));
        let Some(value) = self.value(row, &weights) else { return Level::Missing };
        let (mut sum, mut scatter, mut noise, mut hides) = (0.0, 0.0, 0.0, 0.0);
        for (measure, (reading, weight)) in row.iter().zip(&weights).enumerate() {
            if let LogReading::Known { value, hidden, .. } = *reading {
                sum += weight;
                scatter += weight * weight * self.scatter[measure] * self.scatter[measure];
                noise += weight * noises[measure] * (value - self.usual[measure]).exp();
                hides += weight * hidden.sqrt();
            }
        }
        // The measures of one scan share its noise and what it hides, so their errors are added, not averaged away.
        Level::Known { value, scatter: scatter / (sum * sum), noise: noise / sum, hidden: (hides / sum).powi(2) }
    }

    /// What each value weighs where noise is seen beside what vessels of level `about` show, or beside the values themselves.
    fn weights(&self, row: &[LogReading], noises: &[f64], about: Option<f64>) -> Vec<f64> {
        let one = |(measure, reading): (usize, &LogReading)| match *reading {
            LogReading::Known { value, variance, hidden } => {
                let above = about.map(|about| value - self.usual[measure] - about);
                1.0 / (self.scatter[measure] * self.scatter[measure] + seen(variance, hidden, noises[measure], above))
            }
            LogReading::Below { .. } | LogReading::Missing => 0.0,
        };
        row.iter().enumerate().map(one).collect()
    }

    /// The likeliest level where the values weigh so much; `None` without a value.
    fn value(&self, row: &[LogReading], weights: &[f64]) -> Option<f64> {
        let sum: f64 = weights.iter().sum();
        let value = |(measure, (reading, weight)): (usize, (&LogReading, &f64))| match *reading {
            LogReading::Known { value, .. } => weight * (value - self.usual[measure]),
            LogReading::Below { .. } | LogReading::Missing => 0.0,
        };
        let values: f64 = row.iter().zip(weights).enumerate().map(value).sum();
        (sum > 0.0).then(|| self.likeliest(row, sum, values / sum))
    }

    /// Newton steps on the concave likelihood of values, whose mean and weights' sum are given, and bounds.
    fn likeliest(&self, row: &[LogReading], weights: f64, mean: f64) -> f64 {
        let mut level = mean;
        for _ in 0..NEWTON_STEPS {
            let (mut slope, mut bend) = (weights * (mean - level), weights);
            for (measure, reading) in row.iter().enumerate() {
                if let LogReading::Below { limit } = *reading {
                    let own = self.scatter[measure];
                    let z = (limit - self.usual[measure] - level) / own;
                    let mills = inverse_mills(z);
                    slope -= mills / own;
                    bend += (mills * (z + mills)).max(0.0) / (own * own);
                }
            }
            let step = slope / bend;
            level += step;
            if step.abs() < 1e-9 {
                break;
            }
        }
        level
    }

    /// The greatest level that the bounds of a vessel leave likely, were they all that is known.
    fn bound(&self, row: &[LogReading]) -> Option<f64> {
        let limits: Vec<(f64, f64)> = row
            .iter()
            .enumerate()
            .filter_map(|(measure, reading)| match *reading {
                LogReading::Below { limit } => Some((limit - self.usual[measure], self.scatter[measure])),
                LogReading::Known { .. } | LogReading::Missing => None,
            })
            .collect();
        let least = limits.iter().map(|(limit, _)| *limit).min_by(f64::total_cmp)?;
        let widest = limits.iter().map(|(_, scatter)| *scatter).fold(0.0, f64::max);
        let likelihood = |level: f64| limits.iter().map(|(limit, s)| normal_cdf((limit - level) / s)).product::<f64>();
        let (mut low, mut high) = (least - 20.0 * widest, least + 20.0 * widest);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if likelihood(middle) > BOUND_LIKELIHOOD { low = middle } else { high = middle }
        }
        Some(0.5 * (low + high))
    }
}

/// Variance that its measurement adds to the logarithm of a value, were the value at level `about` instead of its own: noise
/// stays what it is, what is hidden stays the share it is.
pub(super) fn seen_beside(own: f64, variance: f64, hidden: f64, about: Option<f64>) -> f64 {
    seen(variance, hidden, relative_noise(variance, hidden), about.map(|about| own - about))
}

/// The same of a value with this noise / value that lies so far above the level.
fn seen(variance: f64, hidden: f64, noise: f64, above: Option<f64>) -> f64 {
    above.map_or(variance, |above| {
        let relative = noise * above.exp();
        hidden + (relative * relative).ln_1p()
    })
}

/// Noise / value of each reading; nought where it is no value.
fn noises(row: &[LogReading]) -> Vec<f64> {
    let one = |reading: &LogReading| match *reading {
        LogReading::Known { variance, hidden, .. } => relative_noise(variance, hidden),
        LogReading::Below { .. } | LogReading::Missing => 0.0,
    };
    row.iter().map(one).collect()
}

/// Noise / value of a reading whose logarithm has this variance, `hidden` of it from what the scan hides: the inverse of what
/// made them.
fn relative_noise(variance: f64, hidden: f64) -> f64 {
    (variance.exp_m1() - hidden.exp_m1()).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(value: f64) -> LogReading {
        LogReading::Known { value, variance: 1e-6, hidden: 0.0 }
    }

    #[test]
    fn levels_are_factors_common_to_all_measures() {
        let offsets = [0.0, 0.3, -0.2, 0.1, -1.6];
        let readings: Vec<_> =
            offsets.iter().map(|o| vec![known(-2.0 + o), known(-3.0 + o), known(-1.0 + o)]).collect();
        let found = levels(&readings);
        for (level, offset) in found.levels.iter().zip(offsets) {
            let Level::Known { value, .. } = level else { panic!("known") };
            assert!((value - offset).abs() < 1e-6);
        }
        assert!((found.usual[1] + 3.0).abs() < 1e-6);
    }

    #[test]
    fn a_bound_above_the_rest_says_nothing_and_one_below_pulls_down() {
        let levels = Levels { levels: Vec::new(), usual: vec![0.0; 2], scatter: vec![0.3; 2] };
        let level = |bound: f64| match levels.level(&[known(-0.5), LogReading::Below { limit: bound }], &[1e-3, 0.0]) {
            Level::Known { value, .. } => value,
            Level::AtMost(_) | Level::Missing => panic!("known"),
        };
        assert!((level(3.0) + 0.5).abs() < 1e-6);
        assert!(level(-1.5) < -0.7);
    }

    #[test]
    fn bounds_alone_leave_a_bound() {
        let levels = Levels { levels: Vec::new(), usual: vec![0.0], scatter: vec![0.3] };
        // Phi(z) = 0.05 at z = -1.6449
        assert!(
            matches!(levels.level(&[LogReading::Below { limit: -2.0 }], &[0.0]), Level::AtMost(at) if (at + 2.0 - 0.3 * 1.6449).abs() < 1e-3)
        );
        assert_eq!(levels.level(&[LogReading::Missing], &[0.0]), Level::Missing);
    }
}
