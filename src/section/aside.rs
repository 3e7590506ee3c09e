//! Patches of the wall that are no part of the turned surface: handles, lugs, chips, wear.
//!
//! Each row of the unrolled wall is compared with a smooth curve of few harmonics, robustly fitted; cells that lie far
//! off it by the row's own robust scale, side by side, are set aside. A lobed wall keeps every point: its lobes are its
//! robust scale.

use std::f64::consts::TAU;

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use super::Grid;
use crate::math::robust;

/// Harmonics of the smooth curve.
const HARMONICS: usize = 4;

/// Cells further off than this many robust standard deviations are far off (project). A pure wave of any order reaches
/// 1 / (0.7071 x 1.4826) = 0.95 of its robust scale, so that lobes alone never come near it.
const FAR: f64 = 6.0;

/// Patches smaller than this many cells are noise, not damage (project).
const LEAST_CELLS: usize = 3;

/// Rounds of reweighting of the smooth curve.
const ROUNDS: usize = 6;

/// Tukey's constant, 95 % efficiency (Beaton & Tukey 1974, from memory).
const TUKEY: f64 = 4.685;

/// Which cells of the unrolled wall are set aside; `least_mm` is a deviation that is never damage (the scan's noise in a
/// cell, say).
#[must_use]
pub fn set_aside(grid: &Grid, least_mm: f64) -> Vec<bool> {
    let mut far = vec![0_i8; grid.counts.len()];
    let mut scales: Vec<f64> = Vec::new();
    let rows: Vec<Option<(Vec<f64>, f64)>> = (0..grid.rows).into_par_iter().map(|row| residuals(grid, row)).collect();
    scales.extend(rows.iter().flatten().map(|(_, scale)| *scale));
    let typical = robust::median(&mut scales).unwrap_or(0.0);
    for (row, found) in rows.iter().enumerate() {
        let Some((residuals, scale)) = found else { continue };
        // A row full of damage has a scale of its own; the wall's typical one speaks for it.
        let limit = (FAR * scale.min(2.0 * typical)).max(least_mm);
        for (column, residual) in residuals.iter().enumerate() {
            let cell = row * grid.columns + column;
            if grid.counts[cell] > 0 && residual.abs() > limit {
                far[cell] = if *residual > 0.0 { 1 } else { -1 };
            }
        }
    }
    patches(grid, &far)
}

/// What a row's cells deviate from its smooth curve, and the robust scale of that; `None` where half the row is empty.
fn residuals(grid: &Grid, row: usize) -> Option<(Vec<f64>, f64)> {
    let cells = row * grid.columns..(row + 1) * grid.columns;
    let (counts, means) = (&grid.counts[cells.clone()], &grid.means[cells]);
    let seen: Vec<usize> = (0..grid.columns).filter(|&c| counts[c] > 0).collect();
    if seen.len() < (grid.columns / 2).max(2 * HARMONICS + 2) {
        return None;
    }
    let terms = 2 * HARMONICS + 1;
    let basis = |column: usize, term: usize| {
        let angle = TAU * column as f64 / grid.columns as f64 * term.div_ceil(2) as f64;
        if term % 2 == 1 {
            angle.cos()
        } else if term == 0 {
            1.0
        } else {
            angle.sin()
        }
    };
    let design = DMatrix::from_fn(seen.len(), terms, |i, term| basis(seen[i], term));
    let values = DVector::from_iterator(seen.len(), seen.iter().map(|&c| means[c]));
    // The median is the start: a least-squares start would bend towards the damage.
    let mut sorted: Vec<f64> = values.iter().copied().collect();
    let start = robust::median(&mut sorted)?;
    let mut left = values.map(|v| v - start);
    let mut scale = 0.0;
    for _ in 0..ROUNDS {
        let (_, spread) = robust::mad(left.clone().as_mut_slice())?;
        scale = spread;
        if scale <= 0.0 {
            break;
        }
        let weights = left.map(|e| robust::tukey_weight(e / scale, TUKEY));
        let weighted = DMatrix::from_fn(seen.len(), terms, |i, term| design[(i, term)] * weights[i]);
        let square = weighted.tr_mul(&design) + DMatrix::identity(terms, terms) * 1e-6;
        let Some(solver) = square.cholesky() else { break };
        let curve = solver.solve(&weighted.tr_mul(&values));
        left = &values - &design * curve;
    }
    let mut residuals = vec![0.0; grid.columns];
    for (&column, residual) in seen.iter().zip(left.iter()) {
        residuals[column] = *residual;
    }
    Some((residuals, scale))
}

