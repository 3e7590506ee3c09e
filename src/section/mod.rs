//! Sections of the vessel: bands of a wall about a height, with the wall's slope removed.
//!
//! - [`assign`]: which station of the meridian each point belongs to
//! - [`Bands`], [`meridian_at`]: the points of one wall in bands, as azimuth and radial deviation from the mean meridian
//! - [`UnrolledSurface`], [`set_aside`], [`SetAside`], [`Aside`], [`Patch`]: the whole surface unrolled, and the patches of
//!   it that are no part of the turned form
//! - [`Grid`]: the map of one wall by height and azimuth
//! - [`fit_band`], [`fit_band_as_found`]: one band's harmonics, with gaps bridged and noise estimated

mod aside;
mod assign;
mod bands;
mod edge;
mod fit;
mod form;
mod grid;
mod hidden;
mod patches;
mod smooth_row;
mod unrolled;

pub use aside::{Aside, SetAside, set_aside};
pub use assign::{NO_STATION, assign};
pub use bands::{BODY_MARGIN, Bands, Heights, MeridianPoint, meridian_at, radial_deviation};
pub use fit::{BandFit, fit_band, fit_band_as_found};
pub use grid::Grid;
pub use hidden::Hidden;
pub use patches::Patch;
pub use unrolled::UnrolledSurface;
