//! The forms at the nodes of the tree of forms, of which the first are the vessels'.

use std::collections::BTreeMap;

use super::cells;
use super::tables::ReportTables;
use crate::table::TableError;

/// Forms by node, from 0, and which node a vessel is.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct TreeForms {
    outlines: Vec<Vec<(f64, f64)>>,
    of_vessel: BTreeMap<String, usize>,
}

impl TreeForms {
    pub(super) fn new(tables: &ReportTables<'_>) -> Result<Self, TableError> {
        let mut found = Self::default();
        if let Some(table) = tables.get("form_tree_forms") {
            let (radii, heights) = (table.floats("radius_rel")?, table.floats("height_rel")?);
            let nodes = table.integers("node")?;
            for row in 0..table.rows() {
                let (Some(node), Some(radius), Some(height)) = (nodes[row], radii[row], heights[row]) else { continue };
                // Rows are sorted by node, so that a node is at most the next.
                let at = usize::try_from(node - 1).unwrap_or_default().min(found.outlines.len());
                if at == found.outlines.len() {
                    found.outlines.push(Vec::new());
                }
                found.outlines[at].push((radius, height));
            }
        }
        if let Some(table) = tables.get("form_tree") {
            let named = |row: usize| Some((cells::text(table, "vessel_id", row)?.to_owned(), row));
            found.of_vessel = (0..table.rows()).filter_map(named).collect();
        }
        Ok(found)
    }

    /// Radius and height, foot to rim; empty where the tables have none.
    pub(super) fn of_node(&self, node: usize) -> &[(f64, f64)] {
        self.outlines.get(node).map_or(&[], Vec::as_slice)
    }

    pub(super) fn of_vessel(&self, vessel: &str) -> &[(f64, f64)] {
        self.of_vessel.get(vessel).map_or(&[], |node| self.of_node(*node))
    }
}
