//! What is compared between levels: forms, sizes, precision.

use ndarray::{Array2, Axis};
use rand::seq::SliceRandom;

use super::super::corpus::{Vessel, instrument_numbers};
use super::super::form::FormSpace;
use super::super::precision::PrecisionSpace;
use super::factor::{FEWEST_OF_LEVEL, Factor};
use crate::quantity::Seed;

/// Vessels of one test at most: above, so many are drawn. Five thousand show a share of variance of two thousandths; the test of
/// more would only take longer.
const MOST_TESTED: usize = 5_000;

/// Form is tested along as many components as hold this share of its variance; the rest would change the share in the third
/// digit and cost most of the time.
const FORM_SHARE: f64 = 0.999;

/// Observations of one aspect, one row per vessel.
pub(in crate::analysis) struct Samples {
    pub(super) vessels: Vec<String>,
    pub(super) values: Array2<f64>,
    /// The instrument of each vessel as a number; `None` of none or all of one.
    pub(super) instruments: Option<Vec<usize>>,
    /// Rows are exchanged only between vessels of one instrument: the values depend on it.
    pub(super) within_instruments: bool,
    /// Columns in logarithms whose mean difference is a ratio worth stating.
    pub(super) logarithms: Option<Array2<f64>>,
}

impl Samples {
    /// Scores of form.
    pub(in crate::analysis) fn of_form(form: &FormSpace, vessels: &[Vessel]) -> Self {
        let kept = form.components.holding(FORM_SHARE, form.components.rank());
        let values = form.scores.slice(ndarray::s![.., ..kept]).to_owned();
        Self::new(&form.vessels, values, vessels, None, false)
    }

    /// Logarithms of the centroid size.
    pub(in crate::analysis) fn of_size(form: &FormSpace, vessels: &[Vessel]) -> Self {
        let size = form.centroid_size_mm.iter().map(|size| size.ln()).collect::<ndarray::Array1<f64>>();
        let values = size.insert_axis(Axis(1));
        Self::new(&form.vessels, values.clone(), vessels, Some(values), false)
    }

    /// Scores of precision, within instruments: noise makes scores from a poor scanner draw together.
    pub(in crate::analysis) fn of_precision(space: &PrecisionSpace, vessels: &[Vessel]) -> Self {
        let values = space.scores.slice(ndarray::s![.., ..space.retained]).to_owned();
        Self::new(&space.vessels, values, vessels, Some(space.expected.clone()), true)
    }

    fn new(
        ids: &[String],
        values: Array2<f64>,
        all: &[Vessel],
        logarithms: Option<Array2<f64>>,
        within_instruments: bool,
    ) -> Self {
        Self {
            vessels: ids.to_vec(),
            values,
            instruments: instrument_numbers(ids, all),
            within_instruments,
            logarithms,
        }
    }

    /// The rows of vessels in these levels, with their levels; levels too small are left out, and many vessels sampled.
    pub(super) fn rows(&self, factor: &Factor, levels: &[usize], seed: Seed) -> (Vec<usize>, Vec<usize>) {
        let level = |row: &usize| factor.of.get(&self.vessels[*row]).copied();
        let of_levels = |row: &usize| level(row).is_some_and(|level| levels.contains(&level));
        let mut rows: Vec<usize> = (0..self.vessels.len()).filter(of_levels).collect();
        if rows.len() > MOST_TESTED {
            rows.shuffle(&mut seed.rng());
            rows.truncate(MOST_TESTED);
            rows.sort_unstable();
        }
        let of = rows.iter().filter_map(level).collect();
        (rows, of)
    }

    /// The levels of a factor that have vessels enough here.
    pub(super) fn levels(&self, factor: &Factor) -> Vec<usize> {
        let mut counts = vec![0_usize; factor.levels.len()];
        let known = self.vessels.iter().filter_map(|id| factor.of.get(id));
        known.for_each(|&level| counts[level] += 1);
        (0..counts.len()).filter(|&level| counts[level] >= FEWEST_OF_LEVEL).collect()
    }
}
