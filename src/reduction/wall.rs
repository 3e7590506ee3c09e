//! One wall measured: bands, what is set aside, harmonics, the unrolled map.

use std::f64::consts::TAU;
use std::ops::Range;

use rayon::prelude::*;

use super::located::Located;
use super::record::{Unmeasured, UnrolledMap, WallSide};
use crate::profile::Stations;
use crate::section::{
    Aside, BandFit, Bands, Grid, Heights, MeridianPoint, fit_band, fit_band_as_found, meridian_at, radial_deviation,
};

/// Points wanted in a section: 7 for each wave of the 50-UPR filter, and some to spare (ISO 12181-2 asks for 7; from memory).
const PER_SECTION: usize = 450;

/// Sections of a whole wall at least, but where fewer are asked for: fewer say nothing of straightness.
const FEWEST_SECTIONS: usize = 10;

/// Rows of the unrolled map aimed at, and points in a row at least.
const MAP_ROWS: usize = 96;
const PER_ROW: usize = 72;

/// A section of which more than this share of the azimuth is set aside is not measured (methods: a third).
const MOST_MASKED: f64 = 1.0 / 3.0;

/// What another round would move a section's centre by, as a share of what the last one moved it by: 0.04 to 0.35 on bent jars of
/// 130,000 to 400,000 triangles.
const STILL_TO_MOVE: f64 = 1.0 / 3.0;

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
    /// The harmonics with what is set aside grown by a cell, where something was set aside in the section.
    pub(super) grown: Vec<Option<BandFit>>,
    /// Share of each section's azimuth seen, and set aside.
    pub(super) coverage: Vec<f64>,
    pub(super) masked: Vec<f64>,
    grid: Grid,
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
        let per_height = on_wall as f64 / PER_SECTION as f64 / (located.height - low);
        let supported = (per_height * located.height) as usize;
        let heights = Heights::of_body(located.height, low, supported.max(FEWEST_SECTIONS).min(most));
        let count = heights.count;
        // Each section is a whole number of the map's rows.
        let rows = (on_wall / PER_ROW).clamp(count, MAP_ROWS.max(count));
        let per_section = (rows / count).max(1);
        let fine = heights.split(per_section);
        let bands = Bands::new(&located.points, (&located.member, &located.aside), all, &stations, fine);
        let grid = Grid::new(&bands);
        let masked = masked(located, &stations, &heights);
        let meridian = meridian_at(all, &stations, &heights);
        let sections: Vec<Section> = (0..count)
            .into_par_iter()
            .map(|index| {
                if meridian[index].is_none() {
                    return Section::default();
                }
                section(&bands, &grid, masked[index], index * per_section..(index + 1) * per_section, highest)
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
            grown: Vec::new(),
            coverage: Vec::new(),
            masked,
            grid,
            fine,
        };
        for section in sections {
            wall.fits.push(section.fit);
            wall.found.push(section.found);
            wall.grown.push(section.grown);
            wall.coverage.push(section.coverage);
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
            self.fits_at(index).for_each(|fit| fit.harmonics.mean -= mean);
        }
    }

    /// Puts into the variance of each section's centre what measuring it again would still move it by.
    pub(super) fn own_move_since(&mut self, first: &Self) {
        for index in 0..self.heights.count {
            let band = first.heights.band(self.heights.middle(index));
            let of = |fit: &BandFit| Some([*fit.harmonics.cos.first()?, *fit.harmonics.sin.first()?]);
            let before = band.and_then(|band| of(first.fits[band].as_ref()?));
            let (Some(before), Some(now)) = (before, self.fits[index].as_ref().and_then(of)) else { continue };
            let own = [0, 1].map(|axis| (STILL_TO_MOVE * (now[axis] - before[axis])).powi(2));
            for fit in self.fits_at(index).filter(|fit| fit.noise > 0.0) {
                let unit = fit.noise.powi(2);
                let factors = [&mut fit.harmonics.cos_factor, &mut fit.harmonics.sin_factor];
                factors.into_iter().zip(own).for_each(|(factors, own)| factors[0] += own / unit);
            }
        }
    }

    /// Every fit of a section.
    pub(super) fn fits_at(&mut self, index: usize) -> impl Iterator<Item = &mut BandFit> {
        [&mut self.fits[index], &mut self.found[index], &mut self.grown[index]].into_iter().flatten()
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
        let share = located.kept.len().div_ceil(SHARES).max(1);
        let (points, after) = (&located.points, &located.stations);
        let parts: Vec<Vec<(f64, f64)>> = located
            .kept
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
                    let old = radial_deviation(radius, height, before, station);
                    let new = radial_deviation(radius, height, after, station);
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

    /// The heights at which the wall is there but could not be measured, with the reason.
    pub(super) fn unmeasured(&self) -> Vec<Unmeasured> {
        let at = |index: usize| {
            self.meridian[index].filter(|_| self.fits[index].is_none())?;
            let (coverage, masked) = (self.coverage[index], self.masked[index]);
            let reason = if masked > MOST_MASKED {
                format!("more than a third of the section is set aside: {:.0} %", 100.0 * masked)
            } else if coverage < 1.0 - MOST_MASKED {
                format!("less than two thirds of the section are seen: {:.0} %", 100.0 * coverage)
            } else {
                "too few points, or too unevenly spread, for two harmonics".to_owned()
            };
            Some(Unmeasured { height_mm: self.heights.middle(index), coverage, masked, reason })
        };
        (0..self.heights.count).filter_map(at).collect()
    }

    /// Heights of the unrolled map's rows, mm.
    pub(super) fn map_heights(&self) -> impl Iterator<Item = f64> + '_ {
        (0..self.grid.rows).map(|row| self.fine.middle(row))
    }

    /// Takes a centre off each row of the unrolled map.
    pub(super) fn shift_map(&mut self, centres: &[[f64; 2]]) {
        let shifts: Vec<(f64, f64)> =
            (0..self.grid.columns).map(|column| self.grid.azimuth(column).sin_cos()).collect();
        for (row, [x, y]) in centres.iter().enumerate() {
            let cells = &mut self.grid.means[row * shifts.len()..(row + 1) * shifts.len()];
            cells.iter_mut().zip(&shifts).for_each(|(mean, (sine, cosine))| *mean -= x * cosine + y * sine);
        }
    }

    /// The unrolled map; the deviation is along the radius.
    pub(super) fn unrolled(&self, located: &Located) -> UnrolledMap {
        let Grid { rows, columns, .. } = self.grid;
        let aside = self.aside(located);
        // The grid was laid about the meridian before its last polish: each row's own mean is where the meridian now is. A cell
        // that the edge of a lug crosses would pull it.
        let row_mean = |row: usize| {
            let cells = row * columns..(row + 1) * columns;
            let kept = cells.filter(|&cell| self.grid.counts[cell] > 0 && aside[cell] == Aside::Kept);
            mean(&kept.map(|cell| self.grid.means[cell]).collect::<Vec<f64>>())
        };
        let means: Vec<f64> = (0..rows).map(row_mean).collect();
        let values = self.grid.means.iter().zip(&self.grid.counts).enumerate();
        UnrolledMap {
            heights_mm: (0..rows).map(|row| self.fine.middle(row)).collect(),
            azimuths_rad: (0..columns).map(|column| self.grid.azimuth(column)).collect(),
            deviation_mm: values
                .map(|(cell, (mean, count))| (*count > 0).then(|| mean - means[cell / columns]))
                .collect(),
            aside,
        }
    }

    /// What each cell of the map is.
    fn aside(&self, located: &Located) -> Vec<Aside> {
        let nearest = nearest_stations(located, &self.stations, &self.fine);
        let width = TAU / self.grid.columns as f64;
        let row = |station: usize| {
            (0..self.grid.columns).map(move |column| located.marks.sector(station, self.grid.azimuth(column), width))
        };
        nearest.into_iter().flat_map(row).collect()
    }
}

