//! How much the lobing changes from section to section.

use std::ops::RangeInclusive;

use super::error::{DeviationError, check, enough};
use super::input::SectionCoefficients;
use super::lobing::{ChiSquareSum, NoiseTerm};
use super::measured::Measured;

/// Fewest sections over which a change is told from a mean.
const FEWEST_SECTIONS: usize = 3;

/// Amplitude of the part of a band of harmonics that changes over the height: root of the summed squares of each section's
/// departure from the mean harmonic, amplitude and phase together, root mean square over the body.
///
/// Its square and that of the mean harmonics add up to the square of [`lobing_band`](super::lobing_band): lobes that run
/// straight up the wall leave nothing here, lobes that turn or come and go leave all of it. From each square the noise's
/// share is taken off. Sections whose sampling does not support the whole band are left out.
///
/// # Units and shapes
/// mm; `body` holds the body's sections; `band` in undulations per revolution, both ends included.
///
/// # Uncertainty
/// As [`lobing_band`](super::lobing_band): from the noise of the coefficients, independent between harmonics and sections.
///
/// # Errors
/// `TooFew` if fewer than three sections support the band; `BadNumber` for numbers that are not finite or uncertainties that
/// are negative.
///
/// # Example
/// Lobes of 0.05 mm at 2 UPR whose phase turns by half a wave from section to section: their mean is nothing.
/// ```
/// use tornus::deviation::{SectionCoefficients, lobing_change};
/// let section = |cosine| SectionCoefficients { cos_mm: cosine, sin_mm: &[0.0; 2], u_coefficient_mm: &[0.0; 2] };
/// let turning = [section(&[9.0, 0.05]), section(&[9.0, -0.05]), section(&[9.0, 0.05]), section(&[9.0, -0.05])];
/// let found = lobing_change(&turning, 2..=2)?.estimate;
/// assert!((found.value() - 0.05).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn lobing_change(body: &[SectionCoefficients<'_>], band: RangeInclusive<u16>) -> Result<Measured, DeviationError> {
    let (from, to) = (usize::from((*band.start()).max(1)), usize::from(*band.end()));
    let reaches = |s: &&SectionCoefficients<'_>| {
        to >= from && s.cos_mm.len().min(s.sin_mm.len()).min(s.u_coefficient_mm.len()) >= to
    };
    let sections: Vec<&SectionCoefficients<'_>> = body.iter().filter(reaches).collect();
    enough("sections that support the band", sections.len(), FEWEST_SECTIONS)?;
    let count = sections.len() as f64;
    let mut terms = Vec::new();
    for harmonic in from - 1..to {
        let cosines: Vec<f64> = sections.iter().map(|s| s.cos_mm[harmonic]).collect();
        let sines: Vec<f64> = sections.iter().map(|s| s.sin_mm[harmonic]).collect();
        for values in [cosines, sines] {
            let noise: Vec<f64> = sections.iter().map(|s| s.u_coefficient_mm[harmonic]).collect();
            check("coefficient", &values, f64::NEG_INFINITY)?;
            check("uncertainty of a coefficient", &noise, 0.0)?;
            let mean = values.iter().sum::<f64>() / count;
            // The mean takes 1 / n of the noise with it.
            let kept = 1.0 - 1.0 / count;
            terms.extend(
                values
                    .iter()
                    .zip(&noise)
                    .map(|(value, u)| NoiseTerm { square: (value - mean) * (value - mean), variance: kept * u * u }),
            );
        }
    }
    ChiSquareSum::new(&terms, count).measured()
}

#[cfg(test)]
mod tests {
    use super::super::correction::{TWO_SIDED_95, normal};
    use super::*;
    use crate::quantity::Seed;

    const NOISE: f64 = 0.004;

    /// 1,000 simulated vessels of 40 sections with a constant lobe of 0.05 mm at 2 UPR and, at 3 UPR, one of `amplitude` that
    /// turns once over the height: covered and detected.
    fn simulate(amplitude: f64) -> (usize, usize) {
        let mut rng = Seed::new(8).rng();
        let (mut covered, mut detected) = (0, 0);
        for _ in 0..1000 {
            let sections: Vec<[Vec<f64>; 2]> = (0..40)
                .map(|k| {
                    let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 40.0).sin_cos();
                    let mut with_noise = |values: [f64; 3]| values.map(|v| v + NOISE * normal(&mut rng)).to_vec();
                    [with_noise([0.0, 0.05, amplitude * cos]), with_noise([0.0, 0.0, amplitude * sin])]
                })
                .collect();
            let u = [NOISE; 3];
            let body: Vec<SectionCoefficients<'_>> = sections
                .iter()
                .map(|[cos, sin]| SectionCoefficients { cos_mm: cos, sin_mm: sin, u_coefficient_mm: &u })
                .collect();
            let found = lobing_change(&body, 2..=3).unwrap();
            covered += usize::from((found.estimate.value() - amplitude).abs() <= found.estimate.expanded(TWO_SIDED_95));
            detected += usize::from(found.estimate.value() > found.detection_limit.unwrap());
        }
        (covered, detected)
    }

    #[test]
    fn intervals_cover_a_turning_lobe_and_a_straight_one_is_none() {
        for amplitude in [2.0 * NOISE, 10.0 * NOISE] {
            let (covered, _) = simulate(amplitude);
            assert!((925..=975).contains(&covered), "{amplitude}: {covered}"); // 950 +- 3.6 binomial standard deviations
        }
        let (_, detected) = simulate(0.0);
        // 50 +- 3.6 binomial standard deviations; terms about a common mean are one in 40 fewer than counted.
        assert!((25..=75).contains(&detected), "{detected}");
    }

    #[test]
    fn too_few_sections_are_refused() {
        let section = SectionCoefficients { cos_mm: &[0.1; 3], sin_mm: &[0.0; 3], u_coefficient_mm: &[0.0; 3] };
        assert!(lobing_change(&[section; 2], 2..=3).is_err());
        assert!(lobing_change(&[section; 3], 2..=4).is_err());
        let constant = lobing_change(&[section; 3], 2..=3).unwrap().estimate.value();
        assert!(constant < 1e-12, "{constant}");
    }
}
