//! Lengths: the unit a file is written in, and millimetres, the unit of everything inside.

use std::fmt;
use std::str::FromStr;

/// A length in millimetres.
///
/// # Example
/// ```
/// use tornus::Millimetre;
/// assert_eq!(Millimetre::from_inches(2.0).get(), 50.8); // 2 x 25.4 mm, by definition of the inch
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Millimetre(f64);

impl Millimetre {
    /// A length of `mm` millimetres.
    #[must_use]
    pub const fn new(mm: f64) -> Self {
        Self(mm)
    }

    /// A length of `inches` international inches (25.4 mm each, exact by definition).
    #[must_use]
    pub fn from_inches(inches: f64) -> Self {
        Self(inches * LengthUnit::Inch.millimetres())
    }

    /// The number of millimetres.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Millimetre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.0)
    }
}

/// The unit in which a scan file gives its coordinates; the catalogue or the study says which.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LengthUnit {
    /// Millimetres.
    Millimetre,
    /// Centimetres.
    Centimetre,
    /// Metres.
    Metre,
    /// International inches.
    Inch,
}

impl LengthUnit {
    /// Every unit a catalogue may name.
    pub const ALL: [Self; 4] = [Self::Millimetre, Self::Centimetre, Self::Metre, Self::Inch];

    /// How many millimetres one unit is.
    #[must_use]
    pub const fn millimetres(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => 25.4, // exact, international yard and pound agreement of 1959
        }
    }

    /// The symbol a catalogue uses.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::Inch => "in",
        }
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// A word that names no length unit.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("unknown length unit, expected mm, cm, m or in: {found:?}")]
pub struct UnknownUnit {
    /// The word as it was written.
    pub found: String,
}

impl FromStr for LengthUnit {
    type Err = UnknownUnit;

    fn from_str(text: &str) -> Result<Self, UnknownUnit> {
        let wanted = text.trim();
        Self::ALL.into_iter().find(|unit| unit.symbol() == wanted).ok_or_else(|| UnknownUnit { found: text.to_owned() })
    }
}
