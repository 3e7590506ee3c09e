//! The comparison of a corpus: the order of its steps.

use super::AnalysisError;
use super::association::{Association, associations};
use super::cluster::{Evidence, Grouping, Method, group};
use super::corpus::{CompareInput, Vessel, vessels};
use super::difference::{Aspect, Difference, Samples, differences, factors};
use super::form::{FormNeighbour, FormSpace, form_space, neighbours};
use super::form_tree::{FormTree, form_tree};
use super::outlier::{Circumstances, FormOutlier, PrecisionOutlier, form_outliers, precision_outliers};
use super::params::CompareParams;
use super::precision::{PrecisionModel, PrecisionSpace, Site, precision_space};
use crate::quantity::Seed;

/// Form scores that stand for the form of a vessel where there is only one form group.
const FORM_SCORES: usize = 2;

/// Vessels named as nearest in form to each ("project": what a drawer of a cabinet shows at a glance).
const NEIGHBOURS: usize = 5;

/// Vessels named for their precision are exceptions while they are at most one in so many.
const MOST_NAMED: usize = 4;

/// What is said about a corpus.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Vessels compared in form or in precision, sorted.
    pub vessels: Vec<String>,
    /// The form space.
    pub form: FormSpace,
    /// Groups of its rows.
    pub form_groups: Grouping,
    /// The forms nearest to each of its rows.
    pub form_neighbours: Vec<Vec<FormNeighbour>>,
    /// The tree of its rows.
    pub form_tree: FormTree,
    /// Unusual forms among its rows.
    pub form_outliers: Vec<FormOutlier>,
    /// The precision space.
    pub precision: PrecisionSpace,
    /// Groups of its rows.
    pub precision_groups: Grouping,
    /// Unusual precision among its rows.
    pub precision_outliers: Vec<PrecisionOutlier>,
    /// Differences between the levels of catalogue columns.
    pub differences: Vec<Difference>,
    /// Form against precision and against size, where there are vessels enough.
    pub associations: Vec<Association>,
    /// A vessel is called an outlier where an adjusted p-value is at most this.
    pub false_discovery_rate: f64,
}

/// Compares the vessels of a corpus in form and in precision.
///
/// The vessel is the statistical unit: scans of one vessel are averaged before anything is estimated. Neither the order of
/// the rows nor the number of threads changes a result.
///
/// # Errors
/// [`AnalysisError`] if a table lacks a column, or more groups are asked for than vessels differ. A small corpus is no
/// error: it is one group, and what cannot be judged is missing.
///
/// # Example
/// Two cones of the same outline, one twice as large: the same form, so no component of form is left.
/// ```
/// use tornus::Seed;
/// use tornus::analysis::{CompareInput, CompareParams, Groups, Meridians, compare};
/// use tornus::table::{Column, Table};
/// let scans = [Column::texts("scan_id", ["a1", "b1"]), Column::texts("vessel_id", ["a", "b"])];
/// let profiles = [
///     Column::texts("scan_id", ["a1", "a1", "a1", "b1", "b1", "b1"]),
///     Column::texts("wall", ["outer"; 6]),
///     Column::integers("station", [0, 1, 2, 0, 1, 2]),
///     Column::floats("height_mm", [0.0, 10.0, 20.0, 0.0, 20.0, 40.0]),
///     Column::floats("radius_mm", [5.0, 10.0, 15.0, 10.0, 20.0, 30.0]),
/// ];
/// let mut meridians = Meridians::default();
/// meridians.add(&Table::new("profiles", profiles.to_vec())?)?;
/// let measures = ["vessel_id", "measure"].map(|name| Column::texts(name, [""; 0]));
/// let measures = [measures.to_vec(), vec![Column::floats("value", [])]].concat();
/// let input = CompareInput {
///     scans: &Table::new("scans", scans.to_vec())?,
///     meridians: &meridians,
///     measures: &Table::new("measures", measures)?,
///     vessels: &Table::new("vessels", vec![Column::texts("vessel_id", ["a", "b"])])?,
/// };
/// let found = compare(&input, &CompareParams::new(Groups::Auto), Seed::new(1))?;
/// assert_eq!((found.form.components.rank(), found.form_groups.groups), (0, 1));
/// assert!((found.form.centroid_size_mm[1] / found.form.centroid_size_mm[0] - 2.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn compare(input: &CompareInput<'_>, params: &CompareParams, seed: Seed) -> Result<Comparison, AnalysisError> {
    let vessels = vessels(input)?;
    let factors = factors(input.vessels, params.factors())?;
    // Form and precision ask nothing of each other until a vessel's precision is judged among those of its form.
    let (grouped, precise) =
        rayon::join(|| grouped_forms(&vessels, params, seed), || precision_space(&vessels, seed.derive(3)));
    let (form, form_groups) = grouped?;
    let (precision, model) = precise?;
    let places = form.retained_scores();
    let rows: Vec<&Vessel> = of_space(&vessels, &precision.vessels);
    let around: Vec<Circumstances> = rows.iter().map(|v| circumstances(v, &form, &form_groups)).collect();
    let limits: Vec<Vec<Option<f64>>> =
        rows.iter().map(|v| precision.measures.iter().map(|name| v.limit(name)).collect()).collect();
    let rate = params.false_discovery_rate();
    let of_precision = || {
        let outliers = precision_outliers(&precision, &around, &limits, rate, seed.derive(4));
        let usual = usual_rows(&outliers, rate);
        let evidence = precision_evidence(&model);
        let groups = group("precision", &evidence, &usual, Method::Mixture, params, seed.derive(5));
        groups.map(|groups| (outliers, groups))
    };
    let of_form = || {
        let root = form.stations_root();
        let us = form.retained_u_scores();
        let outliers = form_outliers(&places, &us, &form_groups.labels, seed.derive(2));
        let tree = form_tree(&places, root, &form_groups, seed.derive(7));
        (neighbours(&places, &us, root, NEIGHBOURS), tree, outliers)
    };
    let tested = || {
        let samples = [
            (Aspect::Form, Samples::of_form(&form, &vessels)),
            (Aspect::Size, Samples::of_size(&form, &vessels)),
            (Aspect::Precision, Samples::of_precision(&precision, &vessels)),
        ];
        let associations = associations(&form, &precision, &vessels, seed.derive(8));
        (differences(&factors, &samples, seed.derive(6)), associations)
    };
    let (by_precision, ((form_neighbours, form_tree, form_outliers), (differences, associations))) =
        rayon::join(of_precision, || rayon::join(of_form, tested));
    let (precision_outliers, precision_groups) = by_precision?;
    Ok(Comparison {
        differences,
        associations,
        vessels: vessels.into_iter().map(|vessel| vessel.id).collect(),
        form,
        form_groups,
        form_neighbours,
        form_tree,
        form_outliers,
        precision,
        precision_groups,
        precision_outliers,
        false_discovery_rate: rate,
    })
}

