//! One vessel's precision beside what is usual for its peers.

use super::cells;
use super::html::{Cell, Heading, table};
use super::number::plain;
use super::order::by_list;
use super::tables::RowIndex;
use crate::table::{Table, measure_words};

/// Measure by measure, how many times the usual value of its peers a vessel's deviation is; empty if it was not compared.
pub(super) fn peers(residuals: Option<&Table>, index: &RowIndex<'_>, vessel: &str) -> String {
    let Some(source) = residuals else { return String::new() };
    let measure = |row: &usize| cells::text(source, "measure", *row).unwrap_or("");
    let mut of_vessel: Vec<usize> = index.rows(vessel).collect();
    of_vessel.sort_by(|a, b| by_list(measure(a), measure(b)));
    let rows: Vec<Vec<Cell>> = of_vessel
        .into_iter()
        .filter_map(|row| {
            let residual = cells::number(source, "residual", row)?;
            let spread = cells::number(source, "spread", row).filter(|s| *s > 0.0)?;
            let usual = cells::number(source, "usual_mm", row);
            let sign = if cells::flag(source, "bound", row) { "\u{2264} " } else { "" };
            Some(vec![
                Cell::words(&measure_words::listed(measure(&row))),
                Cell::number(usual.map(|u| plain(u, 2)), usual),
                Cell::number(Some(format!("{sign}{}", plain(residual.exp(), 2))), Some(residual)),
                Cell::number(Some(format!("{sign}{}", plain(residual / spread, 2))), Some(residual / spread)),
            ])
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    let headings = [
        Heading("Measure", false),
        Heading("Usual, mm", true),
        Heading("Times usual", true),
        Heading("In spreads of the logarithm", true),
    ];
    let caption = "Precision beside what the other vessels lead to expect of it, as far as form, size, material and instrument tell: \
                   below 1 is finer than usual, above 1 coarser; beyond about two spreads is uncommon for one measure taken alone.";
    table(caption, &headings, &rows, false)
}
