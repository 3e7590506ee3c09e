//! How much more probable a vessel's measures are among documented modern pieces than among documented old ones.
//!
//! A screening value says which pieces deserve a closer look; provenance and study by specialists decide what a piece is.
//!
//! - [`screen`], [`ScreenInput`], [`ScreenParams`], [`Screening`], [`Screened`]: the whole screening, tables in
//! - [`Documented`], [`Refusal`]: the references, and why they may not allow a comparison
//! - [`ScreeningModel`]: the fitted model; [`Distance`]: how far a vessel lies from a population
//! - [`Calibration`]: from scores to ratios that mean what they say
//! - [`ReferenceScore`], [`Validation`], [`ReliabilityRow`]: how the ratios of the references themselves come out, each
//!   left out of the model that judges it
//! - [`TwoLevelModel`]: the normal model of measurements within items, items within a population
//! - `population`, `belief`: a population of noisy, bounded and missing logarithms, and what it says of a vessel
//! - `fit`, `expectation`: both populations fitted to their references
//! - `adjustment`: size and hardness; `interval`: resampled references and measurements; `grounds`: the sentence

mod adjustment;
mod belief;
mod calibration;
mod documented;
mod expectation;
mod fit;
mod grounds;
mod interval;
mod leave_out;
mod model;
mod params;
mod population;
mod screen;
mod spread;
mod support;
mod two_level;
mod validation;

pub use calibration::Calibration;
pub use documented::{Documented, FEWEST_REFERENCES, FEWEST_SOURCES, Refusal};
pub use model::{Bounds, ScreeningModel};
pub use params::ScreenParams;
pub use population::Distance;
pub use screen::{ScreenInput, Screened, Screening, screen};
pub use support::support;
pub use two_level::{Measurements, TwoLevelError, TwoLevelModel};
pub use validation::{MeasureUse, ReferenceScore, ReliabilityRow, Validation};
