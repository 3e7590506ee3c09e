//! The list of columns of every published table: unit, meaning, source.
//!
//! A measured column `x` and its standard uncertainty `u_x` share one line here. Columns whose number depends on the corpus
//! (`pc1`, `pc2`, ..., `loading_000`, ...) are listed once, with their number left out: `pc`, `loading_`.

use super::Measure;

mod columns;

pub use columns::COLUMNS;

/// One column of a published table, or a family of numbered columns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ColumnMeaning {
    /// The table.
    pub table: &'static str,
    /// The column; of a family, the part before the number.
    pub column: &'static str,
    /// The unit: `mm`, `mm2`, `mm3`, `rad`, `1/mm`, `1` for a number without unit, empty for words and truth values.
    pub unit: &'static str,
    /// What it is, in a sentence.
    pub meaning: &'static str,
    /// Standard and clause, or `project`.
    pub source: &'static str,
}

/// A published table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TableMeaning {
    /// The table.
    pub name: &'static str,
    /// What one row is.
    pub row: &'static str,
    /// The key columns, by which it is sorted.
    pub key: &'static [&'static str],
}

/// Every published table, in the order of the flow.
pub const TABLES: &[TableMeaning] = &[
    TableMeaning { name: "catalogue", row: "scan file, as the catalogue describes it", key: &["scan_id"] },
    TableMeaning { name: "scans", row: "scan file", key: &["scan_id"] },
    TableMeaning { name: "sections", row: "scan x wall x height", key: &["scan_id", "wall", "height_mm"] },
    TableMeaning {
        name: "harmonics",
        row: "scan x wall x height x UPR",
        key: &["scan_id", "wall", "height_mm", "upr"],
    },
    TableMeaning { name: "profiles", row: "scan x wall x station", key: &["scan_id", "wall", "station"] },
    TableMeaning { name: "profile_arcs", row: "scan x wall x line or arc", key: &["scan_id", "wall", "arc"] },
    TableMeaning { name: "patches", row: "scan x patch set aside", key: &["scan_id", "patch"] },
    TableMeaning { name: "scan_measures", row: "scan x measure", key: &["scan_id", "measure"] },
    TableMeaning {
        name: "unrolled",
        row: "scan x wall x height x azimuth",
        key: &["scan_id", "wall", "height_mm", "azimuth_rad"],
    },
    TableMeaning { name: "measures", row: "vessel x measure", key: &["vessel_id", "measure"] },
    TableMeaning { name: "vessels", row: "vessel", key: &["vessel_id"] },
    TableMeaning { name: "repeatability", row: "measure x instrument", key: &["measure", "instrument"] },
    TableMeaning {
        name: "instrument_bias",
        row: "measure x pair of instruments",
        key: &["measure", "instrument_a", "instrument_b"],
    },
    TableMeaning { name: "form_scores", row: "vessel", key: &["vessel_id"] },
    TableMeaning { name: "form_axes", row: "component of the form space", key: &["component"] },
    TableMeaning { name: "form_landmarks", row: "vessel x landmark", key: &["vessel_id", "landmark"] },
    TableMeaning {
        name: "form_axes_drawn",
        row: "component x deviations x station",
        key: &["component", "deviations", "station"],
    },
    TableMeaning { name: "form_means", row: "form group x station", key: &["cluster", "station"] },
    TableMeaning { name: "form_tree", row: "vessel or merge of the tree of forms", key: &["node"] },
    TableMeaning { name: "form_tree_forms", row: "node of the tree of forms x station", key: &["node", "station"] },
    TableMeaning { name: "neighbours", row: "vessel x rank", key: &["vessel_id", "rank"] },
    TableMeaning { name: "precision_scores", row: "vessel", key: &["vessel_id"] },
    TableMeaning { name: "precision_axes", row: "component of the precision space", key: &["component"] },
    TableMeaning { name: "precision_residuals", row: "vessel x precision measure", key: &["vessel_id", "measure"] },
    TableMeaning { name: "scree", row: "space x component", key: &["space", "component"] },
    TableMeaning { name: "clusters", row: "vessel", key: &["vessel_id"] },
    TableMeaning { name: "choice", row: "space x method x number of groups", key: &["space", "method", "groups"] },
    TableMeaning { name: "agreement", row: "space x method", key: &["space", "method"] },
    TableMeaning { name: "outliers", row: "vessel", key: &["vessel_id"] },
    TableMeaning {
        name: "differences",
        row: "catalogue column x what is compared x pair of levels",
        key: &["factor", "of", "level_a", "level_b"],
    },
    TableMeaning { name: "associations", row: "what form is compared with", key: &["association"] },
    TableMeaning { name: "association_scores", row: "association x vessel", key: &["association", "vessel_id"] },
    TableMeaning {
        name: "association_weights",
        row: "association x variable",
        key: &["association", "block", "variable"],
    },
    TableMeaning {
        name: "association_forms",
        row: "association x end x station",
        key: &["association", "deviations", "size_mm", "station"],
    },
    TableMeaning { name: "screening", row: "vessel", key: &["vessel_id"] },
    TableMeaning { name: "screening_references", row: "documented reference", key: &["vessel_id"] },
    TableMeaning { name: "screening_reliability", row: "range of the ratio", key: &["range"] },
    TableMeaning { name: "screening_measures", row: "measure", key: &["measure"] },
    TableMeaning { name: "screening_validation", row: "screening", key: &["references_modern"] },
    TableMeaning { name: "shortlist", row: "vessel", key: &["rank"] },
    TableMeaning { name: "shortlist_budget", row: "budget", key: &["budget"] },
    TableMeaning { name: "proportions", row: "tested statement", key: &["statement"] },
    TableMeaning { name: "proportion_decoys", row: "number of matches", key: &["matches"] },
    TableMeaning { name: "proportion_vessels", row: "vessel", key: &["vessel_id"] },
    TableMeaning { name: "proportion_series", row: "series", key: &["series"] },
    TableMeaning { name: "proportion_designs", row: "design x vessel", key: &["design", "vessel_id"] },
    TableMeaning {
        name: "proportion_deviations",
        row: "design x vessel x height",
        key: &["design", "vessel_id", "height_mm"],
    },
];

