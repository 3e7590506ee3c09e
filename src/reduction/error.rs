//! Why a scan was not reduced: which step, and what it found.

use std::fmt;

/// The step at which a scan was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Step {
    /// Size and content of the scan.
    Scan,
    /// Search for the axis of revolution.
    Axis,
    /// Meridian and walls.
    Profile,
    /// Sections and harmonics.
    Sections,
}

/// Why a scan was not reduced.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{step}: {reason}")]
pub struct Rejection {
    /// The step that refused it.
    pub step: Step,
    /// What it found, in words a curator can act on; lower case, no full stop.
    pub reason: String,
}

impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Scan => "scan",
            Self::Axis => "axis",
            Self::Profile => "profile",
            Self::Sections => "sections",
        })
    }
}
