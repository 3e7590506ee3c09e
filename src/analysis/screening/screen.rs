//! The screening of a corpus: the order of its steps.

use std::collections::BTreeMap;
use std::f64::consts::LN_10;

use rayon::prelude::*;

use super::adjustment::Adjustment;
use super::calibration::Calibration;
use super::documented::{Documented, Refusal, check, documented, references, source};
use super::grounds::{cautions, sentence};
use super::interval::Resampled;
use super::leave_out::{Folds, LeftOut, judge, leave_out};
use super::model::{Bounds, FEWEST_MEASURES, MEASURES, ScreeningModel, choose, fit_rows, subject};
use super::params::ScreenParams;
use super::population::{Distance, Subject};
use super::support::support;
use super::validation::{MeasureUse, ReferenceScore, Validation, calibrated_without, costs, reliability};
use crate::analysis::AnalysisError;
use crate::analysis::cluster::drawn;
use crate::analysis::corpus::{Vessel, vessels_of_catalogue};
use crate::analysis::precision::LogReading;
use crate::quantity::Seed;
use crate::table::Table;

/// A vessel is unlike a population that would show one as far off this rarely.
const UNLIKE: f64 = 0.01;

/// Of more documented references of a kind, so many drawn at random make the model, its validation and its intervals.
///
/// Their mean is then known to 4 % of a standard deviation, far better than one vessel's measures, and the greatest ratio
/// they can back is 501. The others are judged as any vessel is. What it changes is tested.
const MOST_REFERENCES: usize = 500;

/// The streams of random draws that are the drawing's, one for each kind; the resamples have the first.
const DRAWN_SEEDS: [u64; 2] = [1 << 32, (1 << 32) + 1];

/// The tables a screening reads.
#[derive(Clone, Copy, Debug)]
pub struct ScreenInput<'a> {
    /// `scans`: `scan_id`, `vessel_id`; `status` and `instrument` where known.
    pub scans: &'a Table,
    /// `measures`: `vessel_id`, `measure`, `value`; `u`, `detection_limit`, `below_limit` where known.
    pub measures: &'a Table,
    /// `vessels`: `vessel_id`, `reference`; `setting`, `donor`, `material`, `mohs` where known.
    pub vessels: &'a Table,
}

/// What is said of one vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct Screened {
    /// The vessel.
    pub vessel: String,
    /// What the catalogue documents of it.
    pub documented: Option<Documented>,
    /// Logarithm (base 10) of the likelihood ratio modern : old; of a reference, from a model without it.
    pub log10_lr: Option<f64>,
    /// Ends of its 95 % interval.
    pub interval: Option<[f64; 2]>,
    /// Distances from the modern and the old population.
    pub distances: [Option<Distance>; 2],
    /// Whether it is unlike both.
    pub unlike_both: Option<bool>,
    /// Why the ratio is what it is.
    pub grounds: Option<String>,
    /// Why there is no ratio.
    pub refused: Option<String>,
}

impl Screened {
    /// The ratio in words, as far as its whole interval backs them; of a vessel unlike both populations, where two poor fits
    /// are compared, none.
    ///
    /// # Example
    /// A ratio of 10^1.2 whose interval reaches below 1 is no support:
    /// ```
    /// use tornus::analysis::screening::Screened;
    /// let said = |interval| {
    ///     let (vessel, distances) = ("jar".to_owned(), [None; 2]);
    ///     let (documented, grounds, refused) = (None, None, None);
    ///     let (log10_lr, unlike_both) = (Some(1.2), Some(false));
    ///     Screened { vessel, documented, log10_lr, interval, distances, unlike_both, grounds, refused }.support()
    /// };
    /// assert_eq!(said(Some([0.4, 1.8])).as_deref(), Some("moderate support for modern make"));
    /// assert_eq!(said(Some([-0.1, 1.8])).as_deref(), Some("no support either way"));
    /// ```
    #[must_use]
    pub fn support(&self) -> Option<String> {
        let open = self.interval.is_some_and(|[low, high]| low <= 0.0 && high >= 0.0);
        let said = if open || self.unlike_both == Some(true) { 0.0 } else { self.log10_lr? };
        self.log10_lr.map(|_| support(said))
    }
}

/// What is said of a corpus.
#[derive(Clone, Debug, PartialEq)]
pub struct Screening {
    /// Every vessel of the catalogue, sorted.
    pub vessels: Vec<Screened>,
    /// How the references themselves come out, or why nothing could be screened.
    pub validation: Result<Validation, Refusal>,
    /// The model, where there is one.
    pub model: Option<ScreeningModel>,
    subjects: BTreeMap<String, Subject>,
}

