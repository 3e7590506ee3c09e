//! Median, median absolute deviation, quantile, and the weights of Huber and Tukey.

/// The factor that makes the median absolute deviation estimate the standard deviation of a normal: 1 / Phi^-1(3/4).
pub const MAD_TO_STANDARD_DEVIATION: f64 = 1.482_602_218_505_602;

/// The tuning constant of [`huber_weight`] with 95 % efficiency at the normal (Huber 1981).
pub const HUBER_95: f64 = 1.345;

/// The tuning constant of [`tukey_weight`] with 95 % efficiency at the normal (Beaton & Tukey 1974).
pub const TUKEY_95: f64 = 4.685;

/// The median; `None` of no values. Reorders `values`.
///
/// # Example
/// ```
/// use tornus::math::robust::median;
/// assert_eq!(median(&mut [3.0, 1.0, 10.0, 2.0]), Some(2.5)); // mean of the two in the middle
/// ```
#[must_use]
pub fn median(values: &mut [f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The quantile at `probability` (clamped to 0..=1), linear between order statistics; `None` of no values. Reorders `values`.
///
/// # Example
/// ```
/// use tornus::math::robust::quantile;
/// // (n - 1) p = 3 x 0.25 = 0.75: three quarters of the way from the first to the second
/// assert_eq!(quantile(&mut [4.0, 1.0, 3.0, 2.0], 0.25), Some(1.75));
/// ```
///
/// # References
/// Hyndman & Fan 1996, Sample quantiles in statistical packages, definition 7.
#[must_use]
pub fn quantile(values: &mut [f64], probability: f64) -> Option<f64> {
    let last = values.len().checked_sub(1)?;
    let position = probability.clamp(0.0, 1.0) * last as f64;
    let below = (position.floor() as usize).min(last);
    let fraction = position - below as f64;
    let (_, &mut low, above) = values.select_nth_unstable_by(below, f64::total_cmp);
    if fraction <= 0.0 {
        return Some(low);
    }
    let high = above.iter().copied().min_by(f64::total_cmp).unwrap_or(low);
    Some(low + fraction * (high - low))
}

/// Median and scaled median absolute deviation; `None` of no values. Leaves the absolute deviations in `values`.
///
/// The deviation is multiplied by [`MAD_TO_STANDARD_DEVIATION`], so that it estimates the standard deviation of a normal.
///
/// # Example
/// ```
/// use tornus::math::robust::mad;
/// // median 3, absolute deviations 2 1 0 1 97, their median 1
/// let (centre, spread) = mad(&mut [1.0, 2.0, 3.0, 4.0, 100.0]).unwrap();
/// assert_eq!(centre, 3.0);
/// assert!((spread - 1.4826).abs() < 1e-5);
/// ```
#[must_use]
pub fn mad(values: &mut [f64]) -> Option<(f64, f64)> {
    let centre = median(values)?;
    for value in values.iter_mut() {
        *value = (*value - centre).abs();
    }
    Some((centre, MAD_TO_STANDARD_DEVIATION * median(values)?))
}

/// Huber's weight of a residual in units of the scale: 1 within `tuning`, `tuning / |residual|` beyond.
///
/// # References
/// Huber 1964, Robust estimation of a location parameter.
#[must_use]
pub fn huber_weight(residual: f64, tuning: f64) -> f64 {
    let size = residual.abs();
    if size <= tuning { 1.0 } else { tuning / size }
}

/// Tukey's biweight of a residual in units of the scale: (1 - (residual / `tuning`)^2)^2, 0 beyond `tuning`.
///
/// # References
/// Beaton & Tukey 1974, The fitting of power series.
#[must_use]
pub fn tukey_weight(residual: f64, tuning: f64) -> f64 {
    let ratio = residual / tuning;
    let inside = 1.0 - ratio * ratio;
    if inside > 0.0 { inside * inside } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-12, "{found} is not {wanted}");
    }

    #[test]
    fn nothing_has_no_median() {
        assert_eq!(median(&mut []), None);
        assert_eq!(mad(&mut []), None);
    }

    #[test]
    fn quantiles_run_from_least_to_greatest() {
        let values = [5.0, -1.0, 2.0, 2.0, 9.0];
        close(quantile(&mut values.clone(), 0.0).unwrap(), -1.0);
        close(quantile(&mut values.clone(), 1.0).unwrap(), 9.0);
        close(quantile(&mut values.clone(), 0.9).unwrap(), 7.4); // position 3.6: 5 + 0.6 x 4
        close(quantile(&mut [7.0], 0.3).unwrap(), 7.0);
    }

    #[test]
    fn weights_fall_from_one() {
        close(huber_weight(-2.69, HUBER_95), 0.5);
        close(huber_weight(1.0, HUBER_95), 1.0);
        close(tukey_weight(0.0, TUKEY_95), 1.0);
        close(tukey_weight(TUKEY_95 / 2.0_f64.sqrt(), TUKEY_95), 0.25);
        close(tukey_weight(-5.0, TUKEY_95), 0.0);
    }
}
