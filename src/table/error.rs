//! What can be wrong with a table.

/// What is wrong with a table.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum TableError {
    /// Two columns of one table differ in length.
    #[error("table {table}: column {column} has {found} rows, expected {expected}")]
    Ragged {
        /// The table.
        table: String,
        /// The column.
        column: String,
        /// Rows of the first column.
        expected: usize,
        /// Rows of this column.
        found: usize,
    },
    /// A column that is needed is not there.
    #[error("table {table} has no column {column}")]
    NoColumn {
        /// The table.
        table: String,
        /// The column.
        column: String,
    },
    /// A column holds another type than the one asked for.
    #[error("table {table}: column {column} does not hold {expected}")]
    WrongType {
        /// The table.
        table: String,
        /// The column.
        column: String,
        /// The type asked for.
        expected: &'static str,
    },
    /// A value is NaN or infinite.
    #[error("table {table}: column {column}, row {row} is not finite")]
    NotFinite {
        /// The table.
        table: String,
        /// The column.
        column: String,
        /// The row, from 0.
        row: usize,
    },
    /// A key column is missing a value, or two rows have one key.
    #[error("table {table}: row {row} has no key or repeats one")]
    BadKey {
        /// The table.
        table: String,
        /// The row, from 0.
        row: usize,
    },
}
