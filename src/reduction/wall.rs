//! One wall measured: bands, what is set aside, harmonics, the unrolled map.

use std::ops::Range;

use rayon::prelude::*;

use super::located::Located;
use super::record::{UnrolledMap, WallSide};
use crate::profile::Stations;
use crate::section::{BandFit, Bands, Grid, Heights, LEAST_STEEPNESS, MeridianPoint, NO_STATION, fit_band, meridian_at, set_aside};

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

/// One wall's sections.
#[derive(Clone, Debug)]
pub(super) struct Wall {
    pub(super) side: WallSide,
    pub(super) stations: Range<usize>,
    pub(super) heights: Heights,
    /// The mean meridian at each section, where the wall has a section there.
    pub(super) meridian: Vec<Option<MeridianPoint>>,
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
    pub(super) fn measure(located: &Located, side: WallSide, stations: Range<usize>, most: usize, highest: usize) -> Self {
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
        let mut moves = vec![(0.0, 0.0); self.heights.count];
        for index in self.stations.clone() {
            let (old, new) = (&before.stations[index], &after.stations[index]);
            let along = (new.radius - old.radius) * old.normal[0] + (new.height - old.height) * old.normal[1];
            let steepness = old.normal[0];
            if steepness.abs() < LEAST_STEEPNESS {
                continue;
            }
            // A station's points spread over its own length of height; the band takes its share.
            let count = f64::from(located.counts[index]);
            let half = 0.5 * after.spacing * old.normal[0].abs();
            for share in [-0.75, -0.25, 0.25, 0.75] {
                if let Some(band) = self.heights.band(old.height + share * half) {
                    moves[band].0 += 0.25 * count;
                    moves[band].1 += 0.25 * count * along / steepness;
                }
            }
        }
        self.meridian = meridian_at(after, &self.stations, &self.heights);
        for (index, (count, moved)) in moves.into_iter().enumerate() {
            let mean = if count > 0.0 { moved / count } else { 0.0 };
            for fit in [&mut self.fits[index], &mut self.found[index]].into_iter().flatten() {
                fit.harmonics.mean -= mean;
            }
        }
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
        let values = self.grid.means.iter().zip(&self.grid.counts);
        UnrolledMap {
            heights_mm: (0..self.grid.rows).map(|row| self.fine.middle(row)).collect(),
            azimuths_rad: (0..self.grid.columns).map(|column| self.grid.azimuth(column)).collect(),
            deviation_mm: values.map(|(mean, count)| (*count > 0).then_some(*mean)).collect(),
            set_aside: self.aside.clone(),
        }
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
