//! Where vertices go: rows at equal arc length, each with a number of vertices that grows with its radius.

use std::f64::consts::TAU;

use rayon::prelude::*;

use super::Meridian;

/// One row of vertices about the vessel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Row {
    /// Arc length, mm.
    pub(super) arc: f64,
    /// Vertices in the row.
    pub(super) count: u32,
    /// Azimuth of the first vertex, in spacings.
    pub(super) phase: f64,
    /// Index of the first vertex.
    pub(super) first: u32,
}

impl Row {
    /// Azimuth of vertex `index` of the row, which may run past the end.
    pub(super) fn azimuth(&self, index: u32) -> f64 {
        TAU * (f64::from(index) + self.phase) / f64::from(self.count)
    }

    fn vertex(&self, index: u32) -> u32 {
        self.first + index % self.count
    }
}

/// Rows from the underside's middle to the floor's; the first and the last row are one vertex on the axis.
#[derive(Clone, Debug)]
pub(super) struct Lattice {
    pub(super) rows: Vec<Row>,
    pub(super) row_spacing: f64,
}

/// The fewest vertices in a row off the axis.
const FEWEST: f64 = 6.0;

/// Distance of rows over distance of vertices in a row: equilateral triangles.
const ROW_RATIO: f64 = 0.866_025_403_784_438_6;

impl Lattice {
    pub(super) fn new(meridian: &Meridian, triangles: usize) -> Self {
        // A spacing d makes triangles of area sqrt(3)/4 d2.
        let mut spacing = (meridian.surface_area_mm2() / triangles.max(100) as f64 * 4.0 / 3.0_f64.sqrt()).sqrt();
        let mut lattice = Self::with_spacing(meridian, spacing);
        for _ in 0..2 {
            spacing *= (lattice.triangle_count() as f64 / triangles.max(100) as f64).sqrt();
            lattice = Self::with_spacing(meridian, spacing);
        }
        lattice
    }

    fn with_spacing(meridian: &Meridian, spacing: f64) -> Self {
        let length = meridian.length_mm();
        let strips = (length / (spacing * ROW_RATIO)).round().max(8.0);
        let row_spacing = length / strips;
        let mut rows = vec![Row { arc: 0.0, count: 1, phase: 0.0, first: 0 }];
        let mut first = 1;
        for index in 1..strips as u32 {
            let arc = row_spacing * f64::from(index);
            let count = (TAU * meridian.at(arc).radius_mm / spacing).round().max(FEWEST) as u32;
            rows.push(Row { arc, count, phase: 0.5 * f64::from(index % 2), first });
            first += count;
        }
        rows.push(Row { arc: length, count: 1, phase: 0.0, first });
        Self { rows, row_spacing }
    }

    pub(super) fn triangle_count(&self) -> usize {
        // Every row off the axis is the edge of two strips and gives each one triangle per vertex.
        self.rows.iter().filter(|row| row.count > 1).map(|row| 2 * row.count as usize).sum()
    }

    pub(super) fn triangles(&self) -> Vec<[u32; 3]> {
        let strips: Vec<Vec<[u32; 3]>> = self.rows.par_windows(2).map(|pair| strip(&pair[0], &pair[1])).collect();
        strips.concat()
    }
}

/// Triangles between two rows, advancing on the row whose next vertex comes first in azimuth.
fn strip(lower: &Row, upper: &Row) -> Vec<[u32; 3]> {
    // A row of one vertex is a point on the axis and gives no edge.
    let steps = |row: &Row| if row.count == 1 { 0 } else { row.count };
    let (last_a, last_b) = (steps(lower), steps(upper));
    let mut triangles = Vec::with_capacity((last_a + last_b) as usize);
    let (mut a, mut b) = (0, 0);
    while a < last_a || b < last_b {
        let on_lower = b == last_b || (a < last_a && lower.azimuth(a + 1) <= upper.azimuth(b + 1));
        if on_lower {
            triangles.push([lower.vertex(a), lower.vertex(a + 1), upper.vertex(b)]);
            a += 1;
        } else {
            triangles.push([lower.vertex(a), upper.vertex(b + 1), upper.vertex(b)]);
            b += 1;
        }
    }
    triangles
}
