//! What is set aside of one scan: handles and damage found on its whole unrolled surface.

use std::f64::consts::TAU;
use std::ops::Range;

use rayon::prelude::*;

use super::record::{PatchRow, SurfaceMap, SurfacePart, SurfaceRow};
use crate::axis::HalfPlane;
use crate::profile::{Stations, Walls};
use crate::section::{Aside, NO_STATION, SetAside, UnrolledSurface, set_aside};

/// Heights by which the outer wall's station behind a point is found.
const HEIGHT_BINS: usize = 1024;

/// A patch within this share of the height of the rim's top or the foot's lowest circle is a patch of the rim or the foot.
const AT_END: f64 = 0.01;

/// What is taken off nearby may differ by this share of a row without moving points to another row (project): wear makes a
/// foot's sections differ by about that much. At a whole row four of a hundred lobed and bowed vessels lost points, at none
/// the overlap of a bowl's worn foot fell from 0.86 to 0.68.
const WITHIN_ROW: f64 = 0.25;

/// What each place of the surface is.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Marks {
    surface: UnrolledSurface,
    found: SetAside,
}

impl Marks {
    /// Looks for what is no part of the turned form; points further than `reach` mm from the meridian belong to no station.
    /// `changes` is by how much what was taken off the points at each station is another nearby, mm.
    pub(super) fn of(
        points: &HalfPlane,
        member: &[u32],
        stations: &Stations,
        walls: &Walls,
        reach: f64,
        changes: &[f64],
    ) -> Self {
        let surface = UnrolledSurface::new(points, member, stations);
        let standing = standing(&surface, points, member, stations, walls, reach);
        let most = |row: &Range<usize>| changes[row.clone()].iter().copied().fold(0.0, f64::max);
        let within = WITHIN_ROW * surface.row_mm;
        let changes: Vec<f64> = surface.rows.iter().map(|row| (most(row) - within).max(0.0)).collect();
        let found = set_aside(&surface, &standing, &changes);
        Self { surface, found }
    }

    /// What each point is; points of no station are kept, for they are in no value.
    pub(super) fn points(&self, count: usize) -> Vec<Aside> {
        let at = |index: usize| self.surface.cell_of(index).map_or(Aside::Kept, |cell| self.found.cells[cell]);
        (0..count).into_par_iter().with_min_len(4096).map(at).collect()
    }

    /// What a sector is at a station: set aside if any of it is, for its mean is then no wall's.
    pub(super) fn sector(&self, station: usize, azimuth: f64, width: f64) -> Aside {
        let at = |share: f64| {
            let turned = azimuth + share * width;
            self.found.cells[self.surface.cell_at(station, (turned + 0.5 * TAU).rem_euclid(TAU) - 0.5 * TAU)]
        };
        let three = [at(-1.0 / 3.0), at(0.0), at(1.0 / 3.0)];
        [Aside::Raised, Aside::Lost].into_iter().find(|kind| three.contains(kind)).unwrap_or(three[1])
    }

    /// Share of the azimuth set aside at any of the stations.
    pub(super) fn masked(&self, stations: impl Iterator<Item = usize>) -> f64 {
        let mut rows: Vec<usize> = stations.map(|station| self.surface.row_of(station)).collect();
        rows.dedup();
        let aside = |column: &usize| {
            rows.iter().any(|row| self.found.cells[row * self.surface.columns + column].is_set_aside())
        };
        (0..self.surface.columns).filter(aside).count() as f64 / self.surface.columns as f64
    }

    /// Share of the area of the stations that is set aside.
    pub(super) fn share(&self, stations: &Stations, range: &Range<usize>) -> f64 {
        let (mut whole, mut aside) = (0.0, 0.0);
        for station in range.clone() {
            let radius = stations.stations[station].radius;
            whole += radius;
            aside += radius * self.masked(std::iter::once(station));
        }
        if whole > 0.0 { aside / whole } else { 0.0 }
    }

