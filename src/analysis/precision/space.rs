//! The space that the logarithms of the precision measures of a corpus span.

use ndarray::{Array1, Array2, ArrayView2, Axis};
use rayon::prelude::*;

use super::super::corpus::Vessel;
use super::super::{AnalysisError, PrincipalComponents};
use super::factors::Factors;
use super::latent::{self, LatentFit, Population, Site};
use super::{LogReading, ToleranceGrade, log_reading, tolerance_grade};
use crate::quantity::Seed;
use crate::table::{MEASURES, MeasureKind};

/// A measure is used if at least one vessel in this many has a value, not only a bound.
const ONE_KNOWN_IN: usize = 3;

/// And in at least this many vessels, or in all of fewer.
const FEWEST_KNOWN: usize = 3;

/// Precision of a corpus in one space.
///
/// Scores are those of the expected true logarithms: a vessel from a noisy scan lies nearer to the mean, with a greater
/// uncertainty, and a value below its detection limit counts as a bound.
#[derive(Clone, Debug, PartialEq)]
pub struct PrecisionSpace {
    /// Vessels with at least one precision measure, in the order of the rows.
    pub vessels: Vec<String>,
    /// The measures used, in the order of the loadings.
    pub measures: Vec<&'static str>,
    /// Precision measures seen but not used: too few values above their detection limits.
    pub measures_left_out: Vec<&'static str>,
    /// Natural logarithms as they were read, vessels x measures.
    pub readings: Vec<Vec<LogReading>>,
    /// Expected true logarithms of mm, vessels x measures.
    pub expected: Array2<f64>,
    /// Principal components of the population's covariance, noise taken out.
    pub components: PrincipalComponents,
    /// Scores, vessels x components.
    pub scores: Array2<f64>,
    /// Their standard uncertainties.
    pub u_scores: Array2<f64>,
    /// How many factors the measures share, along which groups are looked for; about the first so many components.
    pub retained: usize,
    /// Grade of the outer roundness at the greatest diameter; `None` where it is below its limit or missing.
    pub grades: Vec<Option<ToleranceGrade>>,
    /// Grade of the detection limit where the roundness is only known to lie below it.
    pub grades_at_most: Vec<Option<f64>>,
    /// The population of the true logarithms; `None` where nothing was fitted.
    population: Option<Population>,
    /// What each vessel's data say of them.
    sites: Vec<Vec<Site>>,
}

impl PrecisionSpace {
    /// Standard uncertainty of a vessel's expected logarithms along a direction of the measures.
    #[must_use]
    pub fn u_along(&self, row: usize, direction: &Array1<f64>) -> f64 {
        let found = u_along(self.population.as_ref(), &self.sites[row], direction.view().insert_axis(Axis(0)));
        found.first().copied().unwrap_or_default()
    }
}

/// What the grouping needs beside the published space.
pub(in crate::analysis) struct PrecisionModel {
    /// Mean logarithms of the measures.
    pub(in crate::analysis) mean: Vec<f64>,
    /// What the measures share, and the variance each has alone.
    pub(in crate::analysis) factors: Factors,
    /// What each vessel's data say of each logarithm.
    pub(in crate::analysis) sites: Vec<Vec<Site>>,
}

