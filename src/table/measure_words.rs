//! Measures as a reader calls them: in a list, and in the middle of a sentence.

/// Where on the vessel a measure is taken, as the last word of its name says.
const WHERE: [&str; 4] = ["outer", "inner", "rim", "foot"];

/// Measures whose names say too little: by name, as an entry of a list, and within a sentence.
const OWN: [(&str, &str, &str); 7] = [
    ("max_diameter", "greatest diameter", "greatest diameter"),
    ("capacity_neck", "capacity up to the neck", "capacity up to the neck"),
    ("total_runout", "total run-out", "total run-out"),
    ("surface_profile_rms", "surface profile, root mean square", "root mean square surface profile"),
    ("surface_profile_pv", "surface profile, peak to valley", "peak-to-valley surface profile"),
    ("roundness_best", "roundness, best tenth", "roundness of the best tenth"),
    ("lobing_change", "lobing, change from section to section", "change of lobing from section to section"),
];

/// A measure's name as an entry of a list, the place last: `lobing_4_15` is "lobing, 4 to 15 UPR", `flatness_foot`
/// "flatness, foot".
#[must_use]
pub fn listed(name: &str) -> String {
    match (own(name), band(name), placed(name)) {
        (Some((_, listed, _)), ..) => (*listed).to_owned(),
        (None, Some(band), _) => format!("lobing, {band} UPR"),
        (None, None, Some((what, place))) => format!("{what}, {place}"),
        (None, None, None) => name.replace('_', " "),
    }
}

/// A measure's name within a sentence, the place first: `lobing_4_15` is "lobing at 4 to 15 UPR", `flatness_foot` "foot
/// flatness".
#[must_use]
pub fn spoken(name: &str) -> String {
    match (own(name), band(name), placed(name)) {
        (Some((_, _, spoken)), ..) => (*spoken).to_owned(),
        (None, Some(band), _) => format!("lobing at {band} UPR"),
        (None, None, Some((what, place))) => format!("{place} {what}"),
        (None, None, None) => name.replace('_', " "),
    }
}

fn own(name: &str) -> Option<&'static (&'static str, &'static str, &'static str)> {
    OWN.iter().find(|(known, ..)| *known == name)
}

/// The harmonics that a measure of lobing is of.
fn band(name: &str) -> Option<String> {
    name.strip_prefix("lobing_").map(|band| band.replace('_', " to "))
}

/// What is measured, and where.
fn placed(name: &str) -> Option<(String, &str)> {
    let (what, place) = name.rsplit_once('_')?;
    WHERE.contains(&place).then(|| (what.replace('_', " "), place))
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
