//! The whole surface unrolled: the meridian's stations in rows, azimuth in columns, distance from the meridian in cells.

use std::f64::consts::TAU;
use std::ops::Range;

use rayon::prelude::*;

use super::NO_STATION;
use crate::axis::HalfPlane;
use crate::profile::Stations;

/// Points per cell aimed at (project): fewer leave holes, more blur the edge of what is set aside.
const PER_CELL: f64 = 4.0;

/// Columns round the circle at least and at most, and rows at most.
const FEWEST_COLUMNS: f64 = 24.0;
const MOST_COLUMNS: f64 = 360.0;
const MOST_ROWS: usize = 400;

/// Rows that begin less than this above the lowest and do not face up are what the vessel stands on, mm (project): as much as
/// is worn off, and the foot's rounded edge.
const GROUND_MM: f64 = 1.0;

/// In no cell.
const NO_CELL: u32 = u32::MAX;

/// Mean distance of the surface from the mean meridian, along its normal, by place on the meridian and azimuth.
///
/// The rows run along the whole meridian: underside, outer wall, rim, inner wall and floor, so that what is set aside at
/// the rim or the foot is one patch.
#[derive(Clone, Debug, PartialEq)]
pub struct UnrolledSurface {
    /// Azimuth sectors, the first beginning at -pi.
    pub columns: usize,
    /// The stations of each row.
    pub rows: Vec<Range<usize>>,
    /// Mean radius of each row, mm.
    pub radii: Vec<f64>,
    /// Mean normal of each row (radial, axial).
    pub normals: Vec<[f64; 2]>,
    /// Whether each row belongs to what the vessel stands on.
    pub ground: Vec<bool>,
    /// Length of a row along the meridian, mm; the last may be shorter.
    pub row_mm: f64,
    /// Row by row: points in each cell.
    pub counts: Vec<u32>,
    /// Row by row: mean distance, mm, positive out of the material; 0 where there are no points.
    pub means: Vec<f64>,
    /// The cell of each point.
    cells: Vec<u32>,
    per_row: usize,
}

impl UnrolledSurface {
    /// The surface in cells about as high as wide, as small as its points allow.
    #[must_use]
    pub fn new(points: &HalfPlane, member: &[u32], stations: &Stations) -> Self {
        let all = &stations.stations;
        let known = member.iter().filter(|station| **station != NO_STATION).count().max(1);
        let widest = all.iter().map(|s| s.radius).fold(0.0, f64::max);
        let area: f64 = all.iter().map(|s| TAU * s.radius * stations.spacing).sum();
        let side = (PER_CELL * area / known as f64).sqrt();
        let columns = (TAU * widest / side).clamp(FEWEST_COLUMNS, MOST_COLUMNS) as usize;
        let per_row = ((side / stations.spacing).round() as usize).max(all.len().div_ceil(MOST_ROWS)).max(1);
        let rows: Vec<Range<usize>> =
            (0..all.len()).step_by(per_row).map(|from| from..(from + per_row).min(all.len())).collect();
        let placed: Vec<(u32, f64)> = (0..points.len())
            .into_par_iter()
            .with_min_len(4096)
            .map(|index| {
                let Some(station) = all.get(member[index] as usize) else { return (NO_CELL, 0.0) };
                let (offset, t) = station.offset(points.radius[index], points.height[index], stations.spacing);
                // What lies beyond the meridian's end is no distance from it.
                if t.abs() > 1.5 * stations.spacing {
                    return (NO_CELL, 0.0);
                }
                let row = member[index] as usize / per_row;
                ((row * columns + column(points.azimuth[index], columns)) as u32, offset)
            })
            .collect();
        let size = rows.len() * columns;
        let (mut counts, mut means) = (vec![0_u32; size], vec![0.0; size]);
        for &(cell, offset) in placed.iter().filter(|(cell, _)| *cell != NO_CELL) {
            counts[cell as usize] += 1;
            means[cell as usize] += offset;
        }
        means.iter_mut().zip(&counts).for_each(|(mean, count)| *mean /= f64::from((*count).max(1)));
        let radius = |row: &Range<usize>| all[row.clone()].iter().map(|s| s.radius).sum::<f64>() / row.len() as f64;
        let radii = rows.iter().map(radius).collect();
        let normal = |row: &Range<usize>| {
            let sum = |axis: usize| all[row.clone()].iter().map(|s| s.normal[axis]).sum::<f64>();
            let (radial, axial) = (sum(0), sum(1));
            let size = radial.hypot(axial).max(f64::MIN_POSITIVE);
            [radial / size, axial / size]
        };
        let normals: Vec<[f64; 2]> = rows.iter().map(normal).collect();
        let low = |row: &Range<usize>| all[row.clone()].iter().map(|s| s.height).fold(f64::INFINITY, f64::min);
        let lowest = rows.iter().map(low).fold(f64::INFINITY, f64::min);
        let ground = rows.iter().zip(&normals).map(|(row, normal)| normal[1] < 0.0 && low(row) < lowest + GROUND_MM);
        let ground = ground.collect();
        let row_mm = per_row as f64 * stations.spacing;
        let cells = placed.into_iter().map(|(cell, _)| cell).collect();
        Self { columns, rows, radii, normals, ground, row_mm, counts, means, cells, per_row }
    }

