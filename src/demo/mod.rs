//! The demo corpus: the vessels of a museum that does not exist, scanned with known truth.
//!
//! - [`plan`]: which vessels, by whom, how true, how scanned; from a number and a seed
//! - [`handful`]: a few small scans, those that ship with the program
//! - [`write()`]: scans, catalogue, study and the truth beside them
//! - [`Corpus`], [`CorpusVessel`], [`CorpusScan`], [`Role`], [`Make`], [`ScanSource`]: the plan
//! - [`DemoError`]: why a corpus cannot be made

mod casting;
mod corpus;
mod error;
mod handling;
mod plan;
mod recipe;
mod scanning;
mod tables;
mod write;

pub use corpus::{Corpus, CorpusScan, CorpusVessel, Make, Role, ScanSource};
pub use error::DemoError;
pub use plan::{LEAST_VESSELS, handful, plan};
pub use write::write;
