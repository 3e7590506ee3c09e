//! Do form and precision go together, does form change with size?
//!
//! - [`two_block`], [`TwoBlock`]: two blocks of variables, by partial least squares, tested by rearrangement
//! - [`regression_on`], [`Regression`]: many variables on one number, tested by rearrangement
//! - [`Association`], [`Partner`]: what of either is said of a corpus

mod corpus;
mod regression;
mod two_block;

pub(super) use corpus::associations;
pub use corpus::{Association, Partner, PredictedForm};
pub use regression::{Regression, regression_on};
pub use two_block::{TwoBlock, two_block};
