//! What was set aside, patch by patch, as rows.

use super::{Column, Table, TableError};
use crate::reduction::{Aside, PatchRow, Reduction};

/// One scan's share of `patches`.
pub(super) fn patches(scan_id: &str, reduction: &Reduction) -> Result<Table, TableError> {
    let rows = &reduction.patches;
    let float = |name: &str, pick: fn(&PatchRow) -> f64| Column::floats(name, rows.iter().map(pick));
    // Of what stands wholly out of reach of the meridian, or hides everything, no distance is known.
    let known = |row: &PatchRow, value: f64| (row.furthest_mm.abs() > 0.0).then_some(value);
    Table::new(
        "patches",
        vec![
            Column::texts("scan_id", rows.iter().map(|_| scan_id)),
            Column::integers("patch", 0..rows.len() as i64),
            Column::texts("part", rows.iter().map(|row| row.part.word())),
            Column::optional_texts("kind", rows.iter().map(|row| aside_word(row.kind).map(str::to_owned))),
            float("low_mm", |row| row.low_mm),
            float("high_mm", |row| row.high_mm),
            float("azimuth_rad", |row| row.azimuth_rad),
            float("width_rad", |row| row.width_rad),
            float("area_mm2", |row| row.area_mm2),
            Column::optional_floats("furthest_mm", rows.iter().map(|row| known(row, row.furthest_mm))),
            Column::optional_floats("u_furthest_mm", rows.iter().map(|row| known(row, row.u_furthest_mm))),
        ],
    )
}

/// The word for what was set aside.
pub(super) const fn aside_word(aside: Aside) -> Option<&'static str> {
    match aside {
        Aside::Kept | Aside::Fringe | Aside::Fading => None,
        Aside::Raised => Some("raised"),
        Aside::Lost => Some("lost"),
    }
}
