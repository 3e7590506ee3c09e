//! The half-plane as a grid of cells: where the surface is, which way it faces, how far round it closes.
//!
//! Seen along the azimuth, a surface of revolution is a curve: few cells are occupied, and each is seen all the way
//! round. Handles, spouts and loose parts fill cells over a part of the azimuth only.

use super::HalfPlane;

/// Azimuth sectors in which a cell's points are counted.
pub const SECTORS: u32 = 32;

/// Cells along one side of the grid at most; it bounds the memory for scans of odd proportions.
const MOST_CELLS: f64 = 1200.0;

/// One occupied cell of one sheet of the surface.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cell {
    /// Points in it.
    pub count: u32,
    /// Mean radius, mm.
    pub radius: f64,
    /// Mean height, mm.
    pub height: f64,
    /// Mean normal, radial and axial; zero where the scan has no normals.
    pub normal: [f64; 2],
    /// One bit per azimuth sector in which a point was seen.
    pub sectors: u32,
}

impl Cell {
    /// The share of the sectors seen that `count` points spread at random would be expected to see, at most 1.
    #[must_use]
    pub fn closure(&self) -> f64 {
        let sectors = f64::from(SECTORS);
        let expected = sectors * (1.0 - (1.0 - 1.0 / sectors).powi(self.count.min(10_000) as i32));
        (f64::from(self.sectors.count_ones()) / expected).min(1.0)
    }

    /// The longest run of neighbouring sectors in which nothing was seen.
    #[must_use]
    pub fn longest_gap(&self) -> u32 {
        let mut runs = !self.sectors;
        let mut longest = 0;
        // Each round shortens every run by one; a circle of nothing but gap would never end.
        while runs != 0 && longest < SECTORS {
            runs &= runs.rotate_left(1);
            longest += 1;
        }
        longest
    }
}

/// The occupied cells, two sheets at most per place (the two faces of a thin wall).
#[derive(Clone, Debug, PartialEq)]
pub struct Cells {
    /// Side of a cell, mm.
    pub size: f64,
    /// The occupied cells.
    pub cells: Vec<Cell>,
    /// For each point the index of its cell.
    pub member: Vec<u32>,
    low: [f64; 2],
    columns: usize,
    rows: usize,
    sheets: Vec<[u32; 2]>,
}

/// No cell here.
const NONE: u32 = u32::MAX;

impl Cells {
    /// The cells of side `size` mm, or a little more where the grid would grow out of bounds.
    #[must_use]
    pub fn new(points: &HalfPlane, size: f64) -> Self {
        let low = [0.0, points.height.iter().copied().fold(f64::INFINITY, f64::min)];
        let high = [
            points.radius.iter().copied().fold(0.0, f64::max),
            points.height.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ];
        let extent = (high[0] - low[0]).max(high[1] - low[1]);
        let size = size.max(extent / MOST_CELLS);
        let columns = ((high[0] - low[0]) / size) as usize + 1;
        let rows = ((high[1] - low[1]) / size).max(0.0) as usize + 1;
        let mut cells = Self {
            size,
            cells: Vec::new(),
            member: Vec::new(),
            low,
            columns,
            rows,
            sheets: vec![[NONE; 2]; columns * rows],
        };
        cells.fill(points);
        cells
    }

    /// The place of a radius and height in the grid; clamped to it.
    fn place(&self, radius: f64, height: f64) -> usize {
        let column = (((radius - self.low[0]) / self.size) as usize).min(self.columns - 1);
        let row = (((height - self.low[1]) / self.size).max(0.0) as usize).min(self.rows - 1);
        row * self.columns + column
    }

    fn fill(&mut self, points: &HalfPlane) {
        let facing = self.facing(points);
        self.member = Vec::with_capacity(points.len());
        for (index, (&radius, &height)) in points.radius.iter().zip(&points.height).enumerate() {
            let place = self.place(radius, height);
            let normal = points.normal.get(index).map_or([0.0; 2], |n| n.map(f64::from));
            let sheet = match facing.get(place) {
                Some(face) if normal[0] * face[0] + normal[1] * face[1] < 0.0 => 1,
                _ => 0,
            };
            let mut id = self.sheets[place][sheet];
            if id == NONE {
                id = self.cells.len() as u32;
                self.sheets[place][sheet] = id;
                self.cells.push(Cell::default());
            }
            self.member.push(id);
            let cell = &mut self.cells[id as usize];
            cell.count += 1;
            cell.radius += radius;
            cell.height += height;
            cell.normal[0] += normal[0];
            cell.normal[1] += normal[1];
            cell.sectors |= 1 << sector(points.azimuth[index]);
        }
        for cell in &mut self.cells {
            let count = f64::from(cell.count);
            cell.radius /= count;
            cell.height /= count;
            let length = cell.normal[0].hypot(cell.normal[1]);
            cell.normal = if length > 0.0 { cell.normal.map(|n| n / length) } else { [0.0; 2] };
        }
    }

