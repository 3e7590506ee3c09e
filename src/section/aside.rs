//! Patches of the surface that are no part of the turned form: handles, lugs, spouts; chips, wear.
//!
//! Each row of the unrolled surface is compared with a smooth curve, robustly fitted; cells that lie far off it by the
//! row's own robust scale are seeds, and connected ones to the same side grow to where the surface is smooth again. A
//! lobed wall keeps every point: its lobes are its robust scale.

use rayon::prelude::*;

use super::UnrolledSurface;
use super::patches::{Judged, Patch, patches};
use super::smooth_row::{Basis, Residuals};
use crate::math::robust;

/// Cells further off than this many robust standard deviations are far off (project). A pure wave of any order reaches
/// 1 / (0.7071 x 1.4826) = 0.95 of its robust scale, so that lobes alone never come near it.
const FAR: f64 = 6.0;

/// A patch grows over cells that are off by this many (project): one in a hundred by chance, and then beside a patch.
const NEAR: f64 = 2.5;

/// A lesser distance than this is never damage, mm (project): tool marks and rounded wear of that depth belong to the wall.
const LEAST_DAMAGE_MM: f64 = 0.15;

/// Nor does a patch grow over less than this share of it.
const LEAST_NEAR: f64 = 0.2;

/// A row full of damage has a scale of its own: no more than this many times that of the rows around it is believed.
const MOST_ROUGH: f64 = 3.0;
const ROWS_AROUND: usize = 8;

/// Cells without points are holes where at least this share of their row was seen.
const WELL_SEEN: f64 = 0.8;

/// What is known of a place of the surface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aside {
    /// Part of the turned surface.
    Kept,
    /// The same, but beside what is set aside: within one cell.
    Fringe,
    /// Set aside: something stands on the surface, as a handle, a lug, a spout.
    Raised,
    /// Set aside: something is gone from it, as by a chip or wear.
    Lost,
}

impl Aside {
    /// Whether the place is left out of values.
    #[must_use]
    pub const fn is_set_aside(self) -> bool {
        matches!(self, Self::Raised | Self::Lost)
    }
}

/// What is set aside of an unrolled surface.
#[derive(Clone, Debug, PartialEq)]
pub struct SetAside {
    /// Row by row of the surface: what each cell is.
    pub cells: Vec<Aside>,
    /// The patches, in the order of their first cell.
    pub patches: Vec<Patch>,
}

/// Finds the patches of a surface that are no part of the turned form; `hidden` are cells that something standing out from
/// the wall hides from the scanner.
#[must_use]
pub fn set_aside(surface: &UnrolledSurface, hidden: &[bool]) -> SetAside {
    let basis = Basis::new(surface.columns);
    let rows: Vec<Option<Residuals>> = (0..surface.rows.len())
        .into_par_iter()
        .map(|row| basis.residuals(&surface.means[surface.row(row)], &surface.counts[surface.row(row)]))
        .collect();
    let judged = judge(surface, &rows, hidden);
    let patches = patches(surface, &judged);
    let mut cells = vec![Aside::Kept; judged.far.len()];
    for patch in &patches {
        for &cell in &patch.cells {
            surface.neighbours(cell).for_each(|other| cells[other] = Aside::Fringe);
        }
    }
    for patch in &patches {
        patch.cells.iter().for_each(|&cell| cells[cell] = patch.kind);
    }
    SetAside { cells, patches }
}

fn judge(surface: &UnrolledSurface, rows: &[Option<Residuals>], hidden: &[bool]) -> Judged {
    let size = surface.counts.len();
    let mut judged =
        Judged { far: vec![0; size], near: vec![0; size], distance: vec![0.0; size], unseen: vec![false; size] };
    for (row, found) in rows.iter().enumerate() {
        let cells = surface.row(row);
        let Some(Residuals { values, scale }) = found else { continue };
        let scale = scale.min(MOST_ROUGH * scale_around(rows, row));
        let far = (FAR * scale).max(LEAST_DAMAGE_MM);
        let near = (NEAR * scale).max(LEAST_NEAR * LEAST_DAMAGE_MM);
        let seen = surface.counts[cells.clone()].iter().filter(|count| **count > 0).count();
        let well_seen = seen as f64 >= WELL_SEEN * surface.columns as f64;
        for (cell, distance) in cells.zip(values) {
            let sign = if *distance > 0.0 { 1 } else { -1 };
            if surface.counts[cell] == 0 {
                judged.unseen[cell] = well_seen;
            } else {
                judged.far[cell] = if distance.abs() > far { sign } else { 0 };
                judged.near[cell] = if distance.abs() > near { sign } else { 0 };
                judged.distance[cell] = *distance;
            }
        }
    }
    for cell in (0..size).filter(|&cell| hidden[cell]) {
        (judged.far[cell], judged.near[cell]) = (1, 1);
    }
    judged
}

