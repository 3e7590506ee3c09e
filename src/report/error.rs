//! Why there is no report.

use crate::figure::FigureError;
use crate::table::TableError;

/// Why there is no report.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// A table lacks a column of its contract or holds another type there.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A figure could not be drawn.
    #[error(transparent)]
    Figure(#[from] FigureError),
    /// There is nothing to report on.
    #[error("no table of scans, so there is nothing to report on")]
    NoScans,
}
