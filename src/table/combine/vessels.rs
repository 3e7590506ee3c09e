//! The table `vessels`: one row per vessel, its measures as columns.

use std::collections::BTreeMap;

use super::bend::bends;
use crate::table::{Column, ColumnData, MEASURES, Table, TableError};

/// Columns of `catalogue` that speak of a scan; all others speak of the vessel.
pub const SCAN_COLUMNS: [&str; 8] =
    ["scan_id", "file", "unit", "content", "instrument", "u_instrument_mm", "up", "stands_on_foot"];

/// The table `vessels`: what the catalogue says of each vessel, then its measures as columns, sorted by vessel.
///
/// Where repeat scans of one vessel differ in a carried-through column, the first that is not empty stands.
///
/// # Errors
/// [`TableError`] if a column is missing.
pub fn vessels(catalogue: &Table, scans: &Table, measures: &Table) -> Result<Table, TableError> {
    let mut rows_of: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (row, vessel) in catalogue.texts("vessel_id")?.iter().enumerate() {
        let vessel = vessel.as_deref().ok_or_else(|| TableError::BadKey { table: catalogue.name().to_owned(), row })?;
        rows_of.entry(vessel).or_default().push(row);
    }
    let mut reduced: BTreeMap<&str, i64> = BTreeMap::new();
    for (vessel, status) in scans.texts("vessel_id")?.iter().zip(scans.texts("status")?) {
        if let (Some(vessel), Some("reduced")) = (vessel.as_deref(), status.as_deref()) {
            *reduced.entry(vessel).or_default() += 1;
        }
    }
    let mut columns = vec![
        Column::texts("vessel_id", rows_of.keys().copied()),
        Column::integers("n_scans", rows_of.values().map(|rows| rows.len() as i64)),
        Column::integers("n_reduced", rows_of.keys().map(|vessel| reduced.get(vessel).copied().unwrap_or(0))),
    ];
    let bends = bends(scans)?;
    columns.push(Column::optional_flags("bent", rows_of.keys().map(|vessel| bends.get(vessel).copied())));
    let of_vessels = |column: &&Column| column.name != "vessel_id" && !SCAN_COLUMNS.contains(&column.name.as_str());
    for column in catalogue.columns().iter().filter(of_vessels) {
        columns.push(Column { name: column.name.clone(), data: first_given(&column.data, rows_of.values()) });
    }
    let vessel_ids: Vec<&str> = rows_of.keys().copied().collect();
    columns.extend(measure_columns(&vessel_ids, measures)?);
    Table::new("vessels", columns)
}

fn first_given<'a>(data: &ColumnData, groups: impl Iterator<Item = &'a Vec<usize>>) -> ColumnData {
    fn pick<'a, T: Clone>(values: &[Option<T>], groups: impl Iterator<Item = &'a Vec<usize>>) -> Vec<Option<T>> {
        groups.map(|rows| rows.iter().find_map(|&row| values[row].clone())).collect()
    }
    match data {
        ColumnData::Float(values) => ColumnData::Float(pick(values, groups)),
        ColumnData::Integer(values) => ColumnData::Integer(pick(values, groups)),
        ColumnData::Text(values) => ColumnData::Text(pick(values, groups)),
        ColumnData::Flag(values) => ColumnData::Flag(pick(values, groups)),
    }
}

fn measure_columns(vessel_ids: &[&str], measures: &Table) -> Result<Vec<Column>, TableError> {
    type ValueWithU = (Option<f64>, Option<f64>);
    let mut cells: BTreeMap<(&str, &str), ValueWithU> = BTreeMap::new();
    let (values, us) = (measures.floats("value")?, measures.floats("u")?);
    for (row, (vessel, name)) in measures.texts("vessel_id")?.iter().zip(measures.texts("measure")?).enumerate() {
        if let (Some(vessel), Some(name)) = (vessel.as_deref(), name.as_deref()) {
            cells.insert((vessel, name), (values[row], us[row]));
        }
    }
    let cell = |vessel: &&str, name| cells.get(&(*vessel, name)).copied().unwrap_or((None, None));
    let mut columns = Vec::with_capacity(2 * MEASURES.len());
    for measure in MEASURES {
        let name = measure.name;
        columns.push(Column::optional_floats(name, vessel_ids.iter().map(|vessel| cell(vessel, name).0)));
        columns
            .push(Column::optional_floats(&format!("u_{name}"), vessel_ids.iter().map(|vessel| cell(vessel, name).1)));
    }
    Ok(columns)
}

#[cfg(test)]
mod tests {
    use super::super::{measures, vessels};
    use crate::table::{Column, Table};

    fn tables() -> (Table, Table, Table) {
        let catalogue = Table::new(
            "catalogue",
            vec![
                Column::texts("scan_id", ["a1", "a2", "b1"]),
                Column::texts("vessel_id", ["A", "A", "B"]),
                Column::optional_texts("instrument", [None, None, None]),
                Column::optional_floats("u_instrument_mm", [None, None, None]),
                Column::optional_texts("donor", [None, Some("Thora Winterbourne-Quay".to_owned()), None]),
            ],
        );
        let scans = Table::new(
            "scans",
            vec![
                Column::texts("scan_id", ["a1", "a2", "b1"]),
                Column::texts("vessel_id", ["A", "A", "B"]),
                Column::texts("status", ["reduced", "reduced", "rejected"]),
            ],
        );
        let rows = Table::new(
            "scan_measures",
            vec![
                Column::texts("scan_id", ["a1", "a2"]),
                Column::texts("measure", ["height", "height"]),
                Column::floats("value", [100.0, 100.0]),
                Column::floats("u", [0.1, 0.1]),
                Column::optional_floats("detection_limit", [None, None]),
            ],
        );
        (catalogue.unwrap(), scans.unwrap(), rows.unwrap())
    }

    #[test]
    fn repeat_scans_make_one_row_and_a_vessel_without_scans_keeps_its_row() {
        let (catalogue, scans, rows) = tables();
        let long = measures(&catalogue, &rows).unwrap();
        assert_eq!(long.rows(), 1);
        assert_eq!(long.integers("n_scans").unwrap(), [Some(2)]);
        let wide = vessels(&catalogue, &scans, &long).unwrap();
        assert_eq!(wide.texts("vessel_id").unwrap(), [Some("A".to_owned()), Some("B".to_owned())]);
        assert_eq!(wide.floats("height").unwrap(), [Some(100.0), None]);
        assert_eq!(wide.integers("n_reduced").unwrap(), [Some(2), Some(0)]);
        assert_eq!(wide.texts("donor").unwrap()[0].as_deref(), Some("Thora Winterbourne-Quay"));
        assert!(!wide.has("instrument"));
    }

    #[test]
    fn a_measure_of_a_scan_that_is_not_in_the_catalogue_is_refused() {
        let (catalogue, _, _) = tables();
        let stray = Table::new(
            "scan_measures",
            vec![
                Column::texts("scan_id", ["zz"]),
                Column::texts("measure", ["height"]),
                Column::floats("value", [1.0]),
                Column::floats("u", [0.1]),
                Column::optional_floats("detection_limit", [None]),
            ],
        );
        assert!(measures(&catalogue, &stray.unwrap()).is_err());
    }
}
