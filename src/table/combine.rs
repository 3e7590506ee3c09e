//! From scans to vessels: repeat scans of one vessel become one row.

use std::collections::BTreeMap;

use super::{Column, ColumnData, MEASURES, Table, TableError};

/// Columns of `catalogue` that speak of a scan; all others speak of the vessel.
pub const SCAN_COLUMNS: [&str; 7] = ["scan_id", "file", "unit", "content", "instrument", "u_instrument_mm", "up"];

/// Scans whose value is below their own detection limit are left out of the mean when another scan's limit is this many
/// times lower: they only say 'less than', which the better scan says better. Common practice, no source.
const COARSER_LIMIT: f64 = 2.0;

/// One scan's value of one measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScanValue<'a> {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// What the scanner's noise alone would show.
    pub detection_limit: Option<f64>,
    /// The instrument, where its standard uncertainty is declared: scans with one such instrument share its deviation.
    pub instrument: Option<&'a str>,
}

/// One vessel's value of one measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VesselValue {
    /// The weighted mean.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// How many scans entered.
    pub n_scans: usize,
    /// The least detection limit of these scans.
    pub detection_limit: Option<f64>,
}

/// The mean of a vessel's scans, weighted by inverse variance; `None` without scans.
///
/// Where the scans scatter more than their uncertainties allow, the uncertainty of the mean is multiplied by the Birge
/// ratio. Scans with one instrument of declared uncertainty share its deviation, so that the mean of them is taken to be
/// no better than the best of them; scans with several instruments average over the instruments.
///
/// # Units
/// Those of the measure.
///
/// # Example
/// Two equally good scans, 10.0 and 10.2 with u = 0.1: the mean is 10.1; their scatter is chi-square = 2 on one degree of
/// freedom, so that u is sqrt(2) times 0.1 / sqrt(2), which is 0.1.
/// ```
/// use tornus::table::combine::{ScanValue, combine};
/// let scan = |value| ScanValue { value, u: 0.1, detection_limit: None, instrument: None };
/// let vessel = combine(&[scan(10.0), scan(10.2)]).expect("two scans");
/// assert!((vessel.value - 10.1).abs() < 1e-12);
/// assert!((vessel.u - 0.1).abs() < 1e-12);
/// ```
///
/// # References
/// Birge 1932, The calculation of errors by the method of least squares, Phys. Rev. 40, 207 (from memory).
#[must_use]
pub fn combine(scans: &[ScanValue<'_>]) -> Option<VesselValue> {
    let least_limit = scans.iter().filter_map(|scan| scan.detection_limit).min_by(f64::total_cmp);
    let mere_bound = |scan: &ScanValue<'_>| match (scan.detection_limit, least_limit) {
        (Some(limit), Some(least)) => scan.value < limit && limit > COARSER_LIMIT * least,
        _ => false,
    };
    let used: Vec<&ScanValue<'_>> = scans.iter().filter(|scan| !mere_bound(scan)).collect();
    let count = used.len();
    let exact = used.iter().any(|scan| scan.u <= 0.0);
    // An uncertainty of zero would take all the weight: then every scan counts the same, and the scatter gives u.
    let weight = |scan: &ScanValue<'_>| if exact { 1.0 } else { scan.u.powi(-2) };
    let total: f64 = used.iter().map(|scan| weight(scan)).sum();
    if count == 0 || !total.is_finite() || total <= 0.0 {
        return None;
    }
    let value = used.iter().map(|scan| weight(scan) * scan.value).sum::<f64>() / total;
    let chi_square: f64 = used.iter().map(|scan| weight(scan) * (scan.value - value).powi(2)).sum();
    let birge = if count > 1 { (chi_square / (count - 1) as f64).sqrt() } else { 0.0 };
    let inner = if exact {
        used.iter().map(|scan| scan.u.powi(2)).sum::<f64>().sqrt() / count as f64
    } else {
        total.powf(-0.5)
    };
    let scattered = birge * total.powf(-0.5);
    let u = [inner, scattered, shared_floor(&used)].into_iter().max_by(f64::total_cmp)?;
    let detection_limit = used.iter().filter_map(|scan| scan.detection_limit).min_by(f64::total_cmp);
    Some(VesselValue { value, u, n_scans: count, detection_limit })
}

