//! Vessels whose form does not fit the group it is nearest to.

use std::collections::BTreeSet;

use ndarray::{Array2, Axis};
use rand::Rng;
use rand_distr::StandardNormal;
use rayon::prelude::*;

use super::super::statistics::benjamini_hochberg;
use super::mcd::minimum_covariance_determinant;
use crate::math::bisection::crossing;
use crate::math::density::{chi_square_above, chi_square_quantile, f_above};
use crate::math::robust::{median, quantile};
use crate::quantity::Seed;

/// Vessels wanted per dimension once the centres of the groups are taken away; fewer, and dimensions are dropped.
const VESSELS_PER_DIMENSION: usize = 5;

/// The scale of a group is drawn towards that of all as if by so many further vessels.
const SCALE_PRIOR: f64 = 4.0;

/// Starts of the estimate for the corpus, and for a simulated one.
const STARTS: usize = 500;
const STARTS_SIMULATED: usize = 60;

/// Simulated corpora behind the small-sample distribution of the distances.
const SIMULATED: u64 = 60;

/// Above this many vessels the distances of normal forms follow chi-square well enough.
const LARGE: usize = 500;

/// The tail of the distances is judged by this quantile of those seen: high enough to see that forms vary more unevenly
/// than normals do, low enough that a tenth of unusual vessels hardly moves it (project, chosen by simulation: of corpora without
/// unusual forms up to one in six names a vessel, and 30 to 80 % of forms bulged by 40 % are found, most among many forms).
const SEEN_TAIL: f64 = 0.8;

/// Degrees of freedom of the heaviest tail that is considered.
const LEAST_DEGREES: f64 = 3.0;

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

/// Unusual forms among rows of `scores`, given their standard uncertainties and the group of each row.
///
/// Distances are taken from the centre (median) of the vessel's group, in a covariance that the groups share, each with its
/// own scale: by minimum covariance determinant, reweighted, the vessel's measurement variance added. A group's own
/// covariance would be narrow across the curved line along which its forms vary, and name vessels that are merely tall.
///
/// Two laws of the distances are formed: what a corpus of this size would show if forms varied as normals do, by
/// simulation, and the one through the middle and the upper part of the distances seen. The heavier tail judges.
///
/// # References
/// Rousseeuw & Van Driessen 1999; Hardin & Rocke 2005, The distribution of robust distances (a scaled F); Efron 2004,
/// Large-scale simultaneous hypothesis testing: the choice of a null hypothesis (a null taken from the bulk of the data).
pub(in crate::analysis) fn form_outliers(
    scores: &Array2<f64>,
    u_scores: &Array2<f64>,
    labels: &[usize],
    seed: Seed,
) -> Vec<FormOutlier> {
    let groups: BTreeSet<usize> = labels.iter().copied().collect();
    let most = labels.len().saturating_sub(groups.len()) / VESSELS_PER_DIMENSION;
    let first = |rows: &Array2<f64>, p: usize| rows.slice(ndarray::s![.., ..p]).to_owned();
    let found = (1..=scores.ncols().min(most)).rev().find_map(|p| {
        let (scores, noise) = (first(scores, p), first(u_scores, p).mapv(|u| u * u));
        Some((square_distances(&scores, &noise, labels, STARTS, seed.derive(p as u64))?, p))
    });
    let Some((squares, p)) = found else { return vec![FormOutlier::default(); labels.len()] };
    let law = Law::of_normals(labels, p, seed.derive(100)).or_heavier(&squares);
    let above: Vec<Option<f64>> = squares.iter().map(|square| Some(law.above(*square))).collect();
    let q = benjamini_hochberg(&above);
    let one =
        |((square, p), q): ((&f64, &Option<f64>), Option<f64>)| FormOutlier { distance: Some(square.sqrt()), p: *p, q };
    squares.iter().zip(&above).zip(q).map(one).collect()
}