    /// The cell of a point; `None` if it belongs to no station.
    #[must_use]
    pub fn cell_of(&self, point: usize) -> Option<usize> {
        self.cells.get(point).filter(|cell| **cell != NO_CELL).map(|cell| *cell as usize)
    }

    /// A surface of one station a row, five points in each cell, from its distances.
    #[cfg(test)]
    pub(super) fn of_distances(rows: usize, columns: usize, radius: f64, at: impl Fn(usize, usize) -> f64) -> Self {
        Self {
            columns,
            rows: (0..rows).map(|row| row..row + 1).collect(),
            radii: vec![radius; rows],
            normals: vec![[1.0, 0.0]; rows],
            ground: vec![false; rows],
            row_mm: 1.0,
            counts: vec![5; rows * columns],
            means: (0..rows * columns).map(|cell| at(cell / columns, cell % columns)).collect(),
            cells: Vec::new(),
            per_row: 1,
        }
    }

    /// How far a lean of one moves a row along its normal, mm; negative where it faces down.
    pub(super) fn lever(&self, row: usize) -> f64 {
        self.radii[row].max(self.row_mm) * self.normals[row][1]
    }

    /// How wide the cells of a row are, mm.
    pub(super) fn column_mm(&self, row: usize) -> f64 {
        TAU * self.radii[row] / self.columns as f64
    }

    /// The row of a station.
    #[must_use]
    pub const fn row_of(&self, station: usize) -> usize {
        station / self.per_row
    }

    /// The cell at a station and an azimuth in (-pi, pi].
    #[must_use]
    pub fn cell_at(&self, station: usize, azimuth: f64) -> usize {
        self.row_of(station) * self.columns + column(azimuth, self.columns)
    }

    /// The middle azimuth of a column, rad.
    #[must_use]
    pub fn azimuth(&self, column: usize) -> f64 {
        ((column as f64 + 0.5) / self.columns as f64 - 0.5) * TAU
    }

    /// The cells of a row.
    #[must_use]
    pub const fn row(&self, row: usize) -> Range<usize> {
        row * self.columns..(row + 1) * self.columns
    }

    /// The cell of the same row so many columns further round.
    pub(super) const fn along(&self, cell: usize, steps: usize) -> usize {
        cell - cell % self.columns + (cell % self.columns + steps) % self.columns
    }

    /// Mean azimuth of cells and the angle that they span, rad.
    #[must_use]
    pub fn span(&self, cells: &[usize]) -> (f64, f64) {
        let mut taken = vec![false; self.columns];
        cells.iter().for_each(|cell| taken[cell % self.columns] = true);
        let taken: Vec<f64> = (0..self.columns).filter(|&c| taken[c]).map(|c| self.azimuth(c)).collect();
        let sum = |of: fn(f64) -> f64| taken.iter().map(|azimuth| of(*azimuth)).sum::<f64>();
        (sum(f64::sin).atan2(sum(f64::cos)), TAU * taken.len() as f64 / self.columns as f64)
    }

    /// The eight cells around a cell; columns run round, rows end.
    pub fn neighbours(&self, cell: usize) -> impl Iterator<Item = usize> + use<> {
        let (rows, columns) = (self.rows.len(), self.columns);
        let (row, column) = (cell / columns, cell % columns);
        (row.saturating_sub(1)..(row + 2).min(rows)).flat_map(move |r| {
            (0..3)
                .map(move |shift| r * columns + (column + columns + shift - 1) % columns)
                .filter(move |&other| other != cell)
        })
    }
}

/// The column of an azimuth in (-pi, pi].
fn column(azimuth: f64, columns: usize) -> usize {
    (((azimuth / TAU + 0.5) * columns as f64) as usize).min(columns - 1)
}
