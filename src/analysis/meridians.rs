//! The meridians of a corpus, from the table `profiles`.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::AnalysisError;
use super::corpus::key;
use super::form::{MeridianPoint, ScanWalls};
use crate::table::Table;

/// Meridians by scan, gathered from `profiles` whole or piece by piece: the table of a large corpus is larger than
/// everything else a comparison holds.
///
/// # Example
/// ```
/// use tornus::analysis::Meridians;
/// use tornus::table::{Column, Table};
/// let piece = Table::new("profiles", vec![
///     Column::texts("scan_id", ["a", "a"]),
///     Column::texts("wall", ["outer", "inner"]),
///     Column::integers("station", [0, 0]),
///     Column::floats("height_mm", [0.0, 1.0]),
///     Column::floats("radius_mm", [5.0, 4.0]),
/// ])?;
/// let mut meridians = Meridians::default();
/// meridians.add(&piece)?;
/// assert_eq!(meridians.scans(), 1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Meridians {
    /// Outer and inner wall of each scan.
    by_scan: BTreeMap<String, [Wall; 2]>,
}

/// One wall, its stations in order; what reads it shares the points, which are the greatest part of a large corpus.
#[derive(Clone, Debug, Default, PartialEq)]
struct Wall {
    /// The number of the first station.
    first: i64,
    /// The numbers of all, where they do not simply follow each other.
    numbers: Vec<i64>,
    points: Arc<Vec<MeridianPoint>>,
}

impl Wall {
    /// Makes room for so many more stations.
    fn expect(&mut self, stations: usize) {
        Arc::make_mut(&mut self.points).reserve_exact(stations);
    }

    /// Adds a station in its place, after those of the same number.
    fn add(&mut self, station: i64, point: MeridianPoint) {
        let points = Arc::make_mut(&mut self.points);
        if points.is_empty() {
            self.first = station;
        }
        let next = self.first + points.len() as i64;
        if self.numbers.is_empty() && station == next {
            points.push(point);
            return;
        }
        if self.numbers.is_empty() {
            self.numbers = (self.first..next).collect();
        }
        let place = self.numbers.partition_point(|number| *number <= station);
        self.numbers.insert(place, station);
        points.insert(place, point);
    }
}

impl Meridians {
    /// The columns that are read.
    pub const COLUMNS: [&'static str; 6] = ["scan_id", "wall", "station", "height_mm", "radius_mm", "u_radius_mm"];

    /// The walls, in the order in which they are held.
    pub(super) const WALLS: [&'static str; 2] = ["outer", "inner"];

    /// Adds the stations of a piece of `profiles`.
    ///
    /// # Errors
    /// [`AnalysisError`] if a column but `u_radius_mm` is missing, or a station has no scan.
    pub fn add(&mut self, profiles: &Table) -> Result<(), AnalysisError> {
        let scans = profiles.texts("scan_id")?;
        let walls = profiles.texts("wall")?;
        let stations = profiles.integers("station")?;
        let (heights, radii) = (profiles.floats("height_mm")?, profiles.floats("radius_mm")?);
        let us = if profiles.has("u_radius_mm") { Some(profiles.floats("u_radius_mm")?) } else { None };
        let mut first = 0;
        for run in scans.chunk_by(|a, b| a == b) {
            let scan = key(profiles, first, scans[first].as_ref())?;
            let held = self.by_scan.entry(scan).or_default();
            let on = |name: &str| (first..first + run.len()).filter(|&row| walls[row].as_deref() == Some(name)).count();
            held.iter_mut().zip(Self::WALLS).for_each(|(wall, name)| wall.expect(on(name)));
            for row in first..first + run.len() {
                let (Some(station), Some(height_mm), Some(radius_mm)) = (stations[row], heights[row], radii[row])
                else {
                    continue;
                };
                let u_radius_mm = us.and_then(|us| us[row]).unwrap_or_default();
                let wall = Self::WALLS.iter().position(|word| walls[row].as_deref() == Some(word));
                let point = MeridianPoint { radius_mm, height_mm, u_radius_mm };
                wall.into_iter().for_each(|wall| held[wall].add(station, point));
            }
            first += run.len();
        }
        Ok(())
    }

    /// How many scans have an outer meridian.
    #[must_use]
    pub fn scans(&self) -> usize {
        self.by_scan.values().filter(|[outer, _]| !outer.points.is_empty()).count()
    }

    /// The walls of each scan, their stations in order; a scan without an outer wall has none.
    pub(super) fn in_order(&self) -> impl Iterator<Item = (&String, ScanWalls)> {
        let seen = self.by_scan.iter().filter(|(_, [outer, _])| !outer.points.is_empty());
        seen.map(|(scan, walls)| {
            let [outer, inner] = walls.each_ref().map(|wall| Arc::clone(&wall.points));
            (scan, ScanWalls { outer, inner, partial: false })
        })
    }

    /// The outer and the inner wall of one scan, their stations in order; empty where there are none.
    pub(super) fn of_scan(&self, scan: &str) -> [Arc<Vec<MeridianPoint>>; 2] {
        self.by_scan.get(scan).map(|walls| walls.each_ref().map(|wall| Arc::clone(&wall.points))).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Column;

    #[test]
    fn stations_are_put_in_order_wherever_they_stand() {
        // Station 3 is there twice: the first stays first.
        let stations = [0, 1, 5, 3, 3, 2];
        let piece = |rows: std::ops::Range<usize>| {
            let columns = vec![
                Column::texts("scan_id", rows.clone().map(|_| "a")),
                Column::texts("wall", rows.clone().map(|_| "outer")),
                Column::integers("station", rows.clone().map(|row| stations[row])),
                Column::floats("height_mm", rows.clone().map(|row| row as f64)),
                Column::floats("radius_mm", rows.map(|_| 1.0)),
            ];
            Table::new("profiles", columns).unwrap()
        };
        let mut meridians = Meridians::default();
        [0..2, 2..6].into_iter().for_each(|rows| meridians.add(&piece(rows)).unwrap());
        let heights: Vec<f64> = meridians.of_scan("a")[0].iter().map(|point| point.height_mm).collect();
        assert_eq!(heights, [0.0, 1.0, 5.0, 3.0, 4.0, 2.0]);
    }
}
