//! tornus compares vessels of revolution from 3D scans.

pub mod math;
pub mod quantity;
pub mod scan;
pub mod format;
pub mod axis;
pub mod section;
pub mod roundness;
pub mod profile;
pub mod deviation;
pub mod reduction;
pub mod table;

pub use quantity::{Estimate, LengthUnit, Millimetre, Seed, Upr};
pub use scan::Scan;
