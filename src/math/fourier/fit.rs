//! Weighted least squares of harmonics at uneven angles.

use realfft::num_complex::Complex64;

use super::moments::MomentPlan;
use super::sampling::{allowed_gap, largest_gap};
use super::toeplitz;
use super::transform::samples;

/// The harmonics of a periodic function, fitted by weighted least squares.
///
/// The factors are the diagonal of (A'WA)^-1: with weights 1 / variance they are the variances of the coefficients; with
/// unit weights multiply them by the variance of one value.
#[derive(Clone, Debug, PartialEq)]
pub struct HarmonicFit {
    /// Mean of the function over the angle.
    pub mean: f64,
    /// Cosine coefficients; index 0 is harmonic 1.
    pub cos: Vec<f64>,
    /// Sine coefficients; index 0 is harmonic 1.
    pub sin: Vec<f64>,
    /// Variance factor of the mean.
    pub mean_variance_factor: f64,
    /// Variance factors of the cosine coefficients.
    pub cos_factor: Vec<f64>,
    /// Variance factors of the sine coefficients.
    pub sin_factor: Vec<f64>,
    /// Weighted sum of the squared residuals.
    pub residual_sum_squares: f64,
    /// Number of values with a weight above 0.
    pub count: usize,
    /// Steps the solution took; 0 where it was direct.
    pub iterations: usize,
}

/// Why there are no harmonics.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FourierError {
    /// Angles, values and weights differ in number.
    #[error("{angles} angles do not match {others} values or weights")]
    LengthMismatch {
        /// How many angles.
        angles: usize,
        /// How many values or weights.
        others: usize,
    },
    /// An angle or value is not finite, or a weight is negative or not finite.
    #[error("angle, value or weight is not usable at index {index}")]
    NotFinite {
        /// Index of the first such point.
        index: usize,
    },
    /// Fewer values than unknowns.
    #[error("{unknowns} unknowns need as many values, there are {count}")]
    UnderDetermined {
        /// Values with a weight above 0.
        count: usize,
        /// 2 K + 1.
        unknowns: usize,
    },
    /// A gap between neighbouring angles is longer than half a period of the highest harmonic.
    #[error("largest angular gap is {largest_gap_rad} rad, at most {allowed} rad allowed")]
    TooSparse {
        /// The gap, rad.
        largest_gap_rad: f64,
        /// pi / K, rad.
        allowed: f64,
    },
    /// The normal equations have no unique solution.
    #[error("the angles do not determine the harmonics up to {highest}")]
    Singular {
        /// Highest harmonic asked for.
        highest: usize,
    },
}

/// Weighted least squares of r(theta) = mean + sum over n = 1..=`highest` of a_n cos n theta + b_n sin n theta.
///
/// Without `weights` all are 1. The cost is of the order of the count plus K log K, not count times K squared.
///
/// # Units and shapes
/// Angles in rad, any order; coefficients in the unit of `values`. Values with weight 0 take no part.
///
/// # Uncertainty
/// See [`HarmonicFit`]: independent errors, variances in proportion to 1 / weight. The residual sum of squares is a
/// difference of sums: it is exact to 1e-12 of the sum of the squared deviations from the mean.
///
/// # Errors
/// [`FourierError`]: lengths differ; a number is not finite or a weight negative; fewer values than 2 K + 1; a gap longer
/// than half a period at K.
///
/// # Example
/// Three-lobed wave of amplitude 0.1 about 50, phase zero, one value per degree: a_3 = 0.1; the variance factor of a
/// coefficient on an even grid is 2 / count.
/// ```
/// use tornus::math::fourier::fit;
/// let angles: Vec<f64> = (0..360).map(|degree| f64::from(degree).to_radians()).collect();
/// let radii: Vec<f64> = angles.iter().map(|theta| 50.0 + 0.1 * (3.0 * theta).cos()).collect();
/// let harmonics = fit(&angles, &radii, None, 15)?;
/// assert!((harmonics.mean - 50.0).abs() < 1e-12);
/// assert!((harmonics.cos[2] - 0.1).abs() < 1e-12);
/// assert!((harmonics.cos_factor[2] - 2.0 / 360.0).abs() < 1e-12);
/// # Ok::<(), tornus::math::fourier::FourierError>(())
/// ```
pub fn fit(
    angles: &[f64],
    values: &[f64],
    weights: Option<&[f64]>,
    highest: usize,
) -> Result<HarmonicFit, FourierError> {
    let count = check(angles, values, weights, highest)?;
    let shift = values.iter().sum::<f64>() / values.len() as f64;
    let plan = MomentPlan::for_highest(highest);
    let (sums, total_square) = match weights {
        None => (
            plan.sums(angles, highest, |_| 1.0, |i| values[i] - shift),
            values.iter().map(|value| (value - shift).powi(2)).sum::<f64>(),
        ),
        Some(weights) => (
            plan.sums(angles, highest, |i| weights[i], |i| values[i] - shift),
            values.iter().zip(weights).map(|(value, weight)| weight * (value - shift).powi(2)).sum(),
        ),
    };
    let solution = toeplitz::solve(&sums.weights, &sums.values).ok_or(FourierError::Singular { highest })?;
    let explained = explained_square(&solution.spectrum, &sums.values);
    Ok(HarmonicFit {
        mean: shift + solution.spectrum[0].re,
        cos: solution.spectrum[1..].iter().map(|c| 2.0 * c.re).collect(),
        sin: solution.spectrum[1..].iter().map(|c| -2.0 * c.im).collect(),
        mean_variance_factor: solution.mean_factor,
        cos_factor: solution.cos_factor,
        sin_factor: solution.sin_factor,
        residual_sum_squares: (total_square - explained).max(0.0), // rounding may leave -1e-16 of the total
        count,
        iterations: solution.iterations,
    })
}

