//! The low harmonics of both walls, taken off the points so that the meridian is that of the mean surface.
//!
//! A lobed wall's points scatter about its mean meridian by more than the scanner's noise. With the lobes off, axis and
//! meridian are found to the noise.

use std::ops::Range;

use rayon::prelude::*;

use super::located::Located;
use super::wall::Wall;
use crate::axis::HalfPlane;
use crate::profile::{Station, Stations};
use crate::section::Heights;

/// Harmonics taken off; the rest is smaller than most scanners' noise.
pub(super) const HIGHEST: usize = 15;

/// Cosine and sine coefficients of the harmonics 1 to 15 of one section, mm.
type Lobes = [[f64; 2]; HIGHEST];

/// What is done with the first harmonic, the place of a section's centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Centres {
    /// It is taken off every wall but the outer one, whose centres tell where the axis is.
    OuterKept,
    /// It is taken off both walls.
    TakenOff,
}

/// Radius of every point less its wall's lobes at its height, mm; points of no wall keep theirs.
pub(super) fn radius_without_lobes(located: &Located, walls: &[Wall], centres: Centres) -> Vec<f64> {
    let lobes: Vec<WallLobes> = walls
        .iter()
        .enumerate()
        .map(|(index, wall)| WallLobes::of(wall, if index > 0 { Centres::TakenOff } else { centres }))
        .collect();
    (0..located.points.len())
        .into_par_iter()
        .with_min_len(4096)
        .map(|index| {
            let station = located.member[index] as usize;
            let of_wall = lobes.iter().find(|lobes| lobes.stations.contains(&station));
            of_wall.map_or(located.points.radius[index], |lobes| lobes.radius_without(&located.points, index))
        })
        .collect()
}

/// What a wall is shifted and out of round by at low orders, without which each point lies at its own place of the meridian.
///
/// A place is told from its height alone, so that a wall that wanders off the axis is compared with the wrong place of the
/// meridian wherever this turns.
pub(super) struct LowLobes(Vec<WallLobes>);

/// Orders of them: what the vessel as a whole is out of round by. Higher ones would follow damage.
const LOW: usize = 4;

impl LowLobes {
    pub(super) fn of(walls: &[Wall]) -> Self {
        Self(walls.iter().map(|wall| WallLobes::of(wall, Centres::TakenOff).up_to(LOW)).collect())
    }

    /// The points without them. The underside and what belongs to no station go with the outer wall.
    pub(super) fn taken_off(&self, points: &HalfPlane, member: &[u32]) -> HalfPlane {
        let mut round = points.clone();
        round.radius.par_iter_mut().with_min_len(4096).enumerate().for_each(|(index, radius)| {
            let station = member[index] as usize;
            let of_wall = self.0.iter().find(|lobes| lobes.stations.contains(&station)).or(self.0.first());
            if let Some(lobes) = of_wall {
                *radius = lobes.radius_without(points, index);
            }
        });
        round
    }

    /// By how much what is taken off at each station is another nearby, mm: a point off by its wall's shift may have been given
    /// what belongs beyond a corner, where a leaning axis moves a flat wall and a steep foot apart.
    pub(super) fn changes(&self, stations: &Stations) -> Vec<f64> {
        let at = |(index, station): (usize, &Station)| {
            let of_wall = self.0.iter().find(|lobes| lobes.stations.contains(&index)).or(self.0.first());
            of_wall.map_or(0.0, |lobes| lobes.change(station.height))
        };
        stations.stations.iter().enumerate().map(at).collect()
    }
}

/// The lobes of one wall.
pub(super) struct WallLobes {
    stations: Range<usize>,
    heights: Heights,
    /// `None` where no section was measured.
    table: Option<Vec<Lobes>>,
    /// Radial part of the normal at each section; 0 where none was measured.
    steepness: Vec<f64>,
}

impl WallLobes {
    pub(super) fn of(wall: &Wall, centres: Centres) -> Self {
        Self {
            stations: wall.stations.clone(),
            heights: wall.heights,
            table: table(wall, centres == Centres::TakenOff),
            steepness: wall.meridian.iter().map(|place| place.map_or(0.0, |place| place.steepness)).collect(),
        }
    }

    /// The same without the orders above one.
    fn up_to(mut self, order: usize) -> Self {
        self.table.iter_mut().flatten().for_each(|lobes| lobes[order..].fill([0.0; 2]));
        self
    }

    /// By how much the lobes differ at most, mm along the normal, from those at a height among heights no further away than they
    /// are high.
    fn change(&self, height: f64) -> f64 {
        let Some(table) = &self.table else { return 0.0 };
        let size = |lobes: &Lobes| lobes.iter().map(|[cos, sin]| cos.hypot(*sin)).sum::<f64>();
        let reach = table.iter().map(size).fold(0.0, f64::max);
        let place = |height: f64| ((height - self.heights.low) / self.heights.step).max(0.0) as usize;
        let near = |height: f64| place(height).min(table.len() - 1);
        let here = &table[near(height)];
        let apart = |index: usize| {
            let pairs = table[index].iter().zip(here);
            self.steepness[index] * pairs.map(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1])).sum::<f64>()
        };
        (near(height - reach)..=near(height + reach)).map(apart).fold(0.0, f64::max)
    }

    /// Radius of a point of this wall less the lobes at its height, mm.
    pub(super) fn radius_without(&self, points: &HalfPlane, index: usize) -> f64 {
        let place = (points.height[index] - self.heights.low) / self.heights.step - 0.5;
        let of = |table: &Vec<Lobes>| evaluate(table, place, points.azimuth[index]);
        points.radius[index] - self.table.as_ref().map_or(0.0, of)
    }
}

/// The lobes of every section; sections that were not measured take their nearest neighbour's.
fn table(wall: &Wall, with_centre: bool) -> Option<Vec<Lobes>> {
    let measured: Vec<(usize, Lobes)> = wall
        .fits
        .iter()
        .enumerate()
        .filter_map(|(index, fit)| {
            let harmonics = &fit.as_ref()?.harmonics;
            let mut lobes = [[0.0; 2]; HIGHEST];
            let pairs = harmonics.cos.iter().zip(&harmonics.sin);
            for (lobe, (cos, sin)) in lobes.iter_mut().zip(pairs) {
                *lobe = [*cos, *sin];
            }
            if !with_centre {
                lobes[0] = [0.0; 2];
            }
            Some((index, lobes))
        })
        .collect();
    let nearest =
        |index: usize| measured.iter().min_by_key(|(other, _)| other.abs_diff(index)).map(|(_, lobes)| *lobes);
    (0..wall.heights.count).map(nearest).collect()
}

/// The lobes at a place between sections (0 is the middle of the lowest) and an azimuth, mm.
fn evaluate(table: &[Lobes], place: f64, azimuth: f64) -> f64 {
    let place = place.clamp(0.0, (table.len() - 1) as f64);
    let below = (place as usize).min(table.len().saturating_sub(2));
    let share = place - below as f64;
    let (low, high) = (&table[below], &table[(below + 1).min(table.len() - 1)]);
    let (sin, cos) = azimuth.sin_cos();
    let (mut c, mut s) = (cos, sin);
    let mut sum = 0.0;
    for (low, high) in low.iter().zip(high) {
        sum += (low[0] + share * (high[0] - low[0])) * c + (low[1] + share * (high[1] - low[1])) * s;
        (c, s) = (c * cos - s * sin, s * cos + c * sin);
    }
    sum
}
