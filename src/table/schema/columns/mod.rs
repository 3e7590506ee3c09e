//! Every column the program itself gives a meaning.
//!
//! - [`COLUMNS`]: by kind of table, in the order of the flow

macro_rules! columns {
    ($($table:literal { $($column:literal, $unit:literal, $source:literal, $meaning:literal;)* })*) => {
        /// Table by table, in the order of the columns.
        pub(super) const COLUMNS: &[ColumnMeaning] = &[$($(ColumnMeaning {
            table: $table, column: $column, unit: $unit, meaning: $meaning, source: $source,
        }),*),*];
    };
}

mod decisions;
mod scans;
mod vessels;

use super::ColumnMeaning;

/// Every column the program itself gives a meaning, but the measures as columns of `vessels`: the tables of scans, of vessels
/// and their comparison, and of decisions.
pub const COLUMNS: [&[ColumnMeaning]; 3] = [scans::COLUMNS, vessels::COLUMNS, decisions::COLUMNS];
