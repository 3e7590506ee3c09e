//! The rim's highest and the foot's lowest circle as points around the axis, and the rim's centre.

use std::f64::consts::{PI, TAU};
use std::ops::RangeInclusive;

use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

use super::located::Located;
use crate::deviation::{CirclePoint, SectionCentre};
use crate::quantity::Estimate;
use crate::section::{Aside, NO_STATION};

/// Sectors of a ring, points wanted in each, and points that a sector needs.
const SECTORS: usize = 36;
const WANTED: u32 = 8;
const FEWEST: usize = 4;

/// Stations of a ring face along the axis but for this sine (30 degrees): what is nearer to upright shows lobes, not height.
const UPRIGHT: f64 = 0.5;

/// A ring reaches from its circle by no more than this share of the height.
const NEAR: f64 = 0.03;

/// A lip's flanks are looked at this far down, as shares of the height and of the radius: beyond the rounding.
const FLANK_OF_HEIGHT: f64 = 0.06;
const FLANK_OF_RADIUS: f64 = 0.05;

/// Standard uncertainty of the middle of the flanks' centres for their passing into each other around the lip, as a share
/// of the way between them (project; the greatest found on planned vessels with steep walls).
const BLEND_U: f64 = 0.03;

/// Radial part of a flank's normals, root mean square, below which it leans too far to tell a centre (30 degrees, as of a
/// body's walls): there a tilt of the rim looks like a shift.
const STEEP_FLANK: f64 = 0.5;

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

/// What is known of the surface's scatter, mm: noise along the normal, each point's own and that which errs alike over a
/// length, and lobes along the radius.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scatter {
    pub(super) noise: f64,
    pub(super) shared: f64,
    pub(super) shared_length: f64,
    pub(super) lobes: f64,
}

/// One point beside the circle.
struct Member {
    station: usize,
    azimuth: f64,
    radius: f64,
    /// Distance from the mean meridian along the normal, mm.
    offset: f64,
    /// The station's normal.
    normal: [f64; 2],
}

impl Member {
    /// What it shows of a height, of a shift of the middle between the flanks, and of their shift apart.
    fn shows(&self) -> Vector3<f64> {
        let [r, z] = self.normal;
        Vector3::new(z, r, r * blend(r))
    }
}

/// Heights of the circle by sector, mm; empty where the scan does not show two thirds of it.
///
/// In each sector the top's points' distances from the mean meridian are a height, and the radial shifts of both flanks, seen
/// along the normal: all three are fitted, so that lobes, which shift the lip to and fro and are not the same on both of its
/// sides, do not show as height. The flanks themselves have no say: how their shifts pass into each other over the top is not
/// known well enough. `shift` is the whole lip's: it is taken off first, because on a narrow lip a shift shows in the second
/// order too.
pub(super) fn ring(located: &Located, circle: &Circle, scatter: Scatter, shift: &Shift) -> Ring {
    // Where damage fades out far, what is clear of it may be too little of the circle: rather a wider uncertainty than none.
    let told: [fn(&Aside) -> bool; 3] = [is_kept, |aside| aside.is_clear(), |aside| !aside.is_set_aside()];
    let rings = told.into_iter().map(|told| ring_of(located, circle, scatter, shift, told));
    rings.into_iter().find(|ring| !ring.points.is_empty()).unwrap_or_default()
}

fn is_kept(aside: &Aside) -> bool {
    *aside == Aside::Kept
}