/// What averaging cannot go below: per instrument of declared uncertainty its best scan, over the instruments a mean.
///
/// Zero as soon as one scan's instrument is not declared.
fn shared_floor(scans: &[&ScanValue<'_>]) -> f64 {
    let mut best: BTreeMap<&str, f64> = BTreeMap::new();
    for scan in scans {
        let Some(instrument) = scan.instrument else { return 0.0 };
        best.entry(instrument).and_modify(|u| *u = u.min(scan.u)).or_insert(scan.u);
    }
    if best.values().any(|u| *u <= 0.0) {
        return 0.0;
    }
    best.values().map(|u| u.powi(-2)).sum::<f64>().powf(-0.5)
}

/// The table `measures`: vessel x measure, sorted by both.
///
/// # Errors
/// [`TableError`] if a column is missing, or a scan is not in the catalogue.
pub fn measures(catalogue: &Table, scan_measures: &Table) -> Result<Table, TableError> {
    let cells = vessel_values(catalogue, scan_measures)?;
    let unit = |measure: &str| super::Measure::named(measure).map(|known| known.unit.to_owned());
    let below = |value: &VesselValue| value.detection_limit.map(|limit| value.value < limit);
    Table::new(
        "measures",
        vec![
            Column::texts("vessel_id", cells.keys().map(|(vessel, _)| vessel.as_str())),
            Column::texts("measure", cells.keys().map(|(_, measure)| measure.as_str())),
            Column::floats("value", cells.values().map(|cell| cell.value)),
            Column::floats("u", cells.values().map(|cell| cell.u)),
            Column::optional_texts("unit", cells.keys().map(|(_, measure)| unit(measure))),
            Column::integers("n_scans", cells.values().map(|cell| cell.n_scans as i64)),
            Column::optional_floats("detection_limit", cells.values().map(|cell| cell.detection_limit)),
            Column::optional_flags("below_limit", cells.values().map(below)),
        ],
    )
}

fn vessel_values(
    catalogue: &Table,
    scan_measures: &Table,
) -> Result<BTreeMap<(String, String), VesselValue>, TableError> {
    let (scan_ids, vessel_ids) = (catalogue.texts("scan_id")?, catalogue.texts("vessel_id")?);
    let (instruments, declared) = (catalogue.texts("instrument")?, catalogue.floats("u_instrument_mm")?);
    let row_of: BTreeMap<&str, usize> =
        scan_ids.iter().enumerate().filter_map(|(row, id)| Some((id.as_deref()?, row))).collect();
    let (scans, names) = (scan_measures.texts("scan_id")?, scan_measures.texts("measure")?);
    let (values, us) = (scan_measures.floats("value")?, scan_measures.floats("u")?);
    let limits = scan_measures.floats("detection_limit")?;
    let mut grouped: BTreeMap<(String, String), Vec<ScanValue<'_>>> = BTreeMap::new();
    for row in 0..scan_measures.rows() {
        let bad_key = || TableError::BadKey { table: scan_measures.name().to_owned(), row };
        let (Some(scan), Some(name), Some(value), Some(u)) = (&scans[row], &names[row], values[row], us[row]) else {
            return Err(bad_key());
        };
        let at = *row_of.get(scan.as_str()).ok_or_else(bad_key)?;
        let vessel = vessel_ids[at].clone().ok_or_else(bad_key)?;
        let instrument = declared[at].and(instruments[at].as_deref());
        let cell = ScanValue { value, u, detection_limit: limits[row], instrument };
        grouped.entry((vessel, name.clone())).or_default().push(cell);
    }
    Ok(grouped.into_iter().filter_map(|(key, scans)| Some((key, combine(&scans)?))).collect())
}

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
    use super::{ScanValue, combine, measures, vessels};
    use crate::table::{Column, Table};

    fn scan(value: f64, u: f64) -> ScanValue<'static> {
        ScanValue { value, u, detection_limit: None, instrument: None }
    }

    fn near(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-12, "{found} is not {expected}");
    }

    #[test]
    fn one_scan_is_itself_and_none_is_none() {
        let one = combine(&[scan(3.0, 0.5)]).unwrap();
        near(one.value, 3.0);
        near(one.u, 0.5);
        assert_eq!(combine(&[]), None);
    }

    #[test]
    fn the_better_scan_weighs_more() {
        // weights 1/1 and 1/0.25 = 4: (1 x 1.0 + 4 x 1.5) / 5 = 1.4; u = 1 / sqrt(5); chi-square = 0.16 + 0.04 < 1
        let mean = combine(&[scan(1.0, 1.0), scan(1.5, 0.5)]).unwrap();
        near(mean.value, 1.4);
        near(mean.u, 0.2_f64.sqrt());
    }

    #[test]
    fn exact_scans_do_not_divide_by_zero() {
        let mean = combine(&[scan(1.0, 0.0), scan(3.0, 0.0)]).unwrap();
        near(mean.value, 2.0);
        near(mean.u, 1.0); // standard deviation sqrt(2) over sqrt(2)
    }

    #[test]
    fn one_declared_instrument_does_not_average_itself_away() {
        let with = |instrument| ScanValue { instrument, ..scan(5.0, 0.2) };
        near(combine(&[with(Some("a")), with(Some("a"))]).unwrap().u, 0.2);
        near(combine(&[with(Some("a")), with(Some("b"))]).unwrap().u, 0.2 / 2.0_f64.sqrt());
        near(combine(&[with(None), with(None)]).unwrap().u, 0.2 / 2.0_f64.sqrt());
    }

    #[test]
    fn a_coarse_scan_that_only_bounds_is_left_out() {
        let fine = ScanValue { detection_limit: Some(0.01), ..scan(0.02, 0.002) };
        let coarse = ScanValue { detection_limit: Some(0.1), ..scan(0.0, 0.002) };
        let mean = combine(&[fine, coarse]).unwrap();
        assert_eq!(mean.n_scans, 1);
        near(mean.value, 0.02);
        assert_eq!(mean.detection_limit, Some(0.01));
    }

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
