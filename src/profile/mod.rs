//! profile
