//! A measure as a logarithm.

use super::super::corpus::Reading;

/// Least variance of a logarithm: no deviation is known better than to 0.1 % ("project"; keeps the algebra regular).
pub(in crate::analysis) const LEAST_LOG_VARIANCE: f64 = 1e-6;

/// A bound is no less than the value and this many standard uncertainties: the upper end of its interval (95 %, one-sided).
const ONE_SIDED_95: f64 = 1.645;

/// Natural logarithm of a deviation in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LogReading {
    /// The logarithm, and the variance its measurement adds.
    Known {
        /// Natural logarithm of the value in mm.
        value: f64,
        /// Variance of that logarithm.
        variance: f64,
        /// The part of it from what the scan may hide, which goes with the value as noise does not.
        hidden: f64,
    },
    /// Only a bound is known: the logarithm is at most this.
    Below {
        /// Natural logarithm of the bound in mm.
        limit: f64,
    },
    /// Nothing is known.
    Missing,
}

/// The logarithm of a reading.
///
/// A value below its detection limit is a bound, not a small value. A perfect vessel stays below the limit, but one that is
/// not may too: the bound is no less than the upper end of the value's own interval. The variance is that of a lognormal with
/// the value as its median and `u / value` as its relative uncertainty, ln(1 + (u / value)^2): the first-order rule for small
/// u, and finite sense for large.
pub(in crate::analysis) fn log_reading(reading: Option<&Reading>) -> LogReading {
    let Some(reading) = reading else { return LogReading::Missing };
    if reading.below || reading.value <= 0.0 {
        let upper = reading.value.max(0.0) + ONE_SIDED_95 * reading.u;
        let bound = reading.limit.unwrap_or(0.0).max(upper);
        return if bound > 0.0 { LogReading::Below { limit: bound.ln() } } else { LogReading::Missing };
    }
    let of = |u: f64| (u / reading.value).powi(2).ln_1p();
    let variance = of(reading.u).max(LEAST_LOG_VARIANCE);
    LogReading::Known { value: reading.value.ln(), variance, hidden: of(reading.u_hidden).min(variance) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(value: f64, u: f64, limit: Option<f64>, below: bool, wanted: LogReading) {
        assert_eq!(log_reading(Some(&Reading { value, u, u_hidden: 0.0, limit, below })), wanted);
    }

    #[test]
    fn values_below_their_limit_are_bounds() {
        check(0.01, 0.01, Some(0.5), true, LogReading::Below { limit: 0.5_f64.ln() });
        // 0.3 + 1.645 x 0.2 is more than the limit.
        check(0.3, 0.2, Some(0.5), true, LogReading::Below { limit: (0.3 + 1.645 * 0.2_f64).ln() });
        check(0.0, 0.1, None, false, LogReading::Below { limit: (1.645 * 0.1_f64).ln() });
        check(0.0, 0.0, None, false, LogReading::Missing);
        check(0.0, 0.1, Some(0.3), false, LogReading::Below { limit: 0.3_f64.ln() });
        assert_eq!(log_reading(None), LogReading::Missing);
    }

    #[test]
    fn small_uncertainties_are_relative() {
        let reading = Reading { value: 0.2, u: 0.002, u_hidden: 0.001, limit: Some(0.01), below: false };
        let LogReading::Known { value, variance, hidden } = log_reading(Some(&reading)) else { panic!("known") };
        assert!((value - 0.2_f64.ln()).abs() < 1e-15 && (variance.sqrt() - 0.01).abs() < 1e-6);
        assert!((hidden.sqrt() - 0.005).abs() < 1e-6);
    }
}