    /// The map of the whole surface.
    pub(super) fn map(&self, stations: &Stations) -> SurfaceMap {
        let middle = |row: &Range<usize>| {
            let index = (row.start + row.end - 1) / 2;
            let station = &stations.stations[index];
            SurfaceRow {
                arc_mm: stations.spacing * 0.5 * (row.start + row.end - 1) as f64,
                radius_mm: station.radius,
                height_mm: station.height,
            }
        };
        SurfaceMap {
            rows: self.surface.rows.iter().map(middle).collect(),
            azimuths_rad: (0..self.surface.columns).map(|column| self.surface.azimuth(column)).collect(),
            cells: self.found.cells.clone(),
        }
    }

    /// The patches as rows of a table.
    pub(super) fn patches(&self, stations: &Stations, walls: &Walls) -> Vec<PatchRow> {
        self.found.patches.iter().map(|patch| self.patch(patch, stations, walls)).collect()
    }

    fn patch(&self, patch: &crate::section::Patch, stations: &Stations, walls: &Walls) -> PatchRow {
        let all = &stations.stations;
        let columns = self.surface.columns;
        let rows = || patch.cells.iter().map(|cell| &self.surface.rows[cell / columns]);
        let area = |row: &Range<usize>| {
            row.clone().map(|s| all[s].radius).sum::<f64>() * stations.spacing * TAU / columns as f64
        };
        let heights = || rows().flat_map(|row| row.clone().map(|s| all[s].height));
        let (low_mm, high_mm) = (heights().fold(f64::INFINITY, f64::min), heights().fold(f64::NEG_INFINITY, f64::max));
        let first = rows().map(|row| row.start).min().unwrap_or(0);
        let last = rows().map(|row| row.end).max().unwrap_or(0);
        let near_end = AT_END * (all[walls.rim].height - all[walls.foot].height);
        let part = if high_mm >= all[walls.rim].height - near_end {
            SurfacePart::Rim
        } else if low_mm <= all[walls.foot].height + near_end && first < walls.rim {
            SurfacePart::Foot
        } else if last <= walls.rim {
            SurfacePart::Outer
        } else {
            SurfacePart::Inner
        };
        let (azimuth_rad, width_rad) = self.surface.span(&patch.cells);
        PatchRow {
            part,
            kind: patch.kind,
            azimuth_rad,
            width_rad,
            low_mm,
            high_mm,
            area_mm2: rows().map(area).sum(),
            furthest_mm: patch.furthest_mm,
            u_furthest_mm: patch.u_furthest_mm,
        }
    }
}

/// By how much points stand out from the outer wall beyond what belongs to it, by cell, mm.
fn standing(
    surface: &UnrolledSurface,
    points: &HalfPlane,
    member: &[u32],
    stations: &Stations,
    walls: &Walls,
    reach: f64,
) -> Vec<f64> {
    let mut standing = vec![0.0_f64; surface.counts.len()];
    let all = &stations.stations;
    let (low, high) = (all[walls.foot].height, all[walls.rim].height);
    let step = (high - low) / HEIGHT_BINS as f64;
    let mut behind = vec![walls.foot; HEIGHT_BINS];
    for station in walls.foot..walls.rim {
        let bin = |height: f64| (((height - low) / step) as usize).min(HEIGHT_BINS - 1);
        let (from, to) = (bin(all[station].height), bin(all[station + 1].height));
        (from.min(to)..=from.max(to)).for_each(|bin| behind[bin] = station);
    }
    for index in (0..points.len()).filter(|&index| member[index] == NO_STATION) {
        let bin = (points.height[index] - low) / step;
        if bin < 0.0 || bin >= HEIGHT_BINS as f64 {
            continue;
        }
        let station = behind[bin as usize];
        let cell = surface.cell_at(station, points.azimuth[index]);
        // Of a wall that leans, less than what it is away along the radius.
        let out = (points.radius[index] - all[station].radius) * all[station].normal[0];
        standing[cell] = standing[cell].max(out - reach);
    }
    standing
}
