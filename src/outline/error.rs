//! Why a digitised curve gives no meridian.

/// Why a digitised curve gives no meridian.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OutlineError {
    /// Too few points to be a curve.
    #[error("points of the curve, at least {needed}: {found}")]
    FewPoints {
        /// How many are needed.
        needed: usize,
        /// How many there are.
        found: usize,
    },
    /// A curve without extent.
    #[error("the curve has no height or no width: {height_mm} mm by {width_mm} mm")]
    NoExtent {
        /// Along the axis.
        height_mm: f64,
        /// Across it.
        width_mm: f64,
    },
    /// A radius below zero.
    #[error(
        "expected radii of 0 or more in a profile, found {radius_mm} mm (line {line}); if both sides are drawn, the catalogue's column `content` should say outline"
    )]
    NegativeRadius {
        /// The radius.
        radius_mm: f64,
        /// Where it stands.
        line: u64,
    },
    /// Points in space that lie in no plane.
    #[error("expected the points of an outline in one plane, found one {off_mm:.2} mm off it (line {line})")]
    NotPlanar {
        /// Its distance from the plane.
        off_mm: f64,
        /// Where it stands.
        line: u64,
    },
    /// The declared direction up is none of the curve's own.
    #[error("the catalogue says up is {up}, but the file has the columns {columns}")]
    NoSuchDirection {
        /// As declared.
        up: String,
        /// The curve's coordinates.
        columns: &'static str,
    },
    /// Two sides too unlike to be those of a vessel of revolution.
    #[error(
        "the two sides differ by {apart_mm:.1} mm (root mean square), at most {allowed_mm:.1} mm allowed; if only one side is drawn, the catalogue's column `content` should say profile"
    )]
    UnlikeSides {
        /// How much.
        apart_mm: f64,
        /// How much may be.
        allowed_mm: f64,
    },
}
