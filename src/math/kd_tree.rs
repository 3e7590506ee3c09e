//! Nearest neighbours among points of few dimensions.

use ndarray::{Array2, ArrayView1};

/// Points that are looked through one by one rather than divided further; from 4 to 32 the time changes by a tenth.
const LEAF: usize = 8;

/// A point and how far off it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Neighbour {
    /// Row of the point.
    pub row: usize,
    /// Squared Euclidean distance.
    pub square: f64,
}

/// The rows of a matrix, halved again and again along their widest extent.
///
/// # Example
/// ```
/// use ndarray::array;
/// use tornus::math::kd_tree::KdTree;
/// let points = array![[0.0, 0.0], [3.0, 4.0], [1.0, 0.0]];
/// let tree = KdTree::new(&points);
/// let found = tree.nearest(points.row(0), 2, Some(0));
/// assert_eq!((found[0].row, found[0].square), (2, 1.0));
/// assert_eq!((found[1].row, found[1].square), (1, 25.0)); // 3^2 + 4^2
/// ```
///
/// # References
/// Friedman, Bentley & Finkel 1977, An algorithm for finding best matches in logarithmic expected time.
#[derive(Clone, Debug)]
pub struct KdTree {
    dimensions: usize,
    /// Points one after the other, in the order of `rows`.
    places: Vec<f64>,
    rows: Vec<usize>,
    /// Along which dimension, and where, the part whose middle is here was halved.
    cuts: Vec<(usize, f64)>,
}

impl KdTree {
    /// The tree of the rows of `points`, all finite.
    #[must_use]
    pub fn new(points: &Array2<f64>) -> Self {
        let (count, dimensions) = points.dim();
        let mut rows: Vec<usize> = (0..count).collect();
        let mut cuts = vec![(0, 0.0); count];
        halve(points, &mut rows, &mut cuts);
        let places = rows.iter().flat_map(|&row| points.row(row).to_vec()).collect();
        Self { dimensions, places, rows, cuts }
    }

    /// The `count` points nearest to `place`, nearest first, of equals the one of the lower row; `without` is left out.
    #[must_use]
    pub fn nearest(&self, place: ArrayView1<'_, f64>, count: usize, without: Option<usize>) -> Vec<Neighbour> {
        let mut search = Search { place: place.to_vec(), count, without, found: Vec::with_capacity(count + 1) };
        if count > 0 {
            self.look(0, self.rows.len(), &mut search);
        }
        search.found
    }

    fn point(&self, at: usize) -> &[f64] {
        &self.places[at * self.dimensions..(at + 1) * self.dimensions]
    }

    fn look(&self, from: usize, to: usize, search: &mut Search) {
        if to - from <= LEAF || self.dimensions == 0 {
            (from..to).for_each(|at| search.consider(self.rows[at], self.point(at)));
            return;
        }
        let middle = usize::midpoint(from, to);
        let (axis, cut) = self.cuts[middle];
        let beyond = search.place[axis] - cut;
        let (near, far) = if beyond < 0.0 { ((from, middle), (middle, to)) } else { ((middle, to), (from, middle)) };
        self.look(near.0, near.1, search);
        if beyond * beyond <= search.reach() {
            self.look(far.0, far.1, search);
        }
    }
}

/// Halves `rows` about the median of their widest extent, and the halves again.
fn halve(points: &Array2<f64>, rows: &mut [usize], cuts: &mut [(usize, f64)]) {
    if rows.len() <= LEAF {
        return;
    }
    let extent = |axis: &usize| {
        let values = || rows.iter().map(|&row| points[[row, *axis]]);
        values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min)
    };
    let Some(axis) = (0..points.ncols()).max_by(|a, b| extent(a).total_cmp(&extent(b))) else { return };
    let middle = rows.len() / 2;
    rows.select_nth_unstable_by(middle, |&a, &b| points[[a, axis]].total_cmp(&points[[b, axis]]).then(a.cmp(&b)));
    cuts[middle] = (axis, points[[rows[middle], axis]]);
    let (lower, upper) = rows.split_at_mut(middle);
    let (lower_cuts, upper_cuts) = cuts.split_at_mut(middle);
    halve(points, lower, lower_cuts);
    halve(points, upper, upper_cuts);
}

struct Search {
    place: Vec<f64>,
    count: usize,
    without: Option<usize>,
    found: Vec<Neighbour>,
}

impl Search {
    /// Beyond this squared distance nothing is wanted.
    fn reach(&self) -> f64 {
        if self.found.len() < self.count {
            f64::INFINITY
        } else {
            self.found.last().map_or(f64::INFINITY, |n| n.square)
        }
    }

    fn consider(&mut self, row: usize, point: &[f64]) {
        if self.without == Some(row) {
            return;
        }
        let square: f64 = point.iter().zip(&self.place).map(|(a, b)| (a - b) * (a - b)).sum();
        if square > self.reach() {
            return;
        }
        let before = |other: &Neighbour| other.square.total_cmp(&square).then(other.row.cmp(&row)).is_lt();
        let at = self.found.partition_point(before);
        self.found.insert(at, Neighbour { row, square });
        self.found.truncate(self.count);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers spread evenly, many of them equal.
    fn points(count: usize, dimensions: usize, steps: usize) -> Array2<f64> {
        Array2::from_shape_fn((count, dimensions), |(i, k)| ((i * (37 + 12 * k) + i * i * (k + 3)) % steps) as f64)
    }

    #[test]
    fn the_nearest_are_those_of_looking_at_all() {
        for (count, dimensions, steps) in [(1, 1, 3), (9, 2, 4), (60, 3, 7), (400, 2, 997), (300, 6, 5)] {
            let points = points(count, dimensions, steps);
            let tree = KdTree::new(&points);
            for row in 0..count {
                let square = |other: usize| -> f64 {
                    points.row(row).iter().zip(points.row(other)).map(|(a, b)| (a - b) * (a - b)).sum()
                };
                let mut all: Vec<Neighbour> = (0..count)
                    .filter(|other| *other != row)
                    .map(|row| Neighbour { row, square: square(row) })
                    .collect();
                all.sort_by(|a, b| a.square.total_cmp(&b.square).then(a.row.cmp(&b.row)));
                all.truncate(5);
                assert_eq!(tree.nearest(points.row(row), 5, Some(row)), all, "{count} points, row {row}");
            }
        }
    }

    #[test]
    fn nothing_is_near_where_there_is_nothing() {
        let none = KdTree::new(&Array2::zeros((0, 2)));
        assert!(none.nearest(ndarray::array![0.0, 0.0].view(), 3, None).is_empty());
        let one = KdTree::new(&Array2::zeros((1, 2)));
        assert!(one.nearest(ndarray::array![0.0, 0.0].view(), 3, Some(0)).is_empty());
        assert!(one.nearest(ndarray::array![0.0, 0.0].view(), 0, None).is_empty());
        // Twenty points of no dimension are all in one place.
        let nowhere = KdTree::new(&Array2::zeros((20, 0)));
        assert_eq!(nowhere.nearest(ndarray::Array1::zeros(0).view(), 2, Some(0))[1], Neighbour { row: 2, square: 0.0 });
    }
}
