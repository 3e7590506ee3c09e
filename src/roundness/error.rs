//! Why a section has no roundness deviation.

use crate::math::circle::CircleError;
use crate::math::fourier::FourierError;

/// Why a section has no roundness deviation.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RoundnessError {
    /// Angles and radii differ in number.
    #[error("{angles} angles do not match {radii} radii")]
    LengthMismatch {
        /// How many angles.
        angles: usize,
        /// How many radii.
        radii: usize,
    },
    /// An angle does not lie in [0, 2 pi) or does not exceed the one before.
    #[error("angles must increase within [0, 2 pi), at index {index} is {angle_rad} rad")]
    AngleOutOfOrder {
        /// Index of the angle.
        index: usize,
        /// The angle, rad.
        angle_rad: f64,
    },
    /// A radius is not a positive number.
    #[error("radius must be positive, at index {index} is {radius_mm} mm")]
    BadRadius {
        /// Index of the radius.
        index: usize,
        /// The radius, mm.
        radius_mm: f64,
    },
    /// Fewer points than a circle and its deviations need.
    #[error("at least {needed} points are needed, there are {count}")]
    TooFew {
        /// How many there are.
        count: usize,
        /// How many it takes.
        needed: usize,
    },
    /// The noise is not a number >= 0.
    #[error("noise must be finite and not negative: {noise_mm} mm")]
    BadNoise {
        /// The noise, mm.
        noise_mm: f64,
    },
    /// The noise reference belongs to another filter.
    #[error("the noise reference is for a cutoff of {reference} UPR, the section has {section} UPR")]
    CutoffMismatch {
        /// Cutoff of the reference, UPR.
        reference: u16,
        /// Cutoff of the section, UPR.
        section: u16,
    },
    /// The harmonics could not be fitted.
    #[error("harmonics: {0}")]
    Harmonics(#[from] FourierError),
    /// A reference circle could not be found.
    #[error("reference circle: {0}")]
    Circle(#[from] CircleError),
}
