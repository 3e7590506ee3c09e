//! A meridian rebuilt from a series, against the scan and against free curves.

use std::f64::consts::PI;

use super::lengths::Wall;
use super::statement::{Design, Value};
use crate::math::golden_section;
use crate::math::resample::{cubic, linear};
use crate::quantity::Estimate;

/// Stations at which a design is compared with the scan, evenly spread over the heights it speaks of.
const STATIONS: usize = 64;

/// Free curves tried have at most so many parameters; more would follow the scan's own lobes and wear.
const MOST_PARAMETERS: usize = 12;

/// A design rebuilt for one vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct Rebuilt {
    /// The radius the series starts from, mm, fitted; its uncertainty from the residuals.
    pub base_mm: Estimate,
    /// The ratio of the series, stated or fitted.
    pub ratio: f64,
    /// Parameters fitted to this vessel: the base, and the ratio if it was not stated.
    pub parameters: usize,
    /// Share of the meridian's variance about its mean radius that the design explains; below 0 it is worse than a
    /// cylinder.
    pub share: f64,
    /// Share that a free curve of as many parameters explains.
    pub free_share: f64,
    /// Parameters a free curve needs to explain as much; `None` if twelve do not suffice.
    pub free_parameters: Option<usize>,
    /// Root mean square deviation of the scan from the design, mm.
    pub rms_mm: f64,
    /// Heights of the stations, mm.
    pub heights_mm: Vec<f64>,
    /// Scan less design at each, mm.
    pub deviations_mm: Vec<f64>,
}

/// Rebuilds a design for the outer wall of a vessel of this height, mm; `None` where the wall was not seen over the
/// design's heights.
///
/// The design's radii stand at its shares of the height and are joined by a cubic. The base radius is fitted by least
/// squares, and the ratio too where it was not stated. Free curves are the first terms of a cosine series over the same
/// heights (constant, half a wave, a wave ..), which contain no knowledge of vessels.
///
/// # Example
/// See the tests: a cone whose radii double at equal steps is its own design.
pub(super) fn rebuild(wall: &Wall, height_mm: f64, design: &Design, curves: &FreeCurves) -> Option<Rebuilt> {
    let (first, last) = (design.shares.first()? * height_mm, design.shares.last()? * height_mm);
    let (low, high) = (*wall.heights.first()?, *wall.heights.last()?);
    // The lowest and highest station of a wall lie within its rounding, so a little is forgiven at both ends.
    let slack = 0.03 * height_mm;
    if low > first + slack || high < last - slack {
        return None;
    }
    let step = (last.min(high) - first.max(low)) / (STATIONS - 1) as f64;
    let heights: Vec<f64> = (0..STATIONS).map(|k| first.max(low) + step * k as f64).collect();
    let radii: Option<Vec<f64>> = heights.iter().map(|z| linear(&wall.heights, &wall.radii, *z)).collect();
    let radii = radii?;
    let nodes: Vec<f64> = design.shares.iter().map(|share| share * height_mm).collect();
    let unit = |ratio: f64| -> Option<Vec<f64>> {
        let values: Vec<f64> = design.steps.iter().map(|step| ratio.powf(*step)).collect();
        heights.iter().map(|z| cubic(&nodes, &values, *z)).collect()
    };
    let (ratio, parameters) = match design.ratio {
        Value::Fixed(ratio) => (ratio, 1),
        Value::Fitted { from, to } => {
            let worse = |log: f64| unit(log.exp()).map_or(f64::INFINITY, |unit| scaled(&unit, &radii).1);
            (golden_section::least(worse, from.ln(), to.ln()).exp(), 2)
        }
    };
    let unit = unit(ratio)?;
    let (base, squares) = scaled(&unit, &radii);
    let length: f64 = unit.iter().map(|value| value * value).sum();
    let mean = radii.iter().sum::<f64>() / STATIONS as f64;
    let total: f64 = radii.iter().map(|radius| (radius - mean).powi(2)).sum();
    let degrees = (STATIONS - parameters) as f64;
    let shares = curves.shares(&radii, total);
    let share = if total > 0.0 { 1.0 - squares / total } else { 1.0 };
    Some(Rebuilt {
        base_mm: Estimate::new(base, (squares / degrees / length).sqrt()).ok()?,
        ratio,
        parameters,
        share,
        free_share: shares.get(parameters - 1).copied()?,
        free_parameters: shares.iter().position(|free| *free >= share).map(|place| place + 1),
        rms_mm: (squares / STATIONS as f64).sqrt(),
        deviations_mm: radii.iter().zip(&unit).map(|(radius, unit)| radius - base * unit).collect(),
        heights_mm: heights,
    })
}

