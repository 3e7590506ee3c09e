//! tornus compares vessels of revolution from 3D scans: which are alike in form, how truly each was made and how sure
//! that is, and which stand apart.
//!
//! Data travels one way: file -> [`Scan`] -> axis -> meridian -> sections -> [`Reduction`] -> [`Table`] -> spaces ->
//! groups and outliers -> report. Each module answers one question; lengths are millimetres, angles radians.
//!
//! | module | question |
//! |---|---|
//! | [`mod@format`] | what does the file hold? |
//! | [`outline`] | what meridian does a drawn profile give, where there is no scan? |
//! | [`axis`] | about which line is the surface one of revolution? |
//! | [`profile`] | how does the meridian run, which end is up, which wall is which? |
//! | [`section`] | what does the wall do about one height? |
//! | [`roundness`] | how far is a section from a circle, and how much of that is noise? |
//! | [`deviation`] | how regular is the whole vessel? |
//! | [`reduction`] | everything one scan says, in the order of a paper's method section |
//! | [`table`], [`store`] | rows over scans and vessels, and their files |
//! | [`analysis`] | which vessels are alike, which stand apart? |
//! | [`figure`], [`report`] | the same as pictures and as a page |
//! | [`synthetic`], [`demo`] | vessels with a known truth, and the demo corpus made of them |
//! | [`config`], [`cli`] | study and catalogue, commands |
//!
//! # Example
//! A beaker whose wall is oval by 0.1 mm, scanned without noise, comes back with that ovality. The amplitude is constant
//! over the height, so that its root mean square over the body is the amplitude itself.
//! ```
//! use tornus::synthetic::{FileFormat, PlannedHarmonic, ScanPlan, VesselForm, VesselPlan, Wall, write};
//! use tornus::{Declared, Format, LengthUnit, Millimetre, ReductionParams, Seed, Upr};
//!
//! let oval = PlannedHarmonic::constant(Upr::new(2).ok_or("0 is no harmonic")?, 0.1, 0.0);
//! let beaker = VesselForm::Beaker.meridian(Millimetre::new(40.0), 0.0, Seed::new(1))?;
//! let vessel = VesselPlan::new(beaker).with_harmonics(Wall::Outer, &[oval]);
//! let mut bytes = Vec::new();
//! write(&mut bytes, &vessel.scan(&ScanPlan::of(60_000), Seed::new(2))?, FileFormat::PlyLittle, LengthUnit::Inch)?;
//!
//! let limits = tornus::format::Limits::default();
//! let scan = tornus::format::read(bytes.as_slice(), Format::Ply, LengthUnit::Inch, &limits)?;
//! let reduction = tornus::reduce(&scan, &ReductionParams::new(128, 50, 150)?, &Declared::default(), Seed::new(3))?;
//! let ovality = reduction.measures.iter().find(|row| row.measure == "lobing_2").ok_or("no lobing")?;
//! assert!((ovality.estimate.value() - 0.1).abs() < 0.001);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod analysis;
pub mod axis;
pub mod cli;
pub mod config;
pub mod demo;
pub mod deviation;
pub mod figure;
pub mod format;
pub mod math;
pub mod outline;
pub mod profile;
pub mod quantity;
pub mod reduction;
pub mod report;
pub mod roundness;
pub mod scan;
pub mod section;
pub mod store;
pub mod synthetic;
pub mod table;

pub use axis::AxisError;
pub use format::{Format, ReadError};
pub use quantity::{Estimate, LengthUnit, Millimetre, Seed, Upr};
pub use reduction::{Declared, Reduction, ReductionParams, Rejection, reduce};
pub use report::render as render_report;
pub use roundness::{ReferenceCircle, RoundnessProfile};
pub use scan::{Scan, ScanId, VesselId};
pub use table::{Column, Measure, Table};
