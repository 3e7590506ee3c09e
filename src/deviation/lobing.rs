//! Lobing: amplitudes of bands of harmonics over the body.

use std::ops::RangeInclusive;

use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::error::{DeviationError, check, enough};
use super::input::SectionHarmonics;
use super::measured::Measured;

/// Share of perfect vessels that stay below the detection limit.
const DETECTION: f64 = 0.95;
/// Fewest sections over which a root mean square is formed.
const FEWEST_SECTIONS: usize = 3;

/// Amplitude of a band of harmonics: root of the summed squares of the amplitudes in the band, root mean square over the
/// body.
///
/// From each squared amplitude the noise's share, twice the variance of a coefficient, is taken off. Sections whose
/// sampling does not support the whole band are left out.
///
/// # Units and shapes
/// mm; `body` holds the body's sections; `band` in undulations per revolution, both ends included.
///
/// # Uncertainty
/// From the noise of the coefficients, independent between harmonics and sections. The detection limit is the value that
/// noise alone exceeds in one case of twenty, from a chi-square with Satterthwaite's degrees of freedom.
///
/// # Errors
/// `TooFew` if fewer than three sections support the band; `BadNumber` for amplitudes or uncertainties that are negative
/// or not finite.
///
/// # Example
/// Amplitudes of 0.03 and 0.04 mm at 2 and 3 UPR make 0.05 mm in the band of both.
/// ```
/// use tornus::deviation::{SectionHarmonics, lobing_band};
/// let section = SectionHarmonics { raw_amplitude_mm: &[0.2, 0.03, 0.04], u_coefficient_mm: &[0.0; 3] };
/// let found = lobing_band(&[section; 5], 2..=3)?.estimate;
/// assert!((found.value() - 0.05).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// Satterthwaite 1946, An approximate distribution of estimates of variance components, doi:10.2307/3002019 (from memory).
pub fn lobing_band(body: &[SectionHarmonics<'_>], band: RangeInclusive<u16>) -> Result<Measured, DeviationError> {
    let (from, to) = (usize::from((*band.start()).max(1)), usize::from(*band.end()));
    let mut terms = Vec::new();
    let mut sections = 0;
    for section in body {
        if section.raw_amplitude_mm.len().min(section.u_coefficient_mm.len()) < to || to < from {
            continue;
        }
        let (amplitudes, uncertainties) =
            (&section.raw_amplitude_mm[from - 1..to], &section.u_coefficient_mm[from - 1..to]);
        check("amplitude", amplitudes, 0.0)?;
        check("uncertainty of a coefficient", uncertainties, 0.0)?;
        sections += 1;
        for (amplitude, u) in amplitudes.iter().zip(uncertainties) {
            // A squared amplitude is the sum of two squares, cosine and sine, each with the noise of a coefficient.
            let half = NoiseTerm { square: amplitude * amplitude / 2.0, variance: u * u };
            terms.extend([half; 2]);
        }
    }
    enough("sections that support the band", sections, FEWEST_SECTIONS)?;
    ChiSquareSum::new(&terms, sections as f64).measured()
}

/// One square with noise in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct NoiseTerm {
    pub square: f64,
    pub variance: f64,
}

/// A mean of squares with independent normal noise in each.
pub(super) struct ChiSquareSum {
    power: f64,
    noise: f64,
    u_power: f64,
    noise_variance: f64,
}

impl ChiSquareSum {
    /// The sum of the terms over `divisor`.
    pub(super) fn new(terms: &[NoiseTerm], divisor: f64) -> Self {
        let noise = terms.iter().map(|t| t.variance).sum::<f64>() / divisor;
        let power = terms.iter().map(|t| t.square).sum::<f64>() / divisor - noise;
        let noise_variance = terms.iter().map(|t| 2.0 * t.variance.powi(2)).sum::<f64>() / divisor.powi(2);
        // Square of a normal with mean m and variance v: variance 4 m^2 v + 2 v^2; m^2 is the square less v, which may be
        // negative term by term and is unbiased in the sum.
        let mixed = terms.iter().map(|t| 4.0 * (t.square - t.variance) * t.variance).sum::<f64>() / divisor.powi(2);
        Self { power, noise, u_power: (noise_variance + mixed.max(0.0)).sqrt(), noise_variance }
    }

    /// The root of the mean of squares less its noise.
    pub(super) fn measured(&self) -> Result<Measured, DeviationError> {
        Ok(Measured::root_of_power(self.power, self.u_power, self.limit())?)
    }

    /// The power less its expected noise that noise alone exceeds in one case of twenty.
    fn limit(&self) -> f64 {
        if self.noise_variance <= 0.0 {
            return 0.0;
        }
        let freedom = 2.0 * self.noise.powi(2) / self.noise_variance;
        match ChiSquared::new(freedom) {
            Ok(chi) => self.noise * (chi.inverse_cdf(DETECTION) / freedom - 1.0),
            Err(_) => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::correction::{TWO_SIDED_95, normal};
    use super::*;
    use crate::quantity::Seed;

    const NOISE: f64 = 0.004;

    /// Simulated vessels of 40 sections with a true amplitude at each of 4..=15 UPR: covered and detected, of 1,000.
    fn simulate(amplitude: f64) -> (usize, usize) {
        let mut rng = Seed::new(7).rng();
        let truth = amplitude * 12.0_f64.sqrt();
        let (mut covered, mut detected) = (0, 0);
        for _ in 0..1000 {
            let raw: Vec<Vec<f64>> = (0..40)
                .map(|_| {
                    (0..15).map(|_| (amplitude + NOISE * normal(&mut rng)).hypot(NOISE * normal(&mut rng))).collect()
                })
                .collect();
            let u = [NOISE; 15];
            let body: Vec<SectionHarmonics<'_>> =
                raw.iter().map(|r| SectionHarmonics { raw_amplitude_mm: r, u_coefficient_mm: &u }).collect();
            let found = lobing_band(&body, 4..=15).unwrap();
            covered += usize::from((found.estimate.value() - truth).abs() <= found.estimate.expanded(TWO_SIDED_95));
            detected += usize::from(found.estimate.value() > found.detection_limit.unwrap());
        }
        (covered, detected)
    }

    #[test]
    fn intervals_cover_the_amplitude() {
        for amplitude in [0.5 * NOISE, NOISE, 5.0 * NOISE] {
            let (covered, _) = simulate(amplitude);
            assert!((930..=970).contains(&covered), "{amplitude}: {covered}");
        }
    }

    #[test]
    fn noise_alone_is_detected_in_one_vessel_of_twenty() {
        let (_, detected) = simulate(0.0);
        assert!((35..=66).contains(&detected), "{detected}"); // 50 +- 2.2 binomial standard deviations
    }

    #[test]
    fn sections_without_the_band_are_left_out() {
        let long = SectionHarmonics { raw_amplitude_mm: &[0.1; 6], u_coefficient_mm: &[0.0; 6] };
        let short = SectionHarmonics { raw_amplitude_mm: &[9.0; 3], u_coefficient_mm: &[0.0; 3] };
        let found = lobing_band(&[long, short, long, long], 4..=4).unwrap();
        assert!((found.estimate.value() - 0.1).abs() < 1e-12);
        assert!(lobing_band(&[short, short, long, long], 4..=4).is_err());
    }
}
