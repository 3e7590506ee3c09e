//! Why no axis was found.

/// Why no axis was found.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum AxisError {
    /// Too few points to speak of a surface.
    #[error("too few points on the surface, at least {needed} needed: {found}")]
    TooFewPoints {
        /// Points needed.
        needed: usize,
        /// Points found.
        found: usize,
    },
    /// All points lie in one place or on one line.
    #[error("the points span no surface")]
    Flat,
    /// No axis about which the surface closes on itself.
    #[error(
        "not a surface of revolution: about the best axis {:.0} % of the surface closes on itself, at least {:.0} % needed",
        100.0 * closure, 100.0 * needed
    )]
    NotRevolved {
        /// Share of the surface that closes, 0 to 1.
        closure: f64,
        /// Share needed.
        needed: f64,
    },
}
