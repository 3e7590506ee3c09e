//! What form a vessel has: its outer meridian, superimposed on the others, and the space they span.
//!
//! - [`landmarks`], [`Landmarks`]: foot edge, widest, neck, rim, as arc lengths of one meridian
//! - [`semilandmarks`]: points at equal arc length from foot edge to rim
//! - [`superimpose`], [`Superimposed`]: translation along the axis and scale taken away, nothing else
//! - [`axial_centroid_size`]: the scale that is taken away
//! - [`FormSpace`]: principal components of the superimposed meridians

mod landmark;
mod semilandmark;
mod size;
mod space;
mod superimpose;

pub use landmark::{Landmarks, MeridianPoint, landmarks};
pub use semilandmark::semilandmarks;
pub use size::axial_centroid_size;
pub(super) use space::form_space;
pub use space::{FORM_STATIONS, FormSpace, VesselLandmark};
pub use superimpose::{Superimposed, superimpose};
