//! The documented reference pieces: which there are, from how many sources, and whether they allow a comparison.

use std::collections::BTreeSet;

use crate::analysis::corpus::Vessel;

/// Documented references wanted of each kind. With n of the other kind no ratio above n + 1 can be backed, so that 6 barely
/// support a factor of ten ("common practice, no source"; forensic validations use dozens).
pub const FEWEST_REFERENCES: usize = 6;

/// Sources wanted of each kind: what one donor, find or workshop has in common is not what its age makes.
pub const FEWEST_SOURCES: usize = 2;

/// Share of the references of one kind that must lie within reach of the other's, confounder by confounder.
const LEAST_OVERLAP: f64 = 0.5;

/// By how much of its width a range is widened before it is asked who lies in it: the range of 6 references covers 5 in 7 of
/// a population, with a wide scatter.
const MARGIN: f64 = 0.25;

/// What the catalogue documents of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Documented {
    /// Of modern make.
    Modern,
    /// Old.
    Old,
}

impl Documented {
    /// Both, in the order of every pair here.
    pub const BOTH: [Self; 2] = [Self::Modern, Self::Old];

    /// The word the catalogue and the tables use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Modern => "modern",
            Self::Old => "old",
        }
    }

    /// Reads the catalogue's word; anything else documents nothing.
    #[must_use]
    pub fn parse(word: &str) -> Option<Self> {
        Self::BOTH.into_iter().find(|kind| kind.word() == word)
    }
}

/// Why a corpus cannot be screened.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// Too few documented references with measures.
    #[error("{missing} more documented {} references are needed: there are {found}, at least {least} are wanted", .kind.word())]
    TooFew {
        /// Of which kind.
        kind: Documented,
        /// How many there are.
        found: usize,
        /// How many are wanted.
        least: usize,
        /// How many are missing.
        missing: usize,
    },
    /// All references of a kind come from one source.
    #[error(
        "documented {} references come from {found} source: at least {least} are wanted, as what one source has in common may \
         not be its age", .kind.word()
    )]
    OneSource {
        /// Of which kind.
        kind: Documented,
        /// How many sources there are.
        found: usize,
        /// How many are wanted.
        least: usize,
    },
    /// A circumstance tells the kinds apart by itself.
    #[error(
        "documented modern and old references hardly overlap in {confounder}: a difference between them could be that of \
         {confounder}"
    )]
    Confounded {
        /// The circumstance.
        confounder: &'static str,
    },
    /// Too few measures are known of enough references.
    #[error("{found} measures are known of half the references of each kind, at least {least} are wanted")]
    TooFewMeasures {
        /// How many there are.
        found: usize,
        /// How many are wanted.
        least: usize,
    },
    /// The references' measures have no regular covariance.
    #[error("the references' measures have no regular covariance")]
    NotRegular,
}

/// The references of each kind as rows of the vessels, in their order.
pub(super) fn references(vessels: &[Vessel]) -> [Vec<usize>; 2] {
    Documented::BOTH.map(|kind| (0..vessels.len()).filter(|&row| documented(&vessels[row]) == Some(kind)).collect())
}

/// What is documented of a vessel that was measured.
pub(super) fn documented(vessel: &Vessel) -> Option<Documented> {
    vessel.reference.as_deref().and_then(Documented::parse).filter(|_| vessel.measured)
}

/// Where a reference comes from; all whose source is not recorded count as one.
pub(super) fn source(vessel: &Vessel) -> &str {
    vessel.source.as_deref().unwrap_or("not recorded")
}

/// Whether the references allow a comparison.
pub(super) fn check(vessels: &[Vessel], references: &[Vec<usize>; 2]) -> Result<(), Refusal> {
    for (kind, rows) in Documented::BOTH.into_iter().zip(references) {
        if rows.len() < FEWEST_REFERENCES {
            let (found, least) = (rows.len(), FEWEST_REFERENCES);
            return Err(Refusal::TooFew { kind, found, least, missing: least - found });
        }
    }
    for (kind, rows) in Documented::BOTH.into_iter().zip(references) {
        let found = rows.iter().map(|&row| source(&vessels[row])).collect::<BTreeSet<_>>().len();
        if found < FEWEST_SOURCES {
            return Err(Refusal::OneSource { kind, found, least: FEWEST_SOURCES });
        }
    }
    let sets = references.each_ref().map(|rows| rows.iter().map(|&row| &vessels[row]).collect::<Vec<_>>());
    let confounders = [
        ("size", overlap_in_number(&sets, Vessel::ln_size)),
        ("hardness of the material", overlap_in_number(&sets, |v| v.mohs)),
        ("material", overlap_in_word(&sets, |v| v.material.as_deref().filter(|_| v.mohs.is_none()))),
        ("instrument", overlap_in_word(&sets, |v| v.instrument.as_deref())),
    ];
    match confounders.into_iter().find(|(_, share)| share.is_some_and(|share| share < LEAST_OVERLAP)) {
        Some((confounder, _)) => Err(Refusal::Confounded { confounder }),
        None => Ok(()),
    }
}

