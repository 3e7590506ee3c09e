//! Data reduction: one scan, all steps, in the order a paper's method section would give them.

mod error;
mod params;
mod placement;
mod record;
mod surface;

pub use error::{Rejection, Step};
pub use params::{Declared, ParamError, ReductionParams, Up};
pub use record::{HarmonicRow, MeasureRow, Meridian, Reduction, SectionRow, StationRow, UnrolledMap, UpSource, WallReduction, WallSide};

use crate::quantity::Seed;
use crate::scan::Scan;

/// Reduces one scan.
///
/// # Errors
/// [`Rejection`].
pub fn reduce(_scan: &Scan, _params: &ReductionParams, _declared: &Declared, _seed: Seed) -> Result<Reduction, Rejection> {
    Err(Rejection { step: Step::Axis, reason: "not built yet".to_owned() })
}
