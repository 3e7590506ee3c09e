//! Vessels that do not fit: by form, and by how truly they are made.
//!
//! - [`minimum_covariance_determinant`], [`Mcd`]: centre and covariance of the half of the rows that lies closest together
//! - [`FormOutlier`]: robust distance from the vessel's form group
//! - [`PrecisionOutlier`]: deviation from what is usual for form, size, hardness and instrument, the vessel left out
//! - `combined`: one level of precision per vessel from all its measures
//! - `design`, `regression`: what is usual
//! - `predictive`: what a usual vessel would show in a scan like this
//! - `grounds`: the sentence behind a finding

mod combined;
mod design;
mod form;
mod grounds;
mod mcd;
mod precision;
mod predictive;
mod regression;

pub(super) use design::Circumstances;
pub use form::FormOutlier;
pub(super) use form::form_outliers;
pub(super) use grounds::figures;
pub use mcd::{Mcd, minimum_covariance_determinant};
pub(super) use precision::precision_outliers;
pub use precision::{Direction, MeasureResidual, PrecisionOutlier};
