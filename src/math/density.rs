//! Probabilities of the normal, chi-square, t and F distributions, by tail.

use statrs::distribution::{ChiSquared, ContinuousCDF, FisherSnedecor, StudentsT};
use statrs::function::erf::{erfc, erfc_inv};

use super::bisection::crossing;

/// ln(2 pi).
pub const LN_TWO_PI: f64 = 1.837_877_066_409_345_6;

/// Below this many standard deviations the ratio of [`inverse_mills`] is taken from its asymptotic series, whose next
/// term is then below 1e-9 of the value.
const MILLS_SERIES_BELOW: f64 = -30.0;

/// Above this many standard deviations the logarithm of a probability is taken as it stands.
const LOG_CDF_DIRECT_ABOVE: f64 = -5.0;

/// From so many degrees on Student's t is taken from the normal by Wallace's rule: a probability of 1e-6 is then right to 1e-5 of
/// itself, one of 1e-30 to 4e-4, in a fifth of the time (test).
const MANY_DEGREES: f64 = 1_000.0;

/// Log-density of the normal with this mean and variance at `x`.
///
/// # Example
/// ```
/// use tornus::math::density::normal_log_density;
/// assert!((normal_log_density(1.0, 1.0, 1.0) + 0.5 * std::f64::consts::TAU.ln()).abs() < 1e-15); // 1 / sqrt(2 pi) at its top
/// ```
#[must_use]
pub fn normal_log_density(x: f64, mean: f64, variance: f64) -> f64 {
    -0.5 * (LN_TWO_PI + variance.ln() + (x - mean) * (x - mean) / variance)
}

/// Probability that a standard normal is at most `z`.
///
/// # Example
/// ```
/// use tornus::math::density::normal_cdf;
/// assert!((normal_cdf(0.0) - 0.5).abs() < 1e-15); // symmetric
/// ```
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * erfc(-z / std::f64::consts::SQRT_2)
}

/// Natural logarithm of [`normal_cdf`], also where the probability itself would underflow.
///
/// # Example
/// ```
/// use tornus::math::density::normal_log_cdf;
/// assert!((normal_log_cdf(0.0) - 0.5_f64.ln()).abs() < 1e-15); // symmetric
/// ```
#[must_use]
pub fn normal_log_cdf(z: f64) -> f64 {
    if z > LOG_CDF_DIRECT_ABOVE { normal_cdf(z).ln() } else { normal_log_density(z, 0.0, 1.0) - inverse_mills(z).ln() }
}

/// The z that a standard normal does not exceed with this probability, which lies strictly between 0 and 1.
#[must_use]
pub fn normal_quantile(probability: f64) -> f64 {
    -std::f64::consts::SQRT_2 * erfc_inv(2.0 * probability)
}

/// phi(z) / Phi(z): minus the mean of a standard normal known to lie below z.
///
/// # Example
/// ```
/// use tornus::math::density::inverse_mills;
/// assert!((inverse_mills(0.0) - (2.0 / std::f64::consts::PI).sqrt()).abs() < 1e-12); // (1 / sqrt(2 pi)) / (1 / 2)
/// ```
#[must_use]
pub fn inverse_mills(z: f64) -> f64 {
    if z < MILLS_SERIES_BELOW {
        // 1 / (1/|z| - 1/|z|^3 + 3/|z|^5): Abramowitz & Stegun 7.1.23 (from memory).
        let square = 1.0 / (z * z);
        return -z / (1.0 - square + 3.0 * square * square);
    }
    normal_log_density(z, 0.0, 1.0).exp() / normal_cdf(z)
}

/// Probability that a chi-square of `degrees` > 0 exceeds `x`.
///
/// # Example
/// ```
/// use tornus::math::density::chi_square_above;
/// assert!((chi_square_above(4.0, 2.0) - (-2.0_f64).exp()).abs() < 1e-12); // exp(-x / 2) for two degrees
/// ```
#[must_use]
pub fn chi_square_above(x: f64, degrees: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    ChiSquared::new(degrees).map_or(1.0, |chi| chi.sf(x))
}

/// Probability that a chi-square of `degrees` > 0 is at most `x`.
#[must_use]
pub fn chi_square_below(x: f64, degrees: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    ChiSquared::new(degrees).map_or(0.0, |chi| chi.cdf(x))
}

/// The value a chi-square of `degrees` > 0 does not exceed with this probability.
#[must_use]
pub fn chi_square_quantile(probability: f64, degrees: f64) -> f64 {
    let found = ChiSquared::new(degrees).map_or(0.0, |chi| chi.inverse_cdf(probability));
    if found.is_finite() { found } else { bisected(probability, degrees) }
}

