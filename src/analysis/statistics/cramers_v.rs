//! Association of two partitions.

use std::collections::BTreeMap;

/// Cramer's V of two partitions of the same observations, 0 (none) to 1 (one follows from the other); `None` if either has
/// fewer than two classes or their lengths differ.
///
/// # Example
/// Four of each, three of them together: chi-square = 8 x (1/4), so V = 0.5.
/// ```
/// use tornus::analysis::statistics::cramers_v;
/// let v = cramers_v(&[0, 0, 0, 0, 1, 1, 1, 1], &[5, 5, 5, 9, 9, 9, 9, 5]).unwrap();
/// assert!((v - 0.5).abs() < 1e-12);
/// ```
///
/// # References
/// Cramer 1946, Mathematical methods of statistics, section 21.9 (from memory).
#[must_use]
pub fn cramers_v(a: &[usize], b: &[usize]) -> Option<f64> {
    let count = |classes: &[usize]| {
        let mut counts: BTreeMap<usize, f64> = BTreeMap::new();
        classes.iter().for_each(|class| *counts.entry(*class).or_default() += 1.0);
        counts
    };
    let (of_a, of_b) = (count(a), count(b));
    let least = of_a.len().min(of_b.len());
    if a.len() != b.len() || least < 2 {
        return None;
    }
    let mut both: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    a.iter().zip(b).for_each(|pair| *both.entry((*pair.0, *pair.1)).or_default() += 1.0);
    // Chi-square over n is the sum of n_ab^2 / (n_a n_b), less 1.
    let sum: f64 = both.iter().map(|((a, b), n)| n * n / (of_a[a] * of_b[b])).sum();
    Some(((sum - 1.0) / (least - 1) as f64).max(0.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn from_none_to_all() {
        assert!(cramers_v(&[0, 0, 1, 1], &[0, 1, 0, 1]).unwrap() < 1e-7);
        assert!((cramers_v(&[0, 0, 1, 2], &[3, 3, 7, 5]).unwrap() - 1.0).abs() < 1e-12);
        assert_eq!(cramers_v(&[0, 0], &[0, 1]), None);
        assert_eq!(cramers_v(&[0, 1], &[0]), None);
    }
}