    /// The principal direction of the normals in each place, whatever their signs; empty without normals.
    fn facing(&self, points: &HalfPlane) -> Vec<[f64; 2]> {
        if points.normal.is_empty() {
            return Vec::new();
        }
        let mut tensors = vec![[0.0_f64; 2]; self.columns * self.rows];
        for ((&radius, &height), normal) in points.radius.iter().zip(&points.height).zip(&points.normal) {
            let [r, z] = normal.map(f64::from);
            let tensor = &mut tensors[self.place(radius, height)];
            // The doubled angle of a direction does not know its sign.
            tensor[0] += r * r - z * z;
            tensor[1] += 2.0 * r * z;
        }
        tensors
            .into_iter()
            .map(|[cos, sin]| {
                let angle = 0.5 * sin.atan2(cos);
                [angle.cos(), angle.sin()]
            })
            .collect()
    }

    /// The share of the points that lie in closed cells: 1 for a whole surface of revolution about its axis.
    #[must_use]
    pub fn closure(&self) -> f64 {
        let (mut closed, mut all) = (0.0, 0.0);
        for cell in self.cells.iter().filter(|cell| cell.count >= 4) {
            let weight = f64::from(cell.count);
            all += weight;
            closed += weight * cell.closure();
        }
        if all > 0.0 { closed / all } else { 0.0 }
    }

    /// The indices of the cells in the places within `reach` places of a radius and height.
    pub fn near(&self, radius: f64, height: f64, reach: usize) -> impl Iterator<Item = u32> + '_ {
        let place = self.place(radius, height);
        let (row, column) = (place / self.columns, place % self.columns);
        let rows = row.saturating_sub(reach)..(row + reach + 1).min(self.rows);
        let columns = column.saturating_sub(reach)..(column + reach + 1).min(self.columns);
        rows.flat_map(move |row| columns.clone().map(move |column| row * self.columns + column))
            .flat_map(|place| self.sheets[place])
            .filter(|&id| id != NONE)
    }
}

/// The azimuth sector of an angle in (-pi, pi].
fn sector(azimuth: f64) -> u32 {
    let turn = azimuth / std::f64::consts::TAU + 0.5;
    ((turn * f64::from(SECTORS)) as u32).min(SECTORS - 1)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{PI, TAU};

    use super::*;

    fn ring(points: usize, sweep: f64) -> HalfPlane {
        let azimuth: Vec<f64> = (0..points).map(|i| -PI + sweep * i as f64 / points as f64).collect();
        HalfPlane { radius: vec![10.0; points], height: vec![1.0; points], azimuth, normal: Vec::new() }
    }

    #[test]
    fn a_whole_ring_closes_and_a_sector_does_not() {
        assert!(Cells::new(&ring(500, TAU), 0.5).closure() > 0.99);
        let third = Cells::new(&ring(500, TAU / 3.0), 0.5).closure();
        assert!((third - 1.0 / 3.0).abs() < 0.05, "{third}");
    }

    #[test]
    fn the_longest_gap_runs_over_the_end_of_the_mask() {
        let cell = Cell { sectors: 0b0000_0000_0000_0011_1100_0000_0000_0000, ..Cell::default() };
        assert_eq!(cell.longest_gap(), 28);
        assert_eq!(Cell { sectors: u32::MAX, ..Cell::default() }.longest_gap(), 0);
        assert_eq!(Cell::default().longest_gap(), SECTORS);
    }

    #[test]
    fn the_faces_of_a_thin_wall_are_two_sheets() {
        let mut points = ring(100, TAU);
        points.normal = (0..100).map(|i| if i % 2 == 0 { [1.0, 0.0] } else { [-1.0, 0.0] }).collect();
        let cells = Cells::new(&points, 0.5);
        assert_eq!(cells.cells.len(), 2);
        assert_eq!(cells.near(10.0, 1.0, 1).count(), 2);
    }
}
