//! Why a measure could not be taken.

use crate::quantity::EstimateError;

/// Why a measure could not be taken.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DeviationError {
    /// Not enough of something to measure on.
    #[error("too few {what}, at least {needed} needed: {found}")]
    TooFew {
        /// What there is too little of.
        what: &'static str,
        /// How many are needed.
        needed: usize,
        /// How many there are.
        found: usize,
    },
    /// Columns that belong together are not equally long.
    #[error("{what} must have as many values as there are stations, {expected}: {found}")]
    LengthsDiffer {
        /// The column.
        what: &'static str,
        /// The number of stations.
        expected: usize,
        /// The number of values.
        found: usize,
    },
    /// A number that is not finite, or negative where it must not be.
    #[error("{what} at index {index} must be finite and in range: {found}")]
    BadNumber {
        /// What the number is.
        what: &'static str,
        /// Where it stands.
        index: usize,
        /// The number.
        found: f64,
    },
    /// Heights or points that do not span a line or a plane.
    #[error("{what} do not spread enough to fit a {fitted}")]
    Degenerate {
        /// What was fitted to.
        what: &'static str,
        /// What should have been fitted.
        fitted: &'static str,
    },
    /// The result is no number.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
}

/// Refuses numbers that are not finite or lie below `least`.
pub(super) fn check(what: &'static str, values: &[f64], least: f64) -> Result<(), DeviationError> {
    match values.iter().position(|&v| !(v.is_finite() && v >= least)) {
        Some(index) => Err(DeviationError::BadNumber { what, index, found: values[index] }),
        None => Ok(()),
    }
}

/// Refuses fewer than `needed` of `what`.
pub(super) const fn enough(what: &'static str, found: usize, needed: usize) -> Result<(), DeviationError> {
    if found < needed { Err(DeviationError::TooFew { what, needed, found }) } else { Ok(()) }
}
