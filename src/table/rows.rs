//! Reductions as rows: one scan's share of each published table.

use super::measure_rows::{Found, MeasureCell, scan_measures};
use super::patch_rows::{aside_word, patches};
use super::{Column, Table, TableError};
use crate::quantity::Estimate;
use crate::reduction::{ArcRow, Defect, MeasureRow, Reduction, SectionRow, Unmeasured, WallReduction};

/// One scan's share of the per-scan tables, each keyed by `scan_id`.
#[derive(Clone, Debug, PartialEq)]
pub struct ScanTables {
    /// `sections`: scan x wall x height.
    pub sections: Table,
    /// `harmonics`: scan x wall x height x UPR.
    pub harmonics: Table,
    /// `profiles`: scan x wall x station.
    pub profiles: Table,
    /// `profile_arcs`: scan x wall x arc.
    pub profile_arcs: Table,
    /// `patches`: scan x patch set aside.
    pub patches: Table,
    /// `scan_measures`: scan x measure.
    pub scan_measures: Table,
    /// `unrolled`: scan x wall x height x azimuth.
    pub unrolled: Table,
}

/// The rows one reduction adds to each per-scan table.
///
/// # Errors
/// [`TableError`] if a number is not finite, which the reduction's own types do not let happen.
pub fn scan_tables(scan_id: &str, reduction: &Reduction) -> Result<ScanTables, TableError> {
    Ok(ScanTables {
        sections: sections(scan_id, reduction)?,
        harmonics: harmonics(scan_id, reduction)?,
        profiles: profiles(scan_id, reduction)?,
        profile_arcs: profile_arcs(scan_id, reduction)?,
        patches: patches(scan_id, reduction)?,
        scan_measures: measures_of(scan_id, reduction)?,
        unrolled: unrolled(scan_id, reduction)?,
    })
}

/// The columns of `scans` that the reduction knows; the rest (file, hash, status) are the caller's.
///
/// The order is that of the published table.
#[must_use]
pub fn scan_columns(reduction: Option<&Reduction>) -> Vec<Column> {
    let float = |name: &str, value: &dyn Fn(&Reduction) -> Option<f64>| {
        Column::optional_floats(name, [reduction.and_then(value)])
    };
    let wall = |index: usize, value: fn(&WallReduction) -> f64| move |r: &Reduction| r.walls.get(index).map(value);
    let defect = |defect: Defect| move |r: &Reduction| r.quality.of(defect).map(|f| f.strength.value());
    vec![
        float("axis_dx", &|r| Some(r.axis_direction.x)),
        float("axis_dy", &|r| Some(r.axis_direction.y)),
        float("axis_dz", &|r| Some(r.axis_direction.z)),
        float("axis_x_mm", &|r| Some(r.axis_point.x)),
        float("axis_y_mm", &|r| Some(r.axis_point.y)),
        float("axis_z_mm", &|r| Some(r.axis_point.z)),
        float("u_axis_tilt_rad", &|r| Some((r.axis_covariance[(2, 2)] + r.axis_covariance[(3, 3)]).sqrt())),
        float("u_axis_offset_mm", &|r| Some((r.axis_covariance[(0, 0)] + r.axis_covariance[(1, 1)]).sqrt())),
        float("noise_mm", &|r| Some(r.noise.value())),
        float("u_noise_mm", &|r| Some(r.noise.standard_uncertainty())),
        float("noise_correlated_mm", &|r| Some(r.noise_correlated_mm)),
        float("noise_length_mm", &|r| Some(r.noise_length_mm)),
        float("facet_mm", &|r| r.quality.facet_mm),
        float("decimation_mm", &defect(Defect::Decimation)),
        float("smoothing_mm", &defect(Defect::Smoothing)),
        float("blur_mm", &|r| Some(r.quality.blur_mm())),
        float("seam_mm", &defect(Defect::Seam)),
        float("drift_mm", &defect(Defect::Drift)),
        float("u_drift_mm", &|r| r.quality.of(Defect::Drift).map(|f| f.strength.standard_uncertainty())),
        float("double_wall_mm", &defect(Defect::DoubleWall)),
        Column::optional_texts("quality", [reduction.map(|r| r.quality.words()).filter(|words| !words.is_empty())]),
        float("coverage_outer", &wall(0, |w| w.coverage)),
        float("coverage_inner", &|r| Some(r.walls.get(1).map_or(0.0, |w| w.coverage))),
        float("masked_outer", &wall(0, |w| w.masked)),
        float("masked_inner", &wall(1, |w| w.masked)),
        Column::optional_texts("up_source", [reduction.map(|r| format!("{:?}", r.up).to_lowercase())]),
        Column::optional_texts("outline_lacks", [reduction.and_then(|r| r.outline_lacks).map(str::to_owned)]),
        Column::optional_texts("notes", [reduction.filter(|r| !r.notes.is_empty()).map(|r| r.notes.join("; "))]),
    ]
}

