//! Vessels made much more truly, or much less, than is usual for what they are.

use rayon::prelude::*;

use super::super::precision::{LogReading, PrecisionSpace};
use super::super::statistics::benjamini_hochberg;
use super::combined::{Level, Levels, levels, seen_beside};
use super::design::{Circumstances, blocks};
use super::grounds;
use super::predictive::Predictive;
use super::regression::{Response, Usual, usual};
use crate::quantity::Seed;

/// Which way a vessel deviates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Made more truly than is usual.
    Finer,
    /// Made less truly than is usual.
    Coarser,
}

impl Direction {
    /// The word the tables use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Finer => "finer",
            Self::Coarser => "coarser",
        }
    }
}

/// One measure of one vessel against what is usual.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasureResidual {
    /// The measure.
    pub measure: &'static str,
    /// Natural logarithm of value / usual; of the detection limit where the value lies below it.
    pub residual: f64,
    /// Its standard deviation: between vessels, of the measure, and of the measurement.
    pub spread: f64,
    /// Whether only the limit is known.
    pub bound: bool,
    /// The usual value, mm.
    pub usual_mm: f64,
    /// What the scan could have shown, mm; `None` where no such limit applies.
    pub limit_mm: Option<f64>,
}

/// How unusual the precision of one vessel is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PrecisionOutlier {
    /// Natural logarithm of how many times coarser than usual, over all measures; negative is finer. Where the level is
    /// only known as a bound, that bound.
    pub residual: Option<f64>,
    /// Standard deviation of the residual of a usual vessel measured as this one was.
    pub spread: Option<f64>,
    /// Whether the residual is only a bound.
    pub bound: bool,
    /// Probability of so great a residual, either way, of a usual vessel; of a bound, one way.
    pub p: Option<f64>,
    /// Benjamini-Hochberg adjusted.
    pub q: Option<f64>,
    /// Finer or coarser.
    pub direction: Option<Direction>,
    /// Measure by measure.
    pub measures: Vec<MeasureResidual>,
    /// The finding in a sentence.
    pub grounds: Option<String>,
}

/// Unusually true or untrue vessels, in the order of the space's rows.
///
/// The level of a vessel is what all its measures share. What is usual for its form, size, hardness and instrument comes
/// from a robust regression on the others; the residual is judged by the distribution of that prediction with the noise of
/// the vessel's own scans on top. A vessel known only as 'below its limits' is judged by the bound, and can only be finer.
///
/// `limits` holds the detection limit of every measure of the space, vessels x measures, mm; vessels whose q is at most
/// `rate` are given their grounds.
pub(in crate::analysis) fn precision_outliers(
    space: &PrecisionSpace,
    circumstances: &[Circumstances],
    limits: &[Vec<Option<f64>>],
    rate: f64,
    seed: Seed,
) -> Vec<PrecisionOutlier> {
    let found = levels(&space.readings);
    let responses: Vec<Option<Response>> = found.levels.iter().map(|level| response(*level)).collect();
    let Some(usual) = usual(&blocks(circumstances), &responses, seed) else {
        return vec![PrecisionOutlier::default(); space.vessels.len()];
    };
    let mut outliers: Vec<PrecisionOutlier> =
        found.levels.par_iter().enumerate().map(|(row, level)| judge(*level, &usual, row)).collect();
    let adjusted = benjamini_hochberg(&outliers.iter().map(|outlier| outlier.p).collect::<Vec<_>>());
    outliers.par_iter_mut().zip(adjusted).enumerate().for_each(|(row, (outlier, q))| {
        outlier.q = q;
        outlier.measures = measure_residuals(space, &found, &usual, limits, row);
        if q.is_some_and(|q| q <= rate) {
            outlier.grounds = grounds::sentence(outlier, &usual.words, usual.degrees);
        }
    });
    outliers
}

fn response(level: Level) -> Option<Response> {
    level.with_variance().map(|(value, variance)| Response { value, variance })
}

fn judge(level: Level, usual: &Usual, row: usize) -> PrecisionOutlier {
    let (value, scatter, noise, hidden, bound) = match level {
        Level::Known { value, scatter, noise, hidden } => (value, scatter, noise, hidden, false),
        Level::AtMost(value) => (value, 0.0, 0.0, 0.0, true),
        Level::Missing => return PrecisionOutlier::default(),
    };
    let predictive = |measured: f64, noise: f64| {
        let spread = usual.spreads[row].hypot(measured.sqrt());
        // Only the spread of true levels is estimated from few (Welch 1947, Satterthwaite 1946; JCGM 100 G.4.1).
        let degrees = usual.degrees * (spread / usual.spreads[row]).powi(4);
        Predictive { centre: usual.predicted[row], spread, degrees, noise }
    };
    // What a scan hides is a share of the vessel's own deviation, so that a usual vessel may seem that many times finer. What
    // stands beside it may also add to a deviation whatever its size (facets): a usual vessel may seem that much coarser.
    let finer = predictive(scatter + hidden, noise);
    let coarser = predictive(scatter, noise.hypot(hidden.exp_m1().sqrt() * value.exp()));
    let (below, above) = if hidden > 0.0 {
        (finer.tails(value).0, coarser.tails(value).1)
    } else {
        finer.tails(value) // nothing hidden: both are the same
    };
    let residual = value - usual.predicted[row];
    let predictive = if residual < 0.0 { finer } else { coarser };
    let p = if bound { below } else { (2.0 * below.min(above)).min(1.0) };
    let direction = if below < above { Direction::Finer } else { Direction::Coarser };
    PrecisionOutlier {
        residual: Some(residual),
        spread: Some(predictive.log_spread()),
        bound,
        p: Some(p),
        direction: Some(direction).filter(|direction| !bound || *direction == Direction::Finer),
        ..PrecisionOutlier::default()
    }
}

fn measure_residuals(
    space: &PrecisionSpace,
    found: &Levels,
    usual: &Usual,
    limits: &[Vec<Option<f64>>],
    row: usize,
) -> Vec<MeasureResidual> {
    let one = |(index, reading): (usize, &LogReading)| {
        let usual_log = found.usual[index] + usual.predicted[row];
        let (value, noise, bound) = match *reading {
            // The noise of the scan beside the usual value: what a usual vessel would have shown.
            LogReading::Known { value, variance, hidden } => {
                let hidden = if value < usual_log { hidden } else { 0.0 };
                (value, seen_beside(value, variance, hidden, Some(usual_log)), false)
            }
            LogReading::Below { limit } => (limit, 0.0, true),
            LogReading::Missing => return None,
        };
        let own = usual.spreads[row].hypot(found.scatter[index]);
        Some(MeasureResidual {
            measure: space.measures[index],
            residual: value - usual_log,
            spread: own.hypot(noise.sqrt()),
            bound,
            usual_mm: usual_log.exp(),
            limit_mm: limits[row][index],
        })
    };
    space.readings[row].iter().enumerate().filter_map(one).collect()
}
