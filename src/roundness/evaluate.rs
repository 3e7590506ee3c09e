//! Roundness deviations of one section, corrected for noise.

use nalgebra::Point2;

use super::correction::{Corrected, NoiseEffect};
use super::denoise::{Coefficients, denoised};
use super::{AssociatedCircle, FilteredProfile, NoiseReference, ReferenceCircle, RoundnessError, associate_points};
use crate::math::circle::{circumscribed, inscribed_from, minimum_zone_from};
use crate::math::fourier::HarmonicFit;
use crate::quantity::{Estimate, Upr};

/// Roundness deviations of one section, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionRoundness {
    /// RONt about the least-squares circle.
    pub ront_lsci: Estimate,
    /// RONq about the least-squares circle.
    pub ronq_lsci: Estimate,
    /// RONp about the least-squares circle.
    pub ronp_lsci: Estimate,
    /// RONv about the least-squares circle.
    pub ronv_lsci: Estimate,
    /// RONt about the minimum zone circles.
    pub ront_mzci: Estimate,
    /// RONt about the minimum circumscribed circle.
    pub ront_mcci: Estimate,
    /// RONt about the maximum inscribed circle.
    pub ront_mici: Estimate,
    /// The least-squares circle and the deviations from it with nothing taken off for noise.
    pub raw_lsci: AssociatedCircle,
    /// The value of `ront_lsci` that noise alone exceeds in one section of twenty: compare `ront_lsci` with it.
    pub detection_limit_mm: f64,
    /// The same for `raw_lsci.ront_mm`.
    pub raw_detection_limit_mm: f64,
}

/// Roundness deviations of one section from its harmonics, the noise taken off.
///
/// `noise_mm` is the standard deviation of a value of unit weight. The profile is filtered with the Gaussian filter of
/// `cutoff`; deviations are distances from the centre of each reference circle, not radii about the origin.
///
/// Peak-to-valley values of a noisy profile are too large on average. The harmonics that stand out of the noise are
/// separated from the rest; what realisations of the noise add to their range on average is taken off, and the scatter
/// they give it, with a share of the correction, is the standard uncertainty. RONq has the noise's power taken off.
/// RONt about the other three circles is corrected in the proportion in which RONt about the least-squares circle is.
///
/// # Units and shapes
/// mm; `noise` belongs to the same cutoff, and to the fit's highest harmonic or, where the filter passes next to nothing
/// of the harmonics between, to another.
///
/// # Uncertainty
/// Random noise of the points, independent from point to point; neither the axis nor the scanner's calibration.
/// Simulated with 4,000 points (tests/it/roundness): bias below a fifth of `noise_mm`; 95 % intervals cover 93 to 97 %.
///
/// # Errors
/// [`RoundnessError`]: noise not usable; cutoff not that of `noise`; no reference circle.
///
/// # Example
/// Oval of amplitude 0.1 mm without noise: RONt = 2 x 0.1 mm x 0.9989 (transmission 2^-(2/50)^2), RONq = RONt / (2 root 2).
/// ```
/// use tornus::{Seed, Upr};
/// use tornus::roundness::{NoiseReference, RoundnessProfile, evaluate};
/// let angles: Vec<f64> = (0..720).map(|j| f64::from(j).to_radians() / 2.0).collect();
/// let radii = angles.iter().map(|theta| 50.0 + 0.1 * (2.0 * theta).cos()).collect();
/// let (highest, cutoff) = (Upr::new(100).expect("not 0"), Upr::new(50).expect("not 0"));
/// let fit = RoundnessProfile::new(angles, radii)?.fit(highest)?;
/// let found = evaluate(&fit, 0.0, cutoff, &NoiseReference::new(highest, cutoff, 512, Seed::new(1))?)?;
/// assert!((found.ront_lsci.value() - 0.2 * 0.99889).abs() < 1e-5);
/// assert!((found.ronq_lsci.value() - found.ront_lsci.value() / 8_f64.sqrt()).abs() < 1e-4);
/// # Ok::<(), tornus::roundness::RoundnessError>(())
/// ```
///
/// # References
/// ISO 12181-1, ISO 12181-2, ISO 16610-21 (clauses not checked); JCGM 101 (propagation by simulation); Efron & Tibshirani
/// 1993, An introduction to the bootstrap (bias correction).
pub fn evaluate(
    fit: &HarmonicFit,
    noise_mm: f64,
    cutoff: Upr,
    noise: &NoiseReference,
) -> Result<SectionRoundness, RoundnessError> {
    if !(noise_mm.is_finite() && noise_mm >= 0.0) {
        return Err(RoundnessError::BadNoise { noise_mm });
    }
    if cutoff != noise.cutoff() {
        return Err(RoundnessError::CutoffMismatch { reference: noise.cutoff().get(), section: cutoff.get() });
    }
    let points = FilteredProfile::from_fit(fit, cutoff, noise.grid())?.points();
    let lsci = associate_points(&points, ReferenceCircle::Lsci)?;
    let filtered = Filtered::of(fit, noise_mm, noise);
    let scale = filtered.noise_scale(noise);
    let clean = denoised(&filtered.without_eccentricity(&lsci), &filtered.variances).on_grid(noise.grid());
    let effect = NoiseEffect::on(&clean, scale, noise);
    let ront = effect.corrected_range(lsci.ront_mm);
    let in_proportion = |found: f64| {
        let share = if lsci.ront_mm > 0.0 { found / lsci.ront_mm } else { 1.0 };
        Corrected { value: share * ront.value, u: share * ront.u }
    };
    let [mzci, mcci, mici] = other_circles(&points, lsci.center_mm)?;
    let estimate = |corrected: Corrected| {
        Estimate::new(corrected.value, corrected.u).map_err(|_| RoundnessError::BadNoise { noise_mm })
    };
    Ok(SectionRoundness {
        ront_lsci: estimate(ront)?,
        ronq_lsci: estimate(filtered.ronq(lsci.ronq_mm))?,
        ronp_lsci: estimate(effect.corrected_highest(lsci.ronp_mm))?,
        ronv_lsci: estimate(effect.corrected_depth(lsci.ronv_mm))?,
        ront_mzci: estimate(in_proportion(mzci))?,
        ront_mcci: estimate(in_proportion(mcci))?,
        ront_mici: estimate(in_proportion(mici))?,
        raw_lsci: lsci,
        detection_limit_mm: noise.limit_factor() * scale,
        raw_detection_limit_mm: noise.raw_limit_factor() * scale,
    })
}

