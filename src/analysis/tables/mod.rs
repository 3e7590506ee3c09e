//! A comparison as published tables.
//!
//! Groups and components are numbered from 1. Rows are sorted by the key columns.

mod association;
mod difference;
mod form;
mod grouping;
mod precision;
mod screening;
mod tree;
mod verdict;

use super::compare::Comparison;
use crate::table::{Column, Table, TableError};

/// Score columns in a table at most; `scree` has the whole spectrum.
const MOST_SCORES: usize = 10;

/// Score columns in a table at least, empty where there is no such component.
const FEWEST_SCORES: usize = 2;

impl Comparison {
    /// The published tables: `form_scores`, `form_axes`, `form_axes_drawn`, `form_means`, `form_landmarks`, `form_tree`,
    /// `form_tree_forms`, `neighbours`,
    /// `precision_scores`, `precision_axes`, `precision_residuals`, `scree`, `clusters`, `choice`, `agreement`, `outliers`,
    /// `differences`, `associations`, `association_scores`, `association_weights` and `association_forms`.
    ///
    /// # Errors
    /// [`TableError`] if a number is not finite, which finite inputs do not let happen.
    pub fn tables(&self) -> Result<Vec<Table>, TableError> {
        let [form_tree, form_tree_forms] = tree::tree(self)?;
        Ok(vec![
            form::scores(self)?,
            form::axes(self)?,
            form::drawn(self)?,
            form::means(self)?,
            form::landmarks(self)?,
            form_tree,
            form_tree_forms,
            tree::neighbours(self)?,
            precision::scores(self)?,
            precision::axes(self)?,
            precision::residuals(self)?,
            grouping::scree(self)?,
            grouping::clusters(self)?,
            grouping::choice(self)?,
            grouping::agreement(self)?,
            verdict::outliers(self)?,
            difference::differences(self)?,
            association::associations(self)?,
            association::scores(self)?,
            association::weights(self)?,
            association::forms(self)?,
        ])
    }
}

/// A count as a table holds it.
fn whole(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// Scores and their uncertainties as columns `pc1`, `u_pc1`, ...
fn score_columns(scores: &ndarray::Array2<f64>, u_scores: &ndarray::Array2<f64>) -> Vec<Column> {
    let count = scores.ncols().clamp(FEWEST_SCORES, MOST_SCORES);
    let column = |name: String, values: &ndarray::Array2<f64>, k: usize| {
        Column::optional_floats(&name, (0..values.nrows()).map(|row| values.get((row, k)).copied()))
    };
    (0..count)
        .flat_map(|k| [column(format!("pc{}", k + 1), scores, k), column(format!("u_pc{}", k + 1), u_scores, k)])
        .collect()
}
