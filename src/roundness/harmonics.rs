//! Amplitude and phase for each number of undulations per revolution.

use super::{RoundnessError, RoundnessProfile};
use crate::math::fourier::HarmonicFit;
use crate::quantity::{Estimate, EstimateError, Upr};

/// One harmonic of a section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Harmonic {
    /// Undulations per revolution.
    pub upr: Upr,
    /// Amplitude with the noise's power taken off, mm, and its standard uncertainty.
    pub amplitude: Estimate,
    /// Amplitude as fitted, mm.
    pub raw_amplitude_mm: f64,
    /// Phase: r = a cos(n theta - phase), rad, in (-pi, pi].
    pub phase_rad: f64,
}

/// The harmonics of a section, from 1 UPR on.
#[derive(Clone, Debug, PartialEq)]
pub struct Harmonics {
    /// Mean radius, mm.
    pub mean_radius: Estimate,
    /// From 1 UPR on.
    pub harmonics: Vec<Harmonic>,
}

/// Amplitudes and phases of a profile up to `highest`, the noise taken from what the harmonics leave over.
///
/// # Errors
/// [`RoundnessError`] if the sampling does not support the harmonics.
///
/// # Example
/// Three-lobed wave of amplitude 0.1 mm, crest at 30 degrees: phase 3 x 30 = 90 degrees.
/// ```
/// use tornus::Upr;
/// use tornus::roundness::{RoundnessProfile, harmonics};
/// let angles: Vec<f64> = (0..360).map(|degree| f64::from(degree).to_radians()).collect();
/// let radii = angles.iter().map(|theta| 50.0 + 0.1 * (3.0 * (theta - 30_f64.to_radians())).cos()).collect();
/// let found = harmonics(&RoundnessProfile::new(angles, radii)?, Upr::new(15).expect("not 0"))?;
/// let third = found.harmonics[2];
/// assert!((third.amplitude.value() - 0.1).abs() < 1e-12);
/// assert!((third.phase_rad - 90_f64.to_radians()).abs() < 1e-10);
/// # Ok::<(), tornus::roundness::RoundnessError>(())
/// ```
pub fn harmonics(profile: &RoundnessProfile, highest: Upr) -> Result<Harmonics, RoundnessError> {
    let fit = profile.fit(highest)?;
    let noise_mm = fit.residual_variance().unwrap_or(0.0).sqrt();
    harmonics_of(&fit, noise_mm)
}

/// Amplitudes and phases of `fit`, where `noise_mm` is the standard deviation of a value of unit weight.
///
/// The corrected amplitude is sqrt(max(0, a^2 + b^2 - noise power)), the noise power being the sum of the variances of a
/// and b. Its standard uncertainty comes from the distribution of the raw power about the corrected: with s^2 the mean
/// variance of a and b, the power has the variance 4 A^2 s^2 + 4 s^4, which for A >> s gives u = s; for A -> 0, where a
/// derivative fails, u = sqrt(power + its u) - A bounds the amplitude from above in the same way and stays finite.
///
/// # Errors
/// [`RoundnessError::BadNoise`] if `noise_mm` is negative or not finite.
///
/// # References
/// Rice 1944, Mathematical analysis of random noise (moments of the amplitude; from memory).
pub fn harmonics_of(fit: &HarmonicFit, noise_mm: f64) -> Result<Harmonics, RoundnessError> {
    if !(noise_mm.is_finite() && noise_mm >= 0.0) {
        return Err(RoundnessError::BadNoise { noise_mm });
    }
    let bad = |_: EstimateError| RoundnessError::BadNoise { noise_mm };
    let variance = noise_mm * noise_mm;
    let mut found = Vec::with_capacity(fit.highest());
    for n in 1..=u16::try_from(fit.highest()).unwrap_or(u16::MAX) {
        let Some(upr) = Upr::new(n) else { continue };
        let index = usize::from(n) - 1;
        let (a, b) = (fit.cos[index], fit.sin[index]);
        let power = a * a + b * b;
        let coefficient_variance = 0.5 * variance * (fit.cos_factor[index] + fit.sin_factor[index]);
        let corrected = (power - 2.0 * coefficient_variance).max(0.0);
        let u = amplitude_uncertainty(corrected, coefficient_variance);
        found.push(Harmonic {
            upr,
            amplitude: Estimate::new(corrected.sqrt(), u).map_err(bad)?,
            raw_amplitude_mm: power.sqrt(),
            phase_rad: b.atan2(a),
        });
    }
    let mean_radius = Estimate::new(fit.mean, noise_mm * fit.mean_variance_factor.sqrt()).map_err(bad)?;
    Ok(Harmonics { mean_radius, harmonics: found })
}

/// Standard uncertainty of an amplitude from its corrected power and the variance of one coefficient.
fn amplitude_uncertainty(corrected_power: f64, coefficient_variance: f64) -> f64 {
    let spread = 2.0 * (coefficient_variance * (corrected_power + coefficient_variance)).sqrt();
    (corrected_power + spread).sqrt() - corrected_power.sqrt()
}
