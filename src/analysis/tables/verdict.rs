//! The table of outliers.

use super::super::compare::Comparison;
use super::super::outlier::{Direction, FormOutlier, PrecisionOutlier};
use crate::table::{Column, Table, TableError};

/// What is said of one vessel.
struct Verdict<'a> {
    vessel: &'a str,
    form: FormOutlier,
    precision: Option<&'a PrecisionOutlier>,
    form_named: Option<bool>,
    precision_named: Option<bool>,
}

impl Verdict<'_> {
    /// Finer or coarser, of a vessel that is named for its precision.
    fn direction(&self) -> Option<&'static str> {
        let named = self.precision_named == Some(true);
        self.precision.filter(|_| named).and_then(|outlier| outlier.direction).map(Direction::word)
    }

    /// Named for form or precision; `None` if neither could be judged.
    fn outlier(&self) -> Option<bool> {
        match (self.form_named, self.precision_named) {
            (None, None) => None,
            (form, precision) => Some(form == Some(true) || precision == Some(true)),
        }
    }

    fn precision_value(&self, value: fn(&PrecisionOutlier) -> Option<f64>) -> Option<f64> {
        self.precision.and_then(value)
    }

    /// The sentence on precision, and one on form where the form is named.
    fn grounds(&self) -> Option<String> {
        let precision = self.precision.and_then(|outlier| outlier.grounds.clone());
        let distance = self.form.distance.filter(|_| self.form_named == Some(true));
        let form = distance.map(|distance| format!("form {distance:.1} standard deviations from its group"));
        match (form, precision) {
            (Some(form), Some(precision)) => Some(format!("{form}; {precision}")),
            (form, precision) => form.or(precision),
        }
    }
}

pub(super) fn outliers(comparison: &Comparison) -> Result<Table, TableError> {
    let rows: Vec<Verdict<'_>> = comparison.vessels.iter().map(|vessel| verdict(comparison, vessel)).collect();
    let form = |value: fn(&FormOutlier) -> Option<f64>| rows.iter().map(move |row| value(&row.form));
    let precision =
        |value: fn(&PrecisionOutlier) -> Option<f64>| rows.iter().map(move |row| row.precision_value(value));
    let bound = |row: &Verdict<'_>| row.precision.filter(|outlier| outlier.residual.is_some()).map(|o| o.bound);
    Table::new(
        "outliers",
        vec![
            Column::texts("vessel_id", rows.iter().map(|row| row.vessel)),
            Column::optional_floats("form_distance", form(|outlier| outlier.distance)),
            Column::optional_floats("form_p", form(|outlier| outlier.p)),
            Column::optional_floats("form_q", form(|outlier| outlier.q)),
            Column::optional_flags("form_outlier", rows.iter().map(|row| row.form_named)),
            Column::optional_floats("precision_residual", precision(|outlier| outlier.residual)),
            Column::optional_floats("precision_spread", precision(|outlier| outlier.spread)),
            Column::optional_flags("precision_bound", rows.iter().map(bound)),
            Column::optional_floats("precision_p", precision(|outlier| outlier.p)),
            Column::optional_floats("precision_q", precision(|outlier| outlier.q)),
            Column::optional_flags("precision_outlier", rows.iter().map(|row| row.precision_named)),
            Column::optional_texts("direction", rows.iter().map(|row| row.direction().map(str::to_owned))),
            Column::optional_flags("outlier", rows.iter().map(Verdict::outlier)),
            Column::optional_texts("grounds", rows.iter().map(Verdict::grounds)),
        ],
    )
}

fn verdict<'a>(comparison: &'a Comparison, vessel: &'a String) -> Verdict<'a> {
    let form_row = comparison.form.vessels.binary_search(vessel).ok();
    let precision_row = comparison.precision.vessels.binary_search(vessel).ok();
    let form = form_row.map(|row| comparison.form_outliers[row]).unwrap_or_default();
    let precision = precision_row.map(|row| &comparison.precision_outliers[row]);
    let rate = comparison.false_discovery_rate;
    Verdict {
        vessel,
        form,
        precision,
        form_named: form.q.map(|q| q <= rate),
        precision_named: precision.and_then(|outlier| outlier.q).map(|q| q <= rate),
    }
}
