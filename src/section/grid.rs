//! The unrolled wall: bands by azimuth, mean deviation in each cell.

use std::f64::consts::TAU;

use super::Bands;

/// Columns round the circle, at most and at least.
const COLUMNS: std::ops::RangeInclusive<usize> = 12..=120;

/// Points per cell aimed at: fewer leave holes in the map.
const PER_CELL: usize = 4;

/// Mean deviation by band and azimuth.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// Bands.
    pub rows: usize,
    /// Azimuth sectors, the first beginning at -pi.
    pub columns: usize,
    /// Row by row: points in each cell.
    pub counts: Vec<u32>,
    /// Row by row: mean radial deviation, mm; 0 where there are no points.
    pub means: Vec<f64>,
}

impl Grid {
    /// The grid of a wall's bands, as fine as their points allow.
    #[must_use]
    pub fn new(bands: &Bands) -> Self {
        let rows = bands.heights.count;
        let filled = (0..rows).filter(|&row| !bands.points(row..row + 1).0.is_empty()).count().max(1);
        let columns = (bands.len() / (filled * PER_CELL)).clamp(*COLUMNS.start(), *COLUMNS.end());
        let mut grid = Self { rows, columns, counts: vec![0; rows * columns], means: vec![0.0; rows * columns] };
        for row in 0..rows {
            let (azimuth, deviation) = bands.points(row..row + 1);
            for (azimuth, deviation) in azimuth.iter().zip(deviation) {
                let cell = row * columns + grid.column(*azimuth);
                grid.counts[cell] += 1;
                grid.means[cell] += deviation;
            }
        }
        for (mean, count) in grid.means.iter_mut().zip(&grid.counts) {
            *mean /= f64::from((*count).max(1));
        }
        grid
    }

    /// The column of an azimuth in (-pi, pi].
    #[must_use]
    pub fn column(&self, azimuth: f64) -> usize {
        (((azimuth / TAU + 0.5) * self.columns as f64) as usize).min(self.columns - 1)
    }

    /// The middle azimuth of a column, rad.
    #[must_use]
    pub fn azimuth(&self, column: usize) -> f64 {
        ((column as f64 + 0.5) / self.columns as f64 - 0.5) * TAU
    }
}
