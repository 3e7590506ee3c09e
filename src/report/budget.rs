//! Where a value's uncertainty comes from, and why a measure has no value.

use super::cells;
use super::html::{escape, paragraph};
use crate::quantity::Source;
use crate::table::{Measure, Table, measure_words};

/// Parts below this share of the variance are not named.
const WORTH_NAMING: f64 = 0.1;

/// The greatest parts of the uncertainty in a row of `measures`, as shares of the variance; empty where none are told.
pub(super) fn shares(table: &Table, row: usize) -> String {
    let named = Source::ALL.map(|source| (source.word(), words(source)));
    let further = [("between", "between instruments"), ("scatter", "scatter of scans")];
    let squares: Vec<(&str, f64)> = named
        .into_iter()
        .chain(further)
        .filter_map(|(word, spoken)| Some((spoken, cells::number(table, &format!("u_{word}"), row)?.powi(2))))
        .collect();
    let total: f64 = squares.iter().map(|(_, square)| square).sum();
    let mut worth: Vec<(&str, f64)> =
        squares.into_iter().filter(|(_, square)| *square > WORTH_NAMING * total).collect();
    worth.sort_by(|a, b| b.1.total_cmp(&a.1));
    worth
        .iter()
        .map(|(spoken, square)| format!("{spoken} {:.0} %", 100.0 * square / total))
        .collect::<Vec<_>>()
        .join(", ")
}

const fn words(source: Source) -> &'static str {
    match source {
        Source::SetAside => "set aside",
        other => other.word(),
    }
}

/// A paragraph of the measures without a value, by reason; empty if every one has its value.
pub(super) fn missing(table: &Table, rows: &[usize]) -> String {
    let mut by_reason: Vec<(&str, Vec<String>)> = Vec::new();
    for &row in rows {
        let (Some(name), Some(reason)) = (cells::text(table, "measure", row), cells::text(table, "reason", row)) else {
            continue;
        };
        if Measure::named(name).is_none() {
            continue;
        }
        match by_reason.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, names)) => names.push(measure_words::listed(name)),
            None => by_reason.push((reason, vec![measure_words::listed(name)])),
        }
    }
    if by_reason.is_empty() {
        return String::new();
    }
    let of = |(reason, names): &(&str, Vec<String>)| format!("{} ({reason})", names.join(", "));
    paragraph(&escape(&format!("Not measured: {}.", by_reason.iter().map(of).collect::<Vec<_>>().join("; "))))
}
