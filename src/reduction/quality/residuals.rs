//! The points of one wall's body with what meridian and lobes do not explain.

use std::f64::consts::TAU;

use crate::profile::Station;
use crate::reduction::lobes::{Centres, WallLobes};
use crate::reduction::located::Located;
use crate::reduction::wall::Wall;
use crate::section::NO_STATION;

/// Points looked at on one wall: more tell no more.
const MOST_POINTS: usize = 50_000;

/// Within this many pitches of a place where the meridian bends to a radius of fewer than so many, points lie off it for
/// reasons of their own.
const NEAR_BEND: f64 = 3.0;
const SHARP: f64 = 8.0;

/// Strips of azimuth in which all points are kept where there are more.
const STRIPS: f64 = 12.0;

/// Which points are kept of a wall with more than [`MOST_POINTS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Keep {
    /// Some all round.
    Thinned,
    /// All within strips of azimuth, so that neighbours stay neighbours.
    Strips,
}

/// Points of one wall's body, as columns of equal length.
#[derive(Clone, Debug, Default)]
pub(super) struct Residuals {
    /// Way along the meridian, mm.
    pub(super) arc: Vec<f64>,
    /// Azimuth, rad, in (-pi, pi].
    pub(super) azimuth: Vec<f64>,
    /// Distance from the mean meridian along the normal with the lobes taken off, mm.
    pub(super) offset: Vec<f64>,
    /// Typical distance between neighbouring points of the scan, mm: that of an even lattice of triangles as dense.
    pub(super) pitch: f64,
    /// The meridian's stations: radius and height of each, mm, from the wall's first on.
    stations: Vec<[f64; 2]>,
    first: usize,
    spacing: f64,
}

impl Residuals {
    /// The points of `wall` between two heights.
    pub(super) fn of(located: &Located, wall: &Wall, [low, high]: [f64; 2], keep: Keep) -> Self {
        let all = &located.stations;
        let within =
            |index: usize| wall.stations.contains(&index) && (low..=high).contains(&all.stations[index].height);
        let mut body: Vec<bool> = (0..all.stations.len()).map(within).collect();
        let count: usize = (0..body.len()).filter(|&i| body[i]).map(|i| located.counts[i] as usize).sum();
        let area: f64 = (0..body.len()).filter(|&i| body[i]).map(|i| TAU * all.stations[i].radius * all.spacing).sum();
        // Points on an even lattice at distance d have sqrt(3)/2 d^2 each.
        let pitch = (area / count.max(1) as f64 * 2.0 / 3.0_f64.sqrt()).sqrt();
        leave_out_bends(&mut body, &all.stations, pitch, all.spacing);
        let mut residuals = Self {
            stations: all.stations[wall.stations.clone()].iter().map(|s| [s.radius, s.height]).collect(),
            first: wall.stations.start,
            spacing: all.spacing,
            pitch,
            ..Self::default()
        };
        let share = MOST_POINTS as f64 / count.max(1) as f64;
        let stride = count.div_ceil(MOST_POINTS).max(1);
        let on_body = |member: u32| member != NO_STATION && body[member as usize];
        let lobes = WallLobes::of(wall, Centres::TakenOff);
        let mut seen = 0;
        for (index, &member) in located.member.iter().enumerate().filter(|(_, member)| on_body(**member)) {
            let azimuth = located.points.azimuth[index];
            seen += 1;
            let kept = match keep {
                Keep::Thinned => seen % stride == 0,
                Keep::Strips => ((azimuth / TAU + 0.5) * STRIPS).fract() <= share,
            };
            if !kept || located.aside[index].is_set_aside() {
                continue;
            }
            let radius = lobes.radius_without(&located.points, index);
            let (offset, t) = all.stations[member as usize].offset(radius, located.points.height[index], all.spacing);
            if t.abs() <= all.spacing {
                residuals.arc.push(f64::from(member) * all.spacing + t);
                residuals.azimuth.push(azimuth);
                residuals.offset.push(offset);
            }
        }
        residuals
    }

    pub(super) fn len(&self) -> usize {
        self.offset.len()
    }

    /// Radius and height of the meridian at a way along it, mm.
    pub(super) fn at(&self, arc: f64) -> [f64; 2] {
        let index = ((arc / self.spacing).round() as usize).saturating_sub(self.first);
        self.stations.get(index.min(self.stations.len().saturating_sub(1))).copied().unwrap_or_default()
    }

    /// Way along the meridian from the first point to the last, mm.
    pub(super) fn reach(&self) -> [f64; 2] {
        let least = self.arc.iter().copied().fold(f64::INFINITY, f64::min);
        let most = self.arc.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if least <= most { [least, most] } else { [0.0, 0.0] }
    }
}

fn leave_out_bends(body: &mut [bool], stations: &[Station], pitch: f64, spacing: f64) {
    let reach = (NEAR_BEND * pitch / spacing).ceil() as usize;
    let sharp = |station: &Station| station.bend.abs() * SHARP * pitch > 1.0;
    for (index, _) in stations.iter().enumerate().filter(|(_, station)| sharp(station)) {
        let near = index.saturating_sub(reach)..(index + reach + 1).min(body.len());
        body[near].fill(false);
    }
}