/// What a column of a written table is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Description {
    /// The unit, as in [`ColumnMeaning`].
    pub unit: String,
    /// What it is.
    pub meaning: String,
    /// Standard and clause, or `project`.
    pub source: String,
}

/// Tables with columns of the catalogue's own.
const CARRYING: [&str; 2] = ["catalogue", "vessels"];

/// What `column` of `table` is; in `vessels` and `catalogue`, a name that is not the program's own is the catalogue's.
#[must_use]
pub fn describe_column(table: &str, column: &str) -> Description {
    let known = meaning_of(table, column);
    let measured = column.strip_prefix("u_").and_then(|name| meaning_of(table, name));
    match (known, measured) {
        (Some(found), _) => found,
        (None, Some(value)) => Description {
            unit: value.unit,
            meaning: format!("standard uncertainty of {}", &column[2..]),
            source: "JCGM 100 (GUM)".to_owned(),
        },
        (None, None) if CARRYING.contains(&table) => Description {
            unit: String::new(),
            meaning: "carried through from the catalogue".to_owned(),
            source: "catalogue".to_owned(),
        },
        (None, None) => Description { unit: String::new(), meaning: "not described".to_owned(), source: String::new() },
    }
}

/// Whether the program itself gives `column` of `table` its meaning; the others come from the catalogue.
#[must_use]
pub fn is_described(table: &str, column: &str) -> bool {
    meaning_of(table, column).is_some() || column.strip_prefix("u_").is_some_and(|x| meaning_of(table, x).is_some())
}

