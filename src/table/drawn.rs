//! Drawn profiles as rows: a meridian and what it says of size, nothing of precision.

use super::measure_rows::{Found, MeasureCell, scan_measures};
use super::{Column, Table, TableError, scan_columns};
use crate::outline::{DrawnMeridian, DrawnStation};
use crate::quantity::{Budget, Estimate, Source};

/// Why a drawing has no sizes.
const NO_UNCERTAINTY: &str = "no uncertainty is declared for the drawing (u_instrument_mm)";
/// Why it has nothing else.
const NOT_DRAWN: &str = "a drawing shows form and size only";

/// The rows a drawn meridian adds to `profiles` and `scan_measures`.
///
/// Sizes stand only where an uncertainty is known. The height is that of the drawing, the greatest diameter twice its greatest
/// radius; half the difference of two sides is taken as the uncertainty of either end of both.
///
/// # Errors
/// [`TableError`] if a number is not finite, which the reader does not let happen.
pub fn drawn_tables(scan_id: &str, drawn: &DrawnMeridian) -> Result<Vec<Table>, TableError> {
    let walls = [("outer", &drawn.outer), ("inner", &drawn.inner)];
    let rows: Vec<(&str, i64, &DrawnStation)> = walls
        .into_iter()
        .flat_map(|(wall, stations)| (0_i64..).zip(stations).map(move |(index, station)| (wall, index, station)))
        .collect();
    let profiles = Table::new(
        "profiles",
        vec![
            Column::texts("scan_id", rows.iter().map(|_| scan_id)),
            Column::texts("wall", rows.iter().map(|(wall, _, _)| *wall)),
            Column::integers("station", rows.iter().map(|(_, index, _)| *index)),
            Column::floats("arc_mm", rows.iter().map(|(_, _, station)| station.arc_mm)),
            Column::floats("height_mm", rows.iter().map(|(_, _, station)| station.height_mm)),
            Column::floats("radius_mm", rows.iter().map(|(_, _, station)| station.radius_mm)),
            Column::optional_floats("u_radius_mm", rows.iter().map(|_| drawn.u_radius_mm)),
            Column::optional_floats("curvature_per_mm", rows.iter().map(|_| None)),
        ],
    )?;
    Ok(vec![profiles, measures(scan_id, drawn)?])
}

fn measures(scan_id: &str, drawn: &DrawnMeridian) -> Result<Table, TableError> {
    let greatest = |value: fn(&DrawnStation) -> f64| drawn.outer.iter().map(value).fold(0.0, f64::max);
    let (height, diameter) = (greatest(|s| s.height_mm), 2.0 * greatest(|s| s.radius_mm));
    let size = |measure: &'static str, value: f64, factor: f64| {
        let estimate = |u: f64| Estimate::new(value, factor * u).ok();
        let found = drawn.u_radius_mm.and_then(estimate).map(|estimate| Found {
            estimate,
            budget: Budget::of(Source::Sampling, estimate.standard_uncertainty()),
            detection_limit: None,
            as_found: None,
        });
        MeasureCell { measure, found: found.ok_or(NO_UNCERTAINTY) }
    };
    let cells = [size("height", height, std::f64::consts::SQRT_2), size("max_diameter", diameter, 2.0)];
    scan_measures(scan_id, &cells, NOT_DRAWN)
}

/// The columns of `scans` that a reduction would know: all missing but where up is and what a reader should know.
#[must_use]
pub fn drawn_scan_columns(drawn: &DrawnMeridian) -> Vec<Column> {
    let mut columns = scan_columns(None);
    for column in &mut columns {
        match column.name.as_str() {
            "up_source" => *column = Column::texts("up_source", [drawn.up.word()]),
            "notes" => *column = Column::texts("notes", [drawn.notes.join("; ")]),
            _ => {}
        }
    }
    columns
}
