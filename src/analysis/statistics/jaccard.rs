//! How much of a group another partition still holds together.

/// The greatest Jaccard similarity of the set `members` with any group of `labels`: shared / united, 0 to 1.
///
/// `members` and `labels` speak of the same observations; `None` is in no group. `None` if the set is empty.
///
/// # Example
/// ```
/// use tornus::analysis::statistics::best_jaccard;
/// // The set {0, 1, 2}; group 0 is {0, 1}: 2 shared of 3; group 1 is {2, 3}: 1 of 4
/// let jaccard = best_jaccard(&[true, true, true, false], &[Some(0), Some(0), Some(1), Some(1)]);
/// assert_eq!(jaccard, Some(2.0 / 3.0));
/// ```
///
/// # References
/// Hennig 2007, Cluster-wise assessment of cluster stability.
#[must_use]
pub fn best_jaccard(members: &[bool], labels: &[Option<usize>]) -> Option<f64> {
    let size = members.iter().filter(|member| **member).count();
    if size == 0 {
        return None;
    }
    let groups = labels.iter().flatten().max().map_or(0, |most| most + 1);
    let (mut shared, mut sizes) = (vec![0_usize; groups], vec![0_usize; groups]);
    for (member, label) in members.iter().zip(labels) {
        if let Some(label) = *label {
            sizes[label] += 1;
            shared[label] += usize::from(*member);
        }
    }
    let similarity = |group: usize| shared[group] as f64 / (size + sizes[group] - shared[group]) as f64;
    Some((0..groups).map(similarity).fold(0.0, f64::max))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_set_that_nothing_holds_scores_nought() {
        assert_eq!(best_jaccard(&[true, false], &[None, Some(0)]), Some(0.0));
        assert_eq!(best_jaccard(&[false, false], &[Some(0), Some(0)]), None);
    }
}
