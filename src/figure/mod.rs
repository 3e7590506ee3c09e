//! Figures: one function per figure, plain numbers in, an SVG text out.
//!
//! - [`score_map`]: vessels in the plane of two principal components
//! - [`half_section`]: the vessel drawn as the trade draws it, section left, outside right; [`wall`]: how much of it was seen
//! - [`meridian_pieces`]: the meridian in lines and arcs
//! - [`roundness_plot`]: one section's deviation from its reference circle, magnified
//! - [`spectrum`]: amplitudes of one section's harmonics
//! - [`unrolled`]: deviation of one wall from its surface of revolution
//! - [`dendrogram`]: the tree of forms, outlines at its leaves and joints; [`form_row`]: what a vessel looks like
//! - [`forms`]: outlines side by side: mean forms of groups, forms at the ends of a component
//! - [`bars`]: shares of variance; [`criterion`]: how many groups; [`grades`]: how truly each vessel was made
//! - [`tippett`]: likelihood ratios of references whose make is documented
//! - [`value_curve`]: what a budget buys; [`match_bars`]: claimed proportions beside what chance would bring;
//!   [`deviation_rows`]: scans less their designs
//! - [`oklab`], [`vision`], [`palette`]: where the colours come from; [`ticks`]: round numbers; [`markup`]: text within markup

mod axes;
pub mod bars;
mod base64;
mod canvas;
pub mod criterion;
pub mod dendrogram;
pub mod deviation_rows;
mod error;
pub mod form_row;
pub mod forms;
pub mod grades;
pub mod half_section;
mod marker;
pub mod markup;
pub mod match_bars;
pub mod meridian_pieces;
pub mod oklab;
pub mod palette;
mod placement;
pub mod roundness_plot;
pub mod score_map;
mod silhouette;
pub mod spectrum;
pub mod ticks;
pub mod tippett;
pub mod unrolled;
pub mod value_curve;
pub mod vision;
pub mod wall;

pub use error::FigureError;
