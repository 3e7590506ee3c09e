//! axis
