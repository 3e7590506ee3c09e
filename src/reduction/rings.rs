//! The rim's highest and the foot's lowest circle as points around the axis, and the rim's centre.

use std::f64::consts::TAU;
use std::ops::RangeInclusive;

use nalgebra::{Matrix2, Matrix5, Vector2, Vector5};

use super::located::Located;
use crate::deviation::{CirclePoint, SectionCentre};
use crate::quantity::Estimate;
use crate::section::NO_STATION;

/// Sectors of a ring, points wanted in each, and points that a sector needs.
const SECTORS: usize = 36;
const WANTED: u32 = 8;
const FEWEST: usize = 4;

/// Stations of a ring face along the axis but for this sine (30 degrees): what is nearer to upright shows lobes, not height.
const UPRIGHT: f64 = 0.5;

/// A ring reaches from its circle by no more than this share of the height.
const NEAR: f64 = 0.03;

/// Which end of the vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    Rim,
    Foot,
}

/// Which circle: the end, and the place of the mean meridian (radius, height).
#[derive(Clone, Copy, Debug)]
pub(super) struct Circle {
    pub(super) end: End,
    pub(super) radius: f64,
    pub(super) height: f64,
}

/// What is known of the surface's scatter, mm: noise along the normal, and lobes along the radius.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scatter {
    pub(super) noise: f64,
    pub(super) lobes: f64,
}

/// One point beside the circle.
struct Member {
    azimuth: f64,
    radius: f64,
    /// Distance from the mean meridian along the normal, mm.
    offset: f64,
    /// The station's normal.
    normal: [f64; 2],
}

/// Heights of the circle by sector, mm; empty where the scan does not show two thirds of it.
///
/// In each sector the points' distances from the mean meridian are a height and a radial shift seen along the normal:
/// both are fitted, so that lobes, which shift the lip to and fro, do not show as height.
pub(super) fn ring(located: &Located, circle: &Circle, scatter: Scatter) -> Vec<CirclePoint> {
    let Some(centre) = station_near(located, circle) else { return Vec::new() };
    let stations = upright_run(located, circle, centre);
    let members = members(located, &stations);
    let sectors = (members.len() / FEWEST).min(SECTORS);
    if sectors < SECTORS / 3 {
        return Vec::new();
    }
    // A shift along the radius is no greater than the lobes are.
    let prior = (scatter.noise / scatter.lobes.max(1e-6)).powi(2);
    let mut sums = vec![(Matrix2::new(0.0, 0.0, 0.0, prior), Vector2::zeros(), 0_usize, 0.0); sectors];
    for member in &members {
        let sum = &mut sums[sector(member.azimuth, sectors)];
        let basis = Vector2::new(member.normal[1], member.normal[0]);
        sum.0 += basis * basis.transpose();
        sum.1 += basis * member.offset;
        sum.2 += 1;
        sum.3 += member.radius;
    }
    let points = sums.iter().enumerate().filter(|(_, sum)| sum.2 >= FEWEST.div_ceil(2)).filter_map(|(sector, sum)| {
        let inverse = sum.0.try_inverse()?;
        let shift = inverse * sum.1;
        let height = Estimate::new(circle.height + shift[0], scatter.noise * inverse[(0, 0)].max(0.0).sqrt()).ok()?;
        let azimuth_rad = ((sector as f64 + 0.5) / sectors as f64 - 0.5) * TAU;
        Some(CirclePoint { azimuth_rad, radius_mm: sum.3 / sum.2 as f64, height })
    });
    let points: Vec<CirclePoint> = points.collect();
    if points.len() * 3 >= sectors * 2 { points } else { Vec::new() }
}

