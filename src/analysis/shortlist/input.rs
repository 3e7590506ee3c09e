//! The tables a shortlist reads: the only place here that knows a column's name.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use super::super::AnalysisError;
use super::super::drawn::drawn_scans;
use super::super::form::MeridianPoint;
use super::super::meridians::Meridians;
use super::feasible::Bulk;
use crate::math::robust::median;
use crate::table::{Table, TableError};

/// The tables a shortlist is made from, by their published names: `vessels`, `scans` and `measures` must be there;
/// `outliers`, `precision_residuals`, `clusters`, `form_scores`, `precision_scores` and `screening` are read where they are.
#[derive(Clone, Debug)]
pub struct ShortlistInput<'a> {
    tables: BTreeMap<&'a str, &'a Table>,
    meridians: &'a Meridians,
}

impl Piece {
    /// What the rays have to come through, with its walls as heights and radii.
    pub(super) fn whole(&self) -> Bulk {
        let [outer, inner] =
            self.walls.each_ref().map(|wall| wall.iter().map(|point| (point.height_mm, point.radius_mm)).collect());
        Bulk { outer, inner, ..self.bulk.clone() }
    }
}

impl<'a> ShortlistInput<'a> {
    /// The tables, of two with one name the later, and the meridians.
    pub fn new(tables: impl IntoIterator<Item = &'a Table>, meridians: &'a Meridians) -> Self {
        Self { tables: tables.into_iter().map(|table| (table.name(), table)).collect(), meridians }
    }

    pub(super) fn get(&self, name: &str) -> Option<&'a Table> {
        self.tables.get(name).copied()
    }

    fn need(&self, name: &'static str) -> Result<&'a Table, AnalysisError> {
        let missing = || TableError::NoColumn { table: name.to_owned(), column: "vessel_id".to_owned() };
        self.get(name).ok_or_else(|| missing().into())
    }
}

/// One measure's residual of one vessel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct MeasureNoise {
    /// Standard deviation of what is usual of the measure.
    pub(super) spread: f64,
    /// Whether only a bound is known.
    pub(super) bound: bool,
    /// The value, or the bound, mm.
    pub(super) value_mm: f64,
    /// Its standard uncertainty, mm.
    pub(super) u_mm: f64,
}

/// How precise a vessel is beside what is usual.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Level {
    pub(super) residual: f64,
    pub(super) spread: f64,
    pub(super) bound: bool,
    pub(super) p: Option<f64>,
    pub(super) named: bool,
}

/// What the tables say of one vessel.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Piece {
    pub(super) vessel: String,
    pub(super) cost: Option<f64>,
    pub(super) documented: bool,
    pub(super) bulk: Bulk,
    /// Its outer and its inner wall, which [`Piece::whole`] puts there.
    pub(super) walls: [Arc<Vec<MeridianPoint>>; 2],
    /// Share of the interior that was seen.
    pub(super) inner_seen: f64,
    /// Median uncertainty of the outer wall's radii, mm.
    pub(super) u_radius_mm: Option<f64>,
    pub(super) level: Option<Level>,
    pub(super) noises: Vec<MeasureNoise>,
    pub(super) form_group: Option<i64>,
    pub(super) precision_group: Option<i64>,
    /// Scores of form and of precision, each with its uncertainty.
    pub(super) form_scores: Vec<(f64, f64)>,
    pub(super) precision_scores: Vec<(f64, f64)>,
    /// Likelihood ratio of modern work: log10, and the ends of its 95 % interval.
    pub(super) modern: Option<(f64, f64, f64)>,
}

