//! The expectation step of a mixture, for as many dimensions as the places have: nearly all time of a fit is spent here.

use std::ops::Range;

use ndarray::{Array2, ArrayViewMut2, Axis};
use rayon::prelude::*;

use super::evidence::{Evidence, MOST_DIMENSIONS, Small, SmallSquare};
use super::mixture::{Component, Mixture};
use crate::math::small_cholesky::SmallCholesky;

/// Vessels whose sums are taken one after the other; fixed, so that the number of threads changes nothing.
const BLOCK: usize = 512;

/// A vessel counts for nothing in a group where it is less likely than in another by this logarithm, 1e-18: thousands of such
/// are lost in rounding beside the one vessel that every group has at least.
const NEGLIGIBLE: f64 = -41.5;

/// Sums over vessels of what a mixture's next parameters are made of, one entry per group.
pub(super) struct Moments {
    /// Expected vessels in the group.
    pub(super) weights: Vec<f64>,
    /// Sums of expected places.
    pub(super) firsts: Vec<Small>,
    /// Sums of expected outer products of places.
    pub(super) seconds: Vec<SmallSquare>,
    /// Expected vessels in no group.
    pub(super) strays: f64,
}

impl Moments {
    pub(super) fn new(groups: usize) -> Self {
        Self {
            weights: vec![0.0; groups],
            firsts: vec![[0.0; MOST_DIMENSIONS]; groups],
            seconds: vec![[0.0; MOST_DIMENSIONS * MOST_DIMENSIONS]; groups],
            strays: 0.0,
        }
    }
}

/// One expectation step: the sums of the next maximisation and the log-likelihood; `probabilities`, nought at first, receives
/// those of each vessel for each group.
pub(super) fn expectation(
    evidence: &Evidence,
    mixture: &Mixture,
    probabilities: Option<&mut Array2<f64>>,
) -> Option<(Moments, f64)> {
    match evidence.dimensions {
        0 => sums::<0>(evidence, mixture, probabilities),
        1 => sums::<1>(evidence, mixture, probabilities),
        2 => sums::<2>(evidence, mixture, probabilities),
        3 => sums::<3>(evidence, mixture, probabilities),
        4 => sums::<4>(evidence, mixture, probabilities),
        5 => sums::<5>(evidence, mixture, probabilities),
        6 => sums::<6>(evidence, mixture, probabilities),
        7 => sums::<7>(evidence, mixture, probabilities),
        _ => sums::<MOST_DIMENSIONS>(evidence, mixture, probabilities),
    }
}

/// The first numbers of a square matrix, its rows one after the other, as a matrix.
fn square<const N: usize>(matrix: &SmallSquare) -> [[f64; N]; N] {
    std::array::from_fn(|row| std::array::from_fn(|column| matrix[row * N + column]))
}

/// A group prepared for one step.
struct Prepared<const N: usize> {
    log_weight: f64,
    precision: [[f64; N]; N],
    /// Precision times mean.
    shift: [f64; N],
    /// ln |P| - m'Pm.
    constant: f64,
}

impl<const N: usize> Prepared<N> {
    fn new(component: &Component) -> Option<Self> {
        let factor = SmallCholesky::<N>::new(&square(&component.covariance))?;
        let precision = factor.inverse();
        let shift: [f64; N] = std::array::from_fn(|row| (0..N).map(|k| precision[row][k] * component.mean[k]).sum());
        let square: f64 = (0..N).map(|k| shift[k] * component.mean[k]).sum();
        let constant = -factor.log_determinant() - square;
        Some(Self { log_weight: component.weight.ln(), precision, shift, constant })
    }

    /// The group's precision and a vessel's, together.
    #[inline]
    fn joined(&self, precision: &SmallSquare) -> Option<Joined<N>> {
        let mut sum = self.precision;
        for row in 0..N {
            for column in 0..=row {
                sum[row][column] += precision[row * N + column];
            }
        }
        let factor = SmallCholesky::new(&sum)?;
        Some(Joined { factor, log_determinant: factor.log_determinant() })
    }
}

/// J + P, factorised.
#[derive(Clone, Copy)]
struct Joined<const N: usize> {
    factor: SmallCholesky<N>,
    log_determinant: f64,
}

/// What one vessel is in one group.
#[derive(Clone, Copy)]
struct Share<const N: usize> {
    joined: Joined<N>,
    /// Its inverse, where that is the same for all vessels.
    inverse: [[f64; N]; N],
    /// The vessel's shift and the group's, together.
    shift: [f64; N],
    /// Log of weight times density, then the share of the greatest.
    value: f64,
}

impl<const N: usize> Share<N> {
    /// Takes in the vessel's shift; the log of weight times density of its evidence follows.
    #[inline]
    fn take_in(&mut self, group: &Prepared<N>, evidence: &Evidence, row: usize) {
        let told = evidence.shift(row);
        self.shift = std::array::from_fn(|k| told[k] + group.shift[k]);
        let square: f64 = self.joined.factor.solve_lower(&self.shift).iter().map(|value| value * value).sum();
        let exponent = 0.5 * (group.constant - self.joined.log_determinant + square);
        self.value = group.log_weight + evidence.constant(row) + exponent;
    }
}

/// Sums of one group in as many dimensions as there are; of what is symmetric, the lower triangle.
#[derive(Clone, Copy)]
struct GroupSums<const N: usize> {
    weight: f64,
    first: [f64; N],
    second: [[f64; N]; N],
}

impl<const N: usize> GroupSums<N> {
    fn merge(&mut self, other: &Self) {
        self.weight += other.weight;
        self.first.iter_mut().zip(other.first).for_each(|(sum, value)| *sum += value);
        let cells = self.second.as_flattened_mut().iter_mut();
        cells.zip(other.second.as_flattened()).for_each(|(sum, value)| *sum += value);
    }

