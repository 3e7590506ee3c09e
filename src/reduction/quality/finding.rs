//! One defect looked for in one scan: how strong it is, and how far the evidence for it goes.

use crate::quantity::Estimate;
use crate::reduction::WallSide;

/// What can be wrong with a scan whatever its vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Defect {
    /// The mesh was thinned out: facets grew where the wall is flat.
    Decimation,
    /// The surface was smoothed: neighbouring points err together.
    Smoothing,
    /// Two views meet in a step along a meridian.
    Seam,
    /// The centres of both walls wander together along the height: the scan drifted, or the whole vessel is bent.
    Drift,
    /// Two sheets stand where the vessel has one wall.
    DoubleWall,
}

impl Defect {
    /// Every defect, in the order of the tables.
    pub const ALL: [Self; 5] = [Self::Decimation, Self::Smoothing, Self::Seam, Self::Drift, Self::DoubleWall];

    /// The word the tables use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Decimation => "decimated",
            Self::Smoothing => "smoothed",
            Self::Seam => "seam",
            Self::Drift => "drift or bend",
            Self::DoubleWall => "double wall",
        }
    }

    /// What it does to the measures, in a sentence.
    #[must_use]
    pub const fn effect(self) -> &'static str {
        match self {
            Self::Decimation => {
                "The mesh was thinned out until its facets show: what lies between its vertices is lost. Uncertainties and \
                 detection limits of precision are widened by the facets' height."
            }
            Self::Smoothing => {
                "Neighbouring points err together, as after smoothing over this length: fine deviations are flattened, and the \
                 vessel looks truer than it is. Uncertainties and detection limits of precision are widened by what may be lost."
            }
            Self::Seam => {
                "The surface steps along a meridian, as where two views were not brought together: roundness, lobing and \
                 run-out may come out too great."
            }
            Self::Drift => {
                "The centres of both walls wander together up the vessel: the scan drifted, or the whole vessel is bent. \
                 One scan cannot tell which, a second one of the vessel in another pose can: a bend goes with the vessel. If the \
                 scan drifted, straightness and run-out come out too great."
            }
            Self::DoubleWall => {
                "Two sheets stand where the vessel has one wall, as where views were not brought together: the surface is \
                 uncertain by their distance, and noise and detection limits come out too great."
            }
        }
    }
}

/// Where on the vessel a defect is strongest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// All over the scan.
    Everywhere,
    /// Along a meridian, rad.
    Azimuth(f64),
    /// About a height, mm.
    Height(f64),
}

/// One defect looked for, found or not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finding {
    /// Which defect.
    pub defect: Defect,
    /// How strong it is, mm, and its standard uncertainty; see the defect's column in `scans`.
    pub strength: Estimate,
    /// A number without unit that clean scans keep low.
    pub evidence: f64,
    /// Evidence from which the defect is named; clean scans exceed it in at most one of twenty.
    pub threshold: f64,
    /// The wall it is strongest on; `None` where it concerns the whole scan.
    pub wall: Option<WallSide>,
    /// Where it is strongest.
    pub place: Place,
}

impl Finding {
    /// Whether the defect is named.
    #[must_use]
    pub fn is_found(&self) -> bool {
        self.evidence >= self.threshold
    }

    /// The defect with its strength and where it is, in a reader's words.
    #[must_use]
    pub fn words(&self) -> String {
        let place = match self.place {
            Place::Everywhere => String::new(),
            Place::Azimuth(azimuth) => format!(" at azimuth {:.0} deg", azimuth.to_degrees()),
            Place::Height(height) => format!(" at height {height:.0} mm"),
        };
        let wall = self.wall.map_or_else(String::new, |wall| format!(", {} wall", wall.word()));
        format!("{} ({:.3} mm{wall}{place})", self.defect.word(), self.strength.value())
    }

    /// How far the evidence reaches, in thresholds.
    pub(super) fn reach(&self) -> f64 {
        self.evidence / self.threshold
    }
}
