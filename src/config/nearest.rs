//! The known word a mistyped one was probably meant to be.

/// The word of `known` that is fewest edits away from `word`, if that is few enough for a slip of the fingers.
///
/// An edit adds, drops or replaces a letter or swaps two neighbours; at most a third of the letters, and at least one, may
/// be wrong (common practice, no source). Of equals, the first is taken. Letter case is not counted.
///
/// # Example
/// ```
/// use tornus::config::nearest;
/// assert_eq!(nearest("hieghts", ["cutoff_upr", "heights"]), Some("heights")); // one swap
/// assert_eq!(nearest("colour", ["cutoff_upr", "heights"]), None);
/// ```
///
/// # References
/// Damerau 1964, A technique for computer detection and correction of spelling errors (from memory); the restricted form.
#[must_use]
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let allowed = (word.chars().count() / 3).max(1);
    let lower = word.to_lowercase();
    known
        .into_iter()
        .map(|candidate| (edits(&lower, &candidate.to_lowercase()), candidate))
        .filter(|(distance, _)| *distance <= allowed)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// The restricted Damerau-Levenshtein distance.
fn edits(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut rows: Vec<Vec<usize>> = vec![(0..=b.len()).collect()];
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let replaced = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = replaced.min(rows[i - 1][j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            row.push(least);
        }
        rows.push(row);
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::{edits, nearest};

    #[test]
    fn distances_by_hand() {
        for (a, b, expected) in
            [("", "abc", 3), ("abc", "abc", 0), ("abc", "acb", 1), ("abc", "ab", 1), ("kelch", "krug", 4)]
        {
            assert_eq!(edits(a, b), expected, "{a} {b}");
            assert_eq!(edits(b, a), expected, "{b} {a}");
        }
    }

    #[test]
    fn empty_words_have_no_neighbour() {
        assert_eq!(nearest("", ["heights"]), None);
        assert_eq!(nearest("heights", []), None);
        assert_eq!(nearest("Heights", ["heights"]), Some("heights"));
    }
}
