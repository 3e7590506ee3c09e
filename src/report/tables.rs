//! The tables a report is made from.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::table::{Table, TableError};

/// Borrowed tables by their published names; a table without rows counts as missing.
#[derive(Clone, Debug, Default)]
pub struct ReportTables<'a> {
    tables: BTreeMap<&'a str, &'a Table>,
}

impl<'a> ReportTables<'a> {
    /// The tables; of two with one name the later stands.
    pub fn new(tables: impl IntoIterator<Item = &'a Table>) -> Self {
        Self { tables: tables.into_iter().filter(|t| t.rows() > 0).map(|t| (t.name(), t)).collect() }
    }

    /// The table of this name, if it is there and has rows.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&'a Table> {
        self.tables.get(name).copied()
    }
}

/// Which rows of a table belong to each key.
#[derive(Clone, Debug, Default)]
pub(super) struct RowIndex<'a> {
    ranges: BTreeMap<&'a str, Vec<Range<usize>>>,
}

impl<'a> RowIndex<'a> {
    /// The rows by the words of a column.
    pub(super) fn new(table: Option<&'a Table>, column: &str) -> Result<Self, TableError> {
        let mut ranges: BTreeMap<&str, Vec<Range<usize>>> = BTreeMap::new();
        let Some(table) = table else { return Ok(Self::default()) };
        for (key, rows) in table.runs(column)? {
            ranges.entry(key).or_default().push(rows);
        }
        Ok(Self { ranges })
    }

    /// The rows of one key, in the table's order.
    pub(super) fn rows(&self, key: &str) -> impl Iterator<Item = usize> + '_ {
        self.ranges.get(key).into_iter().flatten().cloned().flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Column;

    #[test]
    fn rows_of_a_key_are_found_wherever_they_stand() {
        let table = Table::new("t", vec![Column::texts("k", ["a", "a", "b", "a"])]).unwrap();
        let index = RowIndex::new(Some(&table), "k").unwrap();
        assert_eq!(index.rows("a").collect::<Vec<_>>(), vec![0, 1, 3]);
        assert_eq!(index.rows("c").count(), 0);
    }

    #[test]
    fn table_without_rows_is_missing() {
        let table = Table::new("t", vec![]).unwrap();
        assert!(ReportTables::new([&table]).get("t").is_none());
    }
}