/// The part of the sum of squares that the harmonics explain: solution times right-hand side.
fn explained_square(spectrum: &[Complex64], right: &[Complex64]) -> f64 {
    let pairs = spectrum.iter().zip(right).map(|(c, b)| c.re * b.re + c.im * b.im);
    2.0 * pairs.sum::<f64>() - spectrum[0].re * right[0].re
}

/// The number of values that take part.
fn check(angles: &[f64], values: &[f64], weights: Option<&[f64]>, highest: usize) -> Result<usize, FourierError> {
    for others in [Some(values), weights].into_iter().flatten() {
        if others.len() != angles.len() {
            return Err(FourierError::LengthMismatch { angles: angles.len(), others: others.len() });
        }
    }
    let usable = |i: usize| {
        angles[i].is_finite() && values[i].is_finite() && weights.is_none_or(|w| w[i].is_finite() && w[i] >= 0.0)
    };
    if let Some(index) = (0..angles.len()).find(|&i| !usable(i)) {
        return Err(FourierError::NotFinite { index });
    }
    let (count, gap) = match weights {
        Some(weights) if weights.contains(&0.0) => {
            let kept: Vec<f64> = angles.iter().zip(weights).filter(|(_, w)| **w > 0.0).map(|(t, _)| *t).collect();
            (kept.len(), largest_gap(&kept))
        }
        _ => (angles.len(), largest_gap(angles)),
    };
    let unknowns = 2 * highest + 1;
    if count < unknowns {
        return Err(FourierError::UnderDetermined { count, unknowns });
    }
    let allowed = allowed_gap(highest);
    if highest > 0 && gap > allowed {
        return Err(FourierError::TooSparse { largest_gap_rad: gap, allowed });
    }
    Ok(count)
}

impl HarmonicFit {
    /// The highest harmonic, K.
    #[must_use]
    pub fn highest(&self) -> usize {
        self.cos.len()
    }

    /// The value of the function at `theta` rad.
    #[must_use]
    pub fn evaluate(&self, theta: f64) -> f64 {
        let step = Complex64::from_polar(1.0, theta);
        let mut turn = step;
        let mut value = self.mean;
        for (a, b) in self.cos.iter().zip(&self.sin) {
            value += a * turn.re + b * turn.im;
            turn *= step;
        }
        value
    }

    /// The function at the angles 2 pi j / `count`, j from 0, with harmonic n multiplied by `transmission(n)`.
    #[must_use]
    pub fn on_grid(&self, count: usize, transmission: impl Fn(usize) -> f64) -> Vec<f64> {
        let factors: Vec<f64> = (1..=self.highest()).map(transmission).collect();
        let scale =
            |coefficients: &[f64]| -> Vec<f64> { coefficients.iter().zip(&factors).map(|(c, f)| c * f).collect() };
        samples(self.mean, &scale(&self.cos), &scale(&self.sin), count)
    }

    /// Residual variance of unit weight, RSS / (count - unknowns); `None` where nothing is left over.
    #[must_use]
    pub fn residual_variance(&self) -> Option<f64> {
        let unknowns = 2 * self.highest() + 1;
        (self.count > unknowns).then(|| self.residual_sum_squares / (self.count - unknowns) as f64)
    }
}
