//! reduction