/// Connected patches of far cells of one sign, large enough, grown by one cell all round.
fn patches(grid: &Grid, far: &[i8]) -> Vec<bool> {
    let mut seen = vec![false; far.len()];
    let mut aside = vec![false; far.len()];
    for start in 0..far.len() {
        if far[start] == 0 || seen[start] {
            continue;
        }
        let mut patch = vec![start];
        seen[start] = true;
        let mut next = 0;
        while let Some(&cell) = patch.get(next) {
            next += 1;
            for other in neighbours(grid, cell) {
                if !seen[other] && far[other] == far[start] {
                    seen[other] = true;
                    patch.push(other);
                }
            }
        }
        if patch.len() >= LEAST_CELLS {
            for cell in patch {
                aside[cell] = true;
                neighbours(grid, cell).for_each(|other| aside[other] = true);
            }
        }
    }
    aside
}

/// The eight cells around a cell; columns run round, rows end.
fn neighbours(grid: &Grid, cell: usize) -> impl Iterator<Item = usize> + use<> {
    let (rows, columns) = (grid.rows, grid.columns);
    let (row, column) = (cell / columns, cell % columns);
    (row.saturating_sub(1)..(row + 2).min(rows)).flat_map(move |r| {
        (0..3)
            .map(move |shift| r * columns + (column + columns + shift - 1) % columns)
            .filter(move |&other| other != cell)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(deviation: impl Fn(usize, usize) -> f64) -> Grid {
        let (rows, columns) = (20, 120);
        let means = (0..rows * columns).map(|cell| deviation(cell / columns, cell % columns)).collect();
        Grid { rows, columns, counts: vec![5; rows * columns], means }
    }

    #[test]
    fn a_lobed_wall_keeps_every_point() {
        for lobes in [2, 3, 5, 9, 17, 30] {
            let lobed = grid(|row, column| {
                0.4 * (TAU * (lobes * column) as f64 / 120.0 + 0.1 * row as f64).cos()
                    + 0.001 * (column * 7 % 11) as f64
            });
            assert!(set_aside(&lobed, 0.0).iter().all(|aside| !aside), "{lobes} lobes");
        }
    }

    #[test]
    fn a_lug_and_a_chip_are_set_aside_and_nothing_else() {
        let lug = |row: usize, column: usize| (8..12).contains(&row) && (50..60).contains(&column);
        let chip = |row: usize, column: usize| row < 3 && (90..95).contains(&column);
        let damaged = grid(|row, column| {
            let wall = 0.2 * (TAU * (2 * column) as f64 / 120.0).cos() + 0.01 * ((column * 31 + row * 17) % 13) as f64;
            if lug(row, column) {
                wall + 5.0
            } else if chip(row, column) {
                wall - 2.0
            } else {
                wall
            }
        });
        let aside = set_aside(&damaged, 0.0);
        for (cell, aside) in aside.iter().enumerate() {
            let (row, column) = (cell / 120, cell % 120);
            let planted = lug(row, column) || chip(row, column);
            let near = (7..13).contains(&row) && (49..61).contains(&column) || row < 4 && (89..96).contains(&column);
            assert!(*aside || !planted, "row {row}, column {column} was left in");
            assert!(!*aside || near, "row {row}, column {column} was taken out");
        }
    }
}
