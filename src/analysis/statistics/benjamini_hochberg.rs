//! Adjusted p-values that hold the false discovery rate.

/// Benjamini-Hochberg adjusted p-values: rejecting those at most q holds the expected share of false rejections at q.
///
/// `None` stands for an observation that was not tested; it does not count as a test.
///
/// # Example
/// ```
/// use tornus::analysis::statistics::benjamini_hochberg;
/// let q = benjamini_hochberg(&[Some(0.01), None, Some(0.04), Some(0.5)]);
/// // 3 tests: 0.01 x 3/1, 0.04 x 3/2, 0.5 x 3/3
/// assert!((q[0].unwrap() - 0.03).abs() < 1e-12 && (q[2].unwrap() - 0.06).abs() < 1e-12);
/// assert_eq!((q[1], q[3]), (None, Some(0.5)));
/// ```
///
/// # References
/// Benjamini & Hochberg 1995, Controlling the false discovery rate.
#[must_use]
pub fn benjamini_hochberg(p: &[Option<f64>]) -> Vec<Option<f64>> {
    let mut order: Vec<(usize, f64)> = p.iter().enumerate().filter_map(|(i, p)| Some((i, (*p)?))).collect();
    order.sort_by(|a, b| a.1.total_cmp(&b.1));
    let tests = order.len() as f64;
    let mut adjusted = vec![None; p.len()];
    let mut least = 1.0_f64;
    for (rank, &(index, p)) in order.iter().enumerate().rev() {
        least = least.min(p * tests / (rank + 1) as f64);
        adjusted[index] = Some(least);
    }
    adjusted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn adjusted_values_keep_the_order_and_stay_below_one() {
        let p = [0.9, 0.001, 0.8, 0.02, 0.021];
        let q = benjamini_hochberg(&p.map(Some));
        for (i, j) in (0..5).flat_map(|i| (0..5).map(move |j| (i, j))) {
            assert!(p[i] > p[j] || q[i].unwrap() <= q[j].unwrap());
        }
        assert!(q.iter().flatten().all(|q| (0.0..=1.0).contains(q)));
        assert!(benjamini_hochberg(&[None]).iter().all(Option::is_none));
    }
}