/// The factor that brings a curve nearest the radii, and the sum of squares left.
fn scaled(unit: &[f64], radii: &[f64]) -> (f64, f64) {
    let product: f64 = unit.iter().zip(radii).map(|(u, r)| u * r).sum();
    let length: f64 = unit.iter().map(|u| u * u).sum();
    let factor = product / length;
    (factor, unit.iter().zip(radii).map(|(u, r)| (r - factor * u).powi(2)).sum())
}

/// The first terms of a cosine series over the stations, made orthonormal one after the other: the same for all vessels.
pub(super) struct FreeCurves {
    terms: Vec<Vec<f64>>,
}

impl FreeCurves {
    pub(super) fn new() -> Self {
        let last = (STATIONS - 1) as f64;
        let mut terms: Vec<Vec<f64>> = Vec::with_capacity(MOST_PARAMETERS);
        for term in 0..MOST_PARAMETERS {
            let mut wave: Vec<f64> = (0..STATIONS).map(|row| (PI * term as f64 * row as f64 / last).cos()).collect();
            for known in &terms {
                take_off(&mut wave, known);
            }
            let length = wave.iter().map(|value| value * value).sum::<f64>().sqrt();
            wave.iter_mut().for_each(|value| *value /= length);
            terms.push(wave);
        }
        Self { terms }
    }

    /// Share of the variance that the first term, the first two .. explain.
    fn shares(&self, radii: &[f64], total: f64) -> Vec<f64> {
        let mut rest = radii.to_vec();
        let share = |term: &Vec<f64>| {
            take_off(&mut rest, term);
            let squares: f64 = rest.iter().map(|value| value * value).sum();
            if total > 0.0 { 1.0 - squares / total } else { 1.0 }
        };
        self.terms.iter().map(share).collect()
    }
}

/// Takes the part along a unit vector off.
fn take_off(values: &mut [f64], unit: &[f64]) {
    let along: f64 = values.iter().zip(unit).map(|(value, unit)| value * unit).sum();
    values.iter_mut().zip(unit).for_each(|(value, unit)| *value -= along * unit);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wall(radius: impl Fn(f64) -> f64) -> Wall {
        let heights: Vec<f64> = (0..=200).map(|k| 0.5 * f64::from(k)).collect();
        Wall { radii: heights.iter().map(|z| radius(*z)).collect(), us: vec![0.0; heights.len()], heights }
    }

    fn doubling(ratio: Value) -> Design {
        let shares: Vec<f64> = (0..=8).map(|k| f64::from(k) / 8.0).collect();
        Design { name: "d".into(), steps: shares.iter().map(|share| 2.0 * share).collect(), shares, ratio }
    }

    #[test]
    fn a_wall_drawn_by_the_design_is_explained_by_it() {
        // radius 10 x 2^(2 z / 100): base 10, ratio 2
        let wall = wall(|z| 10.0 * 2.0_f64.powf(0.02 * z));
        let stated = rebuild(&wall, 100.0, &doubling(Value::Fixed(2.0)), &FreeCurves::new()).unwrap();
        // A cubic through nine nodes of an exponential: error of the order (ln 4 / 8)^3 / 20 of the value, 3e-4
        assert!((stated.base_mm.value() - 10.0).abs() < 5e-3 && stated.share > 0.9999, "{stated:?}");
        assert_eq!((stated.parameters, stated.deviations_mm.len()), (1, STATIONS));
        assert!(stated.free_share.abs() < 1e-9); // one parameter: a constant
        assert!(stated.free_parameters.is_none_or(|needed| needed > 3));
        let fitted =
            rebuild(&wall, 100.0, &doubling(Value::Fitted { from: 1.1, to: 4.0 }), &FreeCurves::new()).unwrap();
        assert!((fitted.ratio - 2.0).abs() < 5e-3 && fitted.parameters == 2);
    }

    #[test]
    fn a_wrong_design_is_worse_than_a_free_curve() {
        let found =
            rebuild(&wall(|z| 60.0 - 0.4 * z), 100.0, &doubling(Value::Fixed(2.0)), &FreeCurves::new()).unwrap();
        assert!(found.share < 0.0 && found.free_share > found.share);
    }

    #[test]
    fn a_wall_seen_in_part_is_not_compared() {
        let part = wall(|z| 20.0 + z);
        assert_eq!(rebuild(&part, 150.0, &doubling(Value::Fixed(2.0)), &FreeCurves::new()), None);
        assert_eq!(rebuild(&Wall::default(), 100.0, &doubling(Value::Fixed(2.0)), &FreeCurves::new()), None);
    }
}
