//! The points of a drawn profile or a digitised outline.

use std::str::FromStr;

/// Which coordinates a digitised curve has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CurveAxes {
    /// Distance from the axis and height.
    RadiusHeight,
    /// Two coordinates of a drawing or picture.
    Plane,
    /// Three coordinates of points along the vessel.
    Space,
}

impl CurveAxes {
    /// The columns, as messages name them.
    #[must_use]
    pub const fn columns(self) -> &'static str {
        match self {
            Self::RadiusHeight => "r and z",
            Self::Plane => "x and y",
            Self::Space => "x, y and z",
        }
    }
}

/// One digitised point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    /// Coordinates, mm: radius, 0, height; or x, y, 0; or x, y, z.
    pub position_mm: [f64; 3],
    /// Line of the file, from 1.
    pub line: u64,
}

/// A digitised curve: its points in their order along the vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Which coordinates the points have.
    pub axes: CurveAxes,
    /// The points.
    pub points: Vec<CurvePoint>,
}

/// What of the vessel a digitised curve follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawn {
    /// One side: a meridian, or a half-section with its inner wall.
    Profile,
    /// Both sides, rim to rim over the foot, or all around.
    Outline,
}

impl Drawn {
    /// The word for it in a catalogue.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Profile => "profile",
            Self::Outline => "outline",
        }
    }
}

/// A word that is neither `profile` nor `outline`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected profile or outline")]
pub struct UnknownDrawn;

impl FromStr for Drawn {
    type Err = UnknownDrawn;

    fn from_str(word: &str) -> Result<Self, UnknownDrawn> {
        [Self::Profile, Self::Outline].into_iter().find(|drawn| drawn.word() == word).ok_or(UnknownDrawn)
    }
}
