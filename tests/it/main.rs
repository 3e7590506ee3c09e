//! Integration tests: one binary, a module per part.

mod format;
mod report;
mod synthetic;