/// Pairs of a wall's word and a row.
fn section_rows(reduction: &Reduction) -> Vec<(&'static str, &SectionRow)> {
    reduction.walls.iter().flat_map(|wall| wall.sections.iter().map(|row| (wall.side.word(), row))).collect()
}

type Pick = fn(&SectionRow) -> Option<Estimate>;

/// The measured columns of `sections`, each followed by its uncertainty.
const SECTION_ESTIMATES: &[(&str, Pick)] = &[
    ("radius_mm", |s| Some(s.radius)),
    ("center_x_mm", |s| Some(s.center_x)),
    ("center_y_mm", |s| Some(s.center_y)),
    ("ront_lsci_mm", |s| s.ront_lsci),
    ("ronq_lsci_mm", |s| s.ronq_lsci),
    ("ronp_lsci_mm", |s| s.ronp_lsci),
    ("ronv_lsci_mm", |s| s.ronv_lsci),
    ("ront_mzci_mm", |s| s.ront_mzci),
    ("ront_mcci_mm", |s| s.ront_mcci),
    ("ront_mici_mm", |s| s.ront_mici),
    ("ront_found_mm", |s| s.ront_found),
];

/// A height of a wall: its section, or why there is none.
enum Level<'a> {
    Measured(&'a SectionRow),
    Missing(&'a Unmeasured),
}

impl Level<'_> {
    fn section(&self) -> Option<&SectionRow> {
        if let Self::Measured(section) = self { Some(section) } else { None }
    }

    /// Height, share seen, share set aside.
    fn place(&self) -> [f64; 3] {
        match self {
            Self::Measured(s) => [s.height_mm, s.coverage, s.masked],
            Self::Missing(s) => [s.height_mm, s.coverage, s.masked],
        }
    }

    fn reason(&self) -> Option<String> {
        if let Self::Missing(missing) = self { Some(missing.reason.clone()) } else { None }
    }
}

/// The heights of a wall from low to high, measured or not.
fn levels(wall: &WallReduction) -> Vec<(&'static str, Level<'_>)> {
    let measured = wall.sections.iter().map(Level::Measured);
    let mut levels: Vec<Level<'_>> = measured.chain(wall.unmeasured.iter().map(Level::Missing)).collect();
    levels.sort_by(|a, b| a.place()[0].total_cmp(&b.place()[0]));
    levels.into_iter().map(|level| (wall.side.word(), level)).collect()
}