/// Every vessel with a reduced scan, sorted.
pub(super) fn pieces(input: &ShortlistInput<'_>) -> Result<Vec<Piece>, AnalysisError> {
    let scans = input.need("scans")?;
    let drawn = drawn_scans(scans)?;
    let mut found: BTreeMap<String, Piece> =
        drawn.values().map(|vessel| (vessel.clone(), Piece { vessel: vessel.clone(), ..Piece::default() })).collect();
    catalogue(input.need("vessels")?, &mut found)?;
    walls(input.meridians, &drawn, &mut found);
    coverage(scans, &drawn, &mut found)?;
    measures(input.need("measures")?, input.get("precision_residuals"), &mut found)?;
    if let Some(table) = input.get("outliers") {
        levels(table, &mut found)?;
    }
    for (name, form) in [("form_scores", true), ("precision_scores", false)] {
        if let Some(table) = input.get(name) {
            for (vessel, scores) in scores(table)? {
                if let Some(piece) = found.get_mut(&vessel) {
                    if form { piece.form_scores = scores } else { piece.precision_scores = scores }
                }
            }
        }
    }
    if let Some(table) = input.get("clusters") {
        let (form, precision) = (table.integers("form_cluster")?, table.integers("precision_cluster")?);
        each(table, &mut found, |row, piece| {
            (piece.form_group, piece.precision_group) = (form[row], precision[row]);
        })?;
    }
    if let Some(table) = input.get("screening") {
        let ends = ["log10_lr_modern", "log10_lr_low", "log10_lr_high"].map(|name| table.floats(name));
        let [ratio, low, high] = ends;
        let (ratio, low, high) = (ratio?, low?, high?);
        each(table, &mut found, |row, piece| {
            piece.modern = ratio[row].zip(low[row].zip(high[row])).map(|(ratio, (low, high))| (ratio, low, high));
        })?;
    }
    Ok(found.into_values().collect())
}

/// Does something with every row whose vessel is known.
fn each(
    table: &Table,
    found: &mut BTreeMap<String, Piece>,
    mut with: impl FnMut(usize, &mut Piece),
) -> Result<(), AnalysisError> {
    for (row, vessel) in table.texts("vessel_id")?.iter().enumerate() {
        if let Some(piece) = vessel.as_ref().and_then(|vessel| found.get_mut(vessel)) {
            with(row, piece);
        }
    }
    Ok(())
}

/// A column of numbers, or nothing where a catalogue has no such column or holds words in it.
fn numbers<'a>(table: &'a Table, name: &str) -> Option<&'a [Option<f64>]> {
    table.floats(name).ok()
}

fn catalogue(vessels: &Table, found: &mut BTreeMap<String, Piece>) -> Result<(), AnalysisError> {
    let (costs, densities) = (numbers(vessels, "ct_cost"), numbers(vessels, "density_g_cm3"));
    let (materials, references) = (vessels.texts("material").ok(), vessels.texts("reference").ok());
    // A catalogue without costs counts pieces.
    let counted = costs.is_none_or(|costs| costs.iter().all(Option::is_none));
    each(vessels, found, |row, piece| {
        let given = costs.and_then(|costs| costs[row]).filter(|cost| *cost > 0.0);
        piece.cost = if counted { Some(1.0) } else { given };
        piece.bulk.density_g_cm3 = densities.and_then(|column| column[row]).filter(|density| *density > 0.0);
        piece.bulk.material = materials.and_then(|column| column[row].clone());
        piece.documented = references.is_some_and(|column| column[row].is_some());
    })
}

fn walls(meridians: &Meridians, drawn: &BTreeMap<String, String>, found: &mut BTreeMap<String, Piece>) {
    for (scan, vessel) in drawn {
        let Some(piece) = found.get_mut(vessel) else { continue };
        let walls = meridians.of_scan(scan);
        let mut us: Vec<f64> = walls[0].iter().map(|point| point.u_radius_mm).filter(|u| *u > 0.0).collect();
        piece.u_radius_mm = median(&mut us);
        piece.walls = walls;
    }
}

fn coverage(
    scans: &Table,
    drawn: &BTreeMap<String, String>,
    found: &mut BTreeMap<String, Piece>,
) -> Result<(), AnalysisError> {
    let Some(seen) = numbers(scans, "coverage_inner") else { return Ok(()) };
    for (row, scan) in scans.texts("scan_id")?.iter().enumerate() {
        let piece = scan.as_ref().and_then(|scan| drawn.get(scan)).and_then(|vessel| found.get_mut(vessel));
        if let Some(piece) = piece {
            piece.inner_seen = seen[row].unwrap_or(0.0).clamp(0.0, 1.0);
        }
    }
    Ok(())
}