fn mean(values: &[f64]) -> f64 {
    if values.is_empty() { 0.0 } else { values.iter().sum::<f64>() / values.len() as f64 }
}

/// The station of a wall nearest to the middle of each band.
fn nearest_stations(located: &Located, wall: &Range<usize>, heights: &Heights) -> Vec<usize> {
    let all = &located.stations.stations;
    let nearest = |band: usize| {
        let off = |station: &usize| (all[*station].height - heights.middle(band)).abs();
        wall.clone().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(wall.start)
    };
    (0..heights.count).map(nearest).collect()
}

/// Share of the azimuth set aside in each section.
fn masked(located: &Located, wall: &Range<usize>, heights: &Heights) -> Vec<f64> {
    let nearest = nearest_stations(located, wall, heights);
    let mut stations: Vec<Vec<usize>> = nearest.into_iter().map(|station| vec![station]).collect();
    for station in wall.clone() {
        if let Some(band) = heights.band(located.stations.stations[station].height) {
            stations[band].push(station);
        }
    }
    stations.into_iter().map(|stations| located.marks.masked(stations.into_iter())).collect()
}

#[derive(Default)]
struct Section {
    fit: Option<BandFit>,
    found: Option<BandFit>,
    grown: Option<BandFit>,
    coverage: f64,
}

/// Measures one section: as found, with what is set aside left out, and with a cell around it left out as well.
fn section(bands: &Bands, grid: &Grid, masked: f64, rows: Range<usize>, highest: usize) -> Section {
    let (azimuth, deviation) = bands.points(rows.clone());
    let seen = |column: &usize| rows.clone().any(|row| grid.counts[row * grid.columns + column] > 0);
    let coverage = (0..grid.columns).filter(seen).count() as f64 / grid.columns as f64;
    let marks = bands.marks(rows);
    if !marks.iter().any(|mark| mark.is_set_aside()) && masked <= 0.0 {
        return Section { fit: fit_band(azimuth, deviation, highest), found: None, grown: None, coverage };
    }
    let set_aside: Vec<bool> = marks.iter().map(|mark| mark.is_set_aside()).collect();
    let found = fit_band_as_found(azimuth, deviation, &set_aside, highest);
    if masked > MOST_MASKED {
        return Section { fit: None, found, grown: None, coverage };
    }
    let fit_where = |keep: fn(&Aside) -> bool| {
        let points = azimuth.iter().zip(deviation).zip(marks).filter(|(_, mark)| keep(mark));
        let (azimuth, deviation): (Vec<f64>, Vec<f64>) = points.map(|((a, d), _)| (*a, *d)).unzip();
        fit_band(&azimuth, &deviation, highest)
    };
    Section { fit: fit_where(|mark| !mark.is_set_aside()), found, grown: fit_where(|mark| mark.is_clear()), coverage }
}