/// The same of the points whose place is `told` to be good.
fn ring_of(
    located: &Located,
    circle: &Circle,
    scatter: Scatter,
    shift: &Shift,
    told: impl Fn(&Aside) -> bool + Copy,
) -> Ring {
    let Some(station) = station_near(located, circle) else { return Ring::default() };
    let top = upright_run(located, circle, station);
    let eccentric = |azimuth: f64, normal: f64| shift.at(azimuth, normal);
    let first = members(located, &top, told, eccentric);
    let sectors = (first.len() / FEWEST).min(SECTORS);
    if sectors < SECTORS / 3 {
        return Ring::default();
    }
    let lobes: Vec<[f64; 2]> = by_sector(&first, sectors, scatter)
        .iter()
        .map(|sums| sums.solve().map_or([0.0; 2], |(found, _)| [found[1], found[2]]))
        .collect();
    let members = members(located, &top, told, |azimuth, normal| {
        let [middle, apart] = lobes[sector(azimuth, sectors)];
        eccentric(azimuth, normal) + middle + blend(normal) * apart
    });
    let leak = |member: &Member| blend(member.normal[0]) * member.normal[0];
    let leak = members.iter().map(leak).sum::<f64>() / members.len().max(1) as f64;
    let sums = by_sector(&members, sectors, scatter);
    // Of noise that errs alike over a length, the mean over a sector keeps that length's share.
    let arc = TAU * circle.radius / sectors as f64;
    let shared = scatter.shared * (TAU.sqrt() * scatter.shared_length / arc).min(1.0).sqrt();
    let solved: Vec<Option<(Vector3<f64>, f64)>> = sums.iter().map(Sums::solve).collect();
    let misfits = misfits(&members, &solved, scatter.noise);
    let points =
        sums.iter().enumerate().filter(|(_, sums)| sums.count >= FEWEST.div_ceil(2)).filter_map(|(sector, sums)| {
            let (found, variance) = solved[sector]?;
            let passing = BLEND_U * leak * (found[2] + lobes[sector][1]);
            let own = scatter.noise * variance.max(0.0).sqrt();
            let u = own.hypot(passing).hypot(shared).hypot(misfits[sector]);
            let height = Estimate::new(circle.height + found[0], u).ok()?;
            let azimuth_rad = ((sector as f64 + 0.5) / sectors as f64 - 0.5) * TAU;
            Some(CirclePoint { azimuth_rad, radius_mm: sums.radius / sums.count as f64, height })
        });
    let points: Vec<CirclePoint> = points.collect();
    if points.len() * 3 < sectors * 2 {
        return Ring::default();
    }
    Ring { points, u_tilt: shift.apart[0].hypot(shift.apart[1]) * leak.abs() / circle.radius }
}

/// A circle's heights around the axis.
#[derive(Clone, Debug, Default)]
pub(super) struct Ring {
    pub(super) points: Vec<CirclePoint>,
    /// Standard uncertainty of the circle's tilt for not knowing how the flanks' centres pass into each other, rad.
    pub(super) u_tilt: f64,
}

/// How the lip is shifted off the axis, mm.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Shift {
    /// The middle between its flanks' centres.
    centre: [f64; 2],
    /// From the inner flank's centre to the outer's.
    apart: [f64; 2],
}

impl Shift {
    /// Towards an azimuth, where the normal has this radial part.
    fn at(&self, azimuth: f64, normal: f64) -> f64 {
        let (sine, cosine) = azimuth.sin_cos();
        let part = |axis: usize| self.centre[axis] + blend(normal) * self.apart[axis];
        part(0) * cosine + part(1) * sine
    }
}

/// From 1/2 on the outer flank to -1/2 on the inner: in between the surface is taken to pass over evenly.
fn blend(normal: f64) -> f64 {
    normal.clamp(-1.0, 1.0).asin() / PI
}

/// Normal equations of one sector: height, shift of the middle between the flanks, and from the inner flank to the outer.
struct Sums {
    square: Matrix3<f64>,
    right: Vector3<f64>,
    /// Points, and the sum of their radii.
    count: usize,
    radius: f64,
}

impl Sums {
    /// Height and shifts, and the variance of the height in units of the noise's.
    fn solve(&self) -> Option<(Vector3<f64>, f64)> {
        let inverse = self.square.try_inverse()?;
        Some((inverse * self.right, inverse[(0, 0)]))
    }
}