impl Screening {
    /// The readings the model judges a vessel by, in the order of its measures.
    #[must_use]
    pub fn readings(&self, vessel: &str) -> Option<&[LogReading]> {
        self.subjects.get(vessel).map(|subject| subject.readings.as_slice())
    }

    /// The logarithm (base 10) of the likelihood ratio a vessel would have with other readings: what another scan might say.
    ///
    /// `None` where the corpus was refused or the vessel is not known. A reference is judged by the model it is part of.
    #[must_use]
    pub fn log10_lr_with(&self, vessel: &str, readings: &[LogReading]) -> Option<f64> {
        let known = self.subjects.get(vessel).filter(|known| known.readings.len() == readings.len())?;
        let subject = Subject { regressors: known.regressors.clone(), readings: readings.to_vec() };
        Some(self.model.as_ref()?.log10_ratio(&subject))
    }
}

/// Screens the vessels of a corpus against its documented references.
///
/// The ratio says how many times more probable a vessel's measures are among modern references than among old ones, given
/// its size and the hardness of its material. Each population is a normal over the logarithms of the measures, whose
/// covariance and mean are known only as well as its references tell (a t-distribution); a vessel's own measurement
/// variances are added, and a value below its detection limit is a bound. Scores are calibrated on the references, each
/// scored by a model without it. Variances are taken as independent between measures: the tables hold no covariances.
///
/// # Errors
/// [`AnalysisError`] if a table lacks a column. References that are too few, from one source or confounded are no error: every
/// vessel is refused with the reason.
///
/// # Example
/// ```
/// use tornus::Seed;
/// use tornus::analysis::screening::{ScreenInput, ScreenParams, screen};
/// use tornus::table::{Column, Table};
/// let words = |names: [&str; 2]| names.map(|name| Column::texts(name, ["a"])).to_vec();
/// let scans = Table::new("scans", words(["scan_id", "vessel_id"]))?;
/// let vessels = Table::new("vessels", words(["vessel_id", "reference"]))?;
/// let measures = [words(["vessel_id", "measure"]), vec![Column::floats("value", [0.1])]].concat();
/// let input = ScreenInput { scans: &scans, measures: &Table::new("measures", measures)?, vessels: &vessels };
/// let found = screen(&input, ScreenParams::new(), Seed::new(1))?;
/// assert_eq!(
///     found.vessels[0].refused.as_deref(),
///     Some("6 more documented modern references are needed: there are 0, at least 6 are wanted")
/// );
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn screen(input: &ScreenInput<'_>, params: ScreenParams, seed: Seed) -> Result<Screening, AnalysisError> {
    let vessels = vessels_of_catalogue(input.scans, input.measures, input.vessels, &MEASURES)?;
    Ok(screened(&vessels, params, seed).unwrap_or_else(|refusal| Screening {
        vessels: vessels.iter().map(|vessel| refused(vessel, refusal.to_string())).collect(),
        validation: Err(refusal),
        model: None,
        subjects: BTreeMap::new(),
    }))
}

fn refused(vessel: &Vessel, reason: String) -> Screened {
    Screened {
        vessel: vessel.id.clone(),
        documented: documented(vessel),
        log10_lr: None,
        interval: None,
        distances: [None; 2],
        unlike_both: None,
        grounds: None,
        refused: Some(reason),
    }
}

fn screened(vessels: &[Vessel], params: ScreenParams, seed: Seed) -> Result<Screening, Refusal> {
    let references = references(vessels);
    check(vessels, &references)?;
    let measures = choose(vessels, &references)?;
    let references = few(references, seed);
    let all: Vec<&Vessel> = references.iter().flatten().map(|&row| &vessels[row]).collect();
    let adjustment = Adjustment::of(&all);
    let subjects: Vec<Subject> = vessels.iter().map(|vessel| subject(vessel, &measures, &adjustment)).collect();
    let bounds = Bounds::of(references[0].len(), references[1].len());
    let populations = fit_rows(&subjects, [&references[0], &references[1]], None).ok_or(Refusal::NotRegular)?;
    let folds = Folds::one_by_one(&references);
    let left_out = leave_out(&subjects, &references, &folds, bounds).ok_or(Refusal::NotRegular)?;
    let scores: BTreeMap<usize, f64> = left_out.iter().map(|(row, left)| (*row, left.score)).collect();
    let of_kind = |kind: usize| references[kind].iter().filter_map(|row| scores.get(row).copied()).collect::<Vec<_>>();
    let calibration = Calibration::fit(&of_kind(0), &of_kind(1)).ok_or(Refusal::NotRegular)?;
    let model = ScreeningModel { measures, adjustment, populations, calibration, bounds };
    let cross = CrossChecked { ratios: calibrated_without(&scores, &references, &folds, bounds), left_out };
    let validation = validate(vessels, &subjects, &references, &model, &cross).ok_or(Refusal::NotRegular)?;
    let populations = &model.populations;
    let resampled = Resampled { subjects: &subjects, references: &references, populations, scores: &scores, bounds };
    let intervals = resampled.intervals(params.resamples(), seed);
    let judged = vessels
        .par_iter()
        .enumerate()
        .map(|(row, vessel)| statement(vessel, &subjects[row], &model, cross.of(row), intervals[row]));
    Ok(Screening {
        vessels: judged.collect(),
        validation: Ok(validation),
        model: Some(model),
        subjects: vessels.iter().map(|vessel| vessel.id.clone()).zip(subjects).collect(),
    })
}