fn sections(scan_id: &str, reduction: &Reduction) -> Result<Table, TableError> {
    let rows: Vec<_> = reduction.walls.iter().flat_map(levels).collect();
    let of = |pick: fn(&SectionRow) -> Option<f64>| rows.iter().map(move |(_, level)| level.section().and_then(pick));
    let mut columns = vec![
        Column::texts("scan_id", rows.iter().map(|_| scan_id)),
        Column::texts("wall", rows.iter().map(|(wall, _)| *wall)),
        Column::floats("height_mm", rows.iter().map(|(_, level)| level.place()[0])),
        Column::optional_flags("body", rows.iter().map(|(_, level)| Some(level.section().is_some_and(|s| s.body)))),
        Column::floats("coverage", rows.iter().map(|(_, level)| level.place()[1])),
        Column::floats("masked", rows.iter().map(|(_, level)| level.place()[2])),
        Column::integers(
            "highest_upr",
            rows.iter().map(|(_, level)| level.section().map_or(0, |s| s.harmonics.len() as i64)),
        ),
        Column::optional_floats("detection_limit_mm", of(|s| s.detection_limit_mm)),
        Column::optional_texts("reason", rows.iter().map(|(_, level)| level.reason())),
        Column::optional_floats("choice_ront_mm", of(|s| Some(s.u_set_aside.ront_mm))),
    ];
    for (name, pick) in SECTION_ESTIMATES {
        let estimates: Vec<_> = rows.iter().map(|(_, level)| level.section().and_then(pick)).collect();
        columns.push(Column::optional_floats(name, estimates.iter().map(|e| e.map(Estimate::value))));
        let u = estimates.iter().map(|e| e.map(Estimate::standard_uncertainty));
        columns.push(Column::optional_floats(&format!("u_{name}"), u));
    }
    Table::new("sections", columns)
}

fn harmonics(scan_id: &str, reduction: &Reduction) -> Result<Table, TableError> {
    let rows: Vec<_> = section_rows(reduction)
        .into_iter()
        .flat_map(|(wall, section)| section.harmonics.iter().map(move |h| (wall, section.height_mm, h)))
        .collect();
    Table::new(
        "harmonics",
        vec![
            Column::texts("scan_id", rows.iter().map(|_| scan_id)),
            Column::texts("wall", rows.iter().map(|(wall, _, _)| *wall)),
            Column::floats("height_mm", rows.iter().map(|(_, height, _)| *height)),
            Column::integers("upr", rows.iter().map(|(_, _, h)| i64::from(h.upr))),
            Column::floats("amplitude_mm", rows.iter().map(|(_, _, h)| h.amplitude.value())),
            Column::floats("raw_amplitude_mm", rows.iter().map(|(_, _, h)| h.raw_amplitude_mm)),
            Column::floats("phase_rad", rows.iter().map(|(_, _, h)| h.phase_rad)),
            Column::floats("u_amplitude_mm", rows.iter().map(|(_, _, h)| h.amplitude.standard_uncertainty())),
        ],
    )
}

fn profiles(scan_id: &str, reduction: &Reduction) -> Result<Table, TableError> {
    let rows: Vec<_> = reduction
        .walls
        .iter()
        .flat_map(|wall| {
            (0_i64..).zip(&wall.meridian.stations).map(|(index, station)| (wall.side.word(), index, station))
        })
        .collect();
    Table::new(
        "profiles",
        vec![
            Column::texts("scan_id", rows.iter().map(|_| scan_id)),
            Column::texts("wall", rows.iter().map(|(wall, _, _)| *wall)),
            Column::integers("station", rows.iter().map(|(_, index, _)| *index)),
            Column::floats("arc_mm", rows.iter().map(|(_, _, s)| s.arc_mm)),
            Column::floats("height_mm", rows.iter().map(|(_, _, s)| s.height_mm)),
            Column::floats("radius_mm", rows.iter().map(|(_, _, s)| s.radius.value())),
            Column::floats("u_radius_mm", rows.iter().map(|(_, _, s)| s.radius.standard_uncertainty())),
            Column::floats("curvature_per_mm", rows.iter().map(|(_, _, s)| s.curvature_per_mm)),
        ],
    )
}

type PickArc = fn(&ArcRow) -> Option<Estimate>;

/// The measured columns of `profile_arcs`, each followed by its uncertainty.
const ARC_ESTIMATES: &[(&str, PickArc)] = &[
    ("arc_radius_mm", |a| a.radius),
    ("center_r_mm", |a| a.center.map(|[r, _]| r)),
    ("center_z_mm", |a| a.center.map(|[_, z]| z)),
    ("angle_rad", |a| Some(a.angle)),
    ("curvature_per_mm", |a| Some(a.curvature)),
    ("turn_rad", |a| a.turn),
];

