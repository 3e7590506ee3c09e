//! One wall measured: bands, what is set aside, harmonics, the unrolled map.

use std::ops::Range;

use rayon::prelude::*;

use super::located::Located;
use super::record::{UnrolledMap, WallSide};
use crate::profile::Stations;
use crate::section::{
    BandFit, Bands, Grid, Heights, MeridianPoint, NO_STATION, fit_band, meridian_at, radial_deviation, set_aside,
};

/// Points wanted in a section: 7 for each wave of the 50-UPR filter, and some to spare (ISO 12181-2 asks for 7; from memory).
const PER_SECTION: usize = 450;

/// Sections of a wall at least: fewer say nothing of straightness.
const FEWEST_SECTIONS: usize = 8;

/// Rows of the unrolled map aimed at, and points in a row at least.
const MAP_ROWS: usize = 96;
const PER_ROW: usize = 72;

/// A deviation less than this many times the noise of a cell's mean is never damage (project).
const CELL_NOISES: f64 = 6.0;

/// Nor is one less than this, mm (project): tool marks and rounded wear of that depth belong to the wall.
const LEAST_DAMAGE_MM: f64 = 0.15;

/// Points are summed in this many shares, whatever the number of threads.
const SHARES: usize = 16;

/// One wall's sections.
#[derive(Clone, Debug)]
pub(super) struct Wall {
    pub(super) side: WallSide,
    pub(super) stations: Range<usize>,
    pub(super) heights: Heights,
    /// The mean meridian at each section, where the wall has a section there.
    pub(super) meridian: Vec<Option<MeridianPoint>>,
    /// Standard uncertainty of that meridian's radius, mm; known once it is polished.
    pub(super) u_meridian: Vec<f64>,
    /// The harmonics with what is set aside left out.
    pub(super) fits: Vec<Option<BandFit>>,
    /// The harmonics as found, where something was set aside in the section.
    pub(super) found: Vec<Option<BandFit>>,
    /// Share of each section's azimuth seen, and set aside.
    pub(super) coverage: Vec<f64>,
    pub(super) masked: Vec<f64>,
    grid: Grid,
    aside: Vec<bool>,
    fine: Heights,
}

impl Wall {
    /// Measures the wall of the given stations between two heights.
    pub(super) fn measure(
        located: &Located,
        side: WallSide,
        stations: Range<usize>,
        most: usize,
        highest: usize,
    ) -> Self {
        let all = &located.stations;
        let reached = stations.clone().map(|index| all.stations[index].height);
        let low = reached.fold(f64::INFINITY, f64::min).max(0.0);
        let on_wall: usize = stations.clone().map(|index| located.counts[index] as usize).sum();
        let count = (on_wall / PER_SECTION).clamp(FEWEST_SECTIONS, most.max(FEWEST_SECTIONS));
        let heights = Heights { low, step: (located.height - low) / count as f64, count };
        // Each section is a whole number of the map's rows.
        let rows = (on_wall / PER_ROW).clamp(count, MAP_ROWS.max(count));
        let per_section = (rows / count).max(1);
        let fine = Heights { low, step: heights.step / per_section as f64, count: count * per_section };
        let bands = Bands::new(&located.points, &located.member, all, &stations, fine);
        let grid = Grid::new(&bands);
        let per_cell = (bands.len() as f64 / grid.counts.len() as f64).max(1.0);
        let least = (CELL_NOISES * located.scale / per_cell.sqrt()).max(LEAST_DAMAGE_MM);
        let mut aside = set_aside(&grid, least);
        if side == WallSide::Outer {
            hide_behind_handles(located, &fine, &grid, &mut aside);
        }
        let meridian = meridian_at(all, &stations, &heights);
        let sections: Vec<Section> = (0..count)
            .into_par_iter()
            .map(|index| {
                if meridian[index].is_none() {
                    return Section::default();
                }
                section(&bands, &grid, &aside, index * per_section..(index + 1) * per_section, highest)
            })
            .collect();
        let mut wall = Self {
            side,
            stations,
            heights,
            meridian,
            u_meridian: vec![0.0; count],
            fits: Vec::new(),
            found: Vec::new(),
            coverage: Vec::new(),
            masked: Vec::new(),
            grid,
            aside,
            fine,
        };
        for section in sections {
            wall.fits.push(section.fit);
            wall.found.push(section.found);
            wall.coverage.push(section.coverage);
            wall.masked.push(section.masked);
        }
        wall
    }

