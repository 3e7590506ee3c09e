//! Roundness of the whole body from the roundness of its sections.

use rand::Rng;

use crate::quantity::{Estimate, Seed};

use super::correction::{normal, quantile_sorted};
use super::error::{DeviationError, enough};
use super::measured::Measured;

/// Resamplings of the sections.
const DRAWS: usize = 400;
/// Fewest sections.
const FEWEST: usize = 3;
/// Standard normal quantile at 95 %.
const ONE_SIDED_95: f64 = 1.644_853_626_951_472_6;

/// Roundness of one section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionRoundness {
    /// Roundness deviation, corrected for noise, mm.
    pub ront: Estimate,
    /// What noise alone would show in this section, 95 %, mm; on the scale of the corrected value.
    pub detection_limit_mm: f64,
}

/// Quantile over the body of the sections' roundness deviations: `probability` 0.5 for the median, 0.1 for the roundest
/// tenth.
///
/// Noise spreads the sections' values, which moves a low quantile down. The values are therefore drawn together about
/// their median until their spread is that of the vessel alone (their variance less the mean squared uncertainty).
///
/// # Units and shapes
/// mm; body sections in any order; `common_u_mm` is the standard uncertainty all sections share, such as the change of a
/// value when the scan's noise is one standard uncertainty larger; `probability` between 0 and 1.
///
/// # Uncertainty
/// The larger of two, with `common_u_mm` added in quadrature: the spread of the quantile when sections are drawn anew
/// with replacement (noise and the choice of heights), and its spread when only the noise is drawn anew (so that sections
/// that agree by chance do not make the quantile certain). The detection limit is that of the median of independent
/// sections, 1.25 L / sqrt(n) for a section's limit L (asymptotic spread of a median), together with the common part.
///
/// # Errors
/// `TooFew` with fewer than three sections.
///
/// # Example
/// The median of 0.1, 0.2 and 0.6 mm is 0.2 mm.
/// ```
/// use tornus::deviation::{SectionRoundness, roundness_quantile};
/// use tornus::{Estimate, Seed};
/// let section = |mm| -> Result<SectionRoundness, tornus::quantity::EstimateError> {
///     Ok(SectionRoundness { ront: Estimate::new(mm, 0.0)?, detection_limit_mm: 0.0 })
/// };
/// let body = [section(0.6)?, section(0.1)?, section(0.2)?];
/// assert_eq!(roundness_quantile(&body, 0.5, 0.0, Seed::new(1))?.estimate.value(), 0.2);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// Efron 1979, Bootstrap methods: another look at the jackknife, doi:10.1214/aos/1176344552 (from memory).
pub fn roundness_quantile(
    body: &[SectionRoundness],
    probability: f64,
    common_u_mm: f64,
    seed: Seed,
) -> Result<Measured, DeviationError> {
    let n = body.len();
    enough("body sections with a roundness", n, FEWEST)?;
    let values: Vec<f64> = body.iter().map(|s| s.ront.value()).collect();
    let u: Vec<f64> = body.iter().map(|s| s.ront.standard_uncertainty()).collect();
    let drawn_together = shrink(&values, &u);
    let value = quantile(drawn_together.clone(), probability);
    let mut rng = seed.rng();
    let resampled = spread((0..DRAWS).map(|_| {
        let again: Vec<usize> = (0..n).map(|_| rng.gen_range(0..n)).collect();
        let (v, w): (Vec<f64>, Vec<f64>) = again.iter().map(|&i| (values[i], u[i])).unzip();
        quantile(shrink(&v, &w), probability)
    }));
    let mut rng = seed.derive(1).rng();
    let noise = spread((0..DRAWS).map(|_| {
        let v: Vec<f64> = drawn_together.iter().zip(&u).map(|(v, u)| v + u * normal(&mut rng)).collect();
        quantile(shrink(&v, &u), probability)
    }));
    let section_limit = quantile(body.iter().map(|s| s.detection_limit_mm).collect(), 0.5);
    let median_spread = (std::f64::consts::FRAC_PI_2 / n as f64).sqrt();
    let limit = (median_spread * section_limit).hypot(ONE_SIDED_95 * common_u_mm);
    Ok(Measured::deviation(value.max(0.0), resampled.max(noise).hypot(common_u_mm), limit)?)
}

