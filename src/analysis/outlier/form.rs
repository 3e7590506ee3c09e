//! Vessels whose form does not fit the group it is nearest to.

use std::collections::BTreeSet;

use ndarray::{Array2, Axis};
use rand::Rng;
use rand_distr::StandardNormal;
use rayon::prelude::*;

use super::super::statistics::benjamini_hochberg;
use super::mcd::minimum_covariance_determinant;
use crate::math::density::{chi_square_above, chi_square_quantile, f_above};
use crate::math::robust::{median, quantile};
use crate::quantity::Seed;

/// Vessels wanted per dimension once the centres of the groups are taken away; fewer, and dimensions are dropped.
const VESSELS_PER_DIMENSION: usize = 5;

/// A group of so many vessels per dimension has a covariance of its own.
const LARGE_GROUP: usize = 12;

/// The scale of a group is drawn towards that of all as if by so many further vessels.
const SCALE_PRIOR: f64 = 4.0;

/// Starts of the estimate for the corpus, and for a simulated one.
const STARTS: usize = 500;
const STARTS_SIMULATED: usize = 60;

/// Simulated corpora behind the small-sample distribution of the distances.
const SIMULATED: u64 = 60;

/// Above this many vessels the distances follow chi-square well enough.
const LARGE: usize = 500;

/// How unusual the form of one vessel is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FormOutlier {
    /// Robust distance from the centre of its group, in standard deviations; `None` where the corpus is too small.
    pub distance: Option<f64>,
    /// Probability of such a distance in a corpus without unusual forms.
    pub p: Option<f64>,
    /// Benjamini-Hochberg adjusted.
    pub q: Option<f64>,
}

/// Unusual forms among rows of `scores`, given the group of each.
///
/// Distances are taken from the centre (median) of the vessel's group. A large group has a covariance of its own; the
/// others share one, each with its own scale: by minimum covariance determinant, reweighted. The distribution of the
/// distances in a corpus of this size without outliers is simulated and described by a scaled F, so that small corpora do
/// not name too many.
///
/// # References
/// Rousseeuw & Van Driessen 1999; Hardin & Rocke 2005, The distribution of robust distances (a scaled F).
pub(in crate::analysis) fn form_outliers(scores: &Array2<f64>, labels: &[usize], seed: Seed) -> Vec<FormOutlier> {
    let mut found = vec![FormOutlier::default(); scores.nrows()];
    for (part, rows) in parts(labels, scores.ncols()).into_iter().enumerate() {
        let chosen = scores.select(Axis(0), &rows);
        let names: Vec<usize> = rows.iter().map(|&row| labels[row]).collect();
        for (row, outlier) in rows.iter().zip(judge_part(&chosen, &names, seed.derive(part as u64))) {
            found[*row] = outlier;
        }
    }
    let adjusted = benjamini_hochberg(&found.iter().map(|outlier| outlier.p).collect::<Vec<_>>());
    found.iter_mut().zip(adjusted).for_each(|(outlier, q)| outlier.q = q);
    found
}

/// Rows that share a covariance: each large group for itself, the others together.
fn parts(labels: &[usize], dimensions: usize) -> Vec<Vec<usize>> {
    let groups = labels.iter().max().map_or(0, |most| most + 1);
    let members = |group: usize| (0..labels.len()).filter(|&row| labels[row] == group).collect::<Vec<_>>();
    let (mut parts, mut together) = (Vec::new(), Vec::new());
    for rows in (0..groups).map(members) {
        if rows.len() >= LARGE_GROUP * dimensions.max(1) { parts.push(rows) } else { together.extend(rows) }
    }
    together.sort_unstable();
    parts.push(together);
    parts
}

fn judge_part(scores: &Array2<f64>, labels: &[usize], seed: Seed) -> Vec<FormOutlier> {
    let distinct: BTreeSet<usize> = labels.iter().copied().collect();
    let most = labels.len().saturating_sub(distinct.len()) / VESSELS_PER_DIMENSION;
    let found = (1..=scores.ncols().min(most)).rev().find_map(|p| {
        let chosen = scores.slice(ndarray::s![.., ..p]).to_owned();
        Some((square_distances(&chosen, labels, STARTS, seed.derive(p as u64))?, p))
    });
    let Some((squares, p)) = found else { return vec![FormOutlier::default(); labels.len()] };
    let law = Law::of_distances(labels, p, seed.derive(100));
    let outlier = |square: &f64| FormOutlier { distance: Some(square.sqrt()), p: Some(law.above(*square)), q: None };
    squares.iter().map(outlier).collect()
}

