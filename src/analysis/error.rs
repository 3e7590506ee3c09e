//! Why a corpus could not be compared.

use crate::table::TableError;

/// Why a corpus could not be compared; a corpus that is merely small is no error.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum AnalysisError {
    /// An input table lacks a column, or holds the wrong type in it.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A decomposition did not converge, which finite data do not let happen.
    #[error("no principal components of the {space} space: {rows} rows, {columns} columns")]
    NoComponents {
        /// Which space.
        space: &'static str,
        /// Rows of its matrix.
        rows: usize,
        /// Columns of its matrix.
        columns: usize,
    },
    /// More groups were asked for than there are distinct vessels.
    #[error("groups asked for: {asked}, vessels that differ in the {space} space: {distinct}")]
    TooManyGroups {
        /// Which space.
        space: &'static str,
        /// The number asked for.
        asked: usize,
        /// How many distinct vessels there are.
        distinct: usize,
    },
    /// A way of grouping that was asked for makes no groups of these vessels.
    #[error("no groups of the {space} space by {method:?}: too few vessels, or none of the number asked for")]
    NoGroupsByMethod {
        /// Which space.
        space: &'static str,
        /// The word of the method.
        method: &'static str,
    },
    /// A factor that was asked for is no column of words of the catalogue.
    #[error("[compare] factors names a column that the catalogue does not have, or one of numbers: {name:?}")]
    NoFactor {
        /// The column.
        name: String,
    },
}
