//! What meridian does a drawn profile or a digitised outline give, where there is no scan?
//!
//! Such a vessel takes part in the comparison of forms and of sizes. It says nothing of how truly the vessel was made.
//!
//! - [`Curve`], [`CurvePoint`], [`CurveAxes`]: the points as they were digitised, in mm
//! - [`Drawn`]: whether they follow one side of the vessel or both
//! - [`drawn_meridian`], [`DrawnMeridian`], [`DrawnStation`]: the meridian they give, its walls parted at the rim
//! - [`OutlineError`]: why they give none

mod curve;
mod error;
mod fold;
mod meridian;
mod path;
mod side;

pub use curve::{Curve, CurveAxes, CurvePoint, Drawn};
pub use error::OutlineError;
pub use meridian::{DrawnMeridian, DrawnStation, DrawnUp, drawn_meridian};