fn profile_arcs(scan_id: &str, reduction: &Reduction) -> Result<Table, TableError> {
    let rows: Vec<(&str, i64, &ArcRow)> = reduction
        .walls
        .iter()
        .flat_map(|wall| (0_i64..).zip(&wall.meridian.arcs).map(|(index, arc)| (wall.side.word(), index, arc)))
        .collect();
    let float = |name: &str, pick: fn(&ArcRow) -> f64| Column::floats(name, rows.iter().map(|(_, _, a)| pick(a)));
    let mut columns = vec![
        Column::texts("scan_id", rows.iter().map(|_| scan_id)),
        Column::texts("wall", rows.iter().map(|(wall, _, _)| *wall)),
        Column::integers("arc", rows.iter().map(|(_, index, _)| *index)),
        Column::texts("kind", rows.iter().map(|(_, _, a)| if a.bent { "arc" } else { "line" })),
        float("from_height_mm", |a| a.from[1]),
        float("to_height_mm", |a| a.to[1]),
        float("from_radius_mm", |a| a.from[0]),
        float("to_radius_mm", |a| a.to[0]),
        Column::optional_floats("u_from_along_mm", rows.iter().map(|(_, _, a)| a.u_ends_mm[0])),
        Column::optional_floats("u_to_along_mm", rows.iter().map(|(_, _, a)| a.u_ends_mm[1])),
        float("length_mm", |a| a.length_mm),
        float("rms_mm", |a| a.rms_mm),
        Column::integers("n_stations", rows.iter().map(|(_, _, a)| a.stations as i64)),
        Column::optional_flags("smooth", rows.iter().map(|(_, _, a)| a.smooth)),
    ];
    for (name, pick) in ARC_ESTIMATES {
        columns.push(Column::optional_floats(name, rows.iter().map(|(_, _, a)| pick(a).map(Estimate::value))));
        let u = rows.iter().map(|(_, _, a)| pick(a).map(Estimate::standard_uncertainty));
        columns.push(Column::optional_floats(&format!("u_{name}"), u));
    }
    Table::new("profile_arcs", columns)
}

/// What is said of a measure that the reduction neither took nor gave up with a reason.
const NOT_TAKEN: &str = "not taken from this scan";

fn measures_of(scan_id: &str, reduction: &Reduction) -> Result<Table, TableError> {
    let had = reduction.measures.iter().map(|row| {
        let MeasureRow { measure, estimate, detection_limit, budget, as_found } = *row;
        MeasureCell { measure, found: Ok(Found { estimate, budget, detection_limit, as_found }) }
    });
    let lacking = reduction.missing.iter().map(|row| MeasureCell { measure: row.measure, found: Err(&row.reason) });
    let cells: Vec<MeasureCell<'_>> = had.chain(lacking).collect();
    scan_measures(scan_id, &cells, NOT_TAKEN)
}

fn unrolled(scan_id: &str, reduction: &Reduction) -> Result<Table, TableError> {
    let mut walls = Vec::new();
    let (mut heights, mut azimuths, mut deviations) = (Vec::new(), Vec::new(), Vec::new());
    let (mut asides, mut kinds) = (Vec::new(), Vec::new());
    for wall in &reduction.walls {
        let map = &wall.unrolled;
        let columns = map.azimuths_rad.len();
        for (cell, (deviation, aside)) in map.deviation_mm.iter().zip(&map.aside).enumerate() {
            walls.push(wall.side.word());
            heights.push(map.heights_mm[cell / columns]);
            azimuths.push(map.azimuths_rad[cell % columns]);
            deviations.push(*deviation);
            asides.push(Some(aside.is_set_aside()));
            kinds.push(aside_word(*aside).map(str::to_owned));
        }
    }
    Table::new(
        "unrolled",
        vec![
            Column::texts("scan_id", walls.iter().map(|_| scan_id)),
            Column::texts("wall", walls.iter().copied()),
            Column::floats("height_mm", heights),
            Column::floats("azimuth_rad", azimuths),
            Column::optional_floats("deviation_mm", deviations),
            Column::optional_flags("set_aside", asides),
            Column::optional_texts("patch", kinds),
        ],
    )
}
