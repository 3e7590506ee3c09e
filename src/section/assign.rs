//! Which station of the meridian each point belongs to.

use rayon::prelude::*;

use crate::axis::HalfPlane;
use crate::profile::Station;

/// A point that belongs to no station.
pub const NO_STATION: u32 = u32::MAX;

/// Cells along one side of the look-up grid at most.
const MOST_CELLS: f64 = 2000.0;

/// For places of the half-plane the nearest station, and the nearest that faces the other way.
struct Lookup {
    low: [f64; 2],
    size: f64,
    columns: usize,
    rows: usize,
    nearest: Vec<[u32; 2]>,
}

/// The station nearest to each point within `reach` mm, [`NO_STATION`] beyond; where points have normals, only stations
/// that face the same way.
#[must_use]
pub fn assign(points: &HalfPlane, stations: &[Station], spacing: f64, reach: f64) -> Vec<u32> {
    if stations.is_empty() {
        return vec![NO_STATION; points.len()];
    }
    let lookup = Lookup::new(stations, spacing, reach);
    (0..points.len())
        .into_par_iter()
        .with_min_len(4096)
        .map(|index| {
            let at = [points.radius[index], points.height[index]];
            let normal = points.normal.get(index).map(|n| n.map(f64::from));
            let Some(hints) = lookup.at(at) else { return NO_STATION };
            hints.into_iter().find_map(|hint| settle(stations, at, normal, hint, reach)).unwrap_or(NO_STATION)
        })
        .collect()
}

/// The nearest station around a hint, if it faces the right way and lies within reach.
fn settle(stations: &[Station], at: [f64; 2], normal: Option<[f64; 2]>, hint: u32, reach: f64) -> Option<u32> {
    const AROUND: usize = 2;
    let hint = hint as usize;
    if hint >= stations.len() {
        return None;
    }
    let distance = |index: usize| square_distance(&stations[index], at);
    let range = hint.saturating_sub(AROUND)..(hint + AROUND + 1).min(stations.len());
    let best = range.min_by(|&a, &b| distance(a).total_cmp(&distance(b)))?;
    let station = &stations[best];
    let facing = normal.is_none_or(|[r, z]| r * station.normal[0] + z * station.normal[1] > 0.0);
    (facing && distance(best) <= reach * reach).then_some(best as u32)
}

fn square_distance(station: &Station, [r, z]: [f64; 2]) -> f64 {
    (station.radius - r).powi(2) + (station.height - z).powi(2)
}

impl Lookup {
    fn new(stations: &[Station], spacing: f64, reach: f64) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for station in stations {
            for (axis, value) in [station.radius, station.height].into_iter().enumerate() {
                low[axis] = low[axis].min(value - reach);
                high[axis] = high[axis].max(value + reach);
            }
        }
        let size = spacing.max((high[0] - low[0]).max(high[1] - low[1]) / MOST_CELLS);
        let columns = ((high[0] - low[0]) / size) as usize + 1;
        let rows = ((high[1] - low[1]) / size) as usize + 1;
        let mut lookup = Self { low, size, columns, rows, nearest: vec![[NO_STATION; 2]; columns * rows] };
        lookup.fill(stations, reach, 0, |_, _| true);
        let first: Vec<u32> = lookup.nearest.iter().map(|n| n[0]).collect();
        lookup.fill(stations, reach, 1, |cell, station| {
            stations
                .get(first[cell] as usize)
                .is_some_and(|other| other.normal[0] * station.normal[0] + other.normal[1] * station.normal[1] < 0.0)
        });
        lookup
    }

    fn fill(&mut self, stations: &[Station], reach: f64, slot: usize, fits: impl Fn(usize, &Station) -> bool) {
        let mut least = vec![f64::INFINITY; self.nearest.len()];
        let around = (reach / self.size) as isize + 1;
        for (index, station) in stations.iter().enumerate() {
            let column = ((station.radius - self.low[0]) / self.size) as isize;
            let row = ((station.height - self.low[1]) / self.size) as isize;
            for y in (row - around).max(0)..(row + around + 1).min(self.rows as isize) {
                for x in (column - around).max(0)..(column + around + 1).min(self.columns as isize) {
                    let cell = y as usize * self.columns + x as usize;
                    let middle =
                        [self.low[0] + (x as f64 + 0.5) * self.size, self.low[1] + (y as f64 + 0.5) * self.size];
                    let distance = square_distance(station, middle);
                    if distance < least[cell] && fits(cell, station) {
                        least[cell] = distance;
                        self.nearest[cell][slot] = index as u32;
                    }
                }
            }
        }
    }

    fn at(&self, [r, z]: [f64; 2]) -> Option<[u32; 2]> {
        let (x, y) = ((r - self.low[0]) / self.size, (z - self.low[1]) / self.size);
        (x >= 0.0 && y >= 0.0 && x < self.columns as f64 && y < self.rows as f64)
            .then(|| self.nearest[y as usize * self.columns + x as usize])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::Stations;

    #[test]
    fn the_faces_of_a_thin_wall_keep_their_own_points() {
        let path = [[10.0, 0.0], [10.0, 20.0], [9.5, 20.0], [9.5, 0.0]];
        let stations = Stations::along(&path, 100).unwrap();
        let points = HalfPlane {
            radius: vec![10.1, 9.4, 10.1, 20.0],
            height: vec![5.0, 5.0, 5.0, 5.0],
            azimuth: vec![0.0; 4],
            normal: vec![[1.0, 0.0], [-1.0, 0.0], [-1.0, 0.0], [1.0, 0.0]],
        };
        let member = assign(&points, &stations.stations, stations.spacing, 1.0);
        let radius = |i: usize| stations.stations[member[i] as usize].radius;
        assert!((radius(0) - 10.0).abs() < 1e-9);
        assert!((radius(1) - 9.5).abs() < 1e-9);
        assert!((radius(2) - 9.5).abs() < 1e-9, "an inward face belongs to the inner wall");
        assert_eq!(member[3], NO_STATION);
    }
}
