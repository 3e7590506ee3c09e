//! A measure as a logarithm.

use super::super::corpus::Reading;

/// Least variance of a logarithm: no deviation is known better than to 0.1 % ("project"; keeps the algebra regular).
pub(in crate::analysis) const LEAST_LOG_VARIANCE: f64 = 1e-6;

/// Where neither value nor limit is positive, the bound is this many standard uncertainties (95 %, two-sided).
const BOUND_IN_UNCERTAINTIES: f64 = 2.0;

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
        /// Natural logarithm of the detection limit in mm.
        limit: f64,
    },
    /// Nothing is known.
    Missing,
}

/// The logarithm of a reading.
///
/// A value below its detection limit is a bound, not a small value. The variance is that of a lognormal with the value as
/// its median and `u / value` as its relative uncertainty, ln(1 + (u / value)^2): the first-order rule for small u, and
/// finite sense for large.
pub(in crate::analysis) fn log_reading(reading: Option<&Reading>) -> LogReading {
    let Some(reading) = reading else { return LogReading::Missing };
    let bound = |limit: f64| if limit > 0.0 { LogReading::Below { limit: limit.ln() } } else { LogReading::Missing };
    if reading.below {
        let limit = reading.limit.filter(|limit| *limit > 0.0);
        return bound(limit.unwrap_or(reading.value.max(0.0) + BOUND_IN_UNCERTAINTIES * reading.u));
    }
    if reading.value <= 0.0 {
        return bound(reading.limit.unwrap_or(BOUND_IN_UNCERTAINTIES * reading.u));
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
        check(0.0, 0.1, None, false, LogReading::Below { limit: 0.2_f64.ln() });
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
