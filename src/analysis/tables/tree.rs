//! Tables of the tree of forms, of the vessels nearest to each, and of the forms at the tree's nodes.

use ndarray::{Array2, ArrayView1};

use super::super::compare::Comparison;
use super::super::form::{FormChoice, FormNeighbour};
use super::form::Points;
use super::whole;
use crate::table::{Column, Table, TableError};

/// Two forms are called different where one form would seem as far apart in fewer measurements than this.
const TOLD_APART_BELOW: f64 = 0.05;

/// What distances between forms are in.
fn unit(comparison: &Comparison) -> &'static str {
    if comparison.form.choice == FormChoice::TangentAngle { "radians" } else { "centroid sizes" }
}

/// A node: a vessel or a merge.
struct Node {
    vessel: Option<usize>,
    children: Option<(usize, usize)>,
    height: f64,
    vessels: usize,
    /// Vessels of each published group; the last of none.
    members: Vec<usize>,
    above_cut: bool,
    form: Vec<f64>,
}

/// Vessels first, in the order of their names, then merges from the lowest up; numbered from 1.
pub(super) fn tree(comparison: &Comparison) -> Result<[Table; 2], TableError> {
    let nodes = nodes(comparison);
    let child = |pick: fn((usize, usize)) -> usize| {
        nodes.iter().map(move |node| node.children.map(|pair| whole(pick(pair) + 1))).collect::<Vec<_>>()
    };
    let vessel = |node: &Node| node.vessel.map(|row| comparison.form.vessels[row].clone());
    let table = Table::new(
        "form_tree",
        vec![
            Column::integers("node", (1..=nodes.len()).map(whole)),
            Column::optional_texts("vessel_id", nodes.iter().map(vessel)),
            Column::optional_integers("first", child(|pair| pair.0)),
            Column::optional_integers("second", child(|pair| pair.1)),
            Column::floats("height", nodes.iter().map(|node| node.height)),
            Column::integers("vessels", nodes.iter().map(|node| whole(node.vessels))),
            Column::optional_integers("form_cluster", nodes.iter().map(|node| node.group().map(|g| whole(g + 1)))),
            Column::optional_flags("above_cut", nodes.iter().map(|node| Some(node.above_cut))),
            Column::texts("method", nodes.iter().map(|_| comparison.form_tree.method.words())),
            Column::texts("unit", nodes.iter().map(|_| unit(comparison))),
        ],
    )?;
    let mut points = Points::default();
    let mut keys = Vec::new();
    for (node, number) in nodes.iter().zip(1..) {
        let outline = comparison.form.outline(ArrayView1::from(&node.form));
        keys.extend(vec![whole(number); outline.len()]);
        points.add(&outline);
    }
    let forms = Table::new("form_tree_forms", points.after(vec![Column::integers("node", keys)]))?;
    Ok([table, forms])
}

impl Node {
    /// The group that more than half of its vessels are in.
    fn group(&self) -> Option<usize> {
        let groups = self.members.split_last().map_or(&[][..], |(_, groups)| groups);
        groups.iter().position(|count| 2 * count > self.vessels)
    }
}

fn nodes(comparison: &Comparison) -> Vec<Node> {
    let (tree, groups) = (&comparison.form_tree, &comparison.form_groups);
    let coordinates: &Array2<f64> = &comparison.form.coordinates;
    let leaf = |&row: &usize| {
        let mut members = vec![0; groups.groups + 1];
        members[if groups.stray[row] { groups.groups } else { groups.labels[row] }] = 1;
        let form = coordinates.row(row).to_vec();
        Node { vessel: Some(row), children: None, height: 0.0, vessels: 1, members, above_cut: false, form }
    };
    let mut nodes: Vec<Node> = tree.rows.iter().map(leaf).collect();
    for (index, merge) in tree.merges.iter().enumerate() {
        let (one, other) = (&nodes[merge.first], &nodes[merge.second]);
        let vessels = one.vessels + other.vessels;
        let share = one.vessels as f64 / vessels as f64;
        let node = Node {
            vessel: None,
            children: Some((merge.first, merge.second)),
            height: merge.height,
            vessels,
            members: one.members.iter().zip(&other.members).map(|(a, b)| a + b).collect(),
            above_cut: index + tree.groups >= tree.rows.len(),
            form: one.form.iter().zip(&other.form).map(|(a, b)| share * a + (1.0 - share) * b).collect(),
        };
        nodes.push(node);
    }
    nodes
}

/// The nearest forms of every vessel.
pub(super) fn neighbours(comparison: &Comparison) -> Result<Table, TableError> {
    let ids = &comparison.form.vessels;
    let ranked = |(row, nearest): (usize, &Vec<FormNeighbour>)| {
        nearest.iter().enumerate().map(move |(rank, near)| (row, rank + 1, *near)).collect::<Vec<_>>()
    };
    let rows: Vec<(usize, usize, FormNeighbour)> =
        comparison.form_neighbours.iter().enumerate().flat_map(ranked).collect();
    let told_apart = |near: &FormNeighbour| near.p_same.map(|p| p < TOLD_APART_BELOW);
    Table::new(
        "neighbours",
        vec![
            Column::texts("vessel_id", rows.iter().map(|row| ids[row.0].as_str())),
            Column::integers("rank", rows.iter().map(|row| whole(row.1))),
            Column::texts("neighbour_id", rows.iter().map(|row| ids[row.2.row].as_str())),
            Column::floats("distance", rows.iter().map(|row| row.2.distance)),
            Column::floats("u_distance", rows.iter().map(|row| row.2.u_distance)),
            Column::texts("unit", rows.iter().map(|_| unit(comparison))),
            Column::optional_floats("p_same", rows.iter().map(|row| row.2.p_same)),
            Column::optional_flags("told_apart", rows.iter().map(|row| told_apart(&row.2))),
        ],
    )
}