    /// Adds a vessel's expected true place, and what is left open of it where that is its own.
    #[inline]
    fn add(&mut self, probability: f64, share: &Share<N>, inverse: &[[f64; N]; N], own: bool) {
        let place: [f64; N] = std::array::from_fn(|k| (0..N).map(|j| inverse[k][j] * share.shift[j]).sum());
        self.weight += probability;
        for row in 0..N {
            self.first[row] += probability * place[row];
            for column in 0..=row {
                let open = if own { inverse[row][column] } else { 0.0 };
                self.second[row][column] += probability * (open + place[row] * place[column]);
            }
        }
    }

    /// Adds what is left open of every place, where it is the same for all.
    fn leave_open(&mut self, inverse: &[[f64; N]; N]) {
        for (row, (sums, open)) in self.second.iter_mut().zip(inverse).enumerate() {
            sums.iter_mut().zip(open).take(row + 1).for_each(|(sum, open)| *sum += self.weight * open);
        }
    }
}

fn sums<const N: usize>(
    evidence: &Evidence,
    mixture: &Mixture,
    probabilities: Option<&mut Array2<f64>>,
) -> Option<(Moments, f64)> {
    let groups: Option<Vec<Prepared<N>>> = mixture.components.iter().map(Prepared::new).collect();
    let groups = groups?;
    let stray = evidence.stray_log_density().map_or(f64::NEG_INFINITY, |log| log + mixture.strays.ln());
    let block =
        |rows: Range<usize>, table: Option<ArrayViewMut2<'_, f64>>| block(evidence, &groups, stray, rows, table);
    let rows = |first: usize| first..(first + BLOCK).min(evidence.len());
    let blocks: Option<Vec<BlockSums<N>>> = match probabilities {
        Some(table) => {
            let parts: Vec<_> = table.axis_chunks_iter_mut(Axis(0), BLOCK).enumerate().collect();
            parts.into_par_iter().map(|(at, part)| block(rows(at * BLOCK), Some(part))).collect()
        }
        None => (0..evidence.len().div_ceil(BLOCK)).into_par_iter().map(|at| block(rows(at * BLOCK), None)).collect(),
    };
    let whole = blocks?.into_iter().reduce(BlockSums::and)?;
    whole.total.is_finite().then(|| (moments(&whole), whole.total))
}

/// Sums over a block of vessels.
struct BlockSums<const N: usize> {
    groups: Vec<GroupSums<N>>,
    strays: f64,
    /// Log-likelihood.
    total: f64,
}

impl<const N: usize> BlockSums<N> {
    fn and(mut self, other: Self) -> Self {
        self.groups.iter_mut().zip(&other.groups).for_each(|(sums, others)| sums.merge(others));
        Self { strays: self.strays + other.strays, total: self.total + other.total, ..self }
    }
}

fn block<const N: usize>(
    evidence: &Evidence,
    groups: &[Prepared<N>],
    stray: f64,
    rows: Range<usize>,
    mut probabilities: Option<ArrayViewMut2<'_, f64>>,
) -> Option<BlockSums<N>> {
    let mut sums = vec![GroupSums { weight: 0.0, first: [0.0; N], second: [[0.0; N]; N] }; groups.len()];
    let mut shares: Vec<Share<N>> = Vec::with_capacity(groups.len());
    for group in groups {
        let joined = group.joined(evidence.precision(rows.start))?;
        shares.push(Share { joined, inverse: joined.factor.inverse(), shift: [0.0; N], value: 0.0 });
    }
    let (own, mut strays, mut total) = (!evidence.shared(), 0.0, 0.0);
    let first = rows.start;
    // Whoever asks for probabilities may ask which of the least is the greatest: a stray's.
    let least = if probabilities.is_some() { f64::NEG_INFINITY } else { NEGLIGIBLE };
    for row in rows {
        let mut most = stray;
        for (share, group) in shares.iter_mut().zip(groups) {
            if own {
                share.joined = group.joined(evidence.precision(row))?;
            }
            share.take_in(group, evidence, row);
            most = most.max(share.value);
        }
        for share in &mut shares {
            share.value = if share.value - most < least { 0.0 } else { (share.value - most).exp() };
        }
        let none = (stray - most).exp();
        let sum = shares.iter().map(|share| share.value).sum::<f64>() + none;
        strays += none / sum;
        total += most + sum.ln();
        for (k, (share, sums)) in shares.iter().zip(&mut sums).enumerate().filter(|(_, (share, _))| share.value > 0.0) {
            let probability = share.value / sum;
            let inverse = if own { share.joined.factor.inverse() } else { share.inverse };
            sums.add(probability, share, &inverse, own);
            if let Some(table) = &mut probabilities {
                table[[row - first, k]] = probability;
            }
        }
    }
    if !own {
        shares.iter().zip(&mut sums).for_each(|(share, sums)| sums.leave_open(&share.inverse));
    }
    Some(BlockSums { groups: sums, strays, total })
}

fn moments<const N: usize>(sums: &BlockSums<N>) -> Moments {
    let mut moments = Moments { strays: sums.strays, ..Moments::new(sums.groups.len()) };
    for (group, sums) in sums.groups.iter().enumerate() {
        moments.weights[group] = sums.weight;
        moments.firsts[group][..N].copy_from_slice(&sums.first);
        for row in 0..N {
            for column in 0..=row {
                let value = sums.second[row][column];
                (moments.seconds[group][row * N + column], moments.seconds[group][column * N + row]) = (value, value);
            }
        }
    }
    moments
}
