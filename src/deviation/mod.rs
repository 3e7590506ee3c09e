//! Regularity of one vessel: sizes, wall, straightness, coaxiality, run-out, ends, roundness and lobing, each with its
//! standard uncertainty and, where noise alone would show something, with the limit below which it says nothing.
//!
//! The frame is that of a reduced scan: z along the datum axis from the lowest point of the foot, lengths in mm.
//!
//! - [`WallCurve`]: a mean meridian, smooth between its stations; [`SectionCentre`], [`SectionHarmonics`], [`SectionCoefficients`],
//!   [`DeviationRow`], [`CirclePoint`], [`DatumUncertainty`]: what the other measures start from
//! - [`height`], [`max_diameter`], [`rim_diameter`], [`foot_diameter`], [`neck_diameter`], [`centroid_size`],
//!   [`rim_circle`], [`foot_circle`], [`foot_level`], [`rim_level`]
//! - [`capacity`], [`capacity_neck`], [`body_volume`], [`surface_area`]
//! - [`wall_thickness`], [`wall_unevenness`]
//! - [`axis_straightness`], [`coaxiality`], [`concentricity`]
//! - [`total_runout`], [`surface_profile`]
//! - [`flatness`], [`perpendicularity`] of rim and foot
//! - [`roundness_quantile`], [`lobing_band`], [`lobing_change`]
//!
//! Values that grow with noise are corrected for it: by taking the noise's power off where the value is a root mean
//! square, by inversion of simulated scans where it is a range or a greatest distance. Each is a [`Measured`].

mod coaxiality;
mod correction;
mod diameters;
mod end_plane;
mod error;
mod extreme;
mod foot_edge;
mod input;
mod lobing;
mod lobing_change;
mod measured;
mod roundness_summary;
mod runout;
mod smoothing;
mod straightness;
mod volume;
mod wall_curve;
mod wall_thickness;
mod wall_unevenness;

pub use coaxiality::{coaxiality, concentricity};
pub use diameters::{
    centroid_size, foot_circle, foot_diameter, foot_level, height, max_diameter, neck_diameter, rim_circle,
    rim_diameter, rim_level,
};
pub use end_plane::{flatness, perpendicularity};
pub use error::DeviationError;
pub(crate) use input::SHARE_OF_END;
pub use input::{
    Alike, CirclePoint, DatumUncertainty, DeviationRow, SectionCentre, SectionCoefficients, SectionHarmonics,
};
pub use lobing::lobing_band;
pub use lobing_change::lobing_change;
pub use measured::Measured;
pub use roundness_summary::{SectionRoundness, roundness_quantile};
pub use runout::{SurfaceProfile, surface_profile, total_runout};
pub use straightness::axis_straightness;
pub use volume::{body_volume, capacity, capacity_neck, surface_area};
pub use wall_curve::WallCurve;
pub use wall_thickness::{WallThickness, wall_thickness};
pub use wall_unevenness::wall_unevenness;
