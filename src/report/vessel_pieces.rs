//! One vessel's meridian in its lines and arcs, from the rows of `profile_arcs`.

use super::cells;
use super::number::{measured, plain};
use super::tables::RowIndex;
use crate::figure::meridian_pieces::DrawnPiece;
use crate::table::{Table, TableError};

/// A line is straight to a curvature that it exceeds in one case of forty: two standard uncertainties.
const BOUND: f64 = 2.0;

/// A line's least radius from here on is told as this: more says nothing of a vessel, mm.
const STRAIGHT_MM: f64 = 10_000.0;

/// A scan's pieces in the order of the meridian; a row without its places is left out.
pub(super) fn pieces(table: &Table, rows: &RowIndex<'_>, scan: &str) -> Result<Vec<DrawnPiece>, TableError> {
    let walls = table.texts("wall")?;
    let of_wall = |wall: &'static str| rows.rows(scan).filter(move |row| walls[*row].as_deref() == Some(wall));
    Ok(["outer", "inner"].into_iter().flat_map(of_wall).filter_map(|row| piece(table, row)).collect())
}

fn piece(table: &Table, row: usize) -> Option<DrawnPiece> {
    let number = |name: &str| cells::number(table, name, row);
    let place = |end: &str| Some((number(&format!("{end}_radius_mm"))?, number(&format!("{end}_height_mm"))?));
    let [curvature, u_curvature, length] =
        [number("curvature_per_mm")?, number("u_curvature_per_mm")?, number("length_mm")?];
    let bent = cells::text(table, "kind", row)? == "arc";
    let arc = if bent { Some(((number("center_r_mm")?, number("center_z_mm")?), curvature * length)) } else { None };
    let words = if bent {
        let (radius, u) = measured(number("arc_radius_mm")?, number("u_arc_radius_mm")?);
        let form = if curvature > 0.0 { "arc" } else { "hollow arc" };
        format!("{form}, R {radius} mm (u {u})")
    } else {
        let (angle, u) = measured(number("angle_rad")?.to_degrees(), number("u_angle_rad")?.to_degrees());
        let least = (1.0 / (curvature.abs() + BOUND * u_curvature).max(f64::MIN_POSITIVE)).min(STRAIGHT_MM);
        format!("line, {angle}\u{b0} (u {u}\u{b0}), R > {} mm", plain(least, 2))
    };
    Some(DrawnPiece { from: place("from")?, to: place("to")?, arc, words })
}

/// What the figure shows, for its caption.
pub(super) fn caption(pieces: usize, scan: Option<&str>) -> String {
    let drawn = scan.map_or_else(String::new, |scan| format!(" From scan {}.", super::html::escape(scan)));
    format!(
        "The meridian as {pieces} lines and arcs, their number chosen by an information criterion, from the middle of the underside \
         over the rim to the floor; colours alternate. R: radius of an arc, with its standard uncertainty u; of a line its angle \
         to the axis, positive where it widens upwards, and the radius that an arc through it would exceed (two standard \
         uncertainties). Grey: the stations.{drawn}"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Column;

    #[test]
    fn pieces_stand_in_the_order_of_the_meridian_with_their_sizes() {
        let column = |name: &str, values: [f64; 2]| Column::floats(name, values);
        let table = Table::new(
            "profile_arcs",
            vec![
                Column::texts("scan_id", ["a", "a"]),
                Column::texts("wall", ["inner", "outer"]),
                Column::texts("kind", ["line", "arc"]),
                column("from_radius_mm", [30.0, 40.0]),
                column("from_height_mm", [80.0, 0.0]),
                column("to_radius_mm", [30.0, 50.0]),
                column("to_height_mm", [10.0, 10.0]),
                column("center_r_mm", [0.0, 40.0]),
                column("center_z_mm", [0.0, 10.0]),
                column("length_mm", [70.0, 15.7]),
                column("curvature_per_mm", [0.0, 0.1]),
                column("u_curvature_per_mm", [0.001, 0.001]),
                column("arc_radius_mm", [0.0, 10.0]),
                column("u_arc_radius_mm", [0.0, 0.1]),
                column("angle_rad", [0.0, 1.57]),
                column("u_angle_rad", [0.01, 0.01]),
            ],
        )
        .unwrap();
        let found = pieces(&table, &RowIndex::new(Some(&table), "scan_id").unwrap(), "a").unwrap();
        assert_eq!(found[0].words, "arc, R 10.00 mm (u 0.10)");
        assert_eq!(found[0].arc, Some(((40.0, 10.0), 0.1 * 15.7)));
        // Two standard uncertainties of the curvature are 0.002 / mm; 0.01 rad is 0.573 degrees.
        assert_eq!(found[1].words, "line, 0.00\u{b0} (u 0.57\u{b0}), R > 500 mm");
    }
}
