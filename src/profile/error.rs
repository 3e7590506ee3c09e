//! Why no meridian was found.

/// Why no meridian was found.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ProfileError {
    /// The closed cells do not run on in a curve.
    #[error(
        "no continuous meridian: the longest run of the wall is {found_mm:.1} mm, at least {needed_mm:.1} mm needed"
    )]
    Broken {
        /// Length of the longest run, mm.
        found_mm: f64,
        /// Length needed, mm.
        needed_mm: f64,
    },
    /// The meridian never faces outwards.
    #[error("the scan shows no outer wall")]
    NoOuterWall,
}
