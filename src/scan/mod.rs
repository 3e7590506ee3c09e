//! One scan of one vessel, in the scanner's frame, in millimetres.
//!
//! - [`Scan`]: vertices and triangles, or points alone, every coordinate finite and every index in range
//! - [`ScanId`], [`VesselId`]: which scan, of which vessel; repeat scans of one vessel are not independent vessels

mod error;
mod id;
mod surface;
mod triangles;

pub use error::ScanError;
pub use id::{ScanId, VesselId};
pub use surface::{SurfaceSample, surface_samples};
pub use triangles::Scan;
