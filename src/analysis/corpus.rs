//! The input tables as vessels, sorted by their identifier: the only place here that knows a column's name.

use std::collections::{BTreeMap, BTreeSet};

use super::AnalysisError;
use super::form::ScanWalls;
use super::meridians::Meridians;
use crate::table::{ColumnData, Measure, MeasureKind, Table, TableError};

/// The measure that stands for a vessel's size.
const SIZE: &str = "max_diameter";

/// The tables a comparison reads.
#[derive(Clone, Copy, Debug)]
pub struct CompareInput<'a> {
    /// `scans`: `scan_id`, `vessel_id`; `status` and `instrument` where known.
    pub scans: &'a Table,
    /// The meridians, from `profiles`.
    pub meridians: &'a Meridians,
    /// `measures`: `vessel_id`, `measure`, `value`; `u`, `u_sampling`, `detection_limit`, `below_limit` where known.
    pub measures: &'a Table,
    /// `vessels`: `vessel_id` and the catalogue's columns, of which `material` and `mohs` are read where they are there.
    pub vessels: &'a Table,
}

/// One measure of one vessel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reading {
    /// The value, in the measure's unit.
    pub(super) value: f64,
    /// Its standard uncertainty; 0 where none is given.
    pub(super) u: f64,
    /// The part of it that goes with the value, for it stands for what the scan may hide of it (smoothing, gaps, facets); 0
    /// where none is given.
    pub(super) u_hidden: f64,
    /// What the scan could have shown.
    pub(super) limit: Option<f64>,
    /// Whether the value is only a bound: at most `limit`.
    pub(super) below: bool,
}

/// What is known of one vessel.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Vessel {
    /// Its identifier.
    pub(super) id: String,
    /// The walls of its scans, in the order of the scans' identifiers.
    pub(super) walls: Vec<ScanWalls>,
    /// Its measures, by their published names; only those that are asked for, as a large corpus has millions.
    pub(super) readings: BTreeMap<&'static str, Reading>,
    /// Whether it has any measure at all.
    pub(super) measured: bool,
    /// The instrument most of its scans came from.
    pub(super) instrument: Option<String>,
    /// Hardness of the material on Mohs' scale.
    pub(super) mohs: Option<f64>,
    /// Its material.
    pub(super) material: Option<String>,
    /// What the catalogue documents of its age: `modern` or `old`.
    pub(super) reference: Option<String>,
    /// Where it comes from: its setting, else its donor.
    pub(super) source: Option<String>,
}

impl Vessel {
    /// The value of a measure.
    pub(super) fn value(&self, measure: &str) -> Option<f64> {
        self.readings.get(measure).map(|reading| reading.value)
    }

    /// Natural logarithm of its size, the greatest diameter in mm.
    pub(super) fn ln_size(&self) -> Option<f64> {
        self.value(SIZE).filter(|size| *size > 0.0).map(f64::ln)
    }

    /// What the vessel's scans could have shown of a measure.
    pub(super) fn limit(&self, measure: &str) -> Option<f64> {
        self.readings.get(measure).and_then(|reading| reading.limit)
    }
}

/// Numbers that stand for the instruments of these vessels, one of them for none known; `None` where all have the same.
pub(super) fn instrument_numbers(ids: &[String], all: &[Vessel]) -> Option<Vec<usize>> {
    let instrument = |id: &String| {
        let vessel = all.binary_search_by(|vessel| vessel.id.cmp(id)).ok().map(|at| &all[at]);
        vessel.and_then(|vessel| vessel.instrument.as_deref())
    };
    let names: Vec<Option<&str>> = ids.iter().map(instrument).collect();
    let mut known = names.clone();
    known.sort_unstable();
    known.dedup();
    let number = |name: &Option<&str>| known.binary_search(name).unwrap_or_default();
    (known.len() > 1).then(|| names.iter().map(number).collect())
}

