//! What a scan cannot show: lobes that smoothing took away, or that the sampling leaves out.

use crate::math::gaussian_filter::transmission;

/// Beyond the harmonic of which the scan shows this share, amplitudes are not restored but assumed.
const LEAST_SHARE: f64 = 0.5;

/// What a scan shows of a section's lobes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Mean radius of the section, mm.
    pub radius_mm: f64,
    /// Standard deviation of the kernel the surface was smoothed with, mm; 0 if it was not.
    pub smoothing_mm: f64,
}

impl Sight {
    /// The share of harmonic `n`'s amplitude that the scan shows: a Gaussian kernel passes
    /// exp(-(n s / R)^2 / 2) of n undulations on a circle of radius R.
    #[must_use]
    pub fn share(&self, n: usize) -> f64 {
        (-0.5 * (n as f64 * self.smoothing_mm / self.radius_mm).powi(2)).exp()
    }
}

/// Amplitude that a band of harmonics may have beyond what a scan shows, mm: the root of the summed squares of what is
/// missing of each.
///
/// A harmonic of which the scan shows at least half is restored. Of those beyond, and of those the sampling does not reach,
/// nothing is known but that lobes of turned and thrown work grow weaker with their number: each is taken to be as strong as
/// the shown ones of the octave below, root mean square. `amplitudes[n - 1]` is that of harmonic n, mm, noise taken off;
/// harmonics are weighted with the Gaussian filter of `cutoff_upr`, or alike where there is none.
///
/// # Units and shapes
/// mm; a band of whole undulations per revolution, both ends included.
///
/// # Example
/// Smoothed by s = R / 10, 10 UPR shows exp(-1/2) = 0.6065 of itself: of 0.06065 mm shown, 0.1 - 0.06065 mm is hidden.
/// ```
/// use tornus::reduction::{Sight, hidden};
/// let mut amplitudes = [0.0; 10];
/// amplitudes[9] = 0.060_653;
/// let sight = Sight { radius_mm: 50.0, smoothing_mm: 5.0 };
/// assert!((hidden(&amplitudes, 2..=10, &sight, None) - 0.039_347).abs() < 1e-6);
/// ```
///
/// # References
/// ISO 16610-21 (Gaussian transmission; clause not checked).
#[must_use]
pub fn hidden(
    amplitudes: &[f64],
    band: std::ops::RangeInclusive<usize>,
    sight: &Sight,
    cutoff_upr: Option<f64>,
) -> f64 {
    let shown = (1..=amplitudes.len()).take_while(|n| sight.share(*n) >= LEAST_SHARE).count();
    let restored = |n: usize| amplitudes[n - 1] / sight.share(n);
    let octave = (shown / 2 + 1).max(2)..=shown;
    let count = octave.clone().count().max(1) as f64;
    let assumed = (octave.map(|n| restored(n).powi(2)).sum::<f64>() / count).sqrt();
    let missing = |n: usize| {
        let seen = amplitudes.get(n - 1).copied().unwrap_or(0.0);
        let missing = if n <= shown { restored(n) - seen } else { (assumed - seen).max(0.0) };
        missing * cutoff_upr.map_or(1.0, |cutoff| transmission(n as f64, cutoff))
    };
    band.map(|n| missing(n).powi(2)).sum::<f64>().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHARP: Sight = Sight { radius_mm: 50.0, smoothing_mm: 0.0 };

    #[test]
    fn a_sharp_scan_hides_nothing_of_what_it_samples() {
        assert!(hidden(&[0.1; 60], 2..=60, &SHARP, None) < 1e-15);
    }

    #[test]
    fn harmonics_beyond_the_sampling_are_as_strong_as_the_octave_below() {
        // 16 harmonics of 0.01 mm are missing: 0.01 x 4.
        assert!((hidden(&[0.01; 20], 2..=36, &SHARP, None) - 0.04).abs() < 1e-12);
    }

    #[test]
    fn what_was_smoothed_away_is_assumed() {
        // Shown as a half at n = 10 sqrt(2 ln 2) = 11.8, so that 12 and on are assumed at the true 0.01 of 6 to 11.
        let sight = Sight { radius_mm: 50.0, smoothing_mm: 5.0 };
        let seen: Vec<f64> = (1..=60).map(|n| 0.01 * sight.share(n)).collect();
        let expected = (12..=60).map(|n| (0.01 * (1.0 - sight.share(n))).powi(2)).sum::<f64>().sqrt();
        assert!((hidden(&seen, 12..=60, &sight, None) - expected).abs() < 1e-12);
    }
}
