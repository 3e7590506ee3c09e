//! Single cells of a table, where a column may be missing.

use super::number::plain;
use crate::table::{Column, ColumnData, Table};

fn column<'a>(table: &'a Table, name: &str) -> Option<&'a Column> {
    table.columns().iter().find(|c| c.name == name)
}

/// The number in a cell; `None` if the cell, the column or a number in it is missing.
pub(super) fn number(table: &Table, name: &str, row: usize) -> Option<f64> {
    match &column(table, name)?.data {
        ColumnData::Float(values) => values.get(row).copied().flatten(),
        ColumnData::Integer(values) => values.get(row).copied().flatten().map(|v| v as f64),
        ColumnData::Text(_) | ColumnData::Flag(_) => None,
    }
}

/// The words in a cell; `None` if the cell, the column or words in it are missing.
pub(super) fn text<'a>(table: &'a Table, name: &str, row: usize) -> Option<&'a str> {
    match &column(table, name)?.data {
        ColumnData::Text(values) => values.get(row)?.as_deref().filter(|t| !t.is_empty()),
        _ => None,
    }
}

/// Whether a cell says yes; false if the cell or the column is missing.
pub(super) fn flag(table: &Table, name: &str, row: usize) -> bool {
    match column(table, name).map(|c| &c.data) {
        Some(ColumnData::Flag(values)) => values.get(row).copied().flatten().unwrap_or(false),
        _ => false,
    }
}

/// A cell of any type in words; `None` if it is missing.
pub(super) fn words(data: &ColumnData, row: usize) -> Option<String> {
    match data {
        ColumnData::Float(values) => values.get(row).copied().flatten().map(|v| shortest(plain(v, 6))),
        ColumnData::Integer(values) => values.get(row).copied().flatten().map(|v| v.to_string()),
        ColumnData::Text(values) => values.get(row).cloned().flatten().filter(|t| !t.is_empty()),
        ColumnData::Flag(values) => {
            values.get(row).copied().flatten().map(|v| if v { "yes".to_owned() } else { "no".to_owned() })
        }
    }
}

/// A number without the zeros that end its decimals: what stands in a catalogue has no more digits than were written.
fn shortest(number: String) -> String {
    if number.contains('.') && !number.contains('\u{d7}') {
        number.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        number
    }
}

/// A named cell of any type in words.
pub(super) fn named(table: &Table, name: &str, row: usize) -> Option<String> {
    words(&column(table, name)?.data, row)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn catalogue_numbers_keep_the_digits_they_were_written_with() {
        let data = ColumnData::Float(vec![Some(7.0), Some(2.65), Some(150.0), Some(0.5), None]);
        let said: Vec<Option<String>> = (0..5).map(|row| words(&data, row)).collect();
        assert_eq!(said, [Some("7".into()), Some("2.65".into()), Some("150".into()), Some("0.5".into()), None]);
    }
}
