//! Harmonics of a periodic function sampled at uneven angles: weighted least squares, with covariance.
//!
//! - [`fit`]: values at angles -> [`HarmonicFit`]
//! - [`fit_bridged`]: the same where the angles leave gaps
//! - [`largest_gap`], [`supported_highest`]: what a sampling can tell
//! - [`samples`]: harmonics -> values on an even grid
//!
//! The normal equations of such a fit, written for complex amplitudes, are Hermitian Toeplitz in the sums
//! `S_k = sum w exp(-i k theta)`. Inside, `moments` forms the sums without visiting each point once for each harmonic,
//! `toeplitz` solves the equations and gives the diagonal of their inverse.

mod bridge;
mod fit;
mod moments;
mod sampling;
mod toeplitz;
mod transform;

pub use bridge::{BridgedFit, fit_bridged};
pub use fit::{FourierError, HarmonicFit, fit};
pub use sampling::{largest_gap, supported_highest};
pub use transform::samples;
