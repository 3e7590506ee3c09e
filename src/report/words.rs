//! Measures as a reader calls them, and the order to read them in.

use std::cmp::Ordering;

use crate::table::MEASURES;

/// The name of a measure in words: `lobing_4_15` is "lobing, 4 to 15 UPR".
pub(super) fn measure_words(name: &str) -> String {
    match name {
        "max_diameter" => "greatest diameter".to_owned(),
        "surface_profile_rms" => "surface profile, root mean square".to_owned(),
        "surface_profile_pv" => "surface profile, peak to valley".to_owned(),
        "capacity_neck" => "capacity up to the neck".to_owned(),
        "roundness_best" => "roundness, best tenth".to_owned(),
        "total_runout" => "total run-out".to_owned(),
        "lobing_change" => "lobing, change from section to section".to_owned(),
        _ => match name.strip_prefix("lobing_") {
            Some(range) => format!("lobing, {} UPR", range.replace('_', " to ")),
            None => with_place(name),
        },
    }
}

/// A name whose last word says where it is measured: `flatness_foot` is "flatness, foot".
fn with_place(name: &str) -> String {
    const WHERE: [&str; 4] = ["outer", "inner", "rim", "foot"];
    match name.rsplit_once('_') {
        Some((what, place)) if WHERE.contains(&place) => format!("{}, {place}", what.replace('_', " ")),
        _ => name.replace('_', " "),
    }
}

/// The order of the list of measures, so that a measure explained by the one before it stands after it.
pub(super) fn by_list(a: &str, b: &str) -> Ordering {
    let place = |name: &str| MEASURES.iter().position(|m| m.name == name).unwrap_or(MEASURES.len());
    place(a).cmp(&place(b)).then_with(|| a.cmp(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn measures_read_as_words() {
        assert_eq!(measure_words("lobing_2"), "lobing, 2 UPR");
        assert_eq!(measure_words("lobing_16_50"), "lobing, 16 to 50 UPR");
        assert_eq!(measure_words("axis_straightness_inner"), "axis straightness, inner");
        assert_eq!(measure_words("rim_diameter"), "rim diameter");
        assert_eq!(measure_words("wall_max"), "wall max");
    }

    #[test]
    fn explained_measures_follow_their_explanation() {
        assert_eq!(by_list("axis_straightness_outer", "axis_straightness_inner"), Ordering::Less);
        assert_eq!(by_list("unknown", "height"), Ordering::Greater);
    }
}
