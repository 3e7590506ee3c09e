//! One band's harmonics: gaps bridged, noise estimated.

use std::f64::consts::PI;

use crate::math::fourier::{self, FourierError, HarmonicFit};

/// The numbers of harmonics that are fitted; a section takes the highest that its sampling supports.
const LADDER: [usize; 18] = [500, 350, 250, 200, 150, 120, 100, 85, 75, 60, 50, 40, 30, 20, 15, 10, 7, 5];

/// Points for each unknown of a section's fit (project): the noise of the fit stays within a fifth of an even sampling's.
const POINTS_PER_UNKNOWN: usize = 3;

/// A section with more than this share of its azimuth unseen or set aside is not measured (methods: a third).
const MOST_BRIDGED: f64 = 1.0 / 3.0 + 0.02;

/// Harmonics of the curve that bridges a gap, at most.
const BRIDGE_HARMONICS: usize = 5;

/// The harmonics of one band.
#[derive(Clone, Debug, PartialEq)]
pub struct BandFit {
    /// The fit; mean and coefficients are radial deviations from the mean meridian, mm.
    pub harmonics: HarmonicFit,
    /// Standard deviation of a point about the fit along the radius, mm.
    pub noise: f64,
    /// Degrees of freedom of `noise`.
    pub freedom: usize,
    /// Share of the azimuth that no point was near, 0 to 1.
    pub bridged: f64,
}

/// Fits up to `wanted` harmonics to a band's points.
///
/// The highest harmonic is the highest that leaves three points for each unknown. Gaps longer than half its period are
/// bridged by a curve of the few harmonics that the gaps do allow.
///
/// # Units and shapes
/// Azimuth in rad, deviation in mm, of equal length.
///
/// # Errors
/// `None` if fewer than two harmonics are supported, or more than a third of the azimuth is unseen.
#[must_use]
pub fn fit_band(azimuth: &[f64], deviation: &[f64], wanted: usize) -> Option<BandFit> {
    let most = (azimuth.len() / POINTS_PER_UNKNOWN).saturating_sub(1) / 2;
    let highest = LADDER.into_iter().find(|&k| k <= most.min(wanted)).or((most >= 2).then_some(2))?;
    let allowed = PI / highest as f64;
    let gaps = gaps(azimuth, allowed);
    let bridged = gaps.iter().map(|(_, width)| width).sum::<f64>() / (2.0 * PI);
    if bridged > MOST_BRIDGED {
        return None;
    }
    let harmonics = if gaps.is_empty() {
        fourier::fit(azimuth, deviation, None, highest)
    } else {
        bridge(azimuth, deviation, &gaps, highest, allowed)
    };
    let harmonics = harmonics.ok()?;
    let freedom = azimuth.len().checked_sub(2 * highest + 1).filter(|f| *f > 0)?;
    let noise = (harmonics.residual_sum_squares / freedom as f64).sqrt();
    Some(BandFit { harmonics, noise, freedom, bridged })
}

/// Where gaps longer than `allowed` begin, and how long they are, rad.
fn gaps(azimuth: &[f64], allowed: f64) -> Vec<(f64, f64)> {
    let mut sorted = azimuth.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let around = sorted.first().zip(sorted.last()).map(|(first, last)| (*last, first + 2.0 * PI - last));
    let steps = sorted.windows(2).map(|pair| (pair[0], pair[1] - pair[0]));
    steps.chain(around).filter(|(_, width)| *width > allowed).collect()
}

/// The fit with the gaps filled by a smooth curve, at the density the highest harmonic needs.
fn bridge(
    azimuth: &[f64],
    deviation: &[f64],
    gaps: &[(f64, f64)],
    highest: usize,
    allowed: f64,
) -> Result<HarmonicFit, FourierError> {
    let low = fourier::supported_highest(azimuth, BRIDGE_HARMONICS.min(highest));
    let smooth = fourier::fit(azimuth, deviation, None, low)?;
    let (mut angles, mut values) = (azimuth.to_vec(), deviation.to_vec());
    for &(begin, width) in gaps {
        let pieces = (2.0 * width / allowed).ceil();
        for piece in 1..pieces as usize {
            let angle = begin + width * piece as f64 / pieces;
            angles.push(angle);
            values.push(smooth.evaluate(angle));
        }
    }
    fourier::fit(&angles, &values, None, highest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(angle: f64) -> f64 {
        0.2 + 0.05 * (2.0 * angle).cos() + 0.01 * (7.0 * angle - 1.0).cos()
    }

    #[test]
    fn a_whole_band_gives_its_harmonics_to_rounding() {
        let azimuth: Vec<f64> = (0..1000).map(|i| -PI + 2.0 * PI * (f64::from(i) + 0.3) / 1000.0).collect();
        let deviation: Vec<f64> = azimuth.iter().map(|a| wave(*a)).collect();
        let fit = fit_band(&azimuth, &deviation, 150).unwrap();
        assert_eq!(fit.harmonics.highest(), 150);
        assert!((fit.harmonics.cos[1] - 0.05).abs() < 1e-10);
        assert!((fit.harmonics.cos[6].hypot(fit.harmonics.sin[6]) - 0.01).abs() < 1e-10);
        assert!(fit.noise < 1e-6);
    }

    #[test]
    fn a_short_gap_is_bridged_and_half_a_band_refused() {
        let azimuth: Vec<f64> = (0..900).map(|i| -PI + 2.0 * PI * f64::from(i) / 1000.0).collect();
        let deviation: Vec<f64> = azimuth.iter().map(|a| wave(*a)).collect();
        let fit = fit_band(&azimuth, &deviation, 50).unwrap();
        assert!((fit.bridged - 0.1).abs() < 0.01);
        assert!((fit.harmonics.cos[1] - 0.05).abs() < 0.005, "{}", fit.harmonics.cos[1]);
        assert_eq!(fit_band(&azimuth[..450], &deviation[..450], 50), None);
    }
}
