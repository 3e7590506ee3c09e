//! deviation