    /// Follows a meridian that moved: each section's mean radius stays what its points say.
    ///
    /// A section's points lie all over its band, so that the meridian's mean move over the band is taken off the mean
    /// deviation, while the radius is read off the moved meridian at the section's own height.
    pub(super) fn follow(&mut self, located: &Located, before: &Stations) {
        let after = &located.stations;
        let moves = self.moves(located, before);
        self.meridian = meridian_at(after, &self.stations, &self.heights);
        self.u_meridian = self.u_meridian(located);
        for (index, (count, moved)) in moves.into_iter().enumerate() {
            let mean = if count > 0.0 { moved / count } else { 0.0 };
            for fit in [&mut self.fits[index], &mut self.found[index]].into_iter().flatten() {
                fit.harmonics.mean -= mean;
            }
        }
    }

    /// Uncertainty of the station nearest to each section, along the radius, mm.
    fn u_meridian(&self, located: &Located) -> Vec<f64> {
        let all = &located.stations.stations;
        let at = |index: usize| {
            let steepness = self.meridian[index]?.steepness;
            let off = |station: &usize| (all[*station].height - self.heights.middle(index)).abs();
            let nearest = self.stations.clone().min_by(|a, b| off(a).total_cmp(&off(b)))?;
            Some(located.u_offset[nearest] / steepness)
        };
        (0..self.heights.count).map(|index| at(index).unwrap_or(0.0)).collect()
    }

    /// For each section how many points it has and by how much their deviations changed in all, mm.
    fn moves(&self, located: &Located, before: &Stations) -> Vec<(f64, f64)> {
        let share = located.member.len().div_ceil(SHARES).max(1);
        let (points, after) = (&located.points, &located.stations);
        let parts: Vec<Vec<(f64, f64)>> = located
            .member
            .par_chunks(share)
            .enumerate()
            .map(|(part, members)| {
                let mut sums = vec![(0.0, 0.0); self.heights.count];
                for (offset, &station) in members.iter().enumerate() {
                    let (index, station) = (part * share + offset, station as usize);
                    if !self.stations.contains(&station) {
                        continue;
                    }
                    let (radius, height) = (points.radius[index], points.height[index]);
                    let Some(band) = self.heights.band(height) else { continue };
                    let old = radial_deviation(radius, height, &before.stations[station], before.spacing);
                    let new = radial_deviation(radius, height, &after.stations[station], after.spacing);
                    if let (Some(old), Some(new)) = (old, new) {
                        sums[band].0 += 1.0;
                        sums[band].1 += old - new;
                    }
                }
                sums
            })
            .collect();
        let mut moves = vec![(0.0, 0.0); self.heights.count];
        for part in parts {
            for (total, sum) in moves.iter_mut().zip(part) {
                total.0 += sum.0;
                total.1 += sum.1;
            }
        }
        moves
    }

    /// Counts heights from `foot`, mm.
    pub(super) fn lower(&mut self, foot: f64) {
        self.heights.low -= foot;
        self.fine.low -= foot;
    }

    /// Share of the wall seen, of what lies between its lowest section and the rim.
    pub(super) fn coverage(&self) -> f64 {
        mean(&self.coverage)
    }

    /// Share of the wall's cells with points, or behind a handle, that were set aside.
    pub(super) fn masked(&self) -> f64 {
        let known = self.grid.counts.iter().zip(&self.aside).filter(|(count, aside)| **count > 0 || **aside).count();
        let aside = self.aside.iter().filter(|aside| **aside).count();
        if known > 0 { aside as f64 / known as f64 } else { 0.0 }
    }

