//! Differences between the values of catalogue columns.

use super::cells;
use super::corpus::Corpus;
use super::html::{Cell, Heading, escape, left_out, list, paragraph, part, table};
use super::number::{percent, plain};
use crate::table::Table;

/// Above this adjusted p nothing is claimed.
const LEVEL: f64 = 0.05;

/// The part on differences between materials, settings, donors.
pub(super) fn differences(corpus: &Corpus<'_>) -> String {
    let words = "Whether vessels with one value in a column of the catalogue differ from those with another, judged by \
                 rearranging the vessels among the values: p is the share of arrangements that differ as much. A column \
                 can go with a difference without being its cause.";
    let inner = match corpus.tables.get("differences") {
        Some(source) => {
            let rows: Vec<Vec<Cell>> = (0..source.rows()).map(|row| cells_of(source, row)).collect();
            paragraph(words) + &list(&said(source)) + &table(CAPTION, &HEADINGS, &rows, false)
        }
        None => left_out(
            "No differences are in the tables: no column of the catalogue parts the vessels into levels of three or more.",
        ),
    };
    part("differences", "Differences by material, setting and the like", &inner)
}

const CAPTION: &str = "Share: of the variance that goes with the values (effect size). q: p adjusted for the number of columns tried, \
                       of form, of size and of precision each on its own, or for the pairs of one column. \
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

/// What can be said of each column as a whole, in plain words; the rows of a column follow one another.
fn said(source: &Table) -> Vec<String> {
    let whole: Vec<usize> = (0..source.rows()).filter(|&row| cells::text(source, "level_a", row).is_none()).collect();
    let factor = |row: usize| cells::text(source, "factor", row).unwrap_or("");
    let one = |rows: &[usize]| {
        let words: Vec<String> = rows.iter().map(|&row| finding(source, row)).collect();
        format!("<strong>By {}:</strong> {}.", escape(factor(rows[0])), words.join("; "))
    };
    whole.chunk_by(|a, b| factor(*a) == factor(*b)).map(one).collect()
}

fn finding(source: &Table, row: usize) -> String {
    let number = |name: &str| cells::number(source, name, row);
    let of = cells::text(source, "of", row).unwrap_or("");
    let (Some(p), Some(q)) = (number("p"), number("q")) else { return format!("{of} could not be tested") };
    let adjusted = if q > p { format!(", adjusted {}", plain(q, 2)) } else { String::new() };
    if q > LEVEL {
        return format!("no difference in {of} is shown (p = {}{adjusted})", plain(p, 2));
    }
    let share = number("r2").map_or_else(String::new, |r2| format!("{} of the variance, ", percent(r2)));
    let uneven = number("dispersion_p").filter(|p| *p <= LEVEL);
    let uneven = uneven.map_or("", |_| ", or in how much the vessels vary, which differs too");
    format!("the vessels differ in {of}{uneven} ({share}p = {}{adjusted})", plain(p, 2))
}

fn cells_of(source: &Table, row: usize) -> Vec<Cell> {
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