/// By sector, the root mean square of what the fit leaves beyond the noise, mm: the surface is not as the three say.
fn misfits(members: &[Member], solved: &[Option<(Vector3<f64>, f64)>], noise: f64) -> Vec<f64> {
    let mut left = vec![(0.0, 0_usize); solved.len()];
    for member in members {
        let sector = sector(member.azimuth, solved.len());
        if let Some((found, _)) = &solved[sector] {
            left[sector].0 += (member.offset - member.shows().dot(found)).powi(2);
            left[sector].1 += 1;
        }
    }
    left.iter().map(|(squares, count)| (squares / *count.max(&1) as f64 - noise * noise).max(0.0).sqrt()).collect()
}

fn by_sector(members: &[Member], sectors: usize, scatter: Scatter) -> Vec<Sums> {
    // A shift along the radius is no greater than the lobes are.
    let prior = (scatter.noise / scatter.lobes.max(1e-6)).powi(2);
    let square = Matrix3::from_diagonal(&Vector3::new(0.0, prior, prior));
    let empty = || Sums { square, right: Vector3::zeros(), count: 0, radius: 0.0 };
    let mut sums: Vec<Sums> = (0..sectors).map(|_| empty()).collect();
    for member in members {
        let sum = &mut sums[sector(member.azimuth, sectors)];
        let basis = member.shows();
        sum.square += basis * basis.transpose();
        sum.right += basis * member.offset;
        sum.count += 1;
        sum.radius += member.radius;
    }
    sums
}

/// The centre of the rim: the middle between the centres of the lip's outer and inner flank; the outer flank's alone where
/// the inside is not seen.
///
/// A flank's shift is seen along the normals' radial part, a tilt of the rim along their axial part; all are fitted. How far
/// down the flanks the lip reaches is a convention, and a wall's centres wander down the wall: what the centre would differ by
/// with twice the depth is in the uncertainty, so that the rim's own, at no depth, is as far off as that.
///
/// `None` where the scan shows too little of the lip.
pub(super) fn rim_centre(located: &Located, circle: &Circle, scatter: Scatter) -> Option<RimCentre> {
    let whole = lip_centre(located, circle, scatter, 1.0);
    let Some(half) = lip_centre(located, circle, scatter, 0.5) else { return whole };
    let Some(RimCentre { centre: deeper, .. }) = whole else { return Some(half) };
    let widened = |of: Estimate, other: Estimate| of.widened(of.value() - other.value());
    let near = &half.centre;
    let centre = SectionCentre { x: widened(near.x, deeper.x), y: widened(near.y, deeper.y), ..*near };
    Some(RimCentre { centre, ..half })
}

/// The rim's centre, and how the lip is shifted.
#[derive(Clone, Copy, Debug)]
pub(super) struct RimCentre {
    pub(super) centre: SectionCentre,
    pub(super) shift: Shift,
    /// Whether every flank seen is steep enough to tell a centre.
    pub(super) steep: bool,
}

/// The centre over a share of the lip.
fn lip_centre(located: &Located, circle: &Circle, scatter: Scatter, share: f64) -> Option<RimCentre> {
    let top = station_near(located, circle)?;
    let stations = lip(located, circle, top, share);
    let inside = *stations.end() > top;
    let members = members(located, &stations, is_kept, |_, _| 0.0);
    if members.len() < SECTORS {
        return None;
    }
    // Without an inside its two parameters are held at nothing.
    let mut square = SMatrix::<f64, 7, 7>::zeros();
    if !inside {
        square[(2, 2)] = 1.0;
        square[(3, 3)] = 1.0;
    }
    let mut right = SVector::<f64, 7>::zeros();
    for member in &members {
        let basis = basis(member, top);
        // The steeper, the more a point belongs to a flank and the less to the top between them.
        let weight = member.normal[0].powi(2);
        square += weight * basis * basis.transpose();
        right += weight * basis * member.offset;
    }
    let inverse = square.try_inverse()?;
    let fit = inverse * right;
    let apart = if inside { [fit[0] - fit[2], fit[1] - fit[3]] } else { [0.0; 2] };
    let rest: f64 = members.iter().map(|member| (member.offset - basis(member, top).dot(&fit)).powi(2)).sum();
    let noise = (rest / (members.len() - 7) as f64).sqrt().max(scatter.noise);
    let coordinate = |axis: usize| {
        let mut mean = SVector::<f64, 7>::zeros();
        mean[axis] = if inside { 0.5 } else { 1.0 };
        mean[axis + 2] = if inside { 0.5 } else { 0.0 };
        let u = noise * mean.dot(&(inverse * mean)).max(0.0).sqrt();
        Estimate::new(mean.dot(&fit), u.hypot(BLEND_U * apart[0].hypot(apart[1]))).ok()
    };
    let (x, y) = (coordinate(0)?, coordinate(1)?);
    let shift = Shift { centre: [x.value(), y.value()], apart };
    Some(RimCentre { centre: SectionCentre::new(circle.height, x, y), shift, steep: is_steep(&members, top) })
}

