//! Is a difference or an association more than chance? Tests by rearrangement, exact where there are few arrangements.
//!
//! - [`Arrangements`]: what may be exchanged with what
//! - [`permutation_test`], [`PermutationTest`]: one statistic against its rearrangements
//! - [`Placement`]: observations as coordinates, of measured variables or of a matrix of distances
//! - [`Term`], [`variance_by_terms`]: the variance of a placement parted among factors and covariates, each with its test

mod arrangement;
mod placement;
mod test;
mod variance;

pub use arrangement::Arrangements;
pub use placement::Placement;
pub use test::{Draws, PermutationTest, permutation_test};
pub use variance::{Term, TermTest, VarianceByTerms, variance_by_terms};
