//! Tables of what form goes with.

use super::super::association::{Association, PredictedForm};
use super::super::compare::Comparison;
use super::form::Points;
use super::whole;
use crate::table::{Column, Table, TableError};

pub(super) fn associations(comparison: &Comparison) -> Result<Table, TableError> {
    let rows = &comparison.associations;
    let number = |value: fn(&Association) -> Option<f64>| rows.iter().map(value).collect::<Vec<_>>();
    Table::new(
        "associations",
        vec![
            Column::texts("association", rows.iter().map(|row| row.partner.word())),
            Column::floats("effect", rows.iter().map(|row| row.effect)),
            Column::floats("by_chance", rows.iter().map(|row| row.by_chance)),
            Column::floats("correlation", rows.iter().map(|row| row.correlation)),
            Column::optional_floats("share", number(|row| row.share)),
            Column::floats("p", rows.iter().map(|row| row.test.p())),
            Column::optional_floats("q", number(|row| row.q)),
            Column::integers("n", rows.iter().map(|row| whole(row.vessels.len()))),
            Column::integers("permutations", rows.iter().map(|row| whole(row.test.arrangements))),
            Column::optional_flags("exact", rows.iter().map(|row| Some(row.test.exact))),
            Column::optional_texts("note", rows.iter().map(|row| row.note.clone())),
        ],
    )
}

pub(super) fn scores(comparison: &Comparison) -> Result<Table, TableError> {
    let rows: Vec<(&Association, usize)> =
        comparison.associations.iter().flat_map(|one| (0..one.vessels.len()).map(move |row| (one, row))).collect();
    Table::new(
        "association_scores",
        vec![
            Column::texts("association", rows.iter().map(|(one, _)| one.partner.word())),
            Column::texts("vessel_id", rows.iter().map(|(one, row)| one.vessels[*row].as_str())),
            Column::floats("form_score", rows.iter().map(|(one, row)| one.form_scores[*row].0)),
            Column::floats("u_form_score", rows.iter().map(|(one, row)| one.form_scores[*row].1)),
            Column::floats("partner_score", rows.iter().map(|(one, row)| one.partner_scores[*row].0)),
            Column::optional_floats("u_partner_score", rows.iter().map(|(one, row)| one.partner_scores[*row].1)),
        ],
    )
}

pub(super) fn weights(comparison: &Comparison) -> Result<Table, TableError> {
    let mut rows: Vec<_> = comparison
        .associations
        .iter()
        .flat_map(|one| {
            one.weights.iter().map(|(block, variable, weight)| (one.partner.word(), *block, variable, *weight))
        })
        .collect();
    rows.sort_by_key(|row| (row.0, row.1, row.2));
    Table::new(
        "association_weights",
        vec![
            Column::texts("association", rows.iter().map(|row| row.0)),
            Column::texts("block", rows.iter().map(|row| row.1)),
            Column::texts("variable", rows.iter().map(|row| row.2.as_str())),
            Column::floats("weight", rows.iter().map(|row| row.3)),
        ],
    )
}

pub(super) fn forms(comparison: &Comparison) -> Result<Table, TableError> {
    let all = || comparison.associations.iter().flat_map(|one| one.forms.iter().map(move |form| (one, form)));
    let rows: Vec<(&Association, &PredictedForm)> =
        all().flat_map(|(one, form)| form.outline.iter().map(move |_| (one, form))).collect();
    let mut points = Points::default();
    all().for_each(|(_, form)| points.add(&form.outline));
    Table::new(
        "association_forms",
        points.after(vec![
            Column::texts("association", rows.iter().map(|(one, _)| one.partner.word())),
            Column::optional_floats("deviations", rows.iter().map(|(_, form)| form.deviations)),
            Column::optional_floats("size_mm", rows.iter().map(|(_, form)| form.size_mm)),
        ]),
    )
}
