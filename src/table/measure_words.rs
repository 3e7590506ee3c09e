//! Measures as a reader calls them: in a list, and in the middle of a sentence.

/// Where on the vessel a measure is taken, as the last word of its name says.
const WHERE: [&str; 4] = ["outer", "inner", "rim", "foot"];

/// A measure's name as an entry of a list, the place last: `lobing_4_15` is "lobing, 4 to 15 UPR", `flatness_foot`
/// "flatness, foot".
pub fn listed(name: &str) -> String {
    match name {
        "surface_profile_rms" => "surface profile, root mean square".to_owned(),
        "surface_profile_pv" => "surface profile, peak to valley".to_owned(),
        "roundness_best" => "roundness, best tenth".to_owned(),
        "lobing_change" => "lobing, change from section to section".to_owned(),
        _ => match (name.strip_prefix("lobing_"), placed(name)) {
            (Some(band), _) => format!("lobing, {} UPR", band.replace('_', " to ")),
            (None, Some((what, place))) => format!("{what}, {place}"),
            (None, None) => plain(name),
        },
    }
}

/// A measure's name within a sentence, the place first: `lobing_4_15` is "lobing at 4 to 15 UPR", `flatness_foot` "foot
/// flatness".
pub fn spoken(name: &str) -> String {
    match name {
        "surface_profile_rms" => "root mean square surface profile".to_owned(),
        "surface_profile_pv" => "peak-to-valley surface profile".to_owned(),
        "roundness_best" => "roundness of the best tenth".to_owned(),
        "lobing_change" => "change of lobing from section to section".to_owned(),
        _ => match (name.strip_prefix("lobing_"), placed(name)) {
            (Some(band), _) => format!("lobing at {} UPR", band.replace('_', " to ")),
            (None, Some((what, place))) => format!("{place} {what}"),
            (None, None) => plain(name),
        },
    }
}

/// What is measured, and where.
fn placed(name: &str) -> Option<(String, &str)> {
    let (what, place) = name.rsplit_once('_')?;
    WHERE.contains(&place).then(|| (what.replace('_', " "), place))
}

fn plain(name: &str) -> String {
    match name {
        "max_diameter" => "greatest diameter".to_owned(),
        "capacity_neck" => "capacity up to the neck".to_owned(),
        "total_runout" => "total run-out".to_owned(),
        _ => name.replace('_', " "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn measures_read_as_words() {
        for (name, in_list, in_sentence) in [
            ("lobing_2", "lobing, 2 UPR", "lobing at 2 UPR"),
            ("lobing_16_50", "lobing, 16 to 50 UPR", "lobing at 16 to 50 UPR"),
            ("axis_straightness_inner", "axis straightness, inner", "inner axis straightness"),
            ("rim_diameter", "rim diameter", "rim diameter"),
            ("wall_max", "wall max", "wall max"),
            ("total_runout", "total run-out", "total run-out"),
        ] {
            assert_eq!((listed(name).as_str(), spoken(name).as_str()), (in_list, in_sentence));
        }
    }
}
