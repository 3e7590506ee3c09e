//! Differences between the values of catalogue columns.

use super::cells;
use super::corpus::Corpus;
use super::html::{Cell, Heading, left_out, paragraph, part, table};
use super::number::{percent, plain};

/// The part on differences between materials, settings, donors.
pub(super) fn differences(corpus: &Corpus<'_>) -> String {
    let words = "Whether vessels with one value in a column of the catalogue differ from those with another, judged by \
                 rearranging the vessels among the values: p is the share of arrangements that differ as much. A column \
                 can go with a difference without being its cause.";
    let inner = match corpus.tables.get("differences") {
        Some(source) => {
            let rows: Vec<Vec<Cell>> = (0..source.rows()).map(|row| cells_of(source, row)).collect();
            paragraph(words) + &table(CAPTION, &HEADINGS, &rows, false)
        }
        None => left_out(
            "No differences are in the tables: no column of the catalogue parts the vessels into levels of three or more.",
        ),
    };
    part("differences", "Differences by material, setting and the like", &inner)
}

const CAPTION: &str = "Share: of the variance that goes with the values (effect size). q: p adjusted for the number of tests. \
                       p of scatter: where it is small, the values differ in how much their vessels vary, and a small p \
                       may mean that. Ratio: geometric mean of size, or of the precision measures, of the second value over \
                       the first; of precision, below 1 is finer.";

const HEADINGS: [Heading; 10] = [
    Heading("Column", false),
    Heading("Compared", false),
    Heading("Values", false),
    Heading("Vessels", true),
    Heading("Share", true),
    Heading("p", true),
    Heading("q", true),
    Heading("p of scatter", true),
    Heading("Ratio", true),
    Heading("To be borne in mind", false),
];

fn cells_of(source: &crate::table::Table, row: usize) -> Vec<Cell> {
    let word = |name: &str| cells::text(source, name, row).unwrap_or("");
    let number = |name: &str, spoken: fn(f64) -> String| {
        let value = cells::number(source, name, row);
        Cell::number(value.map(spoken), value)
    };
    let values = match (cells::text(source, "level_a", row), cells::text(source, "level_b", row)) {
        (Some(a), Some(b)) => format!("{a}, {b}"),
        _ => "all".to_owned(),
    };
    vec![
        Cell::words(word("factor")),
        Cell::words(word("of")),
        Cell::words(&values),
        number("n", |n| format!("{n:.0}")),
        number("r2", percent),
        number("p", |p| plain(p, 2)),
        number("q", |q| plain(q, 2)),
        number("dispersion_p", |p| plain(p, 2)),
        number("ratio", |ratio| plain(ratio, 3)),
        Cell::words(word("note")),
    ]
}