/// RONt about the minimum zone, circumscribed and inscribed circles.
fn other_circles(points: &[Point2<f64>], center: Point2<f64>) -> Result<[f64; 3], RoundnessError> {
    let zone = minimum_zone_from(points, center)?;
    let outer = circumscribed(points)?;
    let inner = inscribed_from(points, zone.center)?;
    let squares = |center: Point2<f64>| points.iter().map(move |point| (point - center).norm_squared());
    let nearest = squares(outer.center).fold(f64::INFINITY, f64::min).sqrt();
    let farthest = squares(inner.center).fold(0.0, f64::max).sqrt();
    Ok([zone.width(), outer.radius - nearest, farthest - inner.radius])
}

/// The harmonics of a section behind the filter, harmonic 1 left out, and their noise.
struct Filtered {
    coefficients: Coefficients,
    /// Variance of either coefficient of each harmonic.
    variances: Vec<f64>,
    /// Transmission of 2 UPR.
    second: f64,
}

impl Filtered {
    fn of(fit: &HarmonicFit, noise_mm: f64, noise: &NoiseReference) -> Self {
        let factors = noise.transmissions(fit.highest());
        let scaled = |values: &[f64]| values.iter().zip(&factors).map(|(value, factor)| value * factor).collect();
        let pairs = fit.cos_factor.iter().zip(&fit.sin_factor).zip(&factors);
        let variances = pairs.map(|((c, s), factor)| 0.5 * (c + s) * (noise_mm * factor).powi(2)).collect();
        let second = factors.get(1).copied().unwrap_or(0.0);
        Self { coefficients: Coefficients { cos: scaled(&fit.cos), sin: scaled(&fit.sin) }, variances, second }
    }

    /// The factor by which the reference's realisations have the power of this section's noise.
    fn noise_scale(&self, noise: &NoiseReference) -> f64 {
        let unit: f64 = noise.transmissions(noise.highest()).iter().map(|factor| factor * factor).sum();
        if unit > 0.0 { (self.variances.iter().sum::<f64>() / unit).sqrt() } else { 0.0 }
    }

    /// The coefficients less those of the circle itself, which seen from beside its centre, at distance e, has
    /// r = R + e cos(theta - phi) + e^2 / (4 R) (cos 2 (theta - phi) - 1) to the second order.
    fn without_eccentricity(&self, circle: &AssociatedCircle) -> Coefficients {
        let mut rest = self.coefficients.clone();
        let (x, y) = (circle.center_mm.x, circle.center_mm.y);
        if rest.cos.len() > 1 {
            rest.cos[1] -= self.second * (x * x - y * y) / (4.0 * circle.radius_mm);
            rest.sin[1] -= self.second * 2.0 * x * y / (4.0 * circle.radius_mm);
        }
        rest
    }

    /// RONq with the noise's power taken off; uncertainty as of an amplitude (see `harmonics_of`).
    fn ronq(&self, raw: f64) -> Corrected {
        let noise: f64 = self.variances.iter().sum(); // mean square of a cos + b sin: half of each variance, twice
        let power = raw * raw - noise;
        let power = if power > 0.0 { power } else { 0.0 };
        let pairs = self.coefficients.cos.iter().zip(&self.coefficients.sin).zip(&self.variances);
        let spread: f64 = pairs
            .map(|((a, b), v)| {
                let above = a * a + b * b - 2.0 * v;
                v * (if above > 0.0 { above } else { 0.0 } + v)
            })
            .sum();
        Corrected { value: power.sqrt(), u: (power + spread.sqrt()).sqrt() - power.sqrt() }
    }
}