/// The centre of the rim: by how much the whole lip, its outer and inner flank alike, is shifted off the axis.
///
/// A shift is seen along the normals' radial part, a tilt along their axial part; both are fitted. `None` where the scan
/// shows too little of the lip.
pub(super) fn rim_centre(located: &Located, circle: &Circle, scatter: Scatter) -> Option<SectionCentre> {
    let centre = station_near(located, circle)?;
    let stations = lip(located, circle, centre);
    let members = members(located, &stations);
    if members.len() < SECTORS {
        return None;
    }
    let (mut square, mut right) = (Matrix5::zeros(), Vector5::zeros());
    for member in &members {
        let basis = basis(member);
        square += basis * basis.transpose();
        right += basis * member.offset;
    }
    let inverse = square.try_inverse()?;
    let fit = inverse * right;
    let rest: f64 = members.iter().map(|member| (member.offset - basis(member).dot(&fit)).powi(2)).sum();
    let noise = (rest / (members.len() - 5) as f64).sqrt().max(scatter.noise);
    let coordinate = |i: usize| Estimate::new(fit[i], noise * inverse[(i, i)].max(0.0).sqrt()).ok();
    Some(SectionCentre { height_mm: circle.height, x: coordinate(0)?, y: coordinate(1)? })
}

/// Shift in x and y, height, rise in x and y of the lip, as a point sees them along its normal.
fn basis(member: &Member) -> Vector5<f64> {
    let (sine, cosine) = member.azimuth.sin_cos();
    let [r, z] = member.normal;
    Vector5::new(r * cosine, r * sine, z, z * cosine, z * sine)
}

fn sector(azimuth: f64, sectors: usize) -> usize {
    (((azimuth / TAU + 0.5) * sectors as f64) as usize).min(sectors - 1)
}

/// The station nearest to the circle, on the circle's side of the vessel.
fn station_near(located: &Located, circle: &Circle) -> Option<usize> {
    let all = &located.stations.stations;
    let sign = if circle.end == End::Rim { 1.0 } else { -1.0 };
    let off = |index: &usize| (all[*index].radius - circle.radius).hypot(all[*index].height - circle.height);
    (0..all.len()).filter(|&index| sign * all[index].normal[1] > 0.0).min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// The unbroken run of stations about `centre` that face along the axis, no longer than the points wanted need.
fn upright_run(located: &Located, circle: &Circle, centre: usize) -> RangeInclusive<usize> {
    let all = &located.stations.stations;
    let sign = if circle.end == End::Rim { 1.0 } else { -1.0 };
    let far = NEAR * located.height;
    let belongs = |index: usize| {
        let station = &all[index];
        sign * station.normal[1] > 0.0
            && station.normal[0].abs() <= UPRIGHT
            && (station.radius - circle.radius).hypot(station.height - circle.height) <= far
    };
    let (mut from, mut to, mut count) = (centre, centre, located.counts[centre]);
    let wanted = WANTED * SECTORS as u32;
    loop {
        let (low, high) = (from > 0 && belongs(from - 1), to + 1 < all.len() && belongs(to + 1));
        if (count >= wanted && to - from >= 2) || !(low || high) {
            return from..=to;
        }
        if low {
            from -= 1;
            count += located.counts[from];
        }
        if high {
            to += 1;
            count += located.counts[to];
        }
    }
}

/// The stations of the lip: as far down both flanks as the circle's neighbourhood reaches, as many on either side.
fn lip(located: &Located, circle: &Circle, centre: usize) -> RangeInclusive<usize> {
    let all = &located.stations.stations;
    let deep = (NEAR * located.height).max(2.0 * located.stations.spacing);
    let near = |index: &usize| circle.height - all[*index].height <= deep;
    let before = (0..centre).rev().take_while(near).count();
    let after = (centre + 1..all.len()).take_while(near).count();
    if after == 0 {
        return centre - before..=centre;
    }
    let reach = before.min(after).max(1);
    centre.saturating_sub(reach)..=(centre + reach).min(all.len() - 1)
}

/// The points that belong to a run of stations, with their distances from the mean meridian; the far ones left out.
fn members(located: &Located, stations: &RangeInclusive<usize>) -> Vec<Member> {
    let member = |(index, station): (usize, &u32)| {
        if *station == NO_STATION || !stations.contains(&(*station as usize)) {
            return None;
        }
        let station = &located.stations.stations[*station as usize];
        let radius = located.points.radius[index];
        let (offset, _) = station.offset(radius, located.points.height[index], located.stations.spacing);
        Some(Member { azimuth: located.points.azimuth[index], radius, offset, normal: station.normal })
    };
    located.member.iter().enumerate().filter_map(member).collect()
}
