//! How the ratios of the references come out, each from a model and a calibration that have not seen it.

use std::collections::BTreeMap;
use std::f64::consts::LN_10;

use rayon::prelude::*;

use super::calibration::Calibration;
use super::documented::Documented;
use super::leave_out::Folds;
use super::model::Bounds;
use crate::analysis::statistics::{cllr, least_cllr};

/// A reference's own ratio.
#[derive(Clone, Debug, PartialEq)]
pub struct ReferenceScore {
    /// The vessel.
    pub vessel: String,
    /// What is documented of it.
    pub documented: Documented,
    /// Where it comes from.
    pub source: String,
    /// Logarithm (base 10) of its ratio, from a model without it.
    pub log10_lr: f64,
    /// The same from a model without any reference of its kind and source; `None` where too few would be left.
    pub log10_lr_source_out: Option<f64>,
}

/// Ratios of one range: how often they were right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReliabilityRow {
    /// The range of the logarithms (base 10), open at its lower end.
    pub from: f64,
    /// Its upper end.
    pub to: f64,
    /// Modern references in it.
    pub modern: usize,
    /// Old references in it.
    pub old: usize,
    /// Mean probability of modern make these ratios give at even odds.
    pub stated: Option<f64>,
    /// Share of modern references in the range, both kinds weighing the same.
    pub observed: Option<f64>,
}

/// How a measure tells the references apart.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasureUse {
    /// The measure.
    pub measure: &'static str,
    /// What the modern and the old references lead to expect at their mean size and material, mm.
    pub usual_mm: [f64; 2],
    /// Standard deviations of the logarithm from vessel to vessel, modern and old.
    pub spread: [f64; 2],
}

/// What the references say of the ratios.
#[derive(Clone, Debug, PartialEq)]
pub struct Validation {
    /// The references, sorted by vessel.
    pub references: Vec<ReferenceScore>,
    /// Cost of their ratios, bits.
    pub cllr: f64,
    /// The least cost any recalibration could have had.
    pub least_cllr: f64,
    /// Cost of the ratios from models without the reference's source, where all could be had.
    pub cllr_source_out: Option<f64>,
    /// Ratios by range.
    pub reliability: Vec<ReliabilityRow>,
    /// The measures used.
    pub measures: Vec<MeasureUse>,
    /// What the measures are adjusted for.
    pub adjusted_for: Vec<&'static str>,
    /// The greatest ratios the references can back, as natural logarithms.
    pub bounds: Bounds,
}

impl Validation {
    /// What a better calibration could have saved, bits.
    #[must_use]
    pub fn calibration_loss(&self) -> f64 {
        self.cllr - self.least_cllr
    }

    /// The greatest ratio any documented old reference gets, logarithm base 10.
    #[must_use]
    pub fn highest_old(&self) -> f64 {
        self.of(Documented::Old).fold(f64::NEG_INFINITY, f64::max)
    }

    /// The least ratio any documented modern reference gets, logarithm base 10.
    #[must_use]
    pub fn lowest_modern(&self) -> f64 {
        self.of(Documented::Modern).fold(f64::INFINITY, f64::min)
    }

    /// Logarithms (base 10) of the ratios of the references of a kind.
    pub fn of(&self, kind: Documented) -> impl Iterator<Item = f64> + '_ {
        self.references.iter().filter(move |score| score.documented == kind).map(|score| score.log10_lr)
    }
}

/// Natural logarithms of the references' ratios: every score goes through a line fitted without its fold.
pub(super) fn calibrated_without(
    scores: &BTreeMap<usize, f64>,
    references: &[Vec<usize>; 2],
    folds: &Folds,
    bounds: Bounds,
) -> BTreeMap<usize, f64> {
    let line = |fold: usize| {
        let others = |kind: usize| -> Vec<f64> {
            let rows = references[kind].iter().filter(|row| folds.of(**row) != Some(fold));
            rows.filter_map(|row| scores.get(row).copied()).collect()
        };
        Calibration::fit(&others(0), &others(1))
    };
    let lines: Vec<Option<Calibration>> = (0..folds.number()).into_par_iter().map(line).collect();
    let ratio = |(row, score): (&usize, &f64)| Some((*row, bounds.hold(lines[folds.of(*row)?]?.ln_ratio(*score))));
    scores.iter().filter_map(ratio).collect()
}

