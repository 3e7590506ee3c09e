//! Rows stacked over scans and vessels: the only form in which results leave the reduction.
//!
//! - [`Table`], [`Column`], [`ColumnData`]: named, typed columns of equal length; missing is `None`, never NaN
//! - [`TableError`]: what is wrong with a table
//! - [`drawn_tables`], [`drawn_scan_columns`]: the rows of a vessel that was drawn, not scanned
//! - [`Measure`]: the list of measures, each with unit, meaning and source; [`sources`]: what enters its uncertainty;
//!   [`measure_words`]: their names for readers

mod budget_words;
mod column;
pub mod combine;
mod drawn;
mod error;
mod frame;
pub mod measure;
mod measure_rows;
pub mod measure_words;
mod patch_rows;
pub mod rows;
pub mod schema;
mod stack;

pub use budget_words::sources;
pub use column::{Column, ColumnData};
pub use drawn::{drawn_scan_columns, drawn_tables};
pub use error::TableError;
pub use frame::Table;
pub use measure::{MEASURES, Measure, MeasureKind};
pub use rows::{ScanTables, scan_columns, scan_tables};
pub use stack::{select_rows, stack, stack_wide};
