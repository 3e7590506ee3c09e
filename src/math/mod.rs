//! math
