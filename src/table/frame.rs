//! A table: named columns of equal length.

use std::ops::Range;

use super::{Column, ColumnData, TableError};

/// Named columns of equal length; every number in it is finite.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    name: String,
    columns: Vec<Column>,
    rows: usize,
}

impl Table {
    /// A table from its columns.
    ///
    /// # Errors
    /// [`TableError::Ragged`] if lengths differ, [`TableError::NotFinite`] if a number is NaN or infinite.
    pub fn new(name: &str, columns: Vec<Column>) -> Result<Self, TableError> {
        let rows = columns.first().map_or(0, |column| column.data.len());
        for column in &columns {
            if column.data.len() != rows {
                return Err(TableError::Ragged {
                    table: name.to_owned(),
                    column: column.name.clone(),
                    expected: rows,
                    found: column.data.len(),
                });
            }
            if let ColumnData::Float(values) = &column.data
                && let Some(row) = values.iter().position(|v| v.is_some_and(|v| !v.is_finite()))
            {
                return Err(TableError::NotFinite { table: name.to_owned(), column: column.name.clone(), row });
            }
        }
        Ok(Self { name: name.to_owned(), columns, rows })
    }

    /// The table's published name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The columns in order.
    #[must_use]
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// How many rows there are.
    #[must_use]
    pub const fn rows(&self) -> usize {
        self.rows
    }

    /// Whether a column of this name is there.
    #[must_use]
    pub fn has(&self, column: &str) -> bool {
        self.columns.iter().any(|c| c.name == column)
    }

    /// The values of a column of real numbers.
    ///
    /// # Errors
    /// [`TableError::NoColumn`] or [`TableError::WrongType`].
    pub fn floats(&self, column: &str) -> Result<&[Option<f64>], TableError> {
        match self.data(column)? {
            ColumnData::Float(values) => Ok(values),
            _ => Err(self.wrong_type(column, "real numbers")),
        }
    }

    /// The values of a column of whole numbers.
    ///
    /// # Errors
    /// [`TableError::NoColumn`] or [`TableError::WrongType`].
    pub fn integers(&self, column: &str) -> Result<&[Option<i64>], TableError> {
        match self.data(column)? {
            ColumnData::Integer(values) => Ok(values),
            _ => Err(self.wrong_type(column, "whole numbers")),
        }
    }

    /// The values of a column of words.
    ///
    /// # Errors
    /// [`TableError::NoColumn`] or [`TableError::WrongType`].
    pub fn texts(&self, column: &str) -> Result<&[Option<String>], TableError> {
        match self.data(column)? {
            ColumnData::Text(values) => Ok(values),
            _ => Err(self.wrong_type(column, "words")),
        }
    }

    /// The rows that belong together: each word of a column with the unbroken run of rows that have it, in the table's order;
    /// rows without a word are left out.
    ///
    /// # Errors
    /// As [`texts`](Self::texts).
    ///
    /// # Example
    /// ```
    /// use tornus::table::{Column, Table};
    /// let table = Table::new("t", vec![Column::texts("scan_id", ["a", "a", "b"])])?;
    /// assert_eq!(table.runs("scan_id")?.collect::<Vec<_>>(), [("a", 0..2), ("b", 2..3)]);
    /// # Ok::<(), tornus::table::TableError>(())
    /// ```
    pub fn runs(&self, column: &str) -> Result<impl Iterator<Item = (&str, Range<usize>)>, TableError> {
        let mut start = 0;
        let runs = self.texts(column)?.chunk_by(|a, b| a == b).filter_map(move |run| {
            let rows = start..start + run.len();
            start = rows.end;
            Some((run.first()?.as_deref()?, rows))
        });
        Ok(runs)
    }

    /// The values of a column of truth values.
    ///
    /// # Errors
    /// [`TableError::NoColumn`] or [`TableError::WrongType`].
    pub fn flags(&self, column: &str) -> Result<&[Option<bool>], TableError> {
        match self.data(column)? {
            ColumnData::Flag(values) => Ok(values),
            _ => Err(self.wrong_type(column, "truth values")),
        }
    }

    fn data(&self, column: &str) -> Result<&ColumnData, TableError> {
        self.columns
            .iter()
            .find(|c| c.name == column)
            .map(|c| &c.data)
            .ok_or_else(|| TableError::NoColumn { table: self.name.clone(), column: column.to_owned() })
    }

    fn wrong_type(&self, column: &str, expected: &'static str) -> TableError {
        TableError::WrongType { table: self.name.clone(), column: column.to_owned(), expected }
    }
}
