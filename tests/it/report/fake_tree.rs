//! A made-up tree of forms, a chain, and the vessels nearest to each.

use tornus::table::{Column, Table};

/// Tables of vessels of these names, each a drawn form in the order of stations, height and radius.
pub(crate) fn tree(ids: &[String], form: impl Fn(usize) -> Vec<(i64, f64, f64)>) -> Vec<Table> {
    let vessels = ids.len() as i64;
    let nodes = 1..=(2 * vessels - 1).max(0);
    let merge = |node: i64| (node > vessels).then_some(node - vessels);
    let below = |node: i64| merge(node).map(|merge| if merge == 1 { 1 } else { node - 1 });
    let tree = vec![
        Column::integers("node", nodes.clone()),
        Column::optional_texts("vessel_id", nodes.clone().map(|node| ids.get(node as usize - 1).cloned())),
        Column::optional_integers("first", nodes.clone().map(below)),
        Column::optional_integers("second", nodes.clone().map(|node| merge(node).map(|merge| merge + 1))),
        Column::floats("height", nodes.clone().map(|node| merge(node).map_or(0.0, |merge| 0.1 * merge as f64))),
        Column::integers("vessels", nodes.clone().map(|node| merge(node).map_or(1, |merge| merge + 1))),
        Column::optional_integers("form_cluster", nodes.clone().map(|node| (node % 7 != 0).then_some(1 + node % 2))),
        Column::optional_flags("above_cut", nodes.clone().map(|node| Some(node == 2 * vessels - 1))),
        Column::texts("method", nodes.clone().map(|_| "Ward linkage")),
        Column::texts("unit", nodes.clone().map(|_| "centroid sizes")),
    ];
    let stations: Vec<(i64, (i64, f64, f64))> =
        nodes.flat_map(|node| form(node as usize).into_iter().map(move |station| (node, station))).collect();
    let forms = vec![
        Column::integers("node", stations.iter().map(|row| row.0)),
        Column::integers("station", stations.iter().map(|row| row.1.0)),
        Column::floats("height_rel", stations.iter().map(|row| row.1.1)),
        Column::floats("radius_rel", stations.iter().map(|row| row.1.2)),
    ];
    let table = |name, columns| Table::new(name, columns).expect("made-up columns have one length");
    vec![table("form_tree", tree), table("form_tree_forms", forms), neighbours(ids)]
}

/// The two vessels that follow each in the list; one in three has no uncertainty.
fn neighbours(ids: &[String]) -> Table {
    let count = ids.len();
    let rows: Vec<(usize, usize)> = (0..count).flat_map(|i| (1..count.min(3)).map(move |rank| (i, rank))).collect();
    let p = |row: &(usize, usize)| (!row.0.is_multiple_of(3)).then_some(0.2 * row.1 as f64 - 0.19);
    let columns = vec![
        Column::texts("vessel_id", rows.iter().map(|row| ids[row.0].as_str())),
        Column::integers("rank", rows.iter().map(|row| row.1 as i64)),
        Column::texts("neighbour_id", rows.iter().map(|row| ids[(row.0 + row.1) % count].as_str())),
        Column::floats("distance", rows.iter().map(|row| 0.012 * row.1 as f64)),
        Column::floats("u_distance", rows.iter().map(|_| 0.0007)),
        Column::texts("unit", rows.iter().map(|_| "centroid sizes")),
        Column::optional_floats("p_same", rows.iter().map(p)),
        Column::optional_flags("told_apart", rows.iter().map(|row| p(row).map(|p| p < 0.05))),
    ];
    Table::new("neighbours", columns).expect("made-up columns have one length")
}
