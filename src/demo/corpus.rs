//! The plan of a corpus: vessels and their scans.

use crate::quantity::{LengthUnit, Millimetre, Seed};
use crate::synthetic::{FileFormat, Meridian, OutlineError, ScanPlan, VesselForm, VesselPlan, Workmanship};

/// A planned corpus.
#[derive(Clone, Debug, PartialEq)]
pub struct Corpus {
    /// The seed it was planned from.
    pub seed: Seed,
    /// Its vessels, in the order of their identifiers.
    pub vessels: Vec<CorpusVessel>,
}

/// Why a vessel is in the corpus.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// A piece of one of the workshops.
    Workshop,
    /// A piece of one of the workshops, several times truer than its peers, scanned well enough to show it.
    UnusuallyTrue,
    /// Modern lathe work among the old pieces, its make unrecorded.
    Replica,
    /// Modern lathe work, documented as such.
    DocumentedModern,
    /// Its only scan is a file cut short.
    TruncatedFile,
    /// No vessel of revolution: a lantern with a square section.
    NotOfRevolution,
    /// A real household piece; nothing is known of its truth.
    RealHandlingPiece,
}

impl Role {
    /// The words the truth table uses.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Workshop => "workshop",
            Self::UnusuallyTrue => "unusually true",
            Self::Replica => "replica",
            Self::DocumentedModern => "documented modern",
            Self::TruncatedFile => "truncated file",
            Self::NotOfRevolution => "not of revolution",
            Self::RealHandlingPiece => "real handling piece",
        }
    }

    /// Whether a survey should find the vessel's measures; the others are there to be refused, or have no truth.
    #[must_use]
    pub const fn measurable(self) -> bool {
        !matches!(self, Self::TruncatedFile | Self::NotOfRevolution | Self::RealHandlingPiece)
    }
}

/// One vessel of a corpus.
#[derive(Clone, Debug, PartialEq)]
pub struct CorpusVessel {
    /// Its identifier.
    pub id: String,
    /// Why it is there.
    pub role: Role,
    /// How it is made; `None` for a real piece.
    pub make: Option<Make>,
    /// What the register calls it.
    pub object: &'static str,
    /// Who made it; the planted precision group. Empty if nobody knows.
    pub workshop: String,
    /// Its material; empty if unknown.
    pub material: String,
    /// Hardness of the material on the Mohs scale.
    pub mohs: Option<f64>,
    /// Density of the material, g/cm3.
    pub density_g_cm3: Option<f64>,
    /// What the catalogue documents of its age: `modern`, `old` or nothing.
    pub reference: &'static str,
    /// What a tomography would cost.
    pub ct_cost: u32,
    /// Where it was found or given.
    pub setting: String,
    /// Its scans.
    pub scans: Vec<CorpusScan>,
}

/// How a vessel is made; the vessel follows from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Make {
    /// Its form.
    pub form: VesselForm,
    /// Its greatest radius, about.
    pub size: Millimetre,
    /// Relative standard deviation of its proportions.
    pub proportions: f64,
    /// How truly it is made.
    pub workmanship: Workmanship,
    /// Amplitude of a square section as a share of the size; 0 for vessels of revolution.
    pub squareness: f64,
    /// Where its draws start.
    pub seed: Seed,
}

/// One scan of a corpus.
#[derive(Clone, Debug, PartialEq)]
pub struct CorpusScan {
    /// The file, relative to the catalogue.
    pub file: String,
    /// The unit of its coordinates.
    pub unit: LengthUnit,
    /// The scanner; empty if unknown.
    pub instrument: String,
    /// The scanner's declared standard uncertainty, mm.
    pub u_instrument_mm: Option<f64>,
    /// Which way is up, where the scan cannot tell.
    pub up: &'static str,
    /// Where the bytes come from.
    pub source: ScanSource,
}

/// Where the bytes of a scan come from.
#[derive(Clone, Debug, PartialEq)]
pub enum ScanSource {
    /// The vessel is scanned.
    Planned {
        /// How.
        plan: Box<ScanPlan>,
        /// Written how.
        format: FileFormat,
        /// Where its draws start.
        seed: Seed,
        /// Share of the file that is written; 1 is all of it.
        share_written: f64,
    },
    /// A file that ships with the program.
    Shipped(&'static [u8]),
}

impl Make {
    /// The vessel's meridian.
    ///
    /// # Errors
    /// [`OutlineError`] if the proportions drawn make no outline.
    pub fn meridian(&self) -> Result<Meridian, OutlineError> {
        self.form.meridian(self.size, self.proportions, self.seed.derive(0))
    }

    /// The vessel.
    ///
    /// # Errors
    /// [`OutlineError`] if the proportions drawn make no outline.
    pub fn vessel(&self) -> Result<VesselPlan, OutlineError> {
        let vessel = VesselPlan::new(self.meridian()?);
        if self.squareness > 0.0 {
            return Ok(super::casting::squared(vessel, self.squareness * self.size.get()));
        }
        Ok(vessel.with_workmanship(&self.workmanship, self.seed.derive(1)))
    }
}
