//! Numbers as a reader sees them.

/// A number with this many significant digits, a true minus sign and no exponent unless it is tiny or huge.
pub(super) fn plain(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor() as i32;
    if !(-4..9).contains(&magnitude) {
        return power_of_ten(value, digits);
    }
    at_place(value, magnitude - digits + 1)
}

/// A number that somebody set or counted: as [`plain`], a whole one without decimals.
pub(super) fn given(value: f64, digits: i32) -> String {
    if value.fract().abs() < f64::EPSILON && value.abs() < 1e9 { at_place(value, 0) } else { plain(value, digits) }
}

/// A number as a mantissa times a power of ten.
fn power_of_ten(value: f64, digits: i32) -> String {
    let text = format!("{value:.*e}", usize::try_from(digits - 1).unwrap_or(0));
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    format!("{} \u{d7} 10{}", signed(mantissa), superscript(exponent))
}

fn superscript(digits: &str) -> String {
    const RAISED: [char; 10] = [
        '\u{2070}', '\u{b9}', '\u{b2}', '\u{b3}', '\u{2074}', '\u{2075}', '\u{2076}', '\u{2077}', '\u{2078}',
        '\u{2079}',
    ];
    let raised = |c: char| match c {
        '-' => Some('\u{207b}'),
        c => c.to_digit(10).and_then(|d| RAISED.get(d as usize)).copied(),
    };
    digits.chars().filter_map(raised).collect()
}

/// A number rounded to the decimal place 10^`place`.
fn at_place(value: f64, place: i32) -> String {
    let unit = 10_f64.powi(place);
    let rounded = if place > 0 { (value / unit).round() * unit } else { value };
    signed(&format!("{rounded:.*}", usize::try_from(-place).unwrap_or(0)))
}

fn signed(text: &str) -> String {
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().any(|c| ('1'..='9').contains(&c)) => format!("\u{2212}{rest}"),
        Some(rest) => rest.to_owned(),
        None => text.to_owned(),
    }
}

/// A value and its standard uncertainty: the uncertainty to two significant digits, the value to the same place.
///
/// # References
/// JCGM 100:2008 (GUM), 7.2.6.
pub(super) fn measured(value: f64, u: f64) -> (String, String) {
    if !(u.is_finite() && u > 0.0) {
        return (plain(value, 4), "0".to_owned());
    }
    let place = u.log10().floor() as i32 - 1;
    // 0.0996 rounds to 0.10, which has its first digit one place higher.
    let carried = (u / 10_f64.powi(place)).round() >= 100.0;
    let place = (if carried { place + 1 } else { place }).max(-9);
    (at_place(value, place), at_place(u, place))
}

/// A share as per cent.
pub(super) fn percent(share: f64) -> String {
    let value = 100.0 * share;
    if value <= 0.0 {
        "0 %".to_owned()
    } else if value < 0.1 {
        "< 0.1 %".to_owned()
    } else if value < 10.0 || (99.0..100.0).contains(&value) {
        format!("{value:.1} %")
    } else {
        format!("{value:.0} %")
    }
}

/// A count with its noun; `many` is the plural.
pub(super) fn count(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}

/// A value and its uncertainty in the unit a reader expects, with that unit: areas in cm\u{b2}, volumes in cm\u{b3}.
pub(super) fn reading_unit(unit: &str) -> (f64, &str) {
    match unit {
        "mm2" => (1e-2, "cm\u{b2}"),
        "mm3" => (1e-3, "cm\u{b3}"),
        "1" => (1.0, ""),
        other => (1.0, other),
    }
}

/// The middle value; `None` of nothing.
pub(super) fn quantile(values: &mut [f64], share: f64) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let place = share * values.len().checked_sub(1)? as f64;
    let (below, part) = (place.floor(), place.fract());
    let low = values.get(below as usize).copied()?;
    let high = values.get(below as usize + 1).copied().unwrap_or(low);
    Some(low + part * (high - low))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_counted_has_no_decimals() {
        assert_eq!([given(3.0, 3), given(600.0, 4), given(12.5, 4)], ["3", "600", "12.50"]);
    }

    #[test]
    fn uncertainty_has_two_digits_and_sets_the_place() {
        let check = |value, u, expected: (&str, &str)| {
            assert_eq!(measured(value, u), (expected.0.to_owned(), expected.1.to_owned()));
        };
        check(0.123_456, 0.001_234, ("0.1235", "0.0012"));
        check(412_345.0, 1234.0, ("412300", "1200"));
        check(5.0, 0.0996, ("5.00", "0.10"));
        check(-0.0004, 0.01, ("0.000", "0.010"));
    }

    #[test]
    fn plain_numbers_keep_their_digits() {
        assert_eq!(
            (plain(0.012_34, 3), plain(1234.5, 3), plain(-2.0, 2)),
            ("0.0123".into(), "1230".into(), "\u{2212}2.0".into())
        );
    }

    #[test]
    fn tiny_numbers_are_powers_of_ten() {
        assert_eq!(
            (plain(5.04e-7, 2), plain(-1.5e10, 2)),
            ("5.0 \u{d7} 10\u{207b}\u{2077}".into(), "\u{2212}1.5 \u{d7} 10\u{b9}\u{2070}".into())
        );
    }

    #[test]
    fn shares_are_readable_at_both_ends() {
        assert_eq!(
            (percent(1.0), percent(0.995), percent(0.0), percent(0.0004)),
            ("100 %".into(), "99.5 %".into(), "0 %".into(), "< 0.1 %".into())
        );
    }

    #[test]
    fn middle_of_an_even_number_lies_between() {
        assert_eq!(quantile(&mut [3.0, 1.0, 2.0, 4.0], 0.5), Some(2.5));
        assert_eq!(quantile(&mut [], 0.5), None);
    }
}