    /// The unrolled map; the deviation is along the radius.
    pub(super) fn unrolled(&self) -> UnrolledMap {
        // The grid was laid about the meridian before its last polish: each row's own mean is where the meridian now is.
        let means: Vec<f64> = (0..self.grid.rows).map(|row| self.row_mean(row)).collect();
        let values = self.grid.means.iter().zip(&self.grid.counts).enumerate();
        UnrolledMap {
            heights_mm: (0..self.grid.rows).map(|row| self.fine.middle(row)).collect(),
            azimuths_rad: (0..self.grid.columns).map(|column| self.grid.azimuth(column)).collect(),
            deviation_mm: values
                .map(|(cell, (mean, count))| (*count > 0).then(|| mean - means[cell / self.grid.columns]))
                .collect(),
            set_aside: self.aside.clone(),
        }
    }
}

impl Wall {
    /// Mean deviation of a row's cells that were seen and not set aside, mm.
    fn row_mean(&self, row: usize) -> f64 {
        let cells = row * self.grid.columns..(row + 1) * self.grid.columns;
        let kept = cells.filter(|&cell| self.grid.counts[cell] > 0 && !self.aside[cell]);
        mean(&kept.map(|cell| self.grid.means[cell]).collect::<Vec<f64>>())
    }
}

fn mean(values: &[f64]) -> f64 {
    if values.is_empty() { 0.0 } else { values.iter().sum::<f64>() / values.len() as f64 }
}

#[derive(Default)]
struct Section {
    fit: Option<BandFit>,
    found: Option<BandFit>,
    coverage: f64,
    masked: f64,
}

fn section(bands: &Bands, grid: &Grid, aside: &[bool], rows: Range<usize>, highest: usize) -> Section {
    let (azimuth, deviation) = bands.points(rows.clone());
    let cell = |row: usize, column: usize| row * grid.columns + column;
    let columns = grid.columns as f64;
    let any = |column: usize, test: &dyn Fn(usize) -> bool| rows.clone().any(|row| test(cell(row, column)));
    let seen = (0..grid.columns).filter(|&c| any(c, &|cell| grid.counts[cell] > 0)).count() as f64 / columns;
    let masked = (0..grid.columns).filter(|&c| any(c, &|cell| aside[cell])).count() as f64 / columns;
    if masked <= 0.0 {
        return Section { fit: fit_band(azimuth, deviation, highest), found: None, coverage: seen, masked };
    }
    let (mut kept_azimuth, mut kept_deviation) = (Vec::new(), Vec::new());
    for row in rows {
        let (azimuth, deviation) = bands.points(row..row + 1);
        for (azimuth, deviation) in azimuth.iter().zip(deviation) {
            if !aside[cell(row, grid.column(*azimuth))] {
                kept_azimuth.push(*azimuth);
                kept_deviation.push(*deviation);
            }
        }
    }
    Section {
        fit: fit_band(&kept_azimuth, &kept_deviation, highest),
        found: fit_band(azimuth, deviation, highest),
        coverage: seen,
        masked,
    }
}

/// Sets aside the cells where the wall is not seen because something stands out from it there.
fn hide_behind_handles(located: &Located, fine: &Heights, grid: &Grid, aside: &mut [bool]) {
    let outer = meridian_at(&located.stations, &located.walls.outer, fine);
    for (index, station) in located.member.iter().enumerate() {
        if *station != NO_STATION {
            continue;
        }
        let Some(row) = fine.band(located.points.height[index]) else { continue };
        let Some(MeridianPoint { radius, .. }) = outer[row] else { continue };
        let cell = row * grid.columns + grid.column(located.points.azimuth[index]);
        if located.points.radius[index] > radius + located.reach && grid.counts[cell] == 0 {
            aside[cell] = true;
        }
    }
}