/// The values drawn together about their median until their variance is less by the mean squared uncertainty.
fn shrink(values: &[f64], u: &[f64]) -> Vec<f64> {
    let n = values.len() as f64;
    let centre = quantile(values.to_vec(), 0.5);
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let noise = u.iter().map(|u| u * u).sum::<f64>() / n;
    let share = if variance > noise { (1.0 - noise / variance).sqrt() } else { 0.0 };
    values.iter().map(|v| centre + share * (v - centre)).collect()
}

fn quantile(mut values: Vec<f64>, probability: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    quantile_sorted(&values, probability)
}

fn spread(draws: impl Iterator<Item = f64>) -> f64 {
    let draws: Vec<f64> = draws.collect();
    let n = draws.len() as f64;
    let mean = draws.iter().sum::<f64>() / n;
    (draws.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::super::correction::TWO_SIDED_95;
    use super::*;

    /// Vessels whose sections vary by `scatter` about 0.1 mm, measured with `noise`: covered of 1,000 and mean error.
    fn simulate(probability: f64, truth: f64, scatter: f64, noise: f64) -> (usize, f64) {
        let mut rng = Seed::new(11).rng();
        let (mut covered, mut sum) = (0, 0.0);
        for trial in 0..1000 {
            let body: Vec<SectionRoundness> = (0..80)
                .map(|_| {
                    let value = 0.1 + scatter * normal(&mut rng) + noise * normal(&mut rng);
                    SectionRoundness { ront: Estimate::new(value, noise).unwrap(), detection_limit_mm: 0.0 }
                })
                .collect();
            let found = roundness_quantile(&body, probability, 0.0, Seed::new(trial)).unwrap().estimate;
            covered += usize::from((found.value() - truth).abs() <= found.expanded(TWO_SIDED_95));
            sum += found.value() - truth;
        }
        (covered, sum / 1000.0)
    }

    #[test]
    fn intervals_cover_the_median() {
        for (scatter, noise) in [(0.0, 0.004), (0.01, 0.004), (0.01, 0.0)] {
            let (covered, bias) = simulate(0.5, 0.1, scatter, noise);
            assert!((930..=975).contains(&covered), "{scatter} {noise}: {covered}");
            assert!(bias.abs() < 2e-4, "{scatter} {noise}: bias {bias}");
        }
    }

    #[test]
    fn the_roundest_tenth_is_not_pulled_down_by_noise() {
        let truth = 0.1 - 1.281_552 * 0.01; // 10 % quantile of the sections' normal scatter
        let (covered, bias) = simulate(0.1, truth, 0.01, 0.008);
        assert!((920..=975).contains(&covered), "{covered}");
        assert!(bias.abs() < 8e-4, "{bias}"); // uncorrected: -0.0036
    }

    #[test]
    fn noise_alone_is_detected_in_at_most_one_vessel_of_twenty() {
        let mut rng = Seed::new(12).rng();
        let detected = (0..1000)
            .filter(|&trial| {
                let body: Vec<SectionRoundness> = (0..80)
                    .map(|_| {
                        let ront = Estimate::new((0.004 * normal(&mut rng)).max(0.0), 0.004).unwrap();
                        SectionRoundness { ront, detection_limit_mm: ONE_SIDED_95 * 0.004 }
                    })
                    .collect();
                let found = roundness_quantile(&body, 0.5, 0.0, Seed::new(trial)).unwrap();
                found.estimate.value() > found.detection_limit.unwrap()
            })
            .count();
        assert!((30..=70).contains(&detected), "{detected}");
    }
}