fn measures(
    measures: &Table,
    residuals: Option<&Table>,
    found: &mut BTreeMap<String, Piece>,
) -> Result<(), AnalysisError> {
    let names = measures.texts("measure")?;
    let (values, us) = (measures.floats("value")?, measures.floats("u")?);
    let limits = numbers(measures, "detection_limit");
    let vessels = measures.texts("vessel_id")?;
    let awaited = residuals.map(Awaited::of).transpose()?;
    let mut readings: Vec<Option<(f64, f64, Option<f64>)>> = vec![None; residuals.map_or(0, Table::rows)];
    each(measures, found, |row, piece| {
        let (Some(vessel), Some(name), Some(value)) = (&vessels[row], &names[row], values[row]) else { return };
        if name == "body_volume" {
            piece.bulk.body_mm3 = Some(value);
        }
        if let Some(place) = awaited.as_ref().and_then(|awaited| awaited.row(vessel, name)) {
            readings[place] = Some((value, us[row].unwrap_or_default(), limits.and_then(|limits| limits[row])));
        }
    })?;
    let Some(residuals) = residuals else { return Ok(()) };
    let (spreads, bounds) = (residuals.floats("spread")?, residuals.flags("bound")?);
    each(residuals, found, |row, piece| {
        let (Some((value, u_mm, limit)), Some(spread)) = (readings[row], spreads[row]) else { return };
        let bound = bounds[row] == Some(true);
        let value_mm = if bound { limit.unwrap_or(value) } else { value };
        if value_mm > 0.0 && spread > 0.0 {
            piece.noises.push(MeasureNoise { spread, bound, value_mm, u_mm });
        }
    })
}

/// Where each vessel's residuals stand, whose readings are looked for among those of all measures.
struct Awaited<'a> {
    names: &'a [Option<String>],
    /// Only looked up, never walked through.
    rows: HashMap<&'a str, Vec<usize>>,
}

impl<'a> Awaited<'a> {
    fn of(residuals: &'a Table) -> Result<Self, AnalysisError> {
        let mut rows: HashMap<&str, Vec<usize>> = HashMap::new();
        for (row, vessel) in residuals.texts("vessel_id")?.iter().enumerate() {
            if let Some(vessel) = vessel {
                rows.entry(vessel.as_str()).or_default().push(row);
            }
        }
        Ok(Self { names: residuals.texts("measure")?, rows })
    }

    /// The row of a vessel's residual of a measure.
    fn row(&self, vessel: &str, measure: &str) -> Option<usize> {
        self.rows.get(vessel)?.iter().copied().find(|&row| self.names[row].as_deref() == Some(measure))
    }
}

fn levels(outliers: &Table, found: &mut BTreeMap<String, Piece>) -> Result<(), AnalysisError> {
    let (residuals, spreads) = (outliers.floats("precision_residual")?, outliers.floats("precision_spread")?);
    let (ps, bounds) = (outliers.floats("precision_p")?, outliers.flags("precision_bound")?);
    let named = outliers.flags("precision_outlier")?;
    each(outliers, found, |row, piece| {
        piece.level = residuals[row].zip(spreads[row]).filter(|(_, spread)| *spread > 0.0).map(|(residual, spread)| {
            Level { residual, spread, bound: bounds[row] == Some(true), p: ps[row], named: named[row] == Some(true) }
        });
    })
}

/// Scores and uncertainties by vessel, up to the first column that is missing.
fn scores(table: &Table) -> Result<BTreeMap<String, Vec<(f64, f64)>>, AnalysisError> {
    let mut columns = Vec::new();
    for k in 1.. {
        let (Some(values), Some(us)) = (numbers(table, &format!("pc{k}")), numbers(table, &format!("u_pc{k}"))) else {
            break;
        };
        columns.push((values, us));
    }
    let mut found = BTreeMap::new();
    for (row, vessel) in table.texts("vessel_id")?.iter().enumerate() {
        let scores = columns.iter().map_while(|(values, us)| values[row].map(|value| (value, us[row].unwrap_or(0.0))));
        if let Some(vessel) = vessel {
            found.insert(vessel.clone(), scores.collect());
        }
    }
    Ok(found)
}