/// Vessels with a profile or a measure, sorted by identifier.
pub(super) fn vessels(input: &CompareInput<'_>) -> Result<Vec<Vessel>, AnalysisError> {
    let scans = vessel_of_scan(input.scans)?;
    let mut all: BTreeMap<String, Vessel> = BTreeMap::new();
    let partial = partial_scans(input.scans)?;
    for (scan, walls) in input.meridians.in_order() {
        if let Some(vessel) = scans.get(scan) {
            let walls = ScanWalls { partial: partial.contains(scan), ..walls };
            all.entry(vessel.clone()).or_default().walls.push(walls);
        }
    }
    add_measures(&mut all, input.measures, |measure| measure.kind == MeasureKind::Precision || measure.name == SIZE)?;
    add_circumstances(&mut all, (input.scans, &scans), input.vessels)?;
    Ok(all.into_iter().map(|(id, vessel)| Vessel { id, ..vessel }).collect())
}

/// Vessels of the catalogue, measured or not, without their meridians, sorted by identifier; of their measures, `wanted` and
/// the size.
pub(super) fn vessels_of_catalogue(
    scans: &Table,
    measures: &Table,
    vessels: &Table,
    wanted: &[&str],
) -> Result<Vec<Vessel>, AnalysisError> {
    let ids = vessels.texts("vessel_id")?;
    let mut all: BTreeMap<String, Vessel> = ids.iter().flatten().map(|id| (id.clone(), Vessel::default())).collect();
    add_measures(&mut all, measures, |measure| wanted.contains(&measure.name) || measure.name == SIZE)?;
    add_circumstances(&mut all, (scans, &vessel_of_scan(scans)?), vessels)?;
    Ok(all.into_iter().map(|(id, vessel)| Vessel { id, ..vessel }).collect())
}

fn add_measures(
    all: &mut BTreeMap<String, Vessel>,
    measures: &Table,
    wanted: impl Fn(&Measure) -> bool,
) -> Result<(), AnalysisError> {
    let (vessels, names) = (measures.texts("vessel_id")?, measures.texts("measure")?);
    for (row, reading) in readings(measures)? {
        let vessel = vessels[row].as_ref().ok_or_else(|| bad_key(measures, row))?;
        let name = names[row].as_ref().ok_or_else(|| bad_key(measures, row))?;
        let Some(measure) = Measure::named(name) else { continue };
        let known = match all.get_mut(vessel) {
            Some(known) => known,
            None => all.entry(vessel.clone()).or_default(),
        };
        known.measured = true;
        if wanted(measure) {
            known.readings.insert(measure.name, reading);
        }
    }
    Ok(())
}

/// What is known of the vessels beside their measures; `scans` with the vessel of each that was not rejected.
fn add_circumstances(
    all: &mut BTreeMap<String, Vessel>,
    scans: (&Table, &BTreeMap<String, String>),
    catalogue: &Table,
) -> Result<(), AnalysisError> {
    for (id, instrument) in instruments(scans.0, scans.1)? {
        if let Some(vessel) = all.get_mut(&id) {
            vessel.instrument = Some(instrument);
        }
    }
    for (id, mohs) in hardness(catalogue)? {
        if let Some(vessel) = all.get_mut(&id) {
            vessel.mohs = Some(mohs);
        }
    }
    let ids = catalogue.texts("vessel_id")?;
    let words = |name: &str| if catalogue.has(name) { catalogue.texts(name).map(Some) } else { Ok(None) };
    let (material, reference, setting, donor) =
        (words("material")?, words("reference")?, words("setting")?, words("donor")?);
    for (row, id) in ids.iter().enumerate() {
        let Some(vessel) = id.as_ref().and_then(|id| all.get_mut(id)) else { continue };
        let word = |column: Option<&[Option<String>]>| column.and_then(|column| column[row].clone());
        vessel.material = word(material);
        vessel.reference = word(reference);
        vessel.source = word(setting).or_else(|| word(donor));
    }
    Ok(())
}

pub(super) fn key(table: &Table, row: usize, value: Option<&String>) -> Result<String, TableError> {
    value.cloned().ok_or_else(|| bad_key(table, row))
}

fn bad_key(table: &Table, row: usize) -> TableError {
    TableError::BadKey { table: table.name().to_owned(), row }
}

