//! Who stands out, and on what grounds.

use super::cells;
use super::corpus::{Corpus, Vessel};
use super::glance::doubts;
use super::html::{Cell, Heading, left_out, paragraph, part, table};
use super::number::plain;
use crate::table::Table;

/// The part on vessels that stand out.
///
/// `doubtful` are the vessels whose walls contradict each other; those that stand out are named again.
pub(super) fn outliers(corpus: &Corpus<'_>, doubtful: &[&Vessel<'_>]) -> String {
    let standing: Vec<&Vessel<'_>> = doubtful.iter().copied().filter(|v| v.stands_out).collect();
    let doubts = doubts(&standing).map_or_else(String::new, |words| paragraph(&words));
    part("outliers", "Vessels that stand out", &(doubts + &inner(corpus)))
}

fn inner(corpus: &Corpus<'_>) -> String {
    let Some(source) = corpus.tables.get("outliers") else {
        return left_out("The corpus was not searched for outliers: that needs the comparison of several vessels.");
    };
    let mut standing: Vec<_> = corpus.vessels.iter().filter(|v| v.stands_out).collect();
    standing.sort_by(|a, b| least_q(corpus, a.outlier_row).total_cmp(&least_q(corpus, b.outlier_row)));
    if standing.is_empty() {
        return paragraph("No vessel stands out at the stated false discovery rate.");
    }
    let number = |name: &str, row: usize, digits: i32| {
        let value = cells::number(source, name, row);
        Cell::number(value.map(|v| plain(v, digits)), value)
    };
    let rows: Vec<Vec<Cell>> = standing
        .iter()
        .filter_map(|vessel| vessel.outlier_row.map(|row| (vessel, row)))
        .map(|(vessel, row)| {
            vec![
                Cell::markup(vessel.link()),
                Cell::words(&grounds(corpus, row)),
                number("form_distance", row, 2),
                number("form_p", row, 2),
                number("form_q", row, 2),
                times_usual(source, row),
                number("precision_p", row, 2),
                number("precision_q", row, 2),
                Cell::words(cells::text(source, "direction", row).unwrap_or("\u{2013}")),
            ]
        })
        .collect();
    let headings = [
        Heading("Vessel", false),
        Heading("Grounds", false),
        Heading("Form distance, s.d.", true),
        Heading("Form p", true),
        Heading("Form q", true),
        Heading("Deviation, times usual", true),
        Heading("Precision p", true),
        Heading("Precision q", true),
        Heading("Direction", false),
    ];
    let caption = "Vessels that stand out. p: how often a vessel of this corpus would lie as far off by chance; q: the same, \
                   adjusted for the number of vessels tried. Deviation, times usual: over all measures of precision; below 1 is \
                   finer than its peers, above 1 coarser.";
    table(caption, &headings, &rows, true)
}

/// How many times the usual deviation a vessel shows; the table holds its natural logarithm.
fn times_usual(source: &Table, row: usize) -> Cell {
    let residual = cells::number(source, "precision_residual", row);
    let sign = if cells::flag(source, "precision_bound", row) { "\u{2264} " } else { "" };
    Cell::number(residual.map(|r| format!("{sign}{}", plain(r.exp(), 2))), residual)
}

/// The smaller of a row's two q-values.
pub(super) fn least_q(corpus: &Corpus<'_>, row: Option<usize>) -> f64 {
    let (Some(source), Some(row)) = (corpus.tables.get("outliers"), row) else { return f64::INFINITY };
    let q = |name| cells::number(source, name, row).unwrap_or(f64::INFINITY);
    q("form_q").min(q("precision_q"))
}

/// Why a row of `outliers` is there: its grounds, or its numbers in words where it gives none.
pub(super) fn grounds(corpus: &Corpus<'_>, row: usize) -> String {
    let Some(source) = corpus.tables.get("outliers") else { return String::new() };
    if let Some(grounds) = cells::text(source, "grounds", row) {
        return grounds.to_owned();
    }
    let mut reasons = Vec::new();
    if let Some(q) = cells::number(source, "form_q", row) {
        reasons.push(format!("form q = {}", plain(q, 2)));
    }
    if let Some(q) = cells::number(source, "precision_q", row) {
        let direction = cells::text(source, "direction", row).map_or_else(String::new, |d| format!(" ({d})"));
        reasons.push(format!("precision q = {}{direction}", plain(q, 2)));
    }
    reasons.join(", ")
}
