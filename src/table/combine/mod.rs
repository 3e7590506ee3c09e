//! From scans to vessels: repeat scans of one vessel become one row.
//!
//! - [`combine`]: the mean of one vessel's scans, its uncertainty with its parts
//! - [`ScanValue`], [`VesselValue`]: what it takes and gives
//! - [`between_instruments`]: what instruments differ by beyond their stated uncertainties
//! - [`measures`], [`vessels`]: the tables of all vessels, long and wide
//! - [`SCAN_COLUMNS`]: the catalogue's columns that speak of a scan

mod bend;
mod between;
mod mean;
mod measures;
mod vessels;

pub use between::between_instruments;
pub use mean::{ScanValue, VesselValue, combine};
pub use measures::measures;
pub use vessels::{SCAN_COLUMNS, vessels};
