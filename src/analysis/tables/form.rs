//! Tables of the form space.

use super::super::compare::Comparison;
use super::{score_columns, whole};
use crate::table::{Column, Table, TableError};

/// Standard deviations at which the forms of an axis are drawn: the mean form stands between the two ends.
const DRAWN_AT: [f64; 3] = [-2.0, 0.0, 2.0];

/// Components drawn at most.
const MOST_DRAWN: usize = 6;

pub(super) fn scores(comparison: &Comparison) -> Result<Table, TableError> {
    let form = &comparison.form;
    let mut columns = vec![Column::texts("vessel_id", form.vessels.iter().map(String::as_str))];
    columns.extend(score_columns(&form.scores, &form.u_scores));
    columns.push(Column::floats("centroid_size_mm", form.centroid_size_mm.iter().copied()));
    Table::new("form_scores", columns)
}

/// Loadings of a meridian: 000 to 063 are those of the radii, 064 to 127 of the heights.
pub(super) fn axes(comparison: &Comparison) -> Result<Table, TableError> {
    let components = &comparison.form.components;
    let mut columns = vec![
        Column::integers("component", (1..=components.rank()).map(whole)),
        Column::floats("explained", components.explained.iter().copied()),
        Column::floats("variance", components.variances.iter().copied()),
    ];
    for (index, loadings) in components.loadings.columns().into_iter().enumerate() {
        columns.push(Column::floats(&format!("loading_{index:03}"), loadings.iter().copied()));
    }
    Table::new("form_axes", columns)
}

pub(super) fn drawn(comparison: &Comparison) -> Result<Table, TableError> {
    let components = &comparison.form.components;
    let (mut keys, mut at, mut points) = (Vec::new(), Vec::new(), Points::default());
    for component in 0..components.rank().min(MOST_DRAWN) {
        for deviations in DRAWN_AT {
            let outline = comparison.form.outline(components.drawn_back(component, deviations).view());
            keys.extend(vec![whole(component + 1); outline.len()]);
            at.extend(vec![deviations; outline.len()]);
            points.add(&outline);
        }
    }
    let keys = vec![Column::integers("component", keys), Column::floats("deviations", at)];
    Table::new("form_axes_drawn", points.after(keys))
}

/// The mean form of every group; group 0 is the mean of all vessels.
pub(super) fn means(comparison: &Comparison) -> Result<Table, TableError> {
    let groups = &comparison.form_groups;
    let (mut keys, mut points) = (Vec::new(), Points::default());
    for group in 0..=groups.groups {
        let rows: Vec<usize> = (0..groups.labels.len())
            .filter(|&row| group == 0 || (groups.labels[row] + 1 == group && !groups.stray[row]))
            .collect();
        if let Some(mean) = comparison.form.mean_of(&rows) {
            let outline = comparison.form.outline(mean.view());
            keys.extend(vec![whole(group); outline.len()]);
            points.add(&outline);
        }
    }
    Table::new("form_means", points.after(vec![Column::integers("cluster", keys)]))
}

/// Foot edge, neck, rim and widest point of every vessel.
pub(super) fn landmarks(comparison: &Comparison) -> Result<Table, TableError> {
    let rows = &comparison.form.landmarks;
    Table::new(
        "form_landmarks",
        vec![
            Column::texts("vessel_id", rows.iter().map(|row| row.vessel.as_str())),
            Column::texts("landmark", rows.iter().map(|row| row.landmark)),
            Column::floats("height_mm", rows.iter().map(|row| row.height_mm)),
            Column::floats("radius_mm", rows.iter().map(|row| row.radius_mm)),
        ],
    )
}

/// Stations of drawn forms.
#[derive(Default)]
pub(super) struct Points {
    stations: Vec<i64>,
    heights: Vec<f64>,
    radii: Vec<f64>,
}

impl Points {
    pub(super) fn add(&mut self, outline: &[(f64, f64)]) {
        self.stations.extend((0..outline.len()).map(whole));
        self.radii.extend(outline.iter().map(|(radius, _)| radius));
        self.heights.extend(outline.iter().map(|(_, height)| height));
    }

    pub(super) fn after(self, mut keys: Vec<Column>) -> Vec<Column> {
        keys.push(Column::integers("station", self.stations));
        keys.push(Column::floats("height_rel", self.heights));
        keys.push(Column::floats("radius_rel", self.radii));
        keys
    }
}
