//! The table of differences between levels of catalogue columns.

use super::super::compare::Comparison;
use super::super::difference::Difference;
use super::whole;
use crate::table::{Column, Table, TableError};

/// Null levels stand for all levels of the factor.
pub(super) fn differences(comparison: &Comparison) -> Result<Table, TableError> {
    let mut rows: Vec<&Difference> = comparison.differences.iter().collect();
    rows.sort_by_key(|row| (&row.factor, row.of, &row.pair));
    let level = |pick: fn(&(String, String)) -> &String| {
        rows.iter().map(move |row| row.pair.as_ref().map(|pair| pick(pair).clone())).collect::<Vec<_>>()
    };
    let number = |value: fn(&Difference) -> Option<f64>| rows.iter().map(move |row| value(row)).collect::<Vec<_>>();
    Table::new(
        "differences",
        vec![
            Column::texts("factor", rows.iter().map(|row| row.factor.as_str())),
            Column::texts("of", rows.iter().map(|row| row.of.word())),
            Column::optional_texts("level_a", level(|pair| &pair.0)),
            Column::optional_texts("level_b", level(|pair| &pair.1)),
            Column::optional_floats("f", number(|row| row.f)),
            Column::optional_floats("r2", number(|row| row.r2)),
            Column::optional_floats("p", number(|row| row.test.map(|test| test.p()))),
            Column::optional_floats("q", number(|row| row.q)),
            Column::optional_floats("dispersion_p", number(|row| row.dispersion_p)),
            Column::integers("n", rows.iter().map(|row| whole(row.vessels))),
            Column::optional_integers("permutations", rows.iter().map(|row| row.test.map(|t| whole(t.arrangements)))),
            Column::optional_flags("exact", rows.iter().map(|row| row.test.map(|test| test.exact))),
            Column::optional_floats("ratio", number(|row| row.ratio)),
            Column::optional_floats("instrument_v", number(|row| row.instrument_v)),
            Column::optional_texts("note", rows.iter().map(|row| row.note.clone())),
        ],
    )
}
