//! The tree of forms: the table's nodes, the low branches of a large corpus drawn as one leaf each.

use std::collections::BTreeSet;

use super::ReportError;
use super::cells;
use super::corpus::Corpus;
use super::html::left_out;
use super::maps::Shown;
use super::number::count;
use super::tree_forms::TreeForms;
use crate::figure::dendrogram::{Dendrogram, Joint, dendrogram};
use crate::table::{Table, TableError};

/// Up to this many vessels each is a leaf of its own.
const MOST_VESSELS: usize = 80;

/// Leaves of a larger corpus.
const LEAVES: usize = 40;

/// Distances are read in hundredths of their unit.
const HUNDREDTHS: f64 = 100.0;

/// Adds the tree, or a sentence that says why there is none.
pub(super) fn add_form_tree(corpus: &Corpus<'_>, forms: &TreeForms, shown: &mut Shown) -> Result<(), ReportError> {
    shown.markup.push_str("<h3>Tree of forms</h3>\n");
    let nodes = corpus.tables.get("form_tree").map(nodes).transpose()?.unwrap_or_default();
    let joints = joints(corpus, &nodes, forms);
    if joints.iter().all(|joint| joint.height <= 0.0) {
        shown.markup.push_str(&left_out("No tree of forms: that needs vessels that differ in form."));
        return Ok(());
    }
    let method = corpus.tables.get("form_tree").and_then(|table| cells::text(table, "method", 0)).unwrap_or("linkage");
    let unit =
        corpus.tables.get("form_tree").and_then(|table| cells::text(table, "unit", 0)).unwrap_or("centroid sizes");
    let height_label = format!("distance at which branches join, hundredths of {unit} ({method})");
    let figure = Dendrogram { label: "Tree of forms".to_owned(), height_label, joints };
    let caption = caption(method, nodes.iter().filter(|node| node.below.is_none()).count());
    shown.add("form_tree.svg", dendrogram(&figure)?, &caption);
    Ok(())
}

fn caption(method: &str, leaves: usize) -> String {
    let height = if method.starts_with("Ward") {
        "root mean square difference of two outlines at a station; of two groups the root of twice the growth of the sum of squares \
         when they become one"
    } else {
        "mean over pairs of the root mean square difference of two outlines at a station"
    };
    let large = if leaves > MOST_VESSELS {
        format!(
            " Of {}, the low branches are drawn as one leaf each, with their mean form.",
            count(leaves, "vessel", "vessels")
        )
    } else {
        String::new()
    };
    format!(
        "Which forms join, and how far apart they are: {height}. Dashed: the cut into as many groups as this linkage chooses by the \
         gap statistic, with the mean form of each where its branch passes the cut and of the joints above. Marks and colours: the \
         published groups; a branch has that of most of its vessels.{large}"
    )
}

/// A row of `form_tree`; nodes are numbered from 0 here.
#[derive(Default)]
struct Node {
    vessel: Option<String>,
    below: Option<(usize, usize)>,
    height: f64,
    vessels: usize,
    group: Option<String>,
    above_cut: bool,
}

fn nodes(table: &Table) -> Result<Vec<Node>, TableError> {
    let (first, second, heights) = (table.integers("first")?, table.integers("second")?, table.floats("height")?);
    let index = |number: Option<i64>, row: usize| {
        number.and_then(|number| usize::try_from(number - 1).ok()).filter(|node| *node < row)
    };
    let node = |row: usize| Node {
        vessel: cells::text(table, "vessel_id", row).map(str::to_owned),
        below: index(first[row], row).zip(index(second[row], row)),
        height: heights[row].unwrap_or_default(),
        vessels: cells::number(table, "vessels", row).map_or(0, |number| number.clamp(0.0, 1e9) as usize),
        group: cells::named(table, "form_cluster", row),
        above_cut: cells::flag(table, "above_cut", row),
    };
    Ok((0..table.rows()).map(node).collect())
}

/// The joints that are drawn, the root last.
fn joints(corpus: &Corpus<'_>, nodes: &[Node], forms: &TreeForms) -> Vec<Joint> {
    let drawn = drawn(nodes);
    let place = |node: usize| drawn.binary_search(&node).ok();
    let one = |&node: &usize| {
        let Node { vessel, below, height, vessels, group, above_cut } = &nodes[node];
        let known = vessel.as_ref().and_then(|id| corpus.vessel(id));
        let several = || count(*vessels, "vessel", "vessels");
        Joint {
            below: below.and_then(|(first, second)| place(first).zip(place(second))),
            height: HUNDREDTHS * height,
            group: group.as_ref().and_then(|name| corpus.form.names.iter().position(|n| n == name)),
            outline: forms.of_node(node).to_vec(),
            name: vessel.clone().unwrap_or_else(several),
            href: known.map(|vessel| format!("#{}", vessel.anchor())).unwrap_or_default(),
            above_cut: *above_cut,
        }
    };
    drawn.iter().map(one).collect()
}

/// Nodes that are drawn, in order: all of a small tree, else the root's side down to so many branches, the highest opened
/// first.
fn drawn(nodes: &[Node]) -> Vec<usize> {
    let leaves = nodes.iter().filter(|node| node.below.is_none()).count();
    let wanted = if leaves <= MOST_VESSELS { leaves } else { LEAVES };
    let mut drawn: BTreeSet<usize> = nodes.len().checked_sub(1).into_iter().collect();
    // Merges stand in the order of their heights, so that the last is always the highest that is not yet open.
    let mut ends = drawn.len();
    for node in (0..nodes.len()).rev() {
        if let Some((first, second)) = nodes[node].below.filter(|_| ends < wanted && drawn.contains(&node)) {
            drawn.extend([first, second]);
            ends += 1;
        }
    }
    drawn.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Vessels in a chain: each merge takes in one more.
    fn chain(vessels: usize) -> Vec<Node> {
        let leaf = |_| Node { vessels: 1, ..Node::default() };
        let merge = |index: usize| Node {
            below: Some((index + 1, if index == 0 { 0 } else { vessels + index - 1 })),
            height: 1.0 + index as f64,
            vessels: index + 2,
            ..Node::default()
        };
        (0..vessels).map(leaf).chain((0..vessels - 1).map(merge)).collect()
    }

    #[test]
    fn small_trees_are_drawn_whole_and_large_ones_from_the_root() {
        assert_eq!(drawn(&chain(60)).len(), 119);
        let nodes = chain(300);
        let drawn = drawn(&nodes);
        assert_eq!(drawn.len(), 2 * LEAVES - 1);
        assert_eq!(drawn.last(), Some(&598));
        assert!(super::drawn(&[]).is_empty());
    }
}
