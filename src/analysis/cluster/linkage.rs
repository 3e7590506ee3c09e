//! Trees of merges by least growth of the sum of squares.

use kodama::{Method, linkage};
use ndarray::Array2;

/// Two clusters become one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Merge {
    /// One cluster; below the number of rows a single row, else the merge counted from there.
    pub first: usize,
    /// The other.
    pub second: usize,
    /// Dissimilarity at which they join.
    pub height: f64,
}

/// Ward's tree of the rows of `points`, Euclidean distance: heights are root-of-two-times-growth distances.
///
/// # References
/// Ward 1963; Murtagh & Legendre 2014 (the variant on unsquared distances that minimises the sum of squares).
#[must_use]
pub fn ward_tree(points: &Array2<f64>) -> Vec<Merge> {
    tree(points, Method::Ward)
}

/// The tree by average linkage (for the agglomerative coefficient, which is usually given for it).
#[must_use]
pub fn average_tree(points: &Array2<f64>) -> Vec<Merge> {
    tree(points, Method::Average)
}

fn tree(points: &Array2<f64>, method: Method) -> Vec<Merge> {
    let rows = points.nrows();
    if rows < 2 {
        return Vec::new();
    }
    let points = points.as_standard_layout();
    let (dimensions, values) = (points.ncols(), points.as_slice().unwrap_or_default());
    let mut distances = Vec::with_capacity(rows * (rows - 1) / 2);
    for first in 0..rows {
        let (own, others) = values[first * dimensions..].split_at(dimensions);
        if dimensions == 0 {
            distances.extend(std::iter::repeat_n(0.0, rows - first - 1));
            continue;
        }
        let square = |(a, b): (&f64, &f64)| (a - b) * (a - b);
        let distance = |other: &[f64]| own.iter().zip(other).map(square).sum::<f64>().sqrt();
        distances.extend(others.chunks_exact(dimensions).map(distance));
    }
    let merge =
        |step: &kodama::Step<f64>| Merge { first: step.cluster1, second: step.cluster2, height: step.dissimilarity };
    linkage(&mut distances, rows, method).steps().iter().map(merge).collect()
}

/// Labels of `rows` observations when the tree is cut into `groups`, numbered in the order of the rows.
///
/// # Example
/// ```
/// use ndarray::array;
/// use tornus::analysis::cluster::{cut, ward_tree};
/// let tree = ward_tree(&array![[0.0], [9.0], [1.0], [10.0]]);
/// assert_eq!(cut(&tree, 4, 2), [0, 1, 0, 1]); // near pairs join first
/// ```
#[must_use]
pub fn cut(tree: &[Merge], rows: usize, groups: usize) -> Vec<usize> {
    let mut parent: Vec<usize> = (0..rows + tree.len()).collect();
    for (index, merge) in tree.iter().enumerate().take(rows.saturating_sub(groups.max(1))) {
        parent[merge.first] = rows + index;
        parent[merge.second] = rows + index;
    }
    let root = |mut node: usize| {
        while parent[node] != node {
            node = parent[node];
        }
        node
    };
    let mut names: Vec<usize> = Vec::new();
    let mut label = |root: usize| {
        names.iter().position(|name| *name == root).unwrap_or_else(|| {
            names.push(root);
            names.len() - 1
        })
    };
    (0..rows).map(|row| label(root(row))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn heights_are_those_of_the_sum_of_squares() {
        // 0 and 2 join at 2; {0, 2} and 10: sqrt(2 x 2 x 1 / 3) x 9 = 9 x 1.1547
        let tree = ward_tree(&array![[0.0], [2.0], [10.0]]);
        assert!((tree[0].height - 2.0).abs() < 1e-12);
        assert!((tree[1].height - 9.0 * (4.0_f64 / 3.0).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn cuts_run_from_one_group_to_all_alone() {
        let tree = ward_tree(&array![[0.0], [2.0], [10.0]]);
        assert_eq!(cut(&tree, 3, 1), [0, 0, 0]);
        assert_eq!(cut(&tree, 3, 2), [0, 0, 1]);
        assert_eq!(cut(&tree, 3, 9), [0, 1, 2]);
        assert!(cut(&[], 0, 2).is_empty());
        assert_eq!(cut(&[], 1, 1), [0]);
    }
}
