//! Round numbers for axes.

/// The least of 1, 2 or 5 times a power of ten that is not below `value`; 1 for anything not positive.
#[must_use]
pub fn round_up(value: f64) -> f64 {
    if !(value.is_finite() && value > 0.0) {
        return 1.0;
    }
    let decade = 10_f64.powi(value.log10().floor() as i32);
    [1.0, 2.0, 5.0].into_iter().map(|m| m * decade).find(|step| *step >= value * (1.0 - 1e-9)).unwrap_or(10.0 * decade)
}

/// The greatest of 1, 2 or 5 times a power of ten that is not above `value`; 1 for anything not positive.
#[must_use]
pub fn round_down(value: f64) -> f64 {
    if !(value.is_finite() && value > 0.0) {
        return 1.0;
    }
    let decade = 10_f64.powi(value.log10().floor() as i32);
    [5.0, 2.0].into_iter().map(|m| m * decade).find(|step| *step <= value * (1.0 + 1e-9)).unwrap_or(decade)
}

/// Round positions from `from` to `to`, about `wanted` of them.
pub(super) fn linear(from: f64, to: f64, wanted: u32) -> Vec<f64> {
    let step = round_up((to - from) / f64::from(wanted.max(1)));
    let (first, last) = ((from / step - 1e-9).ceil() as i64, (to / step + 1e-9).floor() as i64);
    (first..=last).map(|i| i as f64 * step).collect()
}

/// The powers of ten within a range.
pub(super) fn decades(from: f64, to: f64) -> Vec<f64> {
    if !(from > 0.0 && to > from) {
        return Vec::new();
    }
    let (first, last) = ((from.log10() - 1e-9).ceil() as i32, (to.log10() + 1e-9).floor() as i32);
    (first..=last).map(|i| 10_f64.powi(i)).collect()
}

/// A number as an axis writes it: no trailing zeros, a true minus sign.
pub(super) fn label(value: f64) -> String {
    let decimals = (0..9_usize).find(|d| {
        let shown = 10_f64.powi(*d as i32) * value;
        (shown - shown.round()).abs() < 1e-6 * shown.abs().max(1.0)
    });
    let text = format!("{value:.*}", decimals.unwrap_or(9));
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().any(|c| c.is_ascii_digit() && c != '0') => format!("\u{2212}{rest}"),
        Some(rest) => rest.to_owned(),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_one_two_or_five() {
        for (value, up, down) in
            [(0.3, 0.5, 0.2), (7.0, 10.0, 5.0), (1.0, 1.0, 1.0), (0.012, 0.02, 0.01), (5.0, 5.0, 5.0)]
        {
            assert!((round_up(value) / up - 1.0).abs() < 1e-12 && (round_down(value) / down - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn ticks_are_round_and_within() {
        assert_eq!(linear(-1.0, 1.0, 4), vec![-1.0, -0.5, 0.0, 0.5, 1.0]);
        assert_eq!(linear(0.0, 0.0, 4), vec![0.0]);
    }

    #[test]
    fn labels_have_no_noise() {
        assert_eq!(
            (label(0.1 + 0.2), label(-0.0), label(-2.5), label(1e-4)),
            ("0.3".into(), "0".into(), "\u{2212}2.5".into(), "0.0001".into())
        );
    }
}
