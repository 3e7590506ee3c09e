//! One scan of one vessel, in the scanner's frame, in millimetres.
//!
//! - [`Scan`]: vertices and triangles, or points alone, every coordinate finite and every index in range
//! - [`extent`]: how large a set of points is
//! - [`vertex_normals`]: area-weighted unit normals of a mesh's vertices
//! - [`ScanId`], [`VesselId`]: which scan, of which vessel; repeat scans of one vessel are not independent vessels

mod error;
mod extent;
mod id;
mod normals;
mod triangles;

pub use error::ScanError;
pub use extent::extent;
pub use id::{ScanId, VesselId};
pub use normals::vertex_normals;
pub use triangles::Scan;