/// At most [`MOST_REFERENCES`] of each kind.
fn few(references: [Vec<usize>; 2], seed: Seed) -> [Vec<usize>; 2] {
    let [modern, old] = DRAWN_SEEDS.map(|item| seed.derive(item));
    let part = |rows: Vec<usize>, seed: Seed| {
        drawn(rows.len(), MOST_REFERENCES, seed).into_iter().map(|place| rows[place]).collect()
    };
    let [of_modern, of_old] = references;
    [part(of_modern, modern), part(of_old, old)]
}

/// What the references get from models and calibrations without them, by row.
struct CrossChecked {
    left_out: BTreeMap<usize, LeftOut>,
    /// Natural logarithms of their ratios.
    ratios: BTreeMap<usize, f64>,
}

impl CrossChecked {
    fn of(&self, row: usize) -> Option<(LeftOut, f64)> {
        Some((*self.left_out.get(&row)?, *self.ratios.get(&row)?))
    }
}

/// What is said of one vessel; `cross` is what it got as a reference left out.
fn statement(
    vessel: &Vessel,
    subject: &Subject,
    model: &ScreeningModel,
    cross: Option<(LeftOut, f64)>,
    interval: Option<[f64; 2]>,
) -> Screened {
    let known = subject.readings.iter().filter(|reading| **reading != LogReading::Missing).count();
    if !vessel.measured {
        return refused(vessel, "not measured".to_owned());
    }
    if known < FEWEST_MEASURES {
        let all = model.measures.len();
        return refused(
            vessel,
            format!("{known} of the {all} measures are known, at least {FEWEST_MEASURES} are wanted"),
        );
    }
    let judged = judge(&model.populations, subject, model.bounds);
    let (LeftOut { distances, .. }, ln_ratio) = cross.unwrap_or_else(|| (judged, LN_10 * model.log10_ratio(subject)));
    let unlike = |distance: Option<Distance>| distance.is_some_and(|distance| distance.p < UNLIKE);
    let unlike_both = distances.into_iter().all(unlike);
    let at_bound = ln_ratio <= model.bounds.least || ln_ratio >= model.bounds.greatest;
    let mut grounds = vec![sentence(&model.measures, &model.populations, subject)];
    grounds.extend(cautions(unlike_both, at_bound, &model.adjustment.outside(vessel)));
    let log10 = ln_ratio / LN_10;
    Screened {
        vessel: vessel.id.clone(),
        documented: documented(vessel),
        log10_lr: Some(log10),
        interval: interval.map(|[low, high]| [(low / LN_10).min(log10), (high / LN_10).max(log10)]),
        distances,
        unlike_both: Some(unlike_both),
        grounds: Some(grounds.join("; ")),
        refused: None,
    }
}

