//! The vessel's meridian: from the half-plane's occupied cells to stations along both walls.
//!
//! - [`trace`]: the cells in the order in which the meridian runs through them
//! - [`Stations`]: points of the meridian at equal arc length, each with normal and curvature
//! - [`arcs`]: lines and arcs that the meridian is made of
//! - [`Walls`]: which end is up, where the rim is, which stations are outside and which inside; [`AT_AXIS`]: what is closed

pub mod arcs;
mod bridge;
mod chain;
mod error;
mod kinks;
mod stations;
mod walls;

pub use chain::trace;
pub use error::ProfileError;
pub use stations::{Station, Stations};
pub use walls::{AT_AXIS, Opening, Walls, inside_out, opening};
