//! Values that carry meaning: lengths with a unit, estimates with an uncertainty, harmonics with an order.
//!
//! - [`LengthUnit`], [`Millimetre`]: lengths; the unit of a file is always stated, never guessed
//! - [`Upr`]: undulations per revolution
//! - [`Estimate`]: a value with its standard uncertainty
//! - [`Budget`], [`Source`]: the parts of a standard uncertainty
//! - [`Seed`]: the start of every random draw

mod budget;
mod estimate;
mod length;
mod seed;
mod upr;

pub use budget::{Budget, Source};
pub use estimate::{Estimate, EstimateError};
pub use length::{LengthUnit, Millimetre, UnknownUnit};
pub use seed::Seed;
pub use upr::Upr;
