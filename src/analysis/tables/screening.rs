//! The tables of a screening.

use std::f64::consts::LN_10;

use super::whole;
use crate::analysis::screening::{Documented, Screened, Screening, Validation};
use crate::table::{Column, Table, TableError};

impl Screening {
    /// The published tables: `screening`, and where the corpus could be screened `screening_references`,
    /// `screening_reliability`, `screening_measures` and `screening_validation`.
    ///
    /// # Errors
    /// [`TableError`] if a number is not finite, which finite inputs do not let happen.
    pub fn tables(&self) -> Result<Vec<Table>, TableError> {
        let mut tables = vec![vessels(&self.vessels)?];
        if let Ok(validation) = &self.validation {
            tables.extend([
                references(validation)?,
                reliability(validation)?,
                measures(validation)?,
                summary(validation)?,
            ]);
        }
        Ok(tables)
    }
}

fn vessels(rows: &[Screened]) -> Result<Table, TableError> {
    let end = |k: usize| rows.iter().map(move |row| row.interval.map(|interval| interval[k]));
    let distance = |k: usize| rows.iter().map(move |row| row.distances[k].map(|found| found.distance));
    let p = |k: usize| rows.iter().map(move |row| row.distances[k].map(|found| found.p));
    Table::new(
        "screening",
        vec![
            Column::texts("vessel_id", rows.iter().map(|row| row.vessel.as_str())),
            Column::optional_texts(
                "reference",
                rows.iter().map(|row| row.documented.map(|kind| kind.word().to_owned())),
            ),
            Column::optional_floats("log10_lr_modern", rows.iter().map(|row| row.log10_lr)),
            Column::optional_floats("log10_lr_low", end(0)),
            Column::optional_floats("log10_lr_high", end(1)),
            Column::optional_texts("support", rows.iter().map(Screened::support)),
            Column::optional_floats("distance_modern", distance(0)),
            Column::optional_floats("p_modern", p(0)),
            Column::optional_floats("distance_old", distance(1)),
            Column::optional_floats("p_old", p(1)),
            Column::optional_flags("unlike_both", rows.iter().map(|row| row.unlike_both)),
            Column::optional_texts("grounds", rows.iter().map(|row| row.grounds.clone())),
            Column::optional_texts("refused", rows.iter().map(|row| row.refused.clone())),
        ],
    )
}

fn references(validation: &Validation) -> Result<Table, TableError> {
    let rows = &validation.references;
    Table::new(
        "screening_references",
        vec![
            Column::texts("vessel_id", rows.iter().map(|row| row.vessel.as_str())),
            Column::texts("reference", rows.iter().map(|row| row.documented.word())),
            Column::texts("source", rows.iter().map(|row| row.source.as_str())),
            Column::floats("log10_lr_modern", rows.iter().map(|row| row.log10_lr)),
            Column::optional_floats("log10_lr_source_out", rows.iter().map(|row| row.log10_lr_source_out)),
        ],
    )
}

fn reliability(validation: &Validation) -> Result<Table, TableError> {
    let rows = &validation.reliability;
    let closed = |end: f64| end.is_finite().then_some(end);
    Table::new(
        "screening_reliability",
        vec![
            Column::integers("range", (1..=rows.len()).map(whole)),
            Column::optional_floats("from_log10_lr", rows.iter().map(|row| closed(row.from))),
            Column::optional_floats("to_log10_lr", rows.iter().map(|row| closed(row.to))),
            Column::integers("modern", rows.iter().map(|row| whole(row.modern))),
            Column::integers("old", rows.iter().map(|row| whole(row.old))),
            Column::optional_floats("stated", rows.iter().map(|row| row.stated)),
            Column::optional_floats("observed", rows.iter().map(|row| row.observed)),
        ],
    )
}

fn measures(validation: &Validation) -> Result<Table, TableError> {
    let rows = &validation.measures;
    Table::new(
        "screening_measures",
        vec![
            Column::texts("measure", rows.iter().map(|row| row.measure)),
            Column::floats("usual_modern_mm", rows.iter().map(|row| row.usual_mm[0])),
            Column::floats("usual_old_mm", rows.iter().map(|row| row.usual_mm[1])),
            Column::floats("spread_modern", rows.iter().map(|row| row.spread[0])),
            Column::floats("spread_old", rows.iter().map(|row| row.spread[1])),
        ],
    )
}

/// One row of what the references say of the ratios.
fn summary(validation: &Validation) -> Result<Table, TableError> {
    let count = |kind: Documented| validation.of(kind).count();
    let sources = |kind: Documented| {
        let of_kind = validation.references.iter().filter(|row| row.documented == kind);
        of_kind.map(|row| row.source.as_str()).collect::<std::collections::BTreeSet<_>>().len()
    };
    let one = |name: &str, number: usize| Column::integers(name, [whole(number)]);
    Table::new(
        "screening_validation",
        vec![
            one("references_modern", count(Documented::Modern)),
            one("references_old", count(Documented::Old)),
            one("sources_modern", sources(Documented::Modern)),
            one("sources_old", sources(Documented::Old)),
            Column::floats("cllr", [validation.cllr]),
            Column::floats("cllr_min", [validation.least_cllr]),
            Column::floats("calibration_loss", [validation.calibration_loss()]),
            Column::optional_floats("cllr_source_out", [validation.cllr_source_out]),
            Column::floats("lowest_modern", [validation.lowest_modern()]),
            Column::floats("highest_old", [validation.highest_old()]),
            Column::floats("least_log10_lr", [validation.bounds.least / LN_10]),
            Column::floats("greatest_log10_lr", [validation.bounds.greatest / LN_10]),
            Column::texts("adjusted_for", [validation.adjusted_for.join(", ")]),
        ],
    )
}
