//! The report: tables in, one HTML file, its figures and a sheet per vessel out. No files, no clock.
//!
//! - [`render`]: the whole report; [`Report`]: the same piece by piece, for a corpus whose scans' tables do not fit in memory
//! - [`ReportTables`]: the tables it is made from, any of which may be missing
//! - [`ReportFacts`]: what the tables do not know: title, seed, versions, parameters
//! - [`Rendered`]: what comes out; [`ReportError`]: why nothing came out

mod agreement;
mod associations;
mod budget;
mod cells;
mod corpus;
mod defects;
mod differences;
mod document;
mod error;
mod facts;
mod form_tree;
mod glance;
mod groups;
mod html;
mod look_alikes;
mod maps;
mod method;
mod number;
mod order;
mod outliers;
mod overview;
mod patches;
mod peers;
mod proportions;
mod render;
mod scans;
mod screening;
mod section_choice;
mod seen_angles;
mod shortlist;
mod slug;
mod tables;
mod tree_forms;
mod vessel_figures;
mod vessel_pieces;
mod vessel_section;

pub use error::ReportError;
pub use facts::ReportFacts;
pub use render::{DrawnVessels, Rendered, Report, ToldVessels, render};
pub use tables::ReportTables;