/// The precision space of vessels sorted by identifier.
pub(in crate::analysis) fn precision_space(
    vessels: &[Vessel],
    seed: Seed,
) -> Result<(PrecisionSpace, PrecisionModel), AnalysisError> {
    let names: Vec<&'static str> =
        MEASURES.iter().filter(|m| m.kind == MeasureKind::Precision).map(|m| m.name).collect();
    let rows: Vec<&Vessel> = vessels.iter().filter(|v| names.iter().any(|n| v.readings.contains_key(*n))).collect();
    let (measures, measures_left_out) = choose(&rows, names);
    let readings: Vec<Vec<LogReading>> =
        rows.iter().map(|v| measures.iter().map(|name| log_reading(v.readings.get(*name))).collect()).collect();
    let fitted = if measures.is_empty() || rows.len() < 2 { None } else { latent::fit(&readings, seed) };
    let fitted = fitted.unwrap_or_else(|| nothing(rows.len(), measures.len()));
    let components = PrincipalComponents::of_covariance(Array1::from(fitted.mean.clone()), &fitted.covariance)
        .ok_or(AnalysisError::NoComponents { space: "precision", rows: measures.len(), columns: measures.len() })?;
    let model = model(&readings, &fitted, &components, seed);
    let scores = components.scores(&fitted.expected);
    let along = |sites: &Vec<Site>| u_along(fitted.population.as_ref(), sites, components.loadings.view());
    let us: Vec<Vec<f64>> = fitted.sites.par_iter().map(along).collect();
    let u_scores = Array2::from_shape_fn(scores.dim(), |(row, k)| us[row][k]);
    let space = PrecisionSpace {
        vessels: rows.iter().map(|v| v.id.clone()).collect(),
        measures,
        measures_left_out,
        readings,
        expected: fitted.expected,
        retained: model.factors.loadings.ncols().min(components.rank()),
        components,
        scores,
        u_scores,
        grades: rows.iter().map(|v| grade(v)).collect(),
        grades_at_most: rows.iter().map(|v| grade_at_most(v)).collect(),
        population: fitted.population,
        sites: fitted.sites,
    };
    Ok((space, model))
}

/// Measures with enough values, and the others that were seen at all.
fn choose(rows: &[&Vessel], names: Vec<&'static str>) -> (Vec<&'static str>, Vec<&'static str>) {
    let enough = rows.len().div_ceil(ONE_KNOWN_IN).max(FEWEST_KNOWN.min(rows.len())).max(1);
    let is_known = |v: &&&Vessel, name: &str| matches!(log_reading(v.readings.get(name)), LogReading::Known { .. });
    let seen = names.into_iter().filter(|name| rows.iter().any(|v| v.readings.contains_key(*name)));
    seen.partition(|name| rows.iter().filter(|v| is_known(v, name)).count() >= enough)
}

fn nothing(rows: usize, measures: usize) -> LatentFit {
    LatentFit {
        mean: vec![0.0; measures],
        covariance: Array2::zeros((measures, measures)),
        expected: Array2::zeros((rows, measures)),
        population: None,
        sites: vec![vec![Site::default(); measures]; rows],
    }
}

/// The factor model; of fewer measures than one needs, the components themselves.
fn model(
    readings: &[Vec<LogReading>],
    fitted: &LatentFit,
    components: &PrincipalComponents,
    seed: Seed,
) -> PrecisionModel {
    let found = latent::fit_factors(readings, fitted, seed).map(|found| PrecisionModel {
        mean: found.mean,
        factors: found.factors,
        sites: found.sites,
    });
    found.unwrap_or_else(|| {
        let measures = fitted.mean.len();
        let loadings = Array2::from_shape_fn((measures, components.rank()), |(measure, k)| {
            components.loadings[[k, measure]] * components.variances[k].sqrt()
        });
        let unique = vec![latent::LEAST_VARIANCE; measures];
        PrecisionModel { mean: fitted.mean.clone(), factors: Factors { loadings, unique }, sites: fitted.sites.clone() }
    })
}

/// Standard uncertainties of a vessel's expected logarithms along directions, one a row; nought where nothing was fitted.
fn u_along(population: Option<&Population>, sites: &[Site], directions: ArrayView2<'_, f64>) -> Vec<f64> {
    let found = population.and_then(|population| population.u_along(sites, directions));
    found.unwrap_or_else(|| vec![0.0; directions.nrows()])
}

fn grade(vessel: &Vessel) -> Option<ToleranceGrade> {
    let reading = vessel.readings.get("roundness_outer").filter(|reading| !reading.below)?;
    tolerance_grade(reading.value, reading.u, vessel.value("max_diameter")?)
}

fn grade_at_most(vessel: &Vessel) -> Option<f64> {
    let LogReading::Below { limit } = log_reading(vessel.readings.get("roundness_outer")) else { return None };
    tolerance_grade(limit.exp(), 0.0, vessel.value("max_diameter")?).map(|found| found.grade)
}
