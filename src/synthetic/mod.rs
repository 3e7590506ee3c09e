//! Vessels with a known truth: what would a perfect measurement of this vessel say?
//!
//! A vessel is planned as an analytic surface, its truth follows from the plan by quadrature and dense evaluation, and its
//! scan is sampled from the same surface with chosen faults. Nothing here shares code with the stages it is meant to check.
//!
//! - [`Meridian`], [`Corner`], [`Segment`]: the outline of a vessel, lines and arcs without a kink
//! - [`VesselForm`]: six forms whose proportions vary from vessel to vessel
//! - [`VesselPlan`]: a meridian with harmonics, centre lines, rim and foot lifts; [`Wall`]
//! - [`PlannedHarmonic`], [`CentreLine`], [`Ripple`]: the irregularities, analytic in height and azimuth
//! - [`Workmanship`]: irregularities drawn for a wanted roundness
//! - [`Truth`], [`PlannedDatum`]: the measures a perfect measurement would find
//! - [`ScanPlan`], [`Pose`], [`Sampling`], [`Noise`], [`Coverage`], [`Patch`], [`HandlePlan`]: how the vessel is scanned
//! - [`Fault`]: seams, drift, double walls, smoothing, decimation
//! - [`write()`]: scan files, [`FileFormat`]

mod centre_line;
mod chain;
mod clutter;
mod decimation;
mod fault;
mod form;
mod generate;
mod harmonic;
mod lattice;
mod meridian;
mod noise;
mod outline;
mod quadrature;
mod scan_plan;
mod section_truth;
mod smoothing;
mod truth;
mod vessel;
mod workmanship;
mod write;

pub use centre_line::CentreLine;
pub use chain::Segment;
pub use clutter::{HandlePlan, Patch};
pub use fault::Fault;
pub use form::VesselForm;
pub use harmonic::{PlannedHarmonic, Ripple};
pub use meridian::{Meridian, MeridianPoint};
pub use noise::Noise;
pub use outline::{Corner, OutlineError};
pub use scan_plan::{Coverage, Interior, Pose, Sampling, ScanPlan, Sector};
pub use section_truth::TrueHarmonic;
pub use truth::{PlannedDatum, Truth};
pub use vessel::{SurfacePoint, VesselPlan, Wall};
pub use workmanship::Workmanship;
pub use write::{FileFormat, write};
