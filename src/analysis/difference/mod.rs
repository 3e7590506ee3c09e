//! Do vessels of one material, setting or donor differ from those of another, in form, in size, in precision?
//!
//! - [`Difference`], [`Aspect`]: one test, of all levels of a factor or of two of them
//! - [`Factor`]: a catalogue column whose values part the vessels into levels

mod dispersion;
mod factor;
mod levels;
mod samples;

pub use factor::Factor;
pub(super) use factor::factors;
pub(super) use levels::differences;
pub use levels::{Aspect, Difference};
pub(super) use samples::Samples;