/// Squared robust distances of rows from the centres of their groups, each group in its own scale.
fn square_distances(rows: &Array2<f64>, labels: &[usize], starts: usize, seed: Seed) -> Option<Vec<f64>> {
    let groups: BTreeSet<usize> = labels.iter().copied().collect();
    let mut centred = centred(rows, labels, &groups);
    let first = minimum_covariance_determinant(&centred, starts, seed)?;
    if groups.len() < 2 {
        return Some(first.square_distances);
    }
    let middle = median(&mut first.square_distances.clone()).filter(|middle| *middle > 0.0)?;
    for group in groups {
        let members: Vec<usize> = (0..labels.len()).filter(|&row| labels[row] == group).collect();
        let mut squares: Vec<f64> = members.iter().map(|&row| first.square_distances[row]).collect();
        let count = squares.len() as f64;
        let own = median(&mut squares).unwrap_or(middle) / middle;
        let scale = ((count * own + SCALE_PRIOR) / (count + SCALE_PRIOR)).sqrt();
        members.iter().for_each(|&row| centred.row_mut(row).mapv_inplace(|value| value / scale));
    }
    minimum_covariance_determinant(&centred, starts, seed.derive(1)).map(|found| found.square_distances)
}

/// Rows less the median of their group, dimension by dimension.
fn centred(scores: &Array2<f64>, labels: &[usize], groups: &BTreeSet<usize>) -> Array2<f64> {
    let mut centred = scores.clone();
    for &group in groups {
        for (k, column) in scores.axis_iter(Axis(1)).enumerate() {
            let mut members: Vec<f64> =
                column.iter().zip(labels).filter(|(_, l)| **l == group).map(|(v, _)| *v).collect();
            let centre = median(&mut members).unwrap_or_default();
            let rows = labels.iter().enumerate().filter(|(_, label)| **label == group);
            rows.for_each(|(row, _)| centred[[row, k]] -= centre);
        }
    }
    centred
}

/// Distribution of squared robust distances where nothing is unusual: scale x F(p, degrees).
struct Law {
    p: f64,
    scale: f64,
    /// `None`: chi-square.
    degrees: Option<f64>,
}

impl Law {
    fn of_distances(labels: &[usize], p: usize, seed: Seed) -> Self {
        let chi_square = Self { p: p as f64, scale: 1.0, degrees: None };
        if labels.len() > LARGE {
            return chi_square;
        }
        let mut squares: Vec<f64> = (0..SIMULATED)
            .into_par_iter()
            .flat_map_iter(|item| {
                let mut rng = seed.derive(item).rng();
                let normals = Array2::from_shape_fn((labels.len(), p), |_| rng.sample::<f64, _>(StandardNormal));
                square_distances(&normals, labels, STARTS_SIMULATED, seed.derive(1_000 + item)).unwrap_or_default()
            })
            .collect();
        match (quantile(&mut squares, 0.5), quantile(&mut squares, 0.99)) {
            (Some(middle), Some(tail)) if middle > 0.0 => Self::through(p as f64, middle, tail),
            _ => chi_square,
        }
    }

    /// The scaled F with this median and 99 % quantile.
    fn through(p: f64, middle: f64, tail: f64) -> Self {
        let wanted = tail / middle;
        let mut best = Self { p, scale: middle / chi_square_quantile(0.5, p), degrees: None };
        if chi_square_quantile(0.99, p) / chi_square_quantile(0.5, p) >= wanted {
            return best;
        }
        // Degrees on a grid from heavy tails to light: the first whose tail is no heavier than the one found.
        for degrees in (0..60).map(|step| 3.0 * 1.1_f64.powi(step)) {
            let (half, hundredth) = (f_quantile_above(0.5, p, degrees), f_quantile_above(0.01, p, degrees));
            best = Self { p, scale: middle / half, degrees: Some(degrees) };
            if hundredth / half <= wanted {
                break;
            }
        }
        best
    }

    fn above(&self, square: f64) -> f64 {
        match self.degrees {
            Some(degrees) => f_above(square / self.scale, self.p, degrees),
            None => chi_square_above(square / self.scale, self.p),
        }
    }
}

/// The value an F exceeds with this probability, by bisection.
fn f_quantile_above(probability: f64, numerator: f64, denominator: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1e4);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f_above(middle, numerator, denominator) > probability { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_law_passes_through_its_two_points() {
        for (middle, tail) in [(3.4, 25.0), (2.4, 11.4)] {
            let law = Law::through(3.0, middle, tail);
            assert!((law.above(middle) - 0.5).abs() < 1e-3);
            assert!((law.above(tail) - 0.01).abs() < 4e-3, "{}", law.above(tail));
        }
    }

    #[test]
    fn a_small_corpus_is_not_judged() {
        assert!(form_outliers(&Array2::zeros((4, 2)), &[0; 4], Seed::new(1)).iter().all(|o| o.p.is_none()));
        assert!(form_outliers(&Array2::zeros((0, 0)), &[], Seed::new(1)).is_empty());
        assert!(form_outliers(&Array2::zeros((30, 2)), &[0; 30], Seed::new(1)).iter().all(|o| o.p.is_none()));
    }
}
