//! Checked parameters of the reduction, and what the catalogue declares of a scan.

use nalgebra::Vector3;

use crate::quantity::Upr;

/// A parameter that cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{name} must be {expected}: {found}")]
pub struct ParamError {
    /// The parameter.
    pub name: &'static str,
    /// What it must be.
    pub expected: &'static str,
    /// What it was.
    pub found: f64,
}

/// How a scan is reduced; checked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReductionParams {
    heights: u16,
    cutoff: Upr,
    highest: Upr,
}

impl ReductionParams {
    /// `heights` sections per wall at most (8 to 1024), Gaussian filter at `cutoff_upr` (2 to 500), harmonics up to
    /// `highest_upr` (2 to 500, at least the cut-off).
    ///
    /// # Errors
    /// [`ParamError`] names the first parameter out of range.
    pub fn new(heights: u16, cutoff_upr: u16, highest_upr: u16) -> Result<Self, ParamError> {
        let bad = |name, expected, found: u16| ParamError { name, expected, found: f64::from(found) };
        if !(8..=1024).contains(&heights) {
            return Err(bad("heights", "8 to 1024", heights));
        }
        if !(2..=500).contains(&cutoff_upr) {
            return Err(bad("cutoff_upr", "2 to 500", cutoff_upr));
        }
        if !(cutoff_upr..=500).contains(&highest_upr) {
            return Err(bad("highest_upr", "at least cutoff_upr, at most 500", highest_upr));
        }
        match (Upr::new(cutoff_upr), Upr::new(highest_upr)) {
            (Some(cutoff), Some(highest)) => Ok(Self { heights, cutoff, highest }),
            _ => Err(bad("cutoff_upr", "2 to 500", cutoff_upr)),
        }
    }

    /// The greatest number of sections per wall.
    #[must_use]
    pub const fn heights(&self) -> u16 {
        self.heights
    }

    /// The cut-off of the Gaussian filter, at which half the amplitude passes.
    #[must_use]
    pub const fn cutoff(&self) -> Upr {
        self.cutoff
    }

    /// The highest harmonic, where the sampling supports it.
    #[must_use]
    pub const fn highest(&self) -> Upr {
        self.highest
    }
}

/// A direction of the scanner's frame, as the catalogue writes it: `+x` .. `-z`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Up {
    /// Along +x.
    PlusX,
    /// Along -x.
    MinusX,
    /// Along +y.
    PlusY,
    /// Along -y.
    MinusY,
    /// Along +z.
    PlusZ,
    /// Along -z.
    MinusZ,
}

impl Up {
    /// The direction written as `+x` .. `-z`; `None` for anything else.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        Some(match text.trim() {
            "+x" => Self::PlusX,
            "-x" => Self::MinusX,
            "+y" => Self::PlusY,
            "-y" => Self::MinusY,
            "+z" => Self::PlusZ,
            "-z" => Self::MinusZ,
            _ => return None,
        })
    }

    /// The unit vector.
    #[must_use]
    pub fn direction(self) -> Vector3<f64> {
        match self {
            Self::PlusX => Vector3::x(),
            Self::MinusX => -Vector3::x(),
            Self::PlusY => Vector3::y(),
            Self::MinusY => -Vector3::y(),
            Self::PlusZ => Vector3::z(),
            Self::MinusZ => -Vector3::z(),
        }
    }
}

/// What the catalogue declares of a scan.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Declared {
    /// Which way is up, used where the scan itself cannot tell.
    pub up: Option<Up>,
    /// Whether the vessel stood on its foot when it was scanned, so that the lowest ring in the scan is the foot.
    pub stands_on_foot: bool,
    /// Standard uncertainty of the instrument, mm.
    pub u_instrument_mm: Option<f64>,
}
