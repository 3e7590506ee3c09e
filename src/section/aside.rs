//! Patches of the surface that are no part of the turned form: handles, lugs, spouts; chips, wear.
//!
//! Each row of the unrolled surface is compared with a smooth curve, robustly fitted; cells that lie far off it by the
//! row's own robust scale are seeds, and connected ones to the same side grow to where the surface is smooth again. A
//! lobed wall keeps every point: its lobes are its robust scale.

use std::ops::Range;

use rayon::prelude::*;

use super::UnrolledSurface;
use super::edge::marked;
use super::patches::{Judged, Patch, patches};
use super::smooth_row::{Basis, Coarse, OF_LEAN, OF_LEVEL, OF_WALL, Residuals, Row};
use crate::math::robust;

/// Cells further off than this many robust standard deviations are far off (project). A pure wave of any order reaches
/// 1 / (0.7071 x 1.4826) = 0.95 of its robust scale; of clay out of round in every order by as much as 1/UPR^1.2, one row's
/// furthest place in a thousand vessels is nearer than this, at 6 three in a hundred are not.
const FAR: f64 = 8.0;

/// A patch grows over cells that are off by this many (project): one in a hundred by chance, and then beside a patch.
const NEAR: f64 = 2.5;

/// A lesser distance than this is never damage, mm (project): tool marks and rounded wear of that depth belong to the wall.
const LEAST_DAMAGE_MM: f64 = 0.15;

/// Nor does a patch grow over less than this share of it (project): a cell that the edge crosses shows the part of it that is
/// damage. At 0.2 patches were a third of a cell too wide all round.
const LEAST_NEAR: f64 = 0.5;

/// A row full of damage has a scale of its own: no more than this many times that of the rows around it is believed.
const MOST_ROUGH: f64 = 3.0;
const ROWS_AROUND: usize = 8;

/// What a row is out of round by: this quantile of its cells' distances from their median (0.99 of a wave's amplitude), so
/// that damage over less than a tenth of it has no say.
const OUT_OF_ROUND: f64 = 0.9;

/// Where the meridian turns, a wall out of round is compared with the wrong place of it: distances of this many times its
/// out-of-roundness times the sine of the turn say nothing (project).
const TURN: f64 = 2.0;

/// A patch grows over what is off by more than this share of that (project): beside what is surely damage less is in doubt. At a
/// half chips of narrow rims and worn foot rings came out a tenth too small, at nothing chips of bowls' rims as much too large.
const NEAR_TURN: f64 = 0.25;

/// The lean of what the vessel stands on is told by rows that face down, with at most this axial part of the normal, and lie
/// further out than this share of the furthest, where wear takes the least share of a row.
const FLAT: f64 = -0.9;
const FAR_OUT: f64 = 0.75;

/// What lies above the plane is believed to no less than this share of the scatter on both sides (project): wear over two fifths
/// of a row doubles it, while of a foot that is warped what lies highest may scatter by a quarter of it only.
const LEAST_OF_BOTH: f64 = 0.5;

/// Cells without points are holes where at least this share of their row was seen.
const WELL_SEEN: f64 = 0.8;

