//! section