/// The form space and the groups of its rows.
fn grouped_forms(
    vessels: &[Vessel],
    params: &CompareParams,
    seed: Seed,
) -> Result<(FormSpace, Grouping), AnalysisError> {
    let form = form_space(vessels, params.form())?;
    let evidence = Evidence::from_points(&form.retained_scores(), &form_noise(&form)).with_strays();
    let all: Vec<usize> = (0..form.vessels.len()).collect();
    let groups = group("form", &evidence, &all, params.form_method(), params, seed.derive(1))?;
    Ok((form, groups))
}

fn of_space<'a>(vessels: &'a [Vessel], ids: &[String]) -> Vec<&'a Vessel> {
    vessels.iter().filter(|vessel| ids.binary_search(&vessel.id).is_ok()).collect()
}

/// Rows that are not named for their precision: those shape the groups, since a handful of vessels truer than their peers
/// would smear the groups they came from. All rows, if so many are named that they are no exceptions.
fn usual_rows(outliers: &[PrecisionOutlier], rate: f64) -> Vec<usize> {
    let usual: Vec<usize> = (0..outliers.len()).filter(|&row| outliers[row].q.is_none_or(|q| q > rate)).collect();
    if usual.len() >= outliers.len() - outliers.len() / MOST_NAMED { usual } else { (0..outliers.len()).collect() }
}

/// Root mean square uncertainty of the retained scores: tiny beside the differences between forms, so one for all.
fn form_noise(form: &FormSpace) -> Vec<f64> {
    let rows = form.u_scores.nrows().max(1) as f64;
    (0..form.retained).map(|k| (form.u_scores.column(k).iter().map(|u| u * u).sum::<f64>() / rows).sqrt()).collect()
}

/// What each vessel's measures say of its place along the factors; its best single place is the one expected.
fn precision_evidence(model: &PrecisionModel) -> Evidence {
    let loadings = &model.factors.loadings;
    let n = loadings.ncols();
    let one = |sites: &Vec<Site>| {
        let (mut precision, mut shift) = (vec![0.0; n * n], vec![0.0; n]);
        for (measure, site) in sites.iter().enumerate().filter(|(_, site)| site.precision > 0.0) {
            // Scatter of the measure outside the factors and noise of the reading, together.
            let weight = 1.0 / (model.factors.unique[measure] + 1.0 / site.precision);
            let rest = site.shift / site.precision - model.mean[measure];
            for i in 0..n {
                shift[i] += weight * loadings[[measure, i]] * rest;
                (0..n).for_each(|j| precision[i * n + j] += weight * loadings[[measure, i]] * loadings[[measure, j]]);
            }
        }
        (precision, shift)
    };
    Evidence::from_information(n, model.sites.iter().map(one).collect())
}

fn circumstances(vessel: &Vessel, form: &FormSpace, groups: &Grouping) -> Circumstances {
    let row = form.vessels.binary_search(&vessel.id).ok();
    let several = groups.groups > 1;
    let scores = |row: usize| form.scores.row(row).iter().take(FORM_SCORES.min(form.retained)).copied().collect();
    Circumstances {
        form_group: row.filter(|_| several).map(|row| groups.labels[row]),
        form_scores: row.filter(|_| !several).map(scores).unwrap_or_default(),
        size_mm: vessel.value("max_diameter").or_else(|| row.map(|row| form.centroid_size_mm[row])),
        material: vessel.material.clone(),
        mohs: vessel.mohs,
        instrument: vessel.instrument.clone(),
    }
}
