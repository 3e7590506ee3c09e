//! Statements about a corpus: which vessels are alike, and which are unlike all others.
//!
//! - [`compare`], [`CompareInput`], [`Meridians`], [`CompareParams`], [`Comparison`]: the whole comparison, tables in, tables out
//! - [`form`]: meridians between landmarks, superimposed about the axis, and the space they span
//! - [`precision`]: logarithms of the precision measures, each with its noise or bound, and the ISO 286 grade
//! - [`cluster`]: groups of either space
//! - [`outlier`]: vessels that do not fit, by form and by precision
//! - [`difference`]: form, size and precision between the values of a catalogue column
//! - [`association`]: form against precision, and form against size
//! - [`FormTree`]: which vessels, and which groups of them, join at what distance
//! - [`permutation`]: tests of differences and associations by rearrangement
//! - [`screening`]: likelihood ratios under documented modern and documented old references
//! - [`proportion`]: claimed proportions against what chance would bring
//! - [`shortlist`]: which vessels a computed tomography would tell most about, within a budget
//! - [`repeatability`]: what repeat scans of a vessel say of the measuring
//! - [`instrument_bias`]: by how much two instruments differ on the same vessels
//! - [`statistics`], [`PrincipalComponents`]: what the others are built from

pub mod association;
pub mod cluster;
mod compare;
mod corpus;
pub mod difference;
mod drawn;
mod error;
pub mod form;
mod form_tree;
mod instrument_bias;
mod meridians;
pub mod outlier;
mod params;
mod pca;
pub mod permutation;
pub mod precision;
pub mod proportion;
mod reliability;
pub mod screening;
pub mod shortlist;
pub mod statistics;
mod tables;
mod variance;

pub use compare::{Comparison, compare};
pub use corpus::CompareInput;
pub use error::AnalysisError;
pub use form_tree::FormTree;
pub use instrument_bias::{InstrumentBias, instrument_bias, instrument_bias_table};
pub use meridians::Meridians;
pub use params::{CompareParams, Groups, UnknownGroups};
pub use pca::PrincipalComponents;
pub use variance::{Repeatability, repeatability, repeatability_table};
