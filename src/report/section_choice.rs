//! Which section stands for a vessel: the outer body's section of median roundness.

use super::cells;
use crate::table::{Table, TableError};

/// A section as the figures need it; lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ChosenSection {
    pub(super) height: f64,
    pub(super) radius: f64,
    pub(super) ront: Option<(f64, f64)>,
    pub(super) limit: Option<f64>,
    pub(super) coverage: Option<f64>,
    pub(super) masked: Option<f64>,
}

/// The outer sections of one scan that lie on the body, and the one to show.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct OuterSections {
    /// Lowest and highest of the body.
    pub(super) body: Option<(f64, f64)>,
    /// How many sections of the body have a roundness deviation.
    pub(super) measured: usize,
    /// The one of median RONt; without any, the middle one.
    pub(super) chosen: Option<ChosenSection>,
}

/// Looks through the rows of `sections` that belong to one scan.
pub(super) fn outer_sections(table: &Table, rows: impl Iterator<Item = usize>) -> Result<OuterSections, TableError> {
    let walls = table.texts("wall")?;
    let heights = table.floats("height_mm")?;
    let radii = table.floats("radius_mm")?;
    let deviations = table.floats("ront_lsci_mm")?;
    let limits = table.floats("detection_limit_mm")?;
    let everywhere = !table.has("body");
    let mut outer = Vec::new();
    for row in rows.filter(|row| walls[*row].as_deref() == Some("outer")) {
        if let (Some(height), Some(radius)) = (heights[row], radii[row])
            && (everywhere || cells::flag(table, "body", row))
        {
            outer.push((height, radius, row));
        }
    }
    let low = outer.iter().map(|s| s.0).min_by(f64::total_cmp);
    let high = outer.iter().map(|s| s.0).max_by(f64::total_cmp);
    let mut with_deviation: Vec<_> = outer.iter().filter_map(|s| deviations[s.2].map(|d| (d, *s))).collect();
    with_deviation.sort_by(|a, b| a.0.total_cmp(&b.0));
    let median = with_deviation.get(with_deviation.len().saturating_sub(1) / 2).map(|(_, s)| *s);
    let chosen = median.or_else(|| outer.get(outer.len() / 2).copied()).map(|(height, radius, row)| ChosenSection {
        height,
        radius,
        ront: deviations[row].map(|d| (d, cells::number(table, "u_ront_lsci_mm", row).unwrap_or(0.0))),
        limit: limits[row],
        coverage: cells::number(table, "coverage", row),
        masked: cells::number(table, "masked", row),
    });
    Ok(OuterSections { body: low.zip(high), measured: with_deviation.len(), chosen })
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::table::Column;

    #[test]
    fn middle_deviation_of_the_body_stands_for_the_vessel() -> Result<(), TableError> {
        let flags = [false, true, true, true, true].map(Some);
        let table = Table::new(
            "sections",
            vec![
                Column::texts("wall", ["outer", "outer", "outer", "outer", "inner"]),
                Column::floats("height_mm", [1.0, 2.0, 3.0, 4.0, 5.0]),
                Column::floats("radius_mm", [10.0; 5]),
                Column::floats("ront_lsci_mm", [0.9, 0.3, 0.1, 0.2, 0.2]),
                Column::optional_floats("detection_limit_mm", [None; 5]),
                Column::optional_flags("body", flags),
            ],
        )?;
        let found = outer_sections(&table, 0..5)?;
        assert_eq!((found.body, found.measured), (Some((2.0, 4.0)), 3));
        assert_eq!(found.chosen.map(|s| s.height), Some(4.0)); // 0.2 of 0.1, 0.2, 0.3
        Ok(())
    }
}
