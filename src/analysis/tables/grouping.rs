//! Tables of the groups of both spaces.

use super::super::PrincipalComponents;
use super::super::cluster::{Grouping, Method};
use super::super::compare::Comparison;
use super::super::reliability::{Reliability, reliabilities};
use super::whole;
use crate::table::{Column, Table, TableError};

/// Method word of the published groups, if they are those of the mixture.
const PUBLISHED: &str = "published";

pub(super) fn scree(comparison: &Comparison) -> Result<Table, TableError> {
    let (form, precision) = (&comparison.form, &comparison.precision);
    let form_noise = reliabilities(form.components.variances.view(), form.u_scores.view(), form.noisy);
    let precision_noise = reliabilities(precision.components.variances.view(), precision.u_scores.view(), 0);
    let spaces = [
        ("form", &form.components, form.retained, form_noise),
        ("precision", &precision.components, precision.retained, precision_noise),
    ];
    let rows: Vec<(&str, usize, &PrincipalComponents, usize, Reliability)> = spaces
        .into_iter()
        .flat_map(|(space, components, retained, noise)| {
            noise.into_iter().enumerate().map(move |(k, noise)| (space, k, components, retained, noise))
        })
        .collect();
    Table::new(
        "scree",
        vec![
            Column::texts("space", rows.iter().map(|row| row.0)),
            Column::integers("component", rows.iter().map(|row| whole(row.1 + 1))),
            Column::floats("variance", rows.iter().map(|row| row.2.variances[row.1])),
            Column::floats("explained", rows.iter().map(|row| row.2.explained[row.1])),
            Column::optional_flags("retained", rows.iter().map(|row| Some(row.1 < row.3))),
            Column::floats("noise_variance", rows.iter().map(|row| row.4.noise_variance)),
            Column::floats("reliability", rows.iter().map(|row| row.4.reliability)),
            Column::optional_flags("below_noise", rows.iter().map(|row| Some(row.4.below_noise))),
        ],
    )
}

pub(super) fn clusters(comparison: &Comparison) -> Result<Table, TableError> {
    let mut columns = vec![Column::texts("vessel_id", comparison.vessels.iter().map(String::as_str))];
    columns.extend(labels("form", &comparison.vessels, &comparison.form.vessels, &comparison.form_groups));
    let left_out = |id: &String| {
        let reason = comparison.form.left_out.iter().find(|(vessel, _)| vessel == id);
        reason.map(|(_, reason)| reason.clone())
    };
    columns.push(Column::optional_texts("form_left_out", comparison.vessels.iter().map(left_out)));
    let (ids, groups) = (&comparison.precision.vessels, &comparison.precision_groups);
    columns.extend(labels("precision", &comparison.vessels, ids, groups));
    Table::new("clusters", columns)
}

fn labels(space: &str, vessels: &[String], ids: &[String], grouping: &Grouping) -> Vec<Column> {
    let grouped = |row: &usize| !grouping.stray[*row];
    let rows: Vec<Option<usize>> = vessels.iter().map(|id| ids.binary_search(id).ok().filter(grouped)).collect();
    let label = |row: usize| grouping.labels[row];
    let stability = |row: usize| grouping.stability[label(row)];
    vec![
        Column::optional_integers(
            &format!("{space}_cluster"),
            rows.iter().map(|row| row.map(|row| whole(label(row) + 1))),
        ),
        Column::optional_floats(
            &format!("{space}_probability"),
            rows.iter().map(|row| row.and_then(|row| grouping.probabilities.get(row).copied())),
        ),
        Column::optional_floats(&format!("{space}_stability"), rows.iter().map(|row| row.and_then(stability))),
    ]
}

fn both(comparison: &Comparison) -> [(&'static str, &Grouping); 2] {
    [("form", &comparison.form_groups), ("precision", &comparison.precision_groups)]
}

pub(super) fn choice(comparison: &Comparison) -> Result<Table, TableError> {
    let mut rows: Vec<_> =
        both(comparison).into_iter().flat_map(|(space, g)| g.choices.iter().map(move |c| (space, c))).collect();
    rows.sort_by(|a, b| (a.0, &a.1.method, a.1.groups).cmp(&(b.0, &b.1.method, b.1.groups)));
    Table::new(
        "choice",
        vec![
            Column::texts("space", rows.iter().map(|(space, _)| *space)),
            Column::texts("method", rows.iter().map(|(_, choice)| choice.method.as_str())),
            Column::integers("groups", rows.iter().map(|(_, choice)| whole(choice.groups))),
            Column::texts("criterion", rows.iter().map(|(_, choice)| choice.criterion)),
            Column::floats("value", rows.iter().map(|(_, choice)| choice.value)),
            Column::optional_flags("chosen", rows.iter().map(|(_, choice)| Some(choice.chosen))),
        ],
    )
}

/// One row of `agreement`.
struct Agreement {
    space: &'static str,
    method: String,
    groups: usize,
    sampled: usize,
    ungrouped: usize,
    adjusted_rand: f64,
    silhouette: Option<f64>,
    agglomerative: Option<f64>,
    p_one_group: Option<f64>,
}

fn published_words(method: Method) -> String {
    match method {
        Method::Mixture => PUBLISHED.to_owned(),
        other => format!("{PUBLISHED}: {}", other.words()),
    }
}

pub(super) fn agreement(comparison: &Comparison) -> Result<Table, TableError> {
    let mut rows = Vec::new();
    for (space, grouping) in both(comparison) {
        rows.push(Agreement {
            space,
            method: published_words(grouping.method),
            groups: grouping.groups,
            sampled: grouping.sampled,
            ungrouped: grouping.stray.iter().filter(|stray| **stray).count(),
            adjusted_rand: 1.0,
            silhouette: grouping.silhouette,
            agglomerative: None,
            p_one_group: grouping.p_one_group,
        });
        rows.extend(grouping.others.iter().map(|other| Agreement {
            space,
            method: other.method.words().to_owned(),
            groups: other.groups,
            sampled: other.sampled,
            ungrouped: other.labels.iter().filter(|label| label.is_none()).count(),
            adjusted_rand: other.adjusted_rand,
            silhouette: other.silhouette,
            agglomerative: other.agglomerative,
            p_one_group: None,
        }));
    }
    rows.sort_by(|a, b| (a.space, &a.method).cmp(&(b.space, &b.method)));
    Table::new(
        "agreement",
        vec![
            Column::texts("space", rows.iter().map(|row| row.space)),
            Column::texts("method", rows.iter().map(|row| row.method.as_str())),
            Column::integers("groups", rows.iter().map(|row| whole(row.groups))),
            Column::floats("adjusted_rand", rows.iter().map(|row| row.adjusted_rand)),
            Column::optional_floats("silhouette", rows.iter().map(|row| row.silhouette)),
            Column::optional_floats("agglomerative", rows.iter().map(|row| row.agglomerative)),
            Column::optional_floats("p_one_group", rows.iter().map(|row| row.p_one_group)),
            Column::integers("sampled", rows.iter().map(|row| whole(row.sampled))),
            Column::integers("ungrouped", rows.iter().map(|row| whole(row.ungrouped))),
        ],
    )
}
