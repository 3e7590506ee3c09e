//! Every key of a study file.

/// One key of a study file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StudyKey {
    /// The section it stands in; empty for the top of the file.
    pub section: &'static str,
    /// The key.
    pub name: &'static str,
    /// What holds when it is left out, as it would be written; empty for a key that must be given.
    pub default: &'static str,
    /// What it is, with unit and range.
    pub meaning: &'static str,
}

const fn key(section: &'static str, name: &'static str, default: &'static str, meaning: &'static str) -> StudyKey {
    StudyKey { section, name, default, meaning }
}

/// Every key a study may have; all others are refused.
pub const KEYS: &[StudyKey] = &[
    key("", "catalogue", "", "the catalogue, relative to the study file; must be given"),
    key("", "title", "\"\"", "title of the report"),
    key("", "seed", "1", "start of every random draw, a whole number from 0"),
    key("", "allow_outside", "false", "whether scans may lie outside the catalogue's folder"),
    key("select", "column", "", "catalogue column by which rows are chosen; without [select] every row is taken"),
    key("select", "values", "", "the values of that column whose rows are taken"),
    key("reduction", "heights", "128", "sections per wall at most, 8 to 1024"),
    key("reduction", "cutoff_upr", "50", "cut-off of the Gaussian filter in undulations per revolution, 2 to 500"),
    key("reduction", "highest_upr", "150", "highest harmonic, at least cutoff_upr, at most 500"),
    key("compare", "groups", "\"auto\"", "number of groups, 1 to 255, or \"auto\": as many as the criterion chooses"),
    key(
        "compare",
        "form_method",
        "\"mixture\"",
        "whose groups of form are published: mixture, full-mixture, k-means, ward, average or density; the others stand beside",
    ),
    key(
        "compare",
        "factors",
        "",
        "catalogue columns between whose values differences are tested; left out: every one worth it",
    ),
    key(
        "compare",
        "form",
        "\"outer\"",
        "what forms are compared by: \"outer\" or \"inner\" meridian, closed \"half-section\", \"tangent-angle\" along the arc, closed outer \"silhouette\"",
    ),
    key("shortlist", "budget", "5", "what the computed tomographies may cost together, in the unit of ct_cost"),
    key("shortlist", "u_ct_mm", "0.005", "standard uncertainty of a tomography's lengths, mm"),
    key(
        "shortlist",
        "energy_kev",
        "150",
        "effective photon energy of the tomography behind its filter, keV, 30 to 600",
    ),
    key("shortlist", "longest_mm", "300", "longest piece the tomography's machine takes, mm"),
    key("shortlist", "heaviest_kg", "10", "heaviest piece its turntable takes, kg"),
    key(
        "shortlist",
        "least_transmission",
        "0.02",
        "share of the rays that must pass the longest path through the stone",
    ),
    key("shortlist", "per_group", "0", "pieces at most of each group by form; 0 for no limit"),
    key("shortlist", "weight_precision", "1", "how much it counts whether a vessel is unusually true or untrue"),
    key("shortlist", "weight_group", "1", "how much its groups count"),
    key("shortlist", "weight_modern", "1", "how much its screening value counts"),
    key("shortlist", "weight_interior", "1", "how much an interior that was not seen counts"),
    key("proportions", "statements", "\"\"", "the statements file, relative to the study file; empty: none are tested"),
];

/// The sections of a study file.
pub(super) fn sections() -> Vec<&'static str> {
    let mut found: Vec<&str> = KEYS.iter().map(|key| key.section).filter(|section| !section.is_empty()).collect();
    found.dedup();
    found
}

/// The keys of one section.
pub(super) fn keys_of(section: &str) -> impl Iterator<Item = &'static str> {
    KEYS.iter().filter(move |key| key.section == section).map(|key| key.name)
}
