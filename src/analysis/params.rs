//! How a corpus is compared; checked.

use std::num::NonZeroU8;
use std::str::FromStr;

use super::cluster::Method;
use super::form::FormChoice;

/// Bootstrap resamples behind each group's stability (Hennig 2007 uses 100).
const RESAMPLES: u16 = 100;

/// Expected share of false outliers among those named: the usual 5 %.
const FALSE_DISCOVERY_RATE: f64 = 0.05;

/// How many groups to look for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Groups {
    /// As many as the criterion chooses, one included.
    Auto,
    /// This many.
    Number(NonZeroU8),
}

/// A word that is neither `auto` nor a number of groups.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("number of groups must be \"auto\" or 1 to 255: {found:?}")]
pub struct UnknownGroups {
    /// The word as it was written.
    pub found: String,
}

impl FromStr for Groups {
    type Err = UnknownGroups;

    fn from_str(text: &str) -> Result<Self, UnknownGroups> {
        match text.trim() {
            "auto" => Ok(Self::Auto),
            number => number.parse().map(Self::Number).map_err(|_| UnknownGroups { found: text.to_owned() }),
        }
    }
}

/// How a corpus is compared.
#[derive(Clone, Debug, PartialEq)]
pub struct CompareParams {
    groups: Groups,
    resamples: u16,
    false_discovery_rate: f64,
    factors: Option<Vec<String>>,
    form: FormChoice,
    form_method: Method,
}

impl CompareParams {
    /// Compares with this many groups, by the outer meridian, 100 bootstrap resamples, a false discovery rate of 5 %.
    #[must_use]
    pub const fn new(groups: Groups) -> Self {
        Self {
            groups,
            resamples: RESAMPLES,
            false_discovery_rate: FALSE_DISCOVERY_RATE,
            factors: None,
            form: FormChoice::Outer,
            form_method: Method::Mixture,
        }
    }

    /// The same with another number of groups.
    #[must_use]
    pub fn with_groups(self, groups: Groups) -> Self {
        Self { groups, ..self }
    }

    /// The same with another number of bootstrap resamples; 0 leaves the stability out.
    #[must_use]
    pub fn with_resamples(self, resamples: u16) -> Self {
        Self { resamples, ..self }
    }

    /// The same with differences tested between the values of these catalogue columns, `None`: of every column worth it.
    #[must_use]
    pub fn with_factors(self, factors: Option<Vec<String>>) -> Self {
        Self { factors, ..self }
    }

    /// The same with forms compared by this.
    #[must_use]
    pub fn with_form(self, form: FormChoice) -> Self {
        Self { form, ..self }
    }

    /// By what forms are compared.
    #[must_use]
    pub const fn form(&self) -> FormChoice {
        self.form
    }

    /// The same with groups of form by another method.
    #[must_use]
    pub fn with_form_method(self, form_method: Method) -> Self {
        Self { form_method, ..self }
    }

    /// The method whose groups of form are published; the others stand beside it.
    #[must_use]
    pub const fn form_method(&self) -> Method {
        self.form_method
    }

    /// The catalogue columns between whose values differences are tested; `None`: every column worth it.
    #[must_use]
    pub fn factors(&self) -> Option<&[String]> {
        self.factors.as_deref()
    }

    /// How many groups to look for.
    #[must_use]
    pub const fn groups(&self) -> Groups {
        self.groups
    }

    /// Bootstrap resamples behind each group's stability.
    #[must_use]
    pub const fn resamples(&self) -> u16 {
        self.resamples
    }

    /// Expected share of false outliers among those named.
    #[must_use]
    pub const fn false_discovery_rate(&self) -> f64 {
        self.false_discovery_rate
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_are_read_from_words() {
        assert_eq!("auto".parse(), Ok(Groups::Auto));
        assert_eq!(" 3 ".parse(), Ok(Groups::Number(NonZeroU8::new(3).unwrap())));
        for wrong in ["0", "-1", "many", "256", ""] {
            assert_eq!(wrong.parse::<Groups>(), Err(UnknownGroups { found: wrong.to_owned() }));
        }
    }
}
