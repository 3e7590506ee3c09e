//! Tables of the precision space.

use super::super::compare::Comparison;
use super::super::outlier::MeasureResidual;
use super::{score_columns, whole};
use crate::table::{Column, Table, TableError};

pub(super) fn scores(comparison: &Comparison) -> Result<Table, TableError> {
    let space = &comparison.precision;
    let mut columns = vec![Column::texts("vessel_id", space.vessels.iter().map(String::as_str))];
    columns.extend(score_columns(&space.scores, &space.u_scores));
    columns.push(Column::optional_floats("precision_grade", space.grades.iter().map(|g| g.map(|g| g.grade))));
    columns.push(Column::optional_floats("u_precision_grade", space.grades.iter().map(|g| g.map(|g| g.u))));
    columns.push(Column::optional_floats("precision_grade_at_most", space.grades_at_most.iter().copied()));
    Table::new("precision_scores", columns)
}

pub(super) fn axes(comparison: &Comparison) -> Result<Table, TableError> {
    let space = &comparison.precision;
    let components = &space.components;
    let mut columns = vec![
        Column::integers("component", (1..=components.rank()).map(whole)),
        Column::floats("explained", components.explained.iter().copied()),
        Column::floats("variance", components.variances.iter().copied()),
    ];
    for (measure, loadings) in space.measures.iter().zip(components.loadings.columns()) {
        columns.push(Column::floats(&format!("loading_{measure}"), loadings.iter().copied()));
    }
    Table::new("precision_axes", columns)
}

pub(super) fn residuals(comparison: &Comparison) -> Result<Table, TableError> {
    let mut rows: Vec<(&str, &MeasureResidual)> = comparison
        .precision
        .vessels
        .iter()
        .zip(&comparison.precision_outliers)
        .flat_map(|(vessel, outlier)| outlier.measures.iter().map(move |measure| (vessel.as_str(), measure)))
        .collect();
    rows.sort_by_key(|(vessel, residual)| (*vessel, residual.measure));
    let flag = |flag: bool| Some(flag);
    Table::new(
        "precision_residuals",
        vec![
            Column::texts("vessel_id", rows.iter().map(|(vessel, _)| *vessel)),
            Column::texts("measure", rows.iter().map(|(_, residual)| residual.measure)),
            Column::floats("residual", rows.iter().map(|(_, residual)| residual.residual)),
            Column::floats("spread", rows.iter().map(|(_, residual)| residual.spread)),
            Column::optional_flags("bound", rows.iter().map(|(_, residual)| flag(residual.bound))),
            Column::floats("usual_mm", rows.iter().map(|(_, residual)| residual.usual_mm)),
        ],
    )
}
