//! Agreement of two partitions beyond chance.

use std::collections::BTreeMap;

/// The adjusted Rand index of two partitions of the same observations: 1 for the same partition, 0 on average by chance.
///
/// Labels are names only. Two partitions into one group each, or of fewer than two observations, agree: 1.
///
/// # Example
/// ```
/// use tornus::analysis::statistics::adjusted_rand;
/// let index = adjusted_rand(&[0, 0, 1, 1], &[5, 5, 6, 7]);
/// assert!((index - 4.0 / 7.0).abs() < 1e-12); // pairs together: both 1, first 2, second 1, of 6: (1 - 1/3) / (3/2 - 1/3)
/// ```
///
/// # References
/// Hubert & Arabie 1985, Comparing partitions, equation 5.
#[must_use]
pub fn adjusted_rand(first: &[usize], second: &[usize]) -> f64 {
    let pairs = |count: usize| count as f64 * (count as f64 - 1.0) / 2.0;
    let mut cells: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    let (mut rows, mut columns): (BTreeMap<usize, usize>, BTreeMap<usize, usize>) = Default::default();
    for (&a, &b) in first.iter().zip(second) {
        *cells.entry((a, b)).or_default() += 1;
        *rows.entry(a).or_default() += 1;
        *columns.entry(b).or_default() += 1;
    }
    let together: f64 = cells.values().map(|&count| pairs(count)).sum();
    let in_first: f64 = rows.values().map(|&count| pairs(count)).sum();
    let in_second: f64 = columns.values().map(|&count| pairs(count)).sum();
    let all = pairs(first.len().min(second.len()));
    let expected = if all > 0.0 { in_first * in_second / all } else { 0.0 };
    let most = (in_first + in_second) / 2.0;
    if most - expected > 0.0 { (together - expected) / (most - expected) } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_do_not_matter_and_trivial_partitions_agree() {
        assert!((adjusted_rand(&[0, 0, 1, 2, 2], &[7, 7, 3, 5, 5]) - 1.0).abs() < 1e-12);
        assert!((adjusted_rand(&[0, 0, 0], &[1, 1, 1]) - 1.0).abs() < 1e-12);
        assert!((adjusted_rand(&[], &[]) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn crossed_partitions_agree_less_than_chance() {
        // Together in both: none; each has 2 of 6 pairs: (0 - 4/6) / (2 - 4/6) = -1/2
        assert!((adjusted_rand(&[0, 0, 1, 1], &[0, 1, 0, 1]) + 0.5).abs() < 1e-12);
    }
}
