//! What form a vessel has: its outline, superimposed on the others, and the space they span.
//!
//! - [`FormChoice`]: outer meridian, inner meridian, closed half-section, direction along the arc or silhouette
//! - [`landmarks`], [`Landmarks`]: foot edge, widest, neck, rim, as arc lengths of one meridian
//! - [`semilandmarks`]: points at equal arc length from foot edge to rim
//! - [`superimpose`], [`Superimposed`]: translation along the axis and scale taken away, nothing else
//! - [`axial_centroid_size`]: the scale that is taken away
//! - [`EllipticFourier`]: a closed outline as a sum of ellipses
//! - [`FormSpace`]: principal components of the superimposed forms
//! - [`neighbours`]: the forms nearest to each, and whether the measurement could tell them apart
//!
//! The ways to compare forms differ in `sample` (which points of a scan correspond) and `layout` (what numbers a form is,
//! what noise does to them, how they are drawn back), and in nothing else.

mod choice;
mod elliptic;
mod landmark;
mod layout;
mod neighbour;
mod sample;
mod semilandmark;
mod size;
mod space;
mod superimpose;

pub use choice::{FormChoice, UnknownForm};
pub use elliptic::EllipticFourier;
pub use landmark::{Landmarks, MeridianPoint, landmarks};
pub use neighbour::{FormNeighbour, neighbours};
pub use sample::FORM_STATIONS;
pub(super) use sample::ScanWalls;
pub use semilandmark::semilandmarks;
pub use size::axial_centroid_size;
pub(super) use space::form_space;
pub use space::{FormSpace, VesselLandmark};
pub use superimpose::{Superimposed, superimpose};
