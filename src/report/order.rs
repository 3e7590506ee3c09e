//! The order in which a reader meets the measures.

use std::cmp::Ordering;

use crate::table::MEASURES;

/// The order of the list of measures, so that a measure explained by the one before it stands after it.
pub(super) fn by_list(a: &str, b: &str) -> Ordering {
    let place = |name: &str| MEASURES.iter().position(|m| m.name == name).unwrap_or(MEASURES.len());
    place(a).cmp(&place(b)).then_with(|| a.cmp(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn explained_measures_follow_their_explanation() {
        assert_eq!(by_list("axis_straightness_outer", "axis_straightness_inner"), Ordering::Less);
        assert_eq!(by_list("unknown", "height"), Ordering::Greater);
    }
}