/// Scans that were not rejected, with their vessel.
fn vessel_of_scan(scans: &Table) -> Result<BTreeMap<String, String>, AnalysisError> {
    let ids = scans.texts("scan_id")?;
    let vessels = scans.texts("vessel_id")?;
    let status = if scans.has("status") { Some(scans.texts("status")?) } else { None };
    let mut found = BTreeMap::new();
    for (row, (id, vessel)) in ids.iter().zip(vessels).enumerate() {
        if status.is_some_and(|status| status[row].as_deref() == Some("rejected")) {
            continue;
        }
        found.insert(key(scans, row, id.as_ref())?, key(scans, row, vessel.as_ref())?);
    }
    Ok(found)
}

/// Scans whose outline is not the whole vessel's.
fn partial_scans(scans: &Table) -> Result<BTreeSet<String>, AnalysisError> {
    if !scans.has("outline_lacks") {
        return Ok(BTreeSet::new());
    }
    let pairs = scans.texts("scan_id")?.iter().zip(scans.texts("outline_lacks")?);
    Ok(pairs.filter(|(_, lacks)| lacks.is_some()).filter_map(|(id, _)| id.clone()).collect())
}

impl CompareInput<'_> {
    /// The columns of `measures` that comparison, screening and decisions read.
    pub const MEASURE_COLUMNS: [&'static str; 7] =
        ["vessel_id", "measure", "value", "u", "u_sampling", "detection_limit", "below_limit"];
}

/// The known values, by row.
fn readings(measures: &Table) -> Result<impl Iterator<Item = (usize, Reading)>, AnalysisError> {
    let values = measures.floats("value")?;
    let optional = |name: &str| if measures.has(name) { measures.floats(name).map(Some) } else { Ok(None) };
    let (us, hidden, limits) = (optional("u")?, optional("u_sampling")?, optional("detection_limit")?);
    let below = if measures.has("below_limit") { Some(measures.flags("below_limit")?) } else { None };
    let reading = move |(row, value): (usize, &Option<f64>)| {
        let value = (*value)?;
        let limit = limits.and_then(|limits| limits[row]);
        let flagged = below.and_then(|below| below[row]);
        let u = us.and_then(|us| us[row]).unwrap_or_default();
        let u_hidden = hidden.and_then(|hidden| hidden[row]).unwrap_or_default();
        let below = flagged.unwrap_or_else(|| limit.is_some_and(|limit| value < limit));
        Some((row, Reading { value, u, u_hidden, limit, below }))
    };
    Ok(values.iter().enumerate().filter_map(reading))
}

/// The instrument of most scans of each vessel; of equals, the first by name.
fn instruments(scans: &Table, known: &BTreeMap<String, String>) -> Result<BTreeMap<String, String>, AnalysisError> {
    if !scans.has("instrument") {
        return Ok(BTreeMap::new());
    }
    let (ids, names) = (scans.texts("scan_id")?, scans.texts("instrument")?);
    let mut counts: BTreeMap<&str, BTreeMap<&str, usize>> = BTreeMap::new();
    for (id, name) in ids.iter().zip(names) {
        if let (Some(vessel), Some(name)) = (id.as_ref().and_then(|id| known.get(id)), name) {
            *counts.entry(vessel).or_default().entry(name).or_default() += 1;
        }
    }
    let most = |names: BTreeMap<&str, usize>| {
        let greatest = names.values().copied().max().unwrap_or_default();
        names.into_iter().find(|(_, count)| *count == greatest).map(|(name, _)| name.to_owned())
    };
    Ok(counts.into_iter().filter_map(|(vessel, names)| Some((vessel.to_owned(), most(names)?))).collect())
}

/// Hardness by vessel, where the catalogue gives one; a catalogue may hold it as a number or as a word.
fn hardness(vessels: &Table) -> Result<BTreeMap<String, f64>, AnalysisError> {
    let ids = vessels.texts("vessel_id")?;
    let Some(column) = vessels.columns().iter().find(|column| column.name == "mohs") else {
        return Ok(BTreeMap::new());
    };
    let value = |row: usize| match &column.data {
        ColumnData::Float(values) => values[row],
        ColumnData::Integer(values) => values[row].map(|value| value as f64),
        ColumnData::Text(values) => values[row].as_ref().and_then(|text| text.trim().parse().ok()),
        ColumnData::Flag(_) => None,
    };
    let finite = |row: usize| value(row).filter(|v: &f64| v.is_finite());
    Ok(ids.iter().enumerate().filter_map(|(row, id)| Some((id.clone()?, finite(row)?))).collect())
}
