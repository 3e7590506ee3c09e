//! The table `scan_measures`: what each scan says of each measure, or why it says nothing.

use super::{Column, MEASURES, Measure, Table, TableError};
use crate::quantity::{Budget, Estimate, Source};

/// One measure of one scan.
pub(super) struct MeasureCell<'a> {
    pub(super) measure: &'a str,
    pub(super) found: Result<Found, &'a str>,
}

/// A measure that could be had.
#[derive(Clone, Copy)]
pub(super) struct Found {
    pub(super) estimate: Estimate,
    pub(super) budget: Budget,
    pub(super) detection_limit: Option<f64>,
    /// The same with nothing set aside, where something was.
    pub(super) as_found: Option<Estimate>,
}

/// Every measure of the published list, in its order; one that `cells` does not speak of is missing for `otherwise`.
pub(super) fn scan_measures(scan_id: &str, cells: &[MeasureCell<'_>], otherwise: &str) -> Result<Table, TableError> {
    let of = |measure: &&Measure| cells.iter().find(|cell| cell.measure == measure.name);
    let rows: Vec<Result<Found, &str>> =
        MEASURES.iter().map(|measure| of(&measure).map_or(Err(otherwise), |cell| cell.found)).collect();
    let found = || rows.iter().map(|row| row.as_ref().ok());
    let limit = |found: &Found| found.detection_limit;
    let mut columns = vec![
        Column::texts("scan_id", MEASURES.iter().map(|_| scan_id)),
        Column::texts("measure", MEASURES.iter().map(|measure| measure.name)),
        Column::optional_floats("value", found().map(|row| Some(row?.estimate.value()))),
        Column::optional_floats("u", found().map(|row| Some(row?.estimate.standard_uncertainty()))),
        Column::texts("unit", MEASURES.iter().map(|measure| measure.unit)),
        Column::optional_floats("detection_limit", found().map(|row| row.and_then(limit))),
        Column::optional_flags(
            "below_limit",
            found().map(|row| row.and_then(|row| Some(row.estimate.value() < limit(row)?))),
        ),
    ];
    columns.extend(Source::ALL.map(|source| {
        Column::optional_floats(&part_column(source), found().map(|row| Some(row?.budget.part(source))))
    }));
    let beside = |row: Option<&Found>| row.and_then(|row| row.as_found);
    columns.push(Column::optional_floats("value_found", found().map(|row| Some(beside(row)?.value()))));
    columns
        .push(Column::optional_floats("u_value_found", found().map(|row| Some(beside(row)?.standard_uncertainty()))));
    columns.push(Column::optional_texts("reason", rows.iter().map(|row| row.as_ref().err().map(|r| (*r).to_owned()))));
    Table::new("scan_measures", columns)
}

/// Name of the column of one source's part of the uncertainty.
pub(super) fn part_column(source: Source) -> String {
    format!("u_{}", source.word())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_measure_has_its_row_with_a_value_or_a_reason() {
        let estimate = Estimate::new(0.02, 0.005).unwrap();
        let budget = Budget::of(Source::Noise, 0.003).and(Source::Axis, 0.004);
        let as_found = Estimate::new(0.05, 0.006).ok();
        let cells = [
            MeasureCell {
                measure: "lobing_2",
                found: Ok(Found { estimate, budget, detection_limit: Some(0.03), as_found }),
            },
            MeasureCell { measure: "neck_diameter", found: Err("there is no neck") },
        ];
        let table = scan_measures("a", &cells, "not taken").unwrap();
        assert_eq!(table.rows(), MEASURES.len());
        let at = |name: &str| MEASURES.iter().position(|measure| measure.name == name).unwrap();
        let (lobing, neck) = (at("lobing_2"), at("neck_diameter"));
        assert_eq!(table.floats("value").unwrap()[lobing], Some(0.02));
        assert_eq!(table.floats("u_axis").unwrap()[lobing], Some(0.004));
        assert_eq!(table.flags("below_limit").unwrap()[lobing], Some(true));
        assert_eq!(table.floats("value_found").unwrap()[lobing], Some(0.05));
        assert_eq!(table.floats("u_value_found").unwrap()[lobing], Some(0.006));
        assert_eq!(table.texts("reason").unwrap()[lobing], None);
        assert_eq!(table.floats("value").unwrap()[neck], None);
        assert_eq!(table.texts("reason").unwrap()[neck].as_deref(), Some("there is no neck"));
        assert_eq!(table.texts("reason").unwrap()[at("height")].as_deref(), Some("not taken"));
    }
}
