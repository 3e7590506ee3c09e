//! Integration tests: one binary, one module per question.
#![allow(clippy::unwrap_used, clippy::float_cmp, clippy::print_stdout, clippy::print_stderr)]

mod analysis;
mod architecture;
mod bounds;
mod cli;
mod coverage;
mod decisions;
mod demo;
mod deviation;
mod format;
mod math;
mod open_data;
mod partial;
mod profile_arcs;
mod published_statistics;
mod quality;
mod report;
mod roundness;
mod scanned_arcs;
mod set_aside;
mod store;
mod synthetic;
mod truth;