/// The lesser share of one kind within the other's range; `None` if a kind has no number.
fn overlap_in_number(sets: &[Vec<&Vessel>; 2], value: fn(&Vessel) -> Option<f64>) -> Option<f64> {
    let values = sets.each_ref().map(|set| set.iter().filter_map(|v| value(v)).collect::<Vec<f64>>());
    let share = |inside: &[f64], range: &[f64]| {
        let (low, high) = range.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
        let margin = MARGIN * (high - low);
        let within = inside.iter().filter(|v| (low - margin..=high + margin).contains(*v)).count();
        within as f64 / inside.len() as f64
    };
    let [modern, old] = &values;
    (!modern.is_empty() && !old.is_empty()).then(|| share(modern, old).min(share(old, modern)))
}

/// The lesser share of one kind whose word some piece of the other kind has too; `None` if a kind has no word.
fn overlap_in_word(sets: &[Vec<&Vessel>; 2], word: fn(&Vessel) -> Option<&str>) -> Option<f64> {
    let words = sets.each_ref().map(|set| set.iter().filter_map(|v| word(v)).collect::<Vec<&str>>());
    let share = |inside: &[&str], others: &[&str]| {
        inside.iter().filter(|word| others.contains(word)).count() as f64 / inside.len() as f64
    };
    let [modern, old] = &words;
    (!modern.is_empty() && !old.is_empty()).then(|| share(modern, old).min(share(old, modern)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::corpus::Reading;

    fn piece(index: usize, reference: &str, source: &str, mohs: f64) -> Vessel {
        let reading = Reading { value: 100.0, u: 0.1, u_hidden: 0.0, limit: None, below: false };
        Vessel {
            id: format!("{reference}{index}"),
            readings: [("max_diameter", reading)].into(),
            measured: true,
            mohs: Some(mohs),
            reference: Some(reference.to_owned()),
            source: Some(source.to_owned()),
            ..Vessel::default()
        }
    }

    /// `modern` modern pieces and ten old ones, from two sources each, old ones of hardness 2 to 6.
    fn corpus(modern: usize, modern_source: &str, modern_mohs: f64) -> Vec<Vessel> {
        let old = (0..10).map(|i| piece(i, "old", ["find", "wreck"][i % 2], 2.0 + (i % 5) as f64));
        let new =
            (0..modern).map(|i| piece(i, "modern", ["studio", modern_source][i % 2], modern_mohs + (i % 5) as f64));
        new.chain(old).collect()
    }

    fn verdict(vessels: &[Vessel]) -> Result<(), Refusal> {
        check(vessels, &references(vessels))
    }

    #[test]
    fn references_from_two_sources_that_overlap_are_enough() {
        assert_eq!(verdict(&corpus(6, "school", 2.0)), Ok(()));
    }

    #[test]
    fn what_is_missing_is_said() {
        let too_few = verdict(&corpus(4, "school", 2.0)).unwrap_err().to_string();
        assert_eq!(too_few, "2 more documented modern references are needed: there are 4, at least 6 are wanted");
        let one = verdict(&corpus(6, "studio", 2.0)).unwrap_err();
        assert_eq!(one, Refusal::OneSource { kind: Documented::Modern, found: 1, least: 2 });
        let apart = verdict(&corpus(6, "school", 7.0)).unwrap_err();
        assert_eq!(apart, Refusal::Confounded { confounder: "hardness of the material" });
    }

    #[test]
    fn an_instrument_of_one_kind_only_confounds() {
        let mut vessels = corpus(6, "school", 2.0);
        for vessel in &mut vessels {
            vessel.instrument = vessel.reference.clone();
        }
        assert_eq!(verdict(&vessels), Err(Refusal::Confounded { confounder: "instrument" }));
    }
}
