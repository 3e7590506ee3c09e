//! By what forms are compared.

use std::str::FromStr;

/// By what of a vessel's outline forms are compared.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FormChoice {
    /// The outer meridian from foot edge to rim.
    #[default]
    Outer,
    /// The inner meridian from the floor's edge to the rim.
    Inner,
    /// The closed half-section of the wall, by elliptic Fourier descriptors.
    HalfSection,
    /// The direction of the outer meridian along its arc.
    TangentAngle,
    /// The outer meridian closed along the axis, as of a solid, by elliptic Fourier descriptors.
    Silhouette,
}

/// A word that names no way to compare forms.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("form must be \"outer\", \"inner\", \"half-section\", \"tangent-angle\" or \"silhouette\": {found:?}")]
pub struct UnknownForm {
    /// The word as it was written.
    pub found: String,
}

impl FormChoice {
    /// Every choice.
    pub const ALL: [Self; 5] = [Self::Outer, Self::Inner, Self::HalfSection, Self::TangentAngle, Self::Silhouette];

    /// The word for it in a study.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Outer => "outer",
            Self::Inner => "inner",
            Self::HalfSection => "half-section",
            Self::TangentAngle => "tangent-angle",
            Self::Silhouette => "silhouette",
        }
    }

    /// What is compared, in words.
    #[must_use]
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Outer => "outer meridian from foot edge to rim",
            Self::Inner => "inner meridian from the floor's edge to the rim",
            Self::HalfSection => "closed half-section of the wall, by elliptic Fourier descriptors",
            Self::TangentAngle => "direction of the outer meridian along its arc",
            Self::Silhouette => "outer meridian closed along the axis, by elliptic Fourier descriptors",
        }
    }
}

impl FromStr for FormChoice {
    type Err = UnknownForm;

    fn from_str(word: &str) -> Result<Self, UnknownForm> {
        let known = Self::ALL.into_iter().find(|choice| choice.word() == word.trim());
        known.ok_or_else(|| UnknownForm { found: word.to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_read_back() {
        for choice in FormChoice::ALL {
            assert_eq!(choice.word().parse(), Ok(choice));
        }
        assert_eq!("Outer".parse::<FormChoice>(), Err(UnknownForm { found: "Outer".to_owned() }));
    }
}