/// Whether both flanks, or the one that is seen, stand steeply enough.
fn is_steep(members: &[Member], top: usize) -> bool {
    let mut flanks = [(0.0, 0.0); 2];
    for member in members {
        let (square, count) = &mut flanks[usize::from(member.station > top)];
        *square += member.normal[0].powi(2);
        *count += 1.0;
    }
    flanks.iter().all(|(square, count)| *square >= STEEP_FLANK.powi(2) * count)
}

/// Shift of the outer flank in x and y, of the inner one, height, rise in x and y of the lip, as a point sees them along its
/// normal.
fn basis(member: &Member, top: usize) -> SVector<f64, 7> {
    let (sine, cosine) = member.azimuth.sin_cos();
    let [r, z] = member.normal;
    let (outer, inner) = if member.station <= top { (r, 0.0) } else { (0.0, r) };
    SVector::from([outer * cosine, outer * sine, inner * cosine, inner * sine, z, z * cosine, z * sine])
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

/// The stations of the lip, or of the foot: as far along both flanks as a share of the circle's neighbourhood reaches, as many on
/// either side.
fn lip(located: &Located, circle: &Circle, centre: usize, share: f64) -> RangeInclusive<usize> {
    let all = &located.stations.stations;
    let deep = share * (FLANK_OF_HEIGHT * located.height).max(FLANK_OF_RADIUS * circle.radius);
    let deep = deep.max(2.0 * located.stations.spacing);
    let near = |index: &usize| (circle.height - all[*index].height).abs() <= deep;
    let before = (0..centre).rev().take_while(near).count();
    let after = (centre + 1..all.len()).take_while(near).count();
    if after == 0 {
        return centre - before..=centre;
    }
    let reach = before.min(after).max(1);
    centre.saturating_sub(reach)..=(centre + reach).min(all.len() - 1)
}

/// The points that belong to a run of stations, with their distances from the mean meridian; what is set aside left out, and
/// what is not `told` to be good, as where damage may still fade out: a circle's flatness is of its few lowest points.
///
/// `shift` is taken off the radius at each azimuth and radial part of the normal.
fn members(
    located: &Located,
    stations: &RangeInclusive<usize>,
    told: impl Fn(&Aside) -> bool,
    shift: impl Fn(f64, f64) -> f64,
) -> Vec<Member> {
    let member = |(index, station): (usize, &u32)| {
        let kept = *station != NO_STATION && told(&located.aside[index]);
        if !kept || !stations.contains(&(*station as usize)) {
            return None;
        }
        let place = &located.stations.stations[*station as usize];
        let azimuth = located.points.azimuth[index];
        let radius = located.points.radius[index] - shift(azimuth, place.normal[0]);
        let (offset, _) = place.offset(radius, located.points.height[index], located.stations.spacing);
        Some(Member { station: *station as usize, azimuth, radius, offset, normal: place.normal })
    };
    located.kept.iter().enumerate().filter_map(member).collect()
}
