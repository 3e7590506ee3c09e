//! Harmonics where the angles leave gaps: the gaps are bridged by the smoothest curve the harmonics they allow can give.

use std::f64::consts::TAU;

use super::fit::{FourierError, HarmonicFit, fit};
use super::sampling::{allowed_gap, supported_highest};

/// The curve across a gap holds at most so many harmonics (project): more would swing out within it.
const BRIDGE_HARMONICS: usize = 5;

/// The stretch beside a gap from which its edge is taken, in half periods of the highest harmonic (project). Shorter
/// stretches hand the noise of a few points to the bridge, longer ones miss the edge.
const EDGE_HALF_PERIODS: f64 = 3.0;

/// A fit across gaps.
#[derive(Clone, Debug, PartialEq)]
pub struct BridgedFit {
    /// The harmonics; `count` is the number of measured values.
    ///
    /// The variance factors are those of a full turn sampled as densely as the part seen: they hold for what the
    /// harmonics say there, not for what they say within the gaps.
    pub fit: HarmonicFit,
    /// Share of the turn that was bridged, 0 to 1.
    pub bridged: f64,
}

/// Least squares of harmonics up to `highest` as [`fit`], gaps longer than half its period being bridged first.
///
/// Across a gap runs the curve of the few harmonics that the gaps do allow, shifted to meet the values on both sides.
/// It is given as many values as the part seen has for the same angle. Nothing is known within a gap: what the bridged
/// harmonics say there is a smooth guess, and how much of the turn was bridged is told.
///
/// # Units and shapes
/// Angles in rad, any order; coefficients in the unit of `values`. All weights are 1.
///
/// # Errors
/// As [`fit`], for the values as they are; [`FourierError::TooSparse`] where the gaps allow no harmonic.
///
/// # Example
/// An oval of amplitude 0.1 of which an eighth was not seen: the harmonics that the gap allows are found exactly.
/// ```
/// use tornus::math::fourier::fit_bridged;
/// let angles: Vec<f64> = (0..315).map(|degree| f64::from(degree).to_radians()).collect();
/// let radii: Vec<f64> = angles.iter().map(|theta| 50.0 + 0.1 * (2.0 * theta).cos()).collect();
/// let found = fit_bridged(&angles, &radii, 50)?;
/// assert!((found.fit.cos[1] - 0.1).abs() < 1e-10);
/// assert!((found.bridged - 46.0 / 360.0).abs() < 1e-12);
/// # Ok::<(), tornus::math::fourier::FourierError>(())
/// ```
pub fn fit_bridged(angles: &[f64], values: &[f64], highest: usize) -> Result<BridgedFit, FourierError> {
    let allowed = allowed_gap(highest);
    let sampling = Sampling::new(angles, values)?;
    let gaps = sampling.gaps(allowed);
    let width: f64 = gaps.iter().map(|gap| gap.width).sum();
    let unknowns = 2 * highest + 1;
    if gaps.is_empty() || angles.len() < unknowns {
        return Ok(BridgedFit { fit: fit(angles, values, None, highest)?, bridged: 0.0 });
    }
    let low = supported_highest(&sampling.angles, BRIDGE_HARMONICS.min(highest));
    if low == 0 {
        let largest_gap_rad = gaps.iter().map(|gap| gap.width).fold(0.0, f64::max);
        return Err(FourierError::TooSparse { largest_gap_rad, allowed: allowed_gap(1) });
    }
    let smooth = fit(&sampling.angles, &sampling.values, None, low)?;
    let spacing = (TAU - width) / angles.len() as f64;
    let reach = EDGE_HALF_PERIODS * allowed;
    let (mut all_angles, mut all_values) = (sampling.angles.clone(), sampling.values.clone());
    for gap in &gaps {
        let (from, to) = (sampling.edge(&smooth, gap.before, -reach), sampling.edge(&smooth, gap.after, reach));
        let pieces = (gap.width / spacing).ceil();
        for piece in 1..pieces as usize {
            let share = piece as f64 / pieces;
            let angle = gap.begin + share * gap.width;
            let blend = 0.5 - 0.5 * (std::f64::consts::PI * share).cos();
            all_angles.push(angle);
            all_values.push(smooth.evaluate(angle) + from + blend * (to - from));
        }
    }
    let mut bridged = fit(&all_angles, &all_values, None, highest)?;
    bridged.count = angles.len();
    Ok(BridgedFit { fit: bridged, bridged: width / TAU })
}

/// Values in the order of their angles, which lie in [0, 2 pi).
struct Sampling {
    angles: Vec<f64>,
    values: Vec<f64>,
}

/// A stretch without values.
struct Gap {
    /// Index of the value before it.
    before: usize,
    /// Index of the value after it.
    after: usize,
    begin: f64,
    width: f64,
}