fn meaning_of(table: &str, column: &str) -> Option<Description> {
    let family = column.trim_end_matches(|c: char| c.is_ascii_digit());
    let listed = |name: &str| COLUMNS.into_iter().flatten().find(|known| known.table == table && known.column == name);
    if let Some(found) = listed(column).or_else(|| if family.len() < column.len() { listed(family) } else { None }) {
        return Some(Description {
            unit: found.unit.to_owned(),
            meaning: found.meaning.to_owned(),
            source: found.source.to_owned(),
        });
    }
    if table == "precision_axes" {
        let measure = Measure::named(column.strip_prefix("loading_")?)?;
        let meaning = format!("loading of the logarithm of {}", measure.name);
        return Some(Description { unit: "1".to_owned(), meaning, source: "project".to_owned() });
    }
    let measure = (table == "vessels").then(|| Measure::named(column)).flatten()?;
    Some(Description {
        unit: measure.unit.to_owned(),
        meaning: measure.meaning.to_owned(),
        source: measure.source.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::{COLUMNS, ColumnMeaning, TABLES, describe_column, is_described};

    #[test]
    fn every_column_belongs_to_a_table_and_is_listed_once() {
        let all: Vec<&ColumnMeaning> = COLUMNS.into_iter().flatten().collect();
        for (index, column) in all.iter().enumerate() {
            assert!(TABLES.iter().any(|table| table.name == column.table), "{} is no table", column.table);
            let again = all[..index].iter().any(|c| (c.table, c.column) == (column.table, column.column));
            assert!(!again, "{}.{} is listed twice", column.table, column.column);
        }
    }

    #[test]
    fn every_key_column_is_described() {
        for table in TABLES {
            for key in table.key {
                assert!(is_described(table.name, key), "{}.{key}", table.name);
            }
        }
    }

    #[test]
    fn uncertainties_families_and_measures_are_found() {
        assert_eq!(describe_column("sections", "u_ront_lsci_mm").unit, "mm");
        assert_eq!(describe_column("vessels", "u_capacity").unit, "mm3");
        assert!(is_described("form_scores", "pc12"));
        assert!(is_described("form_scores", "u_pc2"));
        assert!(is_described("form_axes", "loading_007"));
        assert_eq!(describe_column("vessels", "donor").source, "catalogue");
    }

    /// The columns the published tables promise.
    const PROMISED: &[(&str, &str)] = &[
        (
            "scans",
            "scan_id vessel_id file blake3 format unit triangles points instrument status reason axis_dx axis_dy \
          axis_dz axis_x_mm axis_y_mm axis_z_mm u_axis_tilt_rad u_axis_offset_mm noise_mm coverage_outer coverage_inner \
          masked_outer masked_inner",
        ),
        (
            "sections",
            "scan_id wall height_mm radius_mm center_x_mm center_y_mm coverage masked ront_lsci_mm ronq_lsci_mm \
          ronp_lsci_mm ronv_lsci_mm ront_mzci_mm ront_mcci_mm ront_mici_mm ront_found_mm detection_limit_mm",
        ),
        ("harmonics", "scan_id wall height_mm upr amplitude_mm raw_amplitude_mm phase_rad u_amplitude_mm"),
        ("profiles", "scan_id wall station arc_mm height_mm radius_mm u_radius_mm curvature_per_mm"),
        (
            "profile_arcs",
            "scan_id wall arc from_height_mm to_height_mm kind arc_radius_mm center_r_mm center_z_mm angle_rad rms_mm",
        ),
        ("patches", "scan_id part kind low_mm high_mm azimuth_rad width_rad area_mm2 furthest_mm u_furthest_mm"),
        ("measures", "vessel_id measure value u unit n_scans detection_limit below_limit"),
        ("repeatability", "measure instrument s_repeat s_instrument n_vessels n_scans"),
        ("form_scores", "vessel_id pc1 u_pc1 centroid_size_mm"),
        ("form_axes", "component explained loading_000"),
        ("precision_scores", "vessel_id pc1 precision_grade u_precision_grade"),
        (
            "clusters",
            "vessel_id form_cluster form_probability form_stability precision_cluster precision_probability \
          precision_stability",
        ),
        ("shortlist", "rank vessel_id value_of_scan cost feasible chosen grounds"),
        ("proportions", "statement matches expected p q held_out"),
        ("outliers", "vessel_id form_p form_q precision_residual precision_p precision_q direction outlier"),
        ("screening", "vessel_id log10_lr_modern log10_lr_low log10_lr_high grounds refused"),
    ];

    #[test]
    fn every_promised_column_is_described() {
        for (table, columns) in PROMISED {
            for column in columns.split_whitespace() {
                assert!(is_described(table, column), "{table}.{column}");
            }
        }
    }
}
