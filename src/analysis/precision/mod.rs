//! How truly a vessel was made: logarithms of its precision measures, and its grade on the scale of ISO 286.
//!
//! - [`LogReading`]: a measure as a logarithm: known with a variance, bounded from above, or missing
//! - [`tolerance_grade`], [`standard_tolerance_mm`]: the continuous tolerance grade
//! - [`PrecisionSpace`]: principal components of the logarithms, estimated with every vessel's own noise

mod factors;
mod grade;
mod latent;
mod log_reading;
mod space;
mod tolerance_table;

pub use grade::{ToleranceGrade, standard_tolerance_mm, tolerance_grade};
pub(super) use latent::Site;
pub use log_reading::LogReading;
pub(super) use log_reading::log_reading;
pub use space::PrecisionSpace;
pub(super) use space::{PrecisionModel, precision_space};
