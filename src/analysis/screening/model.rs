//! The fitted model: the likelihood ratio of one vessel from its readings.

use std::collections::BTreeMap;
use std::f64::consts::LN_10;

use super::adjustment::Adjustment;
use super::calibration::Calibration;
use super::documented::Refusal;
use super::expectation::Counted;
use super::fit::fit;
use super::population::{Populations, Subject};
use crate::analysis::corpus::Vessel;
use crate::analysis::precision::{LogReading, log_reading};

/// Measures that tell turned from hand-worked pieces: lobing by band and its change from section to section, how straight the
/// outer axis is, how the inner axis lies to it, how even the wall, what is left of the form.
pub(super) const MEASURES: [&str; 10] = [
    "lobing_2",
    "lobing_3",
    "lobing_4_15",
    "lobing_16_50",
    "lobing_51_150",
    "lobing_change",
    "axis_straightness_outer",
    "coaxiality_inner",
    "wall_unevenness",
    "surface_profile_rms",
];

/// Fewest measures a model, or a vessel, is judged by ("common practice, no source").
pub(super) const FEWEST_MEASURES: usize = 3;

/// The greatest ratios either way that the references can back, as natural logarithms.
///
/// None of n old references tells how rare something is among old pieces beyond about one in n + 1; a ratio above n + 1
/// would be the model's word alone.
///
/// # References
/// The rule of succession (Laplace); on ratios beyond the data: Vergeer et al. 2016, Numerical likelihood ratios outputted by
/// LR systems are often based on extrapolation: when to stop extrapolating? (from memory; the bound here is simpler).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Against modern make: minus the logarithm of one more than the modern references.
    pub least: f64,
    /// For modern make: the logarithm of one more than the old references.
    pub greatest: f64,
}

impl Bounds {
    /// The bounds that so many references of each kind can back.
    #[must_use]
    pub fn of(modern: usize, old: usize) -> Self {
        let reach = |count: usize| (count as f64).ln_1p();
        Self { least: -reach(modern), greatest: reach(old) }
    }

    /// The nearest value within.
    #[must_use]
    pub const fn hold(&self, ln_ratio: f64) -> f64 {
        ln_ratio.clamp(self.least, self.greatest)
    }
}

/// A model of both populations, calibrated.
#[derive(Clone, Debug, PartialEq)]
pub struct ScreeningModel {
    pub(super) measures: Vec<&'static str>,
    pub(super) adjustment: Adjustment,
    pub(super) populations: Populations,
    pub(super) calibration: Calibration,
    pub(super) bounds: Bounds,
}

impl ScreeningModel {
    /// The measures the ratio is made of, in the order of a vessel's readings.
    #[must_use]
    pub fn measures(&self) -> &[&'static str] {
        &self.measures
    }

    /// The calibrated logarithm (base 10) of the likelihood ratio modern : old, within the bounds.
    pub(super) fn log10_ratio(&self, subject: &Subject) -> f64 {
        let score = self.bounds.hold(self.populations.score(subject));
        self.bounds.hold(self.calibration.ln_ratio(score)) / LN_10
    }
}

/// The measures known, not only bounded, of half the references of each kind.
pub(super) fn choose(vessels: &[Vessel], references: &[Vec<usize>; 2]) -> Result<Vec<&'static str>, Refusal> {
    let known = |row: &&usize, measure: &str| {
        matches!(log_reading(vessels[**row].readings.get(measure)), LogReading::Known { .. })
    };
    let half =
        |rows: &Vec<usize>, measure: &str| 2 * rows.iter().filter(|row| known(row, measure)).count() >= rows.len();
    let chosen: Vec<&'static str> =
        MEASURES.into_iter().filter(|measure| references.iter().all(|rows| half(rows, measure))).collect();
    if chosen.len() < FEWEST_MEASURES {
        return Err(Refusal::TooFewMeasures { found: chosen.len(), least: FEWEST_MEASURES });
    }
    Ok(chosen)
}

/// A vessel as the model sees it.
pub(super) fn subject(vessel: &Vessel, measures: &[&'static str], adjustment: &Adjustment) -> Subject {
    let readings = measures.iter().map(|measure| log_reading(vessel.readings.get(*measure))).collect();
    Subject { regressors: adjustment.regressors(vessel), readings }
}

/// Fits both populations to the subjects in these rows, repetitions allowed; `from` is where to start, if not afresh.
pub(super) fn fit_rows(subjects: &[Subject], rows: [&[usize]; 2], from: Option<&Populations>) -> Option<Populations> {
    let counted = |rows: &[usize]| -> Vec<Counted<'_>> {
        let mut times = BTreeMap::new();
        rows.iter().for_each(|row| *times.entry(*row).or_insert(0.0) += 1.0);
        times.into_iter().map(|(row, times)| (&subjects[row], times)).collect()
    };
    let [modern, old] = rows.map(counted);
    fit([&modern, &old], from)
}

#[cfg(test)]
mod tests {
    use super::Bounds;

    #[test]
    fn bounds_grow_with_the_references_of_the_other_kind() {
        let bounds = Bounds::of(9, 99);
        assert!((bounds.hold(50.0) - 100.0_f64.ln()).abs() < 1e-12);
        assert!((bounds.hold(-50.0) + 10.0_f64.ln()).abs() < 1e-12);
        assert!((bounds.hold(0.5) - 0.5).abs() < 1e-15);
    }
}
