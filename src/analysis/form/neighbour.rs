//! What else looks like a vessel: the forms nearest to it, and whether the measurement could tell them apart.

use ndarray::{Array2, ArrayView1};
use rayon::prelude::*;

use crate::math::density::chi_square_above;
use crate::math::kd_tree::KdTree;

/// A vessel whose form is near that of another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FormNeighbour {
    /// Row of the neighbour.
    pub row: usize,
    /// Root mean square distance of the two forms at a station, in the unit of the scores; noise taken off.
    pub distance: f64,
    /// Its standard uncertainty, from those of the scores.
    pub u_distance: f64,
    /// Probability of scores so far apart if the two forms were one; `None` where a score has no uncertainty.
    pub p_same: Option<f64>,
}

/// The `count` nearest forms of every row, nearest first, of equals the one of the lower row.
///
/// Distances are taken along the components in `scores`, the retained ones of a form space: what they leave out is mostly noise and
/// detail. Neighbours are ordered by the distance as it was measured; the square of that distance is too great by the variances
/// of both vessels' scores, which are taken off the one that is given.
///
/// # Units and shapes
/// `scores` and their standard uncertainties `u_scores` are vessels x components; distances are divided by `root`, that of the
/// number of stations over which the scores sum squares.
///
/// # Uncertainty
/// That of the radii and of where foot edge and rim were found, as the scores carry it; wear and repair are not in it. By the
/// delta method from the variance of the squared distance. At a distance of 0 it is the fourth root of that variance: the
/// distance at which the square would stand out of it.
///
/// # Example
/// Two forms 0.8 apart at the sum over 64 stations are 0.8 / 8 = 0.1 apart at a station.
/// ```
/// use ndarray::array;
/// use tornus::analysis::form::neighbours;
/// let found = neighbours(&array![[0.0], [0.8], [9.0]], &array![[0.0], [0.0], [0.0]], 8.0, 1);
/// assert_eq!(found[0][0].row, 1);
/// assert!((found[0][0].distance - 0.1).abs() < 1e-12);
/// ```
///
/// # References
/// Kendall 1984, Shape manifolds, Procrustean metrics (the distance, here without turning); JCGM 100 section 5.
#[must_use]
pub fn neighbours(scores: &Array2<f64>, u_scores: &Array2<f64>, root: f64, count: usize) -> Vec<Vec<FormNeighbour>> {
    let tree = KdTree::new(scores);
    let beside = |row: usize, other: usize| {
        let variances: Vec<f64> =
            u_scores.row(row).iter().zip(u_scores.row(other)).map(|(a, b)| a * a + b * b).collect();
        let found = between(scores.row(row), scores.row(other), &variances, other);
        FormNeighbour { distance: found.distance / root, u_distance: found.u_distance / root, ..found }
    };
    let of =
        |row: usize| tree.nearest(scores.row(row), count, Some(row)).iter().map(|near| beside(row, near.row)).collect();
    (0..scores.nrows()).into_par_iter().map(of).collect()
}

/// Two forms whose scores differ with these variances.
fn between(one: ArrayView1<'_, f64>, other: ArrayView1<'_, f64>, variances: &[f64], row: usize) -> FormNeighbour {
    let squares: Vec<f64> = one.iter().zip(other).map(|(a, b)| (a - b) * (a - b)).collect();
    let noise: f64 = variances.iter().sum();
    let square = (squares.iter().sum::<f64>() - noise).max(0.0);
    // Variance of a sum of squares of normals about their means: 4 mean^2 s^2 + 2 s^4 each.
    let variance: f64 =
        squares.iter().zip(variances).map(|(square, s)| 4.0 * (square - s).max(0.0) * s + 2.0 * s * s).sum();
    let (distance, beyond) = (square.sqrt(), (square + variance.sqrt()).sqrt());
    let known = !variances.is_empty() && variances.iter().all(|s| *s > 0.0);
    let chi_square: f64 = squares.iter().zip(variances).map(|(square, s)| square / s).sum();
    FormNeighbour {
        row,
        distance,
        u_distance: beyond - distance,
        p_same: known.then(|| chi_square_above(chi_square, variances.len() as f64)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Seed;
    use ndarray::array;
    use rand::Rng;
    use rand_distr::StandardNormal;

    #[test]
    fn the_nearest_come_first_and_are_never_oneself() {
        let scores = array![[0.0, 0.0], [1.0, 0.0], [0.0, 3.0], [1.0, 0.0]];
        let found = neighbours(&scores, &Array2::zeros((4, 2)), 8.0, 5);
        let rows = |row: usize| found[row].iter().map(|near| near.row).collect::<Vec<_>>();
        assert_eq!((rows(0), rows(1)), (vec![1, 3, 2], vec![3, 0, 2]));
        assert!(found[1][0].distance.abs() < 1e-12 && found[1][0].p_same.is_none());
        assert!(neighbours(&Array2::zeros((1, 2)), &Array2::zeros((1, 2)), 8.0, 5)[0].is_empty());
    }

    /// Two scans each of 400 pairs of vessels, noise 0.1 in both of two components.
    #[test]
    fn one_form_scanned_twice_is_told_apart_by_chance_only_and_intervals_hold_the_distance() {
        let mut rng = Seed::new(3).rng();
        let us = Array2::from_elem((2, 2), 0.1);
        for (apart, least, most) in [(0.0, 0.0, 0.09), (2.0, 1.0, 1.0)] {
            let (mut told, mut held) = (0, 0);
            for _ in 0..400 {
                let scores = Array2::from_shape_fn((2, 2), |(row, k)| {
                    0.1 * rng.sample::<f64, _>(StandardNormal) + if row == 1 && k == 0 { apart } else { 0.0 }
                });
                let near = neighbours(&scores, &us, 8.0, 1)[0][0];
                told += usize::from(near.p_same.is_some_and(|p| p < 0.05));
                held += usize::from((near.distance - apart / 8.0).abs() <= 1.96 * near.u_distance);
            }
            // Of 400 at 5 %, 36 (9 %) is nearly four standard errors (4.4) above 20; 95 % less as much is 91 %.
            let (told, held) = (told as f64 / 400.0, held as f64 / 400.0);
            assert!(told >= least && told <= most, "{told} told apart at {apart}");
            assert!(held >= 0.91, "{held} held at {apart}");
        }
    }
}
