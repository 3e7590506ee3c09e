//! roundness
