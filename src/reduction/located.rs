//! Every point of the scan placed on the meridian.

use std::f64::consts::TAU;
use std::ops::Range;

use nalgebra::{DMatrix, DVector};

use super::lobes::LowLobes;
use super::marks::Marks;
use super::placement::Placement;
use super::surface::Surface;
use super::{Rejection, Step};
use crate::axis::{Frame, HalfPlane};
use crate::profile::{Stations, Walls};
use crate::section::{Aside, NO_STATION, assign};

/// A scan in its vessel's frame: z = 0 at the lowest point of the foot.
#[derive(Clone, Debug)]
pub(super) struct Located {
    pub(super) frame: Frame,
    pub(super) points: HalfPlane,
    /// The station of each point.
    pub(super) member: Vec<u32>,
    /// The same without what is set aside.
    pub(super) kept: Vec<u32>,
    /// What is set aside, by place and by point.
    pub(super) marks: Marks,
    pub(super) aside: Vec<Aside>,
    pub(super) stations: Stations,
    pub(super) walls: Walls,
    /// Robust standard deviation of the normal distances from the meridian, mm.
    pub(super) scale: f64,
    /// Points at each station that are not set aside.
    pub(super) counts: Vec<u32>,
    /// Standard uncertainty of each station along its normal, mm; known once the meridian is polished.
    pub(super) u_offset: Vec<f64>,
    /// What a gap in the azimuth hides of each station along its normal, mm, as a standard uncertainty; nothing where all
    /// round was seen.
    pub(super) u_hidden: Vec<f64>,
    /// By how much each would lie elsewhere along its normal, mm, without the fringe of what is set aside alone.
    pub(super) edge: Vec<f64>,
    /// The stations before they were drawn onto their neighbours, and the uncertainty their own points give them; infinite
    /// where there are too few.
    pub(super) unsmoothed: Stations,
    pub(super) u_own: Vec<f64>,
    /// Height of the rim, mm.
    pub(super) height: f64,
    pub(super) reach: f64,
}

/// Places every point on the meridian of `placement`; what is to be set aside is looked for with `lobes` taken off.
///
/// # Errors
/// [`Rejection`] if the meridian has no outside.
pub(super) fn locate(surface: &Surface, placement: &Placement, lobes: Option<&LowLobes>) -> Result<Located, Rejection> {
    let rejection = |reason| Rejection { step: Step::Profile, reason };
    let foot = lowest(&placement.stations, &placement.walls);
    let frame = placement.frame.raised(foot);
    let stations = placement.stations.lowered(foot);
    let points = HalfPlane::new(&surface.points, &surface.normals, &frame);
    let member = assign(&points, &stations.stations, stations.spacing, placement.reach);
    let walls = Walls::new(&stations).map_err(|e| rejection(e.to_string()))?;
    let marks = if let Some(lobes) = lobes {
        let round = lobes.taken_off(&points, &member);
        let member = assign(&round, &stations.stations, stations.spacing, placement.reach);
        Marks::of(&round, &member, &stations, &walls, placement.reach, &lobes.changes(&stations))
    } else {
        let unchanged = vec![0.0; stations.stations.len()];
        Marks::of(&points, &member, &stations, &walls, placement.reach, &unchanged)
    };
    let aside = marks.points(points.len());
    let keep = |(station, aside): (&u32, &Aside)| if aside.is_set_aside() { NO_STATION } else { *station };
    let kept: Vec<u32> = member.iter().zip(&aside).map(keep).collect();
    let mut counts = vec![0; stations.stations.len()];
    kept.iter().filter(|station| **station != NO_STATION).for_each(|&station| counts[station as usize] += 1);
    let height = highest(&stations, &walls);
    let u_offset = vec![0.0; stations.stations.len()];
    let (u_hidden, edge) = (u_offset.clone(), u_offset.clone());
    let (unsmoothed, u_own) = (stations.clone(), vec![f64::INFINITY; stations.stations.len()]);
    Ok(Located {
        frame,
        points,
        member,
        kept,
        marks,
        aside,
        stations,
        walls,
        scale: placement.scale,
        counts,
        u_offset,
        u_hidden,
        edge,
        unsmoothed,
        u_own,
        height,
        reach: placement.reach,
    })
}

impl Located {
    /// Typical distance of the points that belong to a run of stations, mm: the side of the square each has to itself.
    pub(super) fn pitch(&self, stations: Range<usize>) -> f64 {
        let (mut area, mut points) = (0.0, 0_u64);
        for index in stations {
            area += TAU * self.stations.stations[index].radius * self.stations.spacing;
            points += u64::from(self.counts[index]);
        }
        (area / points.max(1) as f64).sqrt()
    }

    /// Puts z = 0 back to the lowest point of the foot, and the rim's height with it, after the stations moved.
    pub(super) fn rezero(&mut self) -> f64 {
        let foot = lowest(&self.stations, &self.walls);
        self.lower(foot);
        foot
    }

