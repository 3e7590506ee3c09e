//! Strength of the structure a tree of merges has found.

/// The agglomerative coefficient: the mean over observations of 1 - (height of its first merge) / (height of the last).
///
/// `merges` holds, in the order of their heights, the two clusters joined and the height; clusters below `observations`
/// are single observations, the others the merges counted from there. `None` without merges or with a tree of height 0.
///
/// # Example
/// ```
/// use tornus::analysis::statistics::agglomerative_coefficient;
/// // 0 and 1 join at 1, 2 joins them at 4: ((1 - 1/4) + (1 - 1/4) + (1 - 4/4)) / 3
/// assert_eq!(agglomerative_coefficient(3, &[(0, 1, 1.0), (2, 3, 4.0)]), Some(0.5));
/// ```
///
/// # References
/// Kaufman & Rousseeuw 1990, Finding groups in data, section 5.1.
#[must_use]
pub fn agglomerative_coefficient(observations: usize, merges: &[(usize, usize, f64)]) -> Option<f64> {
    let last = merges.last()?.2;
    if last <= 0.0 {
        return None;
    }
    let singles = |cluster: usize| usize::from(cluster < observations) as f64;
    let sum: f64 = merges.iter().map(|&(a, b, height)| (singles(a) + singles(b)) * (1.0 - height / last)).sum();
    Some(sum / observations as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tree_without_height_has_no_structure() {
        assert_eq!(agglomerative_coefficient(1, &[]), None);
        assert_eq!(agglomerative_coefficient(2, &[(0, 1, 0.0)]), None);
        assert_eq!(agglomerative_coefficient(2, &[(0, 1, 3.0)]), Some(0.0));
    }
}
