//! The tree of forms: which vessels, and which groups of them, join at what distance.

use ndarray::{Array2, Axis};

use super::cluster::{Grouping, Merge, Method, average_tree, drawn, ward_tree};
use crate::quantity::Seed;

/// Leaves at most: of more vessels so many are drawn at random, as their pairs have to be held.
const MOST_LEAVES: usize = 2_000;

/// A tree over rows of the form space.
#[derive(Clone, Debug, PartialEq)]
pub struct FormTree {
    /// Average linkage where its groups are the published ones, else Ward's.
    pub method: Method,
    /// The rows that are leaves, in order: all, or those drawn.
    pub rows: Vec<usize>,
    /// Merges in the order of their heights; heights are root mean square distances at a station, in the unit of the
    /// coordinates of form.
    pub merges: Vec<Merge>,
    /// Into how many the method itself divides it.
    pub groups: usize,
}

/// The tree of the rows of `places`, beside the groups found there; distances are divided by `root`.
pub(super) fn form_tree(places: &Array2<f64>, root: f64, grouping: &Grouping, seed: Seed) -> FormTree {
    let method = if grouping.method == Method::Average { Method::Average } else { Method::Ward };
    let rows = drawn(places.nrows(), MOST_LEAVES, seed);
    let part = places.select(Axis(0), &rows);
    let merges = if method == Method::Average { average_tree(&part) } else { ward_tree(&part) };
    let own = grouping.others.iter().find(|other| other.method == method).map(|other| other.groups);
    FormTree {
        method,
        rows,
        merges: merges.into_iter().map(|merge| Merge { height: merge.height / root, ..merge }).collect(),
        groups: own.unwrap_or(grouping.groups),
    }
}
