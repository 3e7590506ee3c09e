//! How far is one section from a circle, and how much of that is the scanner's noise?
//!
//! - [`RoundnessProfile`]: radii at increasing angles; [`RoundnessProfile::fit`] its harmonics by least squares
//! - [`FilteredProfile`]: what the Gaussian filter leaves, on an even grid
//! - [`ReferenceCircle`], [`associate`]: the four reference circles, with RONt, RONp, RONv, RONq about each
//! - [`harmonics`]: amplitude and phase for each number of undulations, corrected for noise
//! - [`NoiseReference`], [`evaluate`]: roundness deviations of one section, corrected for noise, with uncertainties

mod correction;
mod denoise;
mod error;
mod evaluate;
mod filtered;
mod harmonics;
mod noise;
mod profile;
mod reference_circle;

pub use error::RoundnessError;
pub use evaluate::{SectionRoundness, evaluate};
pub use filtered::FilteredProfile;
pub use harmonics::{Harmonic, Harmonics, harmonics, harmonics_of};
pub use noise::NoiseReference;
pub use profile::RoundnessProfile;
pub use reference_circle::{AssociatedCircle, ReferenceCircle, associate, associate_points};