/// The same by halving the logarithm's range: of one degree the library's search leaves the positive numbers.
fn bisected(probability: f64, degrees: f64) -> f64 {
    let below = |logarithm: f64| chi_square_below(logarithm.exp(), degrees) < probability;
    crossing(below, f64::MIN_POSITIVE.ln(), (degrees + 1e3).ln()).exp()
}

/// Probability that Student's t of `degrees` > 0 lies below `t`.
///
/// # Example
/// ```
/// use tornus::math::density::t_below;
/// assert!((t_below(1.0, 1.0) - 0.75).abs() < 1e-12); // 1/2 + atan(1) / pi for one degree
/// ```
///
/// # References
/// Wallace 1959, Bounds on normal approximations to Student's and the chi-square distributions, doi:10.1214/aoms/1177706088 (from
/// memory).
#[must_use]
pub fn t_below(t: f64, degrees: f64) -> f64 {
    if degrees >= MANY_DEGREES {
        let deviate = (degrees * (t * t / degrees).ln_1p()).sqrt() * (8.0 * degrees + 1.0) / (8.0 * degrees + 3.0);
        return normal_cdf(deviate.copysign(t));
    }
    StudentsT::new(0.0, 1.0, degrees).map_or(0.5, |student| student.cdf(t))
}

/// Probabilities that Student's t of `degrees` > 0 lies below, and above, `t`: as [`t_below`] of `t` and of `-t`, for one of them.
///
/// # Example
/// ```
/// use tornus::math::density::t_tails;
/// let (below, above) = t_tails(1.0, 1.0);
/// assert!((below - 0.75).abs() < 1e-12 && (above - 0.25).abs() < 1e-12); // 1/2 + atan(1) / pi for one degree
/// ```
#[must_use]
pub fn t_tails(t: f64, degrees: f64) -> (f64, f64) {
    let beyond = t_below(-t.abs(), degrees);
    if t > 0.0 { (1.0 - beyond, beyond) } else { (beyond, 1.0 - beyond) }
}

/// The t that Student's t of `degrees` > 0 does not exceed with this probability.
#[must_use]
pub fn t_quantile(probability: f64, degrees: f64) -> f64 {
    StudentsT::new(0.0, 1.0, degrees).map_or(0.0, |student| student.inverse_cdf(probability))
}

/// Probability that an F of `numerator` and `denominator` > 0 degrees exceeds `x`.
///
/// # Example
/// ```
/// use tornus::math::density::f_above;
/// assert!((f_above(1.0, 2.0, 2.0) - 0.5).abs() < 1e-12); // 1 / (1 + x) for two and two degrees
/// ```
#[must_use]
pub fn f_above(x: f64, numerator: f64, denominator: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    FisherSnedecor::new(numerator, denominator).map_or(1.0, |f| f.sf(x))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted}");
    }

    #[test]
    fn quantiles_undo_probabilities() {
        for p in [0.001, 0.025, 0.3, 0.5, 0.975] {
            close(normal_cdf(normal_quantile(p)), p, 1e-10);
            close(chi_square_below(chi_square_quantile(p, 3.0), 3.0), p, 1e-8);
            close(t_below(t_quantile(p, 7.0), 7.0), p, 1e-8);
        }
        close(normal_quantile(0.975), 1.959_963_984_540_054, 1e-9); // tables of the normal
    }

    #[test]
    fn many_degrees_have_the_tails_of_the_incomplete_beta_function() {
        for degrees in [MANY_DEGREES, 3_000.0, 20_000.0] {
            let student = StudentsT::new(0.0, 1.0, degrees).unwrap();
            for (t, tolerance) in [(0.0, 1e-9), (-2.0, 1e-6), (-5.0, 2e-5), (-12.0, 5e-4), (3.0, 1e-6)] {
                assert!((t_below(t, degrees) / student.cdf(t) - 1.0).abs() < tolerance, "{degrees} {t}");
            }
        }
    }

    #[test]
    fn mills_ratio_joins_its_series() {
        close(inverse_mills(-30.0 + 1e-9), inverse_mills(-30.0 - 1e-9), 1e-6);
        close(inverse_mills(8.0), 0.0, 1e-12);
        assert!(inverse_mills(-1e6).is_finite());
    }

    #[test]
    fn logarithms_of_small_probabilities_stay_finite() {
        close(normal_log_cdf(-5.0 + 1e-9), normal_log_cdf(-5.0 - 1e-9), 1e-7);
        // ln(phi(40) / 40) up to the series' first term, 1 / 1600
        close(normal_log_cdf(-40.0), -800.0 - 0.5 * LN_TWO_PI - 40.0_f64.ln(), 1e-3);
    }

    #[test]
    fn tails_add_to_one() {
        close(chi_square_above(2.5, 4.0) + chi_square_below(2.5, 4.0), 1.0, 1e-12);
        close(f_above(0.0, 3.0, 5.0), 1.0, 0.0);
    }
}