fn validate(
    vessels: &[Vessel],
    subjects: &[Subject],
    references: &[Vec<usize>; 2],
    model: &ScreeningModel,
    cross: &CrossChecked,
) -> Option<Validation> {
    let folds = Folds::by_source(references, |row| source(&vessels[row]));
    let without_source = leave_out(subjects, references, &folds, model.bounds).map(|left| {
        let scores: BTreeMap<usize, f64> = left.iter().map(|(row, left)| (*row, left.score)).collect();
        calibrated_without(&scores, references, &folds, model.bounds)
    });
    let (cost, least) = costs(&cross.ratios, references)?;
    let rows =
        references.iter().zip(Documented::BOTH).flat_map(|(rows, kind)| rows.iter().map(move |row| (*row, kind)));
    let mut scores: Vec<ReferenceScore> = rows
        .filter_map(|(row, documented)| {
            Some(ReferenceScore {
                vessel: vessels[row].id.clone(),
                documented,
                source: source(&vessels[row]).to_owned(),
                log10_lr: cross.ratios.get(&row)? / LN_10,
                log10_lr_source_out: without_source.as_ref().and_then(|ratios| ratios.get(&row)).map(|ln| ln / LN_10),
            })
        })
        .collect();
    scores.sort_by(|a, b| a.vessel.cmp(&b.vessel));
    let of = |kind: Documented| scores.iter().filter(move |s| s.documented == kind).map(|s| s.log10_lr);
    Some(Validation {
        reliability: reliability(&of(Documented::Modern).collect::<Vec<_>>(), &of(Documented::Old).collect::<Vec<_>>()),
        cllr: cost,
        least_cllr: least,
        cllr_source_out: without_source.and_then(|ratios| costs(&ratios, references)).map(|(cost, _)| cost),
        measures: uses(subjects, references, model),
        adjusted_for: model.adjustment.words(),
        bounds: model.bounds,
        references: scores,
    })
}

/// What is usual of each measure at the mean size and material of a kind's references.
fn uses(subjects: &[Subject], references: &[Vec<usize>; 2], model: &ScreeningModel) -> Vec<MeasureUse> {
    let usual = [0, 1].map(|kind: usize| {
        let rows = &references[kind];
        let count = rows.len() as f64;
        let columns = subjects.first().map_or(0, |subject| subject.regressors.len());
        let mean: Vec<f64> =
            (0..columns).map(|k| rows.iter().map(|&row| subjects[row].regressors[k]).sum::<f64>() / count).collect();
        let population = &model.populations.both[kind];
        (population.mean(&mean), population.spread(&mean))
    });
    let of = |(k, measure): (usize, &&'static str)| MeasureUse {
        measure,
        usual_mm: usual.each_ref().map(|(mean, _)| mean[k].exp()),
        spread: usual.each_ref().map(|(_, spread)| spread[k]),
    };
    model.measures.iter().enumerate().map(of).collect()
}

#[cfg(test)]
mod tests {
    use rand::Rng;
    use rand_distr::StandardNormal;

    use super::*;

    /// Vessels whose three logarithms scatter by 0.5 about `at`, correlated by 0.5 and measured to 0.1.
    fn pieces(count: usize, at: f64, seed: u64) -> Vec<Subject> {
        let mut rng = Seed::new(seed).rng();
        let mut normal = || rng.sample::<f64, _>(StandardNormal);
        let mut piece = || {
            let shared = normal();
            let mut value = || at + 0.5 * 0.5_f64.sqrt() * (shared + normal()) + 0.1 * normal();
            let readings = (0..3).map(|_| LogReading::Known { value: value(), variance: 0.01, hidden: 0.0 }).collect();
            Subject { regressors: vec![1.0], readings }
        };
        (0..count).map(|_| piece()).collect()
    }

    /// The logarithm of a ratio between normals of p means and p (p + 1) / 2 covariances that n references tell has the
    /// variance (p + p (p + 1) / 2) / n for each of both, for vessels usual in one of them: with p = 3 and n = 500 together
    /// 0.036, its root 0.19. Vessels usual in one are 1.2 standard deviations per measure off the other: twice that is allowed.
    #[test]
    fn five_hundred_references_say_what_three_thousand_do() {
        let subjects =
            [pieces(3_000, 0.0, 1), pieces(3_000, 0.6, 2), pieces(100, 0.0, 3), pieces(100, 0.6, 4)].concat();
        let references = [(0..3_000).collect::<Vec<_>>(), (3_000..6_000).collect()];
        let drawn = few(references.clone(), Seed::new(5));
        assert_eq!(drawn.each_ref().map(Vec::len), [MOST_REFERENCES; 2]);
        assert!(drawn.iter().zip(&references).all(|(part, all)| part.iter().all(|row| all.contains(row))));
        let [whole, part] = [&references, &drawn].map(|rows| fit_rows(&subjects, [&rows[0], &rows[1]], None).unwrap());
        let squares = subjects[6_000..].iter().map(|piece| (whole.score(piece) - part.score(piece)).powi(2));
        let root = (squares.sum::<f64>() / 200.0).sqrt();
        assert!(root < 2.0 * 0.19, "{root}");
        let few_enough = [vec![1, 2], vec![5]];
        assert_eq!(few(few_enough.clone(), Seed::new(5)), few_enough);
    }
}
