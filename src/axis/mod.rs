//! Where the axis of revolution lies.
//!
//! - [`Frame`]: an axis with an origin on it and an azimuth zero; takes the scanner's coordinates to the vessel's
//! - [`HalfPlane`]: every point of a scan as radius, height and azimuth about an axis
//! - [`Cells`]: the half-plane's occupied cells, and how far round each is closed
//! - [`estimate_axis`]: from a scan to its axis: candidates, refinement, choice by closure
//! - [`revolve`]: one Gauss-Newton step of an axis, the meridian eliminated patch by patch

mod cells;
mod error;
mod estimate;
mod frame;
mod half_plane;
mod initial;
mod local_normals;
mod revolve;

pub use cells::{Cell, Cells, SECTORS};
pub use error::AxisError;
pub use estimate::{AxisFit, estimate_axis};
pub use frame::Frame;
pub use half_plane::HalfPlane;
pub use initial::{Oriented, line_complex_axis};
pub use local_normals::local_normals;
pub use revolve::{Patch, Step, revolve};