impl Sampling {
    fn new(angles: &[f64], values: &[f64]) -> Result<Self, FourierError> {
        if angles.len() != values.len() {
            return Err(FourierError::LengthMismatch { angles: angles.len(), others: values.len() });
        }
        if let Some(index) = (0..angles.len()).find(|&i| !(angles[i].is_finite() && values[i].is_finite())) {
            return Err(FourierError::NotFinite { index });
        }
        let mut pairs: Vec<(f64, f64)> = angles.iter().map(|a| a.rem_euclid(TAU)).zip(values.iter().copied()).collect();
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let (angles, values) = pairs.into_iter().unzip();
        Ok(Self { angles, values })
    }

    fn gaps(&self, allowed: f64) -> Vec<Gap> {
        let count = self.angles.len();
        (0..count)
            .map(|before| {
                let after = (before + 1) % count;
                let turn = if after == 0 { TAU } else { 0.0 };
                let begin = self.angles[before];
                Gap { before, after, begin, width: self.angles[after] + turn - begin }
            })
            .filter(|gap| gap.width > allowed)
            .collect()
    }

    /// Where the values lie above `smooth` at `start`, by a straight line through those within `reach` (signed) of it.
    fn edge(&self, smooth: &HarmonicFit, start: usize, reach: f64) -> f64 {
        let count = self.angles.len();
        let (mut n, mut x, mut xx, mut y, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for step in 0..count {
            let index = if reach < 0.0 { start + count - step } else { start + step } % count;
            let away = if reach < 0.0 {
                self.angles[start] - self.angles[index]
            } else {
                self.angles[index] - self.angles[start]
            };
            let away = away.rem_euclid(TAU);
            if away > reach.abs() {
                break;
            }
            let above = self.values[index] - smooth.evaluate(self.angles[index]);
            n += 1.0;
            x += away;
            xx += away * away;
            y += above;
            xy += away * above;
        }
        let spread = n * xx - x * x;
        if spread > 0.0 { (xx * y - x * xy) / spread } else { y / n }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(theta: f64) -> f64 {
        40.0 + 0.1 * (2.0 * theta).cos() + 0.03 * (7.0 * theta - 1.0).cos() + 0.01 * (20.0 * theta).sin()
    }

    #[test]
    fn without_gaps_it_is_the_plain_fit() {
        let angles: Vec<f64> = (0..400).map(|j| TAU * f64::from(j) / 400.0).collect();
        let values: Vec<f64> = angles.iter().map(|t| wave(*t)).collect();
        let found = fit_bridged(&angles, &values, 40).unwrap();
        assert_eq!(found, BridgedFit { fit: fit(&angles, &values, None, 40).unwrap(), bridged: 0.0 });
    }

    #[test]
    fn the_part_seen_is_met_and_the_gap_does_not_swing_out() {
        for missing in [100, 500, 1000] {
            let angles: Vec<f64> = (0..3000 - missing).map(|j| TAU * (f64::from(j) + 700.0) / 3000.0).collect();
            let values: Vec<f64> = angles.iter().map(|t| wave(*t)).collect();
            let found = fit_bridged(&angles, &values, 100).unwrap();
            assert!((found.bridged - f64::from(missing + 1) / 3000.0).abs() < 1e-9);
            assert_eq!(found.fit.count, angles.len());
            let begin = TAU * 700.0 / 3000.0;
            let end = begin + TAU * f64::from(2999 - missing) / 3000.0;
            for j in 0..720 {
                let theta = begin + TAU * f64::from(j) / 720.0;
                let inside = (theta - begin).min(end - theta); // negative within the gap
                let error = (found.fit.evaluate(theta) - wave(theta)).abs();
                // The corner where the bridge begins rings for a few half periods of the highest harmonic; within the
                // gap the guess keeps to the range of the curve, 0.28.
                let allowed = if inside > 0.3 {
                    0.003
                } else if inside > 0.0 {
                    0.02
                } else {
                    0.28
                };
                assert!(error < allowed, "{missing} missing, {inside} inside: {error}");
            }
        }
    }

    #[test]
    fn half_a_turn_allows_one_harmonic_and_more_none() {
        let angles: Vec<f64> = (0..500).map(|j| TAU * f64::from(j) / 1100.0).collect();
        let values: Vec<f64> = angles.iter().map(|t| wave(*t)).collect();
        assert!(matches!(fit_bridged(&angles, &values, 50), Err(FourierError::TooSparse { .. })));
        assert!(matches!(fit_bridged(&angles[..90], &values[..90], 50), Err(FourierError::UnderDetermined { .. })));
        assert!(matches!(fit_bridged(&angles, &values[1..], 5), Err(FourierError::LengthMismatch { .. })));
    }
}