/// What is known of a place of the surface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aside {
    /// Part of the turned surface.
    Kept,
    /// The same, but beside what is set aside: within one cell, or where it would still fade out as a line.
    Fringe,
    /// The same further out, where it would still fade out as a square.
    Fading,
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

    /// Whether the place is neither left out of values nor beside what is.
    #[must_use]
    pub const fn is_clear(self) -> bool {
        matches!(self, Self::Kept | Self::Fading)
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

/// Finds the patches of a surface that are no part of the turned form.
///
/// `standing` is by how much each cell's furthest point stands out beyond what is compared with the meridian, mm, 0 where
/// none does: what nothing else is seen of is hidden behind that. `changes` is by how much each row's points may have been
/// put right by what belongs to another, mm.
#[must_use]
pub fn set_aside(surface: &UnrolledSurface, standing: &[f64], changes: &[f64]) -> SetAside {
    let judged = judge(surface, &residuals(surface), standing, changes);
    let patches = patches(surface, &judged);
    let cells = marked(surface, &judged, &patches);
    SetAside { cells, patches }
}

/// What is left of each row when its smooth curve is taken off.
///
/// A row is fitted from its own median, and again from what the rows around it say; the curve that most of its cells lie
/// nearer to counts. Wear over much of a row alone, or a broad lug, would bend the first.
fn residuals(surface: &UnrolledSurface) -> Vec<Option<Residuals>> {
    let basis = Basis::new(surface.columns);
    let row = |index: usize| Row {
        means: &surface.means[surface.row(index)],
        counts: &surface.counts[surface.row(index)],
        orders: if surface.ground[index] { OF_LEAN } else { OF_WALL },
        most: f64::INFINITY,
        above: false,
    };
    let all = || (0..surface.rows.len()).into_par_iter();
    let alone: Vec<Option<Coarse>> = all().map(|index| basis.coarse(row(index), None)).collect();
    let standing =
        |index: usize| surface.ground[index].then(|| basis.coarse(Row { above: true, ..row(index) }, None))?;
    let lean = lean(surface, &all().map(standing).collect::<Vec<Option<Coarse>>>());
    let warp = told_far_out(surface, &alone, |_, coarse| Some(coarse.scale));
    all()
        .map(|index| {
            if surface.ground[index] {
                let level = basis.without(row(index), lean.map(|lean| lean * surface.lever(index)));
                // Wear may take most of a row further in, which then has no scale of its own.
                let most = warp.hypot(row(index).noise());
                let level = Row { means: &level, orders: OF_LEVEL, most, above: true, ..row(index) };
                let found = basis.residuals(level, &basis.coarse(level, Some(&basis.standing(level)?))?)?;
                return Some(Residuals { scale: found.scale.max(LEAST_OF_BOTH * most), ..found });
            }
            let own = alone[index].as_ref()?;
            let again = basis.coarse(row(index), Some(&curve_around(&alone, index)));
            let best = again.filter(|again| again.scale < own.scale).unwrap_or_else(|| own.clone());
            basis.residuals(row(index), &best)
        })
        .collect()
}

/// The first harmonic of what the vessel stands on, per mm of lever: the plane's lean.
fn lean(surface: &UnrolledSurface, alone: &[Option<Coarse>]) -> [f64; 2] {
    [1, 2].map(|index| {
        told_far_out(surface, alone, |row, coarse| coarse.coefficients.get(index).map(|c| c / surface.lever(row)))
    })
}

/// The median of what the rows tell that the vessel stands on and wear takes the least share of; 0 if there are none.
fn told_far_out(
    surface: &UnrolledSurface,
    alone: &[Option<Coarse>],
    tell: impl Fn(usize, &Coarse) -> Option<f64>,
) -> f64 {
    let flat = |row: &usize| surface.ground[*row] && surface.normals[*row][1] < FLAT;
    let widest = (0..alone.len()).filter(flat).map(|row| surface.radii[row]).fold(0.0, f64::max);
    let far_out = (0..alone.len()).filter(flat).filter(|&row| surface.radii[row] >= FAR_OUT * widest);
    let mut told: Vec<f64> = far_out.filter_map(|row| tell(row, alone[row].as_ref()?)).collect();
    robust::median(&mut told).unwrap_or(0.0)
}

/// The rows around one.
fn around(row: usize, rows: usize) -> Range<usize> {
    row.saturating_sub(ROWS_AROUND)..(row + ROWS_AROUND + 1).min(rows)
}

/// The median coefficients of the first curves of the rows around one.
fn curve_around(rows: &[Option<Coarse>], row: usize) -> Vec<f64> {
    let known: Vec<&Coarse> = rows[around(row, rows.len())].iter().flatten().collect();
    let count = known.iter().map(|coarse| coarse.coefficients.len()).max().unwrap_or(0);
    let of = |index: usize| {
        let mut values: Vec<f64> = known.iter().filter_map(|c| c.coefficients.get(index).copied()).collect();
        robust::median(&mut values).unwrap_or(0.0)
    };
    (0..count).map(of).collect()
}

fn judge(surface: &UnrolledSurface, rows: &[Option<Residuals>], standing: &[f64], changes: &[f64]) -> Judged {
    let size = surface.counts.len();
    let of_row = |(row, found): (usize, &Option<Residuals>)| out_of_round(surface, row, found.as_ref()) + changes[row];
    let out_of_round: Vec<f64> = rows.iter().enumerate().map(of_row).collect();
    let mut judged = Judged {
        far: vec![0; size],
        near: vec![0; size],
        distance: vec![0.0; size],
        unseen: vec![false; size],
        scales: vec![0.0; rows.len()],
        limits: vec![f64::INFINITY; rows.len()],
    };
    for (row, found) in rows.iter().enumerate() {
        let cells = surface.row(row);
        let Some(Residuals { values, scale }) = found else { continue };
        let scale = scale.min(MOST_ROUGH * scale_around(rows, row));
        judged.scales[row] = scale;
        let turn = TURN * at_turn(surface, &out_of_round, row);
        let far = (FAR * scale).max(LEAST_DAMAGE_MM) + turn;
        let near = (NEAR * scale).max(LEAST_NEAR * LEAST_DAMAGE_MM) + NEAR_TURN * turn;
        judged.limits[row] = near;
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
    between(surface, &mut judged);
    for cell in (0..size).filter(|&cell| surface.counts[cell] == 0) {
        let row = cell / surface.columns;
        let lobes = out_of_round[around(row, rows.len())].iter().copied().fold(0.0, f64::max);
        if standing[cell] > lobes {
            (judged.far[cell], judged.near[cell]) = (1, 1);
        }
    }
    judged
}

/// Cells narrower than high have too few points to show each: one without any goes with the nearest to its left and right,
/// where these lie to one side and no further away than a cell is high.
fn between(surface: &UnrolledSurface, judged: &mut Judged) {
    let found = judged.near.clone();
    for row in 0..surface.rows.len() {
        let reach = ((surface.row_mm / surface.column_mm(row)).ceil() as usize).min(surface.columns);
        let side = |column: usize, step: usize| {
            let cells = (1..=reach).map(|away| surface.along(surface.row(row).start + column, away * step));
            cells.into_iter().find(|&cell| surface.counts[cell] > 0).map(|cell| found[cell])
        };
        for (column, cell) in surface.row(row).enumerate().filter(|(_, cell)| surface.counts[*cell] == 0) {
            let left = side(column, surface.columns - 1);
            if left == side(column, 1) {
                judged.near[cell] = left.unwrap_or(0);
            }
        }
    }
}

/// What the cells of a row lie off their median by, mm; of what the vessel stands on their smooth curve, for wear may take a
/// third of it.
fn out_of_round(surface: &UnrolledSurface, row: usize, found: Option<&Residuals>) -> f64 {
    let left = found.filter(|_| surface.ground[row]);
    let seen = surface.row(row).enumerate().filter(|(_, cell)| surface.counts[*cell] > 0);
    let value = |(column, cell): (usize, usize)| surface.means[cell] - left.map_or(0.0, |left| left.values[column]);
    let mut values: Vec<f64> = seen.map(value).collect();
    let median = robust::median(&mut values).unwrap_or(0.0);
    values.iter_mut().for_each(|value| *value = (*value - median).abs());
    robust::quantile(&mut values, OUT_OF_ROUND).unwrap_or(0.0)
}

/// By how much a wall out of round is off at most because the meridian turns within that distance of a row, mm.
fn at_turn(surface: &UnrolledSurface, out_of_round: &[f64], row: usize) -> f64 {
    let count = out_of_round.len();
    let most = out_of_round[around(row, count)].iter().copied().fold(0.0, f64::max);
    let reach = 1 + (TURN * most / surface.row_mm).ceil() as usize;
    let [radial, axial] = surface.normals[row];
    let near = row.saturating_sub(reach)..(row + reach + 1).min(count);
    let sine = near.map(|other| (radial * surface.normals[other][1] - axial * surface.normals[other][0]).abs());
    most * sine.fold(0.0, f64::max)
}

/// The typical scale of the rows around one, mm.
fn scale_around(rows: &[Option<Residuals>], row: usize) -> f64 {
    let mut scales: Vec<f64> = rows[around(row, rows.len())].iter().flatten().map(|row| row.scale).collect();
    robust::median(&mut scales).unwrap_or(f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use rand::Rng;

    use super::*;
    use crate::quantity::Seed;

    const ROWS: usize = 60;
    const COLUMNS: usize = 180;

    fn found(at: impl Fn(usize, usize) -> f64) -> SetAside {
        // Without a little scatter the scale of a smooth wall would be nothing; 31 and 17 are coprime to the grid.
        let scatter = |row: usize, column: usize| 0.01 * ((column * 31 + row * 17) % 13) as f64 / 13.0;
        let surface = UnrolledSurface::of_distances(ROWS, COLUMNS, 50.0, |r, c| at(r, c) + scatter(r, c));
        set_aside(&surface, &vec![0.0; ROWS * COLUMNS], &[0.0; ROWS])
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
        let keeps = |seed: &u64| {
            let mut rng = Seed::new(*seed).rng();
            let phases: Vec<f64> = (0..=50).map(|_| rng.gen_range(0.0..TAU)).collect();
            let clay = |row: usize, column: usize| {
                let wave = |n: usize| {
                    let phase = phases[n] + 0.02 * (n * row) as f64;
                    (n as f64 * angle(column) + phase).cos() / (n as f64).powf(1.2)
                };
                2.0 * (2..=50).map(wave).sum::<f64>()
            };
            found(clay).patches.is_empty()
        };
        // Where a dozen lobes happen to meet in phase all the way up, nothing tells them from a rib that was put on.
        let kept = (0..200).filter(keeps).count();
        assert!(kept >= 196, "{kept} of 200 keep every point");
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