/// Squared robust distances of rows from the centres of their groups, each group in its own scale; `noise` holds the
/// variances of the rows' measurement.
fn square_distances(
    rows: &Array2<f64>,
    noise: &Array2<f64>,
    labels: &[usize],
    starts: usize,
    seed: Seed,
) -> Option<Vec<f64>> {
    let groups: BTreeSet<usize> = labels.iter().copied().collect();
    let mut centred = centred(rows, labels, &groups);
    let first = minimum_covariance_determinant(&centred, starts, seed)?;
    if groups.len() < 2 {
        return first.noisy_square_distances(&centred, noise);
    }
    let middle = median(&mut first.square_distances.clone()).filter(|middle| *middle > 0.0)?;
    let mut noise = noise.clone();
    for group in groups {
        let members: Vec<usize> = (0..labels.len()).filter(|&row| labels[row] == group).collect();
        let mut squares: Vec<f64> = members.iter().map(|&row| first.square_distances[row]).collect();
        let count = squares.len() as f64;
        let own = median(&mut squares).unwrap_or(middle) / middle;
        let square_scale = (count * own + SCALE_PRIOR) / (count + SCALE_PRIOR);
        for &row in &members {
            centred.row_mut(row).mapv_inplace(|value| value / square_scale.sqrt());
            noise.row_mut(row).mapv_inplace(|variance| variance / square_scale);
        }
    }
    minimum_covariance_determinant(&centred, starts, seed.derive(1))?.noisy_square_distances(&centred, &noise)
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
    /// What normal forms would show in groups of these sizes.
    fn of_normals(labels: &[usize], p: usize, seed: Seed) -> Self {
        let chi_square = Self { p: p as f64, scale: 1.0, degrees: None };
        if labels.len() > LARGE {
            return chi_square;
        }
        let mut squares: Vec<f64> = (0..SIMULATED)
            .into_par_iter()
            .flat_map_iter(|item| {
                let mut rng = seed.derive(item).rng();
                let normals = Array2::from_shape_fn((labels.len(), p), |_| rng.sample::<f64, _>(StandardNormal));
                let seed = seed.derive(1_000 + item);
                square_distances(&normals, &Array2::zeros((labels.len(), p)), labels, STARTS_SIMULATED, seed)
                    .unwrap_or_default()
            })
            .collect();
        Self::through(p as f64, &mut squares, 0.99).unwrap_or(chi_square)
    }

    /// This law, or the one that runs through the distances seen if its tail is the heavier.
    fn or_heavier(self, squares: &[f64]) -> Self {
        let Some(seen) = Self::through(self.p, &mut squares.to_vec(), SEEN_TAIL) else { return self };
        match (seen.degrees, self.degrees) {
            (Some(own), Some(normal)) if own < normal => seen,
            (Some(_), None) => seen,
            _ => self,
        }
    }

    /// The scaled F with the median of these distances and their quantile at `tail`; `None` if more than half are 0.
    fn through(p: f64, squares: &mut [f64], tail: f64) -> Option<Self> {
        let middle = quantile(squares, 0.5).filter(|middle| *middle > 0.0)?;
        let wanted = quantile(squares, tail)? / middle;
        let mut best = Self { p, scale: middle / chi_square_quantile(0.5, p), degrees: None };
        if chi_square_quantile(tail, p) / chi_square_quantile(0.5, p) >= wanted {
            return Some(best);
        }
        // Degrees on a grid from heavy tails to light: the first whose tail is no heavier than the one found.
        for degrees in (0..60).map(|step| LEAST_DEGREES * 1.1_f64.powi(step)) {
            let (half, upper) = (f_quantile_above(0.5, p, degrees), f_quantile_above(1.0 - tail, p, degrees));
            best = Self { p, scale: middle / half, degrees: Some(degrees) };
            if upper / half <= wanted {
                break;
            }
        }
        Some(best)
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
    crossing(|f| f_above(f, numerator, denominator) > probability, 0.0, 1e4)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_law_passes_through_its_two_points() {
        // Of 101 distances the 51st is the median and the 100th the 99 % quantile.
        for (middle, tail) in [(3.4, 25.0), (2.4, 11.4)] {
            let mut squares: Vec<f64> = (0..101)
                .map(|i| {
                    if i < 50 {
                        1.0
                    } else if i < 99 {
                        middle
                    } else {
                        tail
                    }
                })
                .collect();
            let law = Law::through(3.0, &mut squares, 0.99).unwrap();
            assert!((law.above(middle) - 0.5).abs() < 1e-3);
            assert!((law.above(tail) - 0.01).abs() < 4e-3, "{}", law.above(tail));
        }
    }

    #[test]
    fn a_small_corpus_is_not_judged() {
        let judged = |rows: usize| {
            let same = Array2::zeros((rows, 2));
            form_outliers(&same, &same, &vec![0; rows], Seed::new(1))
        };
        assert!(judged(4).iter().all(|o| o.p.is_none()));
        assert!(judged(0).is_empty());
        assert!(judged(30).iter().all(|o| o.p.is_none()));
    }
}