/// Cost and least cost of ratios by row.
pub(super) fn costs(ratios: &BTreeMap<usize, f64>, references: &[Vec<usize>; 2]) -> Option<(f64, f64)> {
    let [modern, old] =
        references.each_ref().map(|rows| rows.iter().filter_map(|row| ratios.get(row).copied()).collect::<Vec<f64>>());
    if modern.len() + old.len() < references.iter().map(Vec::len).sum() {
        return None;
    }
    Some((cllr(&modern, &old)?, least_cllr(&modern, &old)?))
}

/// Ends of the ranges of the reliability table, logarithms base 10: ratios of 1, 3 and 10 either way.
const ENDS: [f64; 5] = [-1.0, -0.5, 0.0, 0.5, 1.0];

/// The reliability table of logarithms (base 10) of ratios, modern and old; ranges without a reference are left out.
pub(super) fn reliability(modern: &[f64], old: &[f64]) -> Vec<ReliabilityRow> {
    let ends = [&[f64::NEG_INFINITY][..], &ENDS, &[f64::INFINITY]].concat();
    let row = |pair: &[f64]| {
        let within = |values: &[f64]| values.iter().copied().filter(|v| *v > pair[0] && *v <= pair[1]).collect();
        let (ones, others): (Vec<f64>, Vec<f64>) = (within(modern), within(old));
        let weights = [1.0 / modern.len() as f64, 1.0 / old.len() as f64];
        let all = weights[0] * ones.len() as f64 + weights[1] * others.len() as f64;
        let probability = |log10: &f64| 1.0 / (1.0 + (-log10 * LN_10).exp());
        let stated = weights[0] * ones.iter().map(probability).sum::<f64>()
            + weights[1] * others.iter().map(probability).sum::<f64>();
        ReliabilityRow {
            from: pair[0],
            to: pair[1],
            modern: ones.len(),
            old: others.len(),
            stated: (all > 0.0).then(|| stated / all),
            observed: (all > 0.0).then(|| weights[0] * ones.len() as f64 / all),
        }
    };
    ends.windows(2).map(row).filter(|row| row.modern + row.old > 0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_count_and_weigh_both_kinds_alike() {
        // Two modern (weight 1/2 each), four old (1/4 each); in (0, 0.5]: one modern at log10(3) and one old at log10(3).
        let three = 3.0_f64.log10();
        let rows = reliability(&[three, 2.0], &[three, -2.0, -0.7, -0.2]);
        let middle = rows.iter().find(|row| (row.from, row.to) == (0.0, 0.5)).unwrap();
        assert_eq!((middle.modern, middle.old), (1, 1));
        assert!((middle.stated.unwrap() - 0.75).abs() < 1e-12); // odds 3 : 1
        assert!((middle.observed.unwrap() - 2.0 / 3.0).abs() < 1e-12); // 1/2 of 1/2 + 1/4
        assert_eq!(rows.iter().map(|row| row.modern + row.old).sum::<usize>(), 6);
    }

    #[test]
    fn a_reference_does_not_calibrate_itself() {
        let references = [vec![0, 1], vec![2, 3]];
        let scores: BTreeMap<usize, f64> = [(0, 1.0), (1, 2.0), (2, -1.0), (3, 9.0)].into();
        let folds = Folds::one_by_one(&references);
        let found = calibrated_without(&scores, &references, &folds, Bounds::of(2, 2));
        let line = Calibration::fit(&[1.0, 2.0], &[-1.0]).unwrap();
        assert!((found[&3] - Bounds::of(2, 2).hold(line.ln_ratio(9.0))).abs() < 1e-12);
    }
}
