//! The cost of a set of likelihood ratios whose truth is known.

use std::f64::consts::LN_2;

/// The cost Cllr of likelihood ratios, in bits: 0 for perfect ones, 1 for ratios that say nothing.
///
/// `ln_first` holds natural logarithms of ratios where the first proposition is true, `ln_second` where the second is.
/// `None` if either is empty or a number is NaN; infinite logarithms are allowed.
///
/// # Example
/// ```
/// use tornus::analysis::statistics::cllr;
/// // (log2(1 + 1/2) + log2(1 + 1/2)) / 2
/// let cost = cllr(&[2.0_f64.ln()], &[0.5_f64.ln()]).unwrap();
/// assert!((cost - 1.5_f64.log2()).abs() < 1e-15);
/// ```
///
/// # References
/// Brummer & du Preez 2006, Application-independent evaluation of speaker detection (from memory; closed form).
#[must_use]
pub fn cllr(ln_first: &[f64], ln_second: &[f64]) -> Option<f64> {
    if ln_first.is_empty() || ln_second.is_empty() || ln_first.iter().chain(ln_second).any(|v| v.is_nan()) {
        return None;
    }
    let mean = |values: &[f64], sign: f64| {
        values.iter().map(|value| softplus(sign * value)).sum::<f64>() / values.len() as f64
    };
    Some(0.5 * (mean(ln_first, -1.0) + mean(ln_second, 1.0)) / LN_2)
}

/// ln(1 + exp(x)) without overflow.
fn softplus(x: f64) -> f64 {
    if x > 0.0 { x + (-x).exp().ln_1p() } else { x.exp().ln_1p() }
}

/// The least cost any monotone recalibration of these ratios would have had: what they lose by not separating.
///
/// The best recalibration is isotonic regression; it is fitted to the very ratios it is judged by, so that the minimum of a
/// small set is too low.
///
/// # Example
/// ```
/// use tornus::analysis::statistics::least_cllr;
/// assert_eq!(least_cllr(&[0.1, 0.2], &[-0.3, 0.05]), Some(0.0)); // every first above every second
/// ```
///
/// # References
/// Ayer, Brunk, Ewing, Reid & Silverman 1955 (pool adjacent violators); Brummer & du Preez 2006 (from memory).
#[must_use]
pub fn least_cllr(ln_first: &[f64], ln_second: &[f64]) -> Option<f64> {
    cllr(ln_first, ln_second)?;
    let mut all: Vec<(f64, bool)> =
        ln_first.iter().map(|v| (*v, true)).chain(ln_second.iter().map(|v| (*v, false))).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let prior_odds = ln_first.len() as f64 / ln_second.len() as f64;
    let (mut first, mut second) = (Vec::new(), Vec::new());
    for [ones, others] in isotonic_blocks(&all) {
        let ln_ratio = (ones as f64 / others as f64 / prior_odds).ln();
        first.extend(vec![ln_ratio; ones]);
        second.extend(vec![ln_ratio; others]);
    }
    cllr(&first, &second)
}

/// Counts of first and second in blocks whose share of first rises; equal scores share a block.
fn isotonic_blocks(sorted: &[(f64, bool)]) -> Vec<[usize; 2]> {
    let mut blocks: Vec<[usize; 2]> = Vec::new();
    for ties in sorted.chunk_by(|a, b| a.0.total_cmp(&b.0).is_eq()) {
        let ones = ties.iter().filter(|(_, first)| *first).count();
        blocks.push([ones, ties.len() - ones]);
        while let [.., [a, b], [c, d]] = *blocks.as_slice() {
            // Shares a / (a + b) >= c / (c + d), without division.
            if a * d < c * b {
                break;
            }
            blocks.truncate(blocks.len() - 2);
            blocks.push([a + c, b + d]);
        }
    }
    blocks
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ln(ratios: &[f64]) -> Vec<f64> {
        ratios.iter().map(|ratio| ratio.ln()).collect()
    }

    #[test]
    fn ratios_that_say_nothing_cost_one_bit() {
        assert_eq!(cllr(&[0.0; 3], &[0.0]), Some(1.0));
        assert_eq!(cllr(&[], &[0.0]), None);
        assert_eq!(cllr(&[f64::NAN], &[0.0]), None);
        assert_eq!(cllr(&[f64::INFINITY], &[f64::NEG_INFINITY]), Some(0.0));
    }

    #[test]
    fn reversed_ratios_are_best_ignored() {
        assert_eq!(least_cllr(&ln(&[0.1, 0.2]), &ln(&[5.0, 7.0])), Some(1.0));
    }

    #[test]
    fn recalibration_never_costs_more() {
        let (first, second) = (ln(&[1000.0, 1000.0, 0.1]), ln(&[0.001, 0.001, 10.0]));
        // (2 log2(1 + 1/1000) + log2(1 + 10)) / 3, for both by symmetry
        let wanted = (2.0 * 1.001_f64.log2() + 11.0_f64.log2()) / 3.0;
        assert!((cllr(&first, &second).unwrap() - wanted).abs() < 1e-12);
        assert!(least_cllr(&first, &second).unwrap() < wanted);
    }
}