    /// The same without the fringe of what is set aside alone, in the same frame, and with what may be fading beyond it; `None` if
    /// nothing is set aside.
    pub(super) fn with_wider_edge(&self) -> Option<Self> {
        if !self.aside.contains(&Aside::Fringe) {
            return None;
        }
        let mut wider = self.clone();
        self.edge.iter().enumerate().for_each(|(index, offset)| wider.stations.shift(index, *offset));
        let fringe = wider.kept.iter_mut().zip(&self.aside).filter(|(_, aside)| **aside == Aside::Fringe);
        fringe.for_each(|(station, _)| *station = NO_STATION);
        wider.aside.iter_mut().filter(|aside| **aside == Aside::Fading).for_each(|aside| *aside = Aside::Kept);
        wider.height = highest(&wider.stations, &wider.walls);
        Some(wider)
    }

    /// The same with nothing set aside, its meridian unmoved; `None` if nothing is.
    pub(super) fn as_found(&self) -> Option<Self> {
        let aside = vec![Aside::Kept; self.aside.len()];
        let damaged = self.aside.iter().any(|aside| aside.is_set_aside());
        damaged.then(|| Self { kept: self.member.clone(), aside, ..self.clone() })
    }

    /// The points as they are seen from a slightly different axis; the mean meridian changes with the square of that only.
    pub(super) fn turn(&mut self, frame: Frame, surface: &Surface) {
        self.frame = frame;
        self.points = HalfPlane::new(&surface.points, &surface.normals, &frame);
    }

    /// Counts heights from `foot`, mm.
    pub(super) fn lower(&mut self, foot: f64) {
        self.stations = self.stations.lowered(foot);
        self.unsmoothed = self.unsmoothed.lowered(foot);
        self.points.height.iter_mut().for_each(|height| *height -= foot);
        self.frame = self.frame.raised(foot);
        self.height = highest(&self.stations, &self.walls);
    }
}

/// The lowest height of the outer meridian, mm.
fn lowest(stations: &Stations, walls: &Walls) -> f64 {
    least(stations, walls.outer.clone(), |height| height)
}

/// The highest height of the outer meridian, mm.
fn highest(stations: &Stations, walls: &Walls) -> f64 {
    -least(stations, walls.foot..(walls.rim + END_STATIONS).min(stations.stations.len()), |height| -height)
}

/// Stations to each side of the least one that the parabola is put through.
const END_STATIONS: usize = 16;

/// Rise per way along the meridian up to which stations belong to the lowest ones (project): of a rounding a sixth of its
/// radius to each side, where a parabola leaves a circle by less than a thousandth of the rise.
const LEAST_RISE: f64 = 0.12;

/// The least of `of(height)` over a range of stations: the vertex of the parabola through the stations around it.
///
/// The least of many noisy heights lies below the foot by some of their uncertainties; a curve through several does not.
fn least(stations: &Stations, range: Range<usize>, of: impl Fn(f64) -> f64) -> f64 {
    let heights: Vec<f64> = stations.stations[range].iter().map(|station| of(station.height)).collect();
    let Some(lowest) = (0..heights.len()).min_by(|&a, &b| heights[a].total_cmp(&heights[b])) else { return 0.0 };
    // A foot's edge is no part of its ground, and a narrow rounding is a parabola near its lowest point only.
    let flat = |index: &usize| {
        heights[*index] - heights[lowest] <= LEAST_RISE * stations.spacing * index.abs_diff(lowest) as f64
    };
    let after = (lowest + 1..heights.len().min(lowest + END_STATIONS + 1)).take_while(flat);
    let before = (lowest.saturating_sub(END_STATIONS)..lowest).rev().take_while(flat);
    let near: Vec<(f64, f64)> =
        before.chain(after).chain([lowest]).map(|i| (i as f64 - lowest as f64, heights[i])).collect();
    vertex(&near).unwrap_or(heights[lowest])
}

/// The least value, within the points' span, of their least-squares parabola; their mean where they hold no parabola.
fn vertex(points: &[(f64, f64)]) -> Option<f64> {
    if points.len() < 3 {
        return None;
    }
    let design = DMatrix::from_fn(points.len(), 3, |row, power| points[row].0.powi(power as i32));
    let values = DVector::from_iterator(points.len(), points.iter().map(|(_, value)| *value));
    let fit = (design.transpose() * &design).cholesky()?.solve(&(design.transpose() * values));
    let at = |x: f64| fit[0] + x * (fit[1] + x * fit[2]);
    let span = || points.iter().map(|(x, _)| *x);
    let (low, high) = (span().fold(f64::INFINITY, f64::min), span().fold(f64::NEG_INFINITY, f64::max));
    let turning = -fit[1] / (2.0 * fit[2]);
    if fit[2] > 0.0 && (low..=high).contains(&turning) {
        return Some(at(turning));
    }
    Some(points.iter().map(|(_, value)| value).sum::<f64>() / points.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_point_lies_between_stations() {
        // A circle of radius 10 about (30, 10): the lowest point is at height 0.
        let arc: Vec<[f64; 2]> = (0..200)
            .map(|i| 3.2 + 3.0 * f64::from(i) / 200.0)
            .map(|a: f64| [30.0 + 10.0 * a.cos(), 10.0 + 10.0 * a.sin()])
            .collect();
        let stations = Stations::along(&arc, 40).unwrap();
        assert!(least(&stations, 0..40, |h| h).abs() < 2e-3);
    }
}
