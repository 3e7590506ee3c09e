//! The table `measures`: vessel x measure.

use std::collections::BTreeMap;

use super::between::between_instruments;
use super::mean::{ScanValue, VesselValue, combine};
use crate::quantity::{Budget, Source};
use crate::table::measure_rows::part_column;
use crate::table::{Column, Measure, Table, TableError};

/// What the scans of one vessel say of one measure.
#[derive(Default)]
struct Said<'a> {
    values: Vec<ScanValue<'a>>,
    /// The same with nothing set aside; of a scan of which nothing was, its value.
    found: Vec<ScanValue<'a>>,
    /// Whether something was set aside of any scan.
    set_aside: bool,
    /// Why the first scan without a value has none.
    reason: Option<&'a str>,
}

/// What is said of each vessel (first) and measure (second).
type Cells<'a> = BTreeMap<(&'a str, &'a str), Said<'a>>;

/// The table `measures`: vessel x measure, sorted by both; a measure that no scan of the vessel supports has no value but a
/// reason.
///
/// # Errors
/// [`TableError`] if a column is missing, or a scan is not in the catalogue.
pub fn measures(catalogue: &Table, scan_measures: &Table) -> Result<Table, TableError> {
    let said = cells(catalogue, scan_measures)?;
    let between = components(&said);
    let combined: Vec<Option<VesselValue>> = said
        .iter()
        .map(|((_, measure), cell)| combine(&cell.values, between.get(measure).copied().unwrap_or(0.0)))
        .collect();
    let found = || combined.iter().map(Option::as_ref);
    let as_found = |((_, measure), cell): (&(&str, &str), &Said<'_>)| {
        let between = between.get(measure).copied().unwrap_or(0.0);
        cell.set_aside.then(|| combine(&cell.found, between)).flatten()
    };
    let beside: Vec<Option<VesselValue>> = said.iter().map(as_found).collect();
    let unit = |measure: &str| Measure::named(measure).map(|known| known.unit.to_owned());
    let below = |value: &VesselValue| Some(value.value < value.detection_limit?);
    let mut columns = vec![
        Column::texts("vessel_id", said.keys().map(|(vessel, _)| *vessel)),
        Column::texts("measure", said.keys().map(|(_, measure)| *measure)),
        Column::optional_floats("value", found().map(|cell| Some(cell?.value))),
        Column::optional_floats("u", found().map(|cell| Some(cell?.u))),
        Column::optional_texts("unit", said.keys().map(|(_, measure)| unit(measure))),
        Column::integers("n_scans", found().map(|cell| cell.map_or(0, |cell| cell.n_scans as i64))),
        Column::optional_floats("detection_limit", found().map(|cell| cell?.detection_limit)),
        Column::optional_flags("below_limit", found().map(|cell| cell.and_then(below))),
    ];
    columns.extend(Source::ALL.map(|source| {
        Column::optional_floats(&part_column(source), found().map(|cell| Some(cell?.budget.part(source))))
    }));
    columns.push(Column::optional_floats("u_between", found().map(|cell| Some(cell?.u_between))));
    columns.push(Column::optional_floats("u_scatter", found().map(|cell| Some(cell?.u_scatter))));
    columns.push(Column::optional_floats("value_found", beside.iter().map(|cell| Some(cell.as_ref()?.value))));
    columns.push(Column::optional_floats("u_value_found", beside.iter().map(|cell| Some(cell.as_ref()?.u))));
    let reasons = said.values().zip(&combined).map(|(cell, found)| match found {
        Some(_) => None,
        None => cell.reason.map(str::to_owned),
    });
    columns.push(Column::optional_texts("reason", reasons));
    Table::new("measures", columns)
}

fn cells<'a>(catalogue: &'a Table, scan_measures: &'a Table) -> Result<Cells<'a>, TableError> {
    let (scan_ids, vessel_ids) = (catalogue.texts("scan_id")?, catalogue.texts("vessel_id")?);
    let instruments = catalogue.texts("instrument")?;
    let row_of: BTreeMap<&str, usize> =
        scan_ids.iter().enumerate().filter_map(|(row, id)| Some((id.as_deref()?, row))).collect();
    let (scans, names) = (scan_measures.texts("scan_id")?, scan_measures.texts("measure")?);
    let (values, limits) = (scan_measures.floats("value")?, scan_measures.floats("detection_limit")?);
    let reasons = if scan_measures.has("reason") { Some(scan_measures.texts("reason")?) } else { None };
    let budgets = Budgets::of(scan_measures)?;
    let beside = |name: &str| if scan_measures.has(name) { scan_measures.floats(name).map(Some) } else { Ok(None) };
    let (found_values, found_us) = (beside("value_found")?, beside("u_value_found")?);
    let mut found = Cells::new();
    for row in 0..scan_measures.rows() {
        let bad_key = || TableError::BadKey { table: scan_measures.name().to_owned(), row };
        let (Some(scan), Some(name)) = (&scans[row], &names[row]) else { return Err(bad_key()) };
        let at = *row_of.get(scan.as_str()).ok_or_else(bad_key)?;
        let vessel = vessel_ids[at].as_deref().ok_or_else(bad_key)?;
        let said = found.entry((vessel, name.as_str())).or_default();
        match (values[row], budgets.at(row)) {
            (Some(value), Some(budget)) => {
                let instrument = instruments[at].as_deref();
                let scan = ScanValue { value, budget, detection_limit: limits[row], instrument };
                let as_found = found_values.and_then(|values| values[row]).zip(found_us.and_then(|us| us[row]));
                said.values.push(scan);
                said.set_aside |= as_found.is_some();
                said.found.push(as_found.map_or(scan, |(value, u)| ScanValue {
                    value,
                    budget: budget.scaled_to(u),
                    ..scan
                }));
            }
            (None, _) => said.reason = said.reason.or(reasons.and_then(|reasons| reasons[row].as_deref())),
            (Some(_), None) => return Err(bad_key()),
        }
    }
    Ok(found)
}

/// The columns of the uncertainty and its parts.
struct Budgets<'a> {
    whole: &'a [Option<f64>],
    /// By source; none of tables that hold the whole alone.
    parts: Option<Vec<&'a [Option<f64>]>>,
}

impl<'a> Budgets<'a> {
    fn of(table: &'a Table) -> Result<Self, TableError> {
        let known = Source::ALL.iter().all(|source| table.has(&part_column(*source)));
        let parts = || Source::ALL.iter().map(|source| table.floats(&part_column(*source))).collect();
        Ok(Self { whole: table.floats("u")?, parts: known.then(parts).transpose()? })
    }

    fn at(&self, row: usize) -> Option<Budget> {
        let whole = self.whole[row]?;
        let parts = self.parts.iter().flatten().zip(Source::ALL);
        let budget =
            parts.fold(Budget::default(), |budget, (column, source)| budget.and(source, column[row].unwrap_or(0.0)));
        Some(budget.scaled_to(whole))
    }
}

/// By measure, what instruments differ by beyond their stated uncertainties.
fn components<'a>(said: &Cells<'a>) -> BTreeMap<&'a str, f64> {
    let mut by_measure: BTreeMap<&str, Vec<Vec<ScanValue<'_>>>> = BTreeMap::new();
    for ((_, measure), cell) in said.iter().filter(|(_, cell)| cell.values.len() > 1) {
        by_measure.entry(measure).or_default().push(cell.values.clone());
    }
    by_measure.into_iter().map(|(measure, vessels)| (measure, between_instruments(&vessels))).collect()
}
