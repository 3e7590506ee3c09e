//! A shortlist as published tables.

use super::decide::Question;
use super::select::{AtBudget, Candidate, Shortlist};
use crate::table::{Column, Table, TableError};

impl Shortlist {
    /// The published tables: `shortlist`, `shortlist_budget`.
    ///
    /// # Errors
    /// [`TableError`] if a number is not finite, which finite inputs do not let happen.
    pub fn tables(&self) -> Result<Vec<Table>, TableError> {
        Ok(vec![self.ranked()?, self.by_budget()?])
    }

    fn ranked(&self) -> Result<Table, TableError> {
        let rows = &self.candidates;
        let floats = |name: &str, value: &dyn Fn(&Candidate) -> Option<f64>| {
            Column::optional_floats(name, rows.iter().map(value))
        };
        let gain = |question: Question| {
            move |row: &Candidate| row.decisions.iter().find(|d| d.question == question).map(|d| d.gain.gain)
        };
        Table::new(
            "shortlist",
            vec![
                Column::integers("rank", (1..).take(rows.len())),
                Column::texts("vessel_id", rows.iter().map(|row| row.vessel.as_str())),
                floats("value_of_scan", &|row| Some(row.value)),
                floats("cost", &|row| row.cost),
                floats("value_per_cost", &|row| row.cost.map(|cost| row.value / cost)),
                Column::optional_flags("feasible", rows.iter().map(|row| row.feasibility.feasible)),
                Column::optional_flags("chosen", rows.iter().map(|row| Some(row.chosen))),
                floats("gain_precision", &gain(Question::Precision)),
                floats("gain_form_group", &gain(Question::FormGroup)),
                floats("gain_precision_group", &gain(Question::PrecisionGroup)),
                floats("gain_modern", &gain(Question::Modern)),
                floats("gain_interior", &gain(Question::Interior)),
                floats("largest_mm", &|row| row.feasibility.largest_mm),
                floats("path_mm", &|row| row.feasibility.path_mm),
                floats("transmission", &|row| row.feasibility.transmission),
                floats("mass_kg", &|row| row.feasibility.mass_kg),
                Column::optional_flags("as_solid", rows.iter().map(|row| Some(row.feasibility.at_most))),
                Column::texts("grounds", rows.iter().map(|row| row.grounds.as_str())),
            ],
        )
    }

    fn by_budget(&self) -> Result<Table, TableError> {
        let rows = &self.budgets;
        let floats = |name: &str, value: fn(&AtBudget) -> f64| Column::floats(name, rows.iter().map(value));
        Table::new(
            "shortlist_budget",
            vec![
                floats("budget", |row| row.budget),
                Column::texts("kind", rows.iter().map(|row| row.kind)),
                floats("cost", |row| row.cost),
                floats("value", |row| row.value),
                Column::texts("vessels", rows.iter().map(|row| row.vessels.join(", "))),
                floats("value_least_certain", |row| row.value_least_certain),
                floats("value_random", |row| row.value_random),
                Column::optional_flags("proven", rows.iter().map(|row| Some(row.proven))),
            ],
        )
    }
}
