//! tornus compares vessels of revolution from 3D scans.

pub mod math;
pub mod quantity;
pub mod scan;
pub mod format;
pub mod axis;
pub mod profile;
pub mod section;
pub mod roundness;
pub mod deviation;
pub mod reduction;
pub mod table;
pub mod store;
pub mod analysis;
pub mod figure;
pub mod report;
pub mod synthetic;
pub mod demo;
pub mod config;
pub mod cli;

pub use axis::AxisError;
pub use format::{Format, ReadError};
pub use quantity::{Estimate, LengthUnit, Millimetre, Seed, Upr};
pub use reduction::{Declared, Reduction, ReductionParams, Rejection, reduce};
pub use report::render as render_report;
pub use roundness::{ReferenceCircle, RoundnessProfile};
pub use scan::{Scan, ScanId, VesselId};
pub use table::{Column, Measure, Table};