/// The typical scale of the rows around one, mm.
fn scale_around(rows: &[Option<Residuals>], row: usize) -> f64 {
    let around = row.saturating_sub(ROWS_AROUND)..(row + ROWS_AROUND + 1).min(rows.len());
    let mut scales: Vec<f64> = rows[around].iter().flatten().map(|row| row.scale).collect();
    robust::median(&mut scales).unwrap_or(f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    const ROWS: usize = 60;
    const COLUMNS: usize = 180;

    fn found(at: impl Fn(usize, usize) -> f64) -> SetAside {
        // Without a little scatter the scale of a smooth wall would be nothing; 31 and 17 are coprime to the grid.
        let scatter = |row: usize, column: usize| 0.01 * ((column * 31 + row * 17) % 13) as f64 / 13.0;
        let surface = UnrolledSurface::of_distances(ROWS, COLUMNS, 50.0, |r, c| at(r, c) + scatter(r, c));
        set_aside(&surface, &vec![false; ROWS * COLUMNS])
    }

    fn angle(column: usize) -> f64 {
        TAU * column as f64 / COLUMNS as f64
    }

    fn keeps_every_point(what: &str, at: impl Fn(usize, usize) -> f64) {
        let found = found(at);
        assert!(found.patches.is_empty(), "{what}: {:?}", found.patches[0].cells.len());
    }

    #[test]
    fn lobes_of_any_order_are_kept() {
        for lobes in 2..=50 {
            for amplitude in [0.05, 0.5, 3.0] {
                keeps_every_point(&format!("{lobes} lobes of {amplitude} mm"), |row, column| {
                    amplitude * (lobes as f64 * angle(column) + 0.1 * row as f64).cos()
                });
            }
        }
    }

    #[test]
    fn many_lobes_together_are_kept() {
        for seed in 0..12_usize {
            keeps_every_point("clay out of round in every order", |row, column| {
                let wave = |n: usize| {
                    let phase = (n * n * (seed + 3)) as f64 + 0.02 * (n * row) as f64;
                    (n as f64 * angle(column) + phase).cos() / (n as f64).powf(1.2)
                };
                2.0 * (2..=50).map(wave).sum::<f64>()
            });
        }
    }

    #[test]
    fn bow_tool_marks_and_flutes_are_kept() {
        keeps_every_point("a bow", |row, column| 2.0 * (row as f64 / 30.0 - 1.0).powi(2) * angle(column).cos());
        for turns in [1, 2, 7] {
            keeps_every_point("a spiral of tool marks", |row, column| {
                let place = (row * turns) as f64 / ROWS as f64 - angle(column) / TAU;
                let off = (place - place.round()).abs();
                if off < 0.03 { -0.4 } else { 0.0 }
            });
        }
        keeps_every_point("a groove all round", |row, _| if (20..23).contains(&row) { -0.6 } else { 0.0 });
        keeps_every_point(
            "narrow flutes",
            |row, column| {
                if column % 15 < 3 && (8..50).contains(&row) { -0.8 } else { 0.0 }
            },
        );
    }

    #[test]
    fn lugs_chips_and_wear_are_set_aside_and_nothing_else() {
        let lug = |row: usize, column: usize| (20..28).contains(&row) && (50..60).contains(&column);
        let chip = |row: usize, column: usize| row > 55 && (90..95).contains(&column);
        let wear = |row: usize, column: usize| row < 2 && (150..174).contains(&column);
        let found = found(|row, column| {
            let wall = 0.2 * (2.0 * angle(column)).cos() + 0.05 * (7.0 * angle(column)).sin();
            wall + match (lug(row, column), chip(row, column), wear(row, column)) {
                (true, ..) => 5.0,
                (_, true, _) => -2.0,
                (.., true) => -0.5,
                _ => 0.0,
            }
        });
        for (cell, aside) in found.cells.iter().enumerate() {
            let (row, column) = (cell / COLUMNS, cell % COLUMNS);
            let planted = lug(row, column) || chip(row, column) || wear(row, column);
            assert_eq!(aside.is_set_aside(), planted, "row {row}, column {column}");
            assert!(!lug(row, column) || *aside == Aside::Raised);
        }
        assert_eq!(found.patches.len(), 3);
        assert!((found.patches[0].furthest_mm + 0.5).abs() < 0.1, "{}", found.patches[0].furthest_mm);
    }
}
