//! Where the vessel stands: axis, meridian, which end is up, on a sample of the points.

use std::ops::Range;

use nalgebra::{Matrix4, Point3, Vector3};

use super::lobes::{Centres, radius_without_lobes};
use super::located::Located;
use super::surface::Surface;
use super::wall::Wall;
use super::{Rejection, Step};
use crate::axis::{self, Cells, Frame, HalfPlane, estimate_axis, revolve};
use crate::profile::{self, Opening, ProfileError, Station, Stations, Walls};
use crate::section::assign;

/// Axis, meridian and walls.
#[derive(Clone, Debug)]
pub(super) struct Placement {
    pub(super) frame: Frame,
    pub(super) stations: Stations,
    pub(super) walls: Walls,
    pub(super) opening: Opening,
    /// Cofactor of the axis step times the scale squared: covariance of (x, y, tilt x, tilt y) at the frame's origin.
    pub(super) covariance: Matrix4<f64>,
    /// Robust standard deviation of the normal distances from the meridian, mm.
    pub(super) scale: f64,
    /// Share of the points that lie near the meridian.
    pub(super) share: f64,
    /// Whether the scan's normals point into the material: its triangles run the wrong way round.
    pub(super) turned: bool,
    /// Whether the inside is in the scan but does not join the outside.
    pub(super) inside_apart: bool,
    /// Points further than this from the meridian belong to no wall, mm.
    pub(super) reach: f64,
}

/// Points used to place the vessel, at most: the axis is then good to some hundredths of the noise, and every point has
/// its say in the sections.
pub(super) const SAMPLE: usize = 100_000;

/// Points wanted in a cell of the half-plane, and the cells' side as shares of the extent.
const PER_CELL: f64 = 40.0;
/// The same for a bare cloud: nothing but the distance tells its two walls apart, so the cells must be finer than the wall.
const PER_BARE_CELL: f64 = 12.0;
const CELL_SHARES: [f64; 2] = [0.004, 0.02];

/// A meridian is about three times as long as its vessel is large, both walls together.
const MERIDIAN_LENGTHS: f64 = 3.0;

/// Stations at least and at most, measured points for each, and their distance in cells.
const FEWEST_STATIONS: usize = 64;
const MOST_STATIONS: usize = 900;
/// On a mesh points on the triangles say more of the meridian's course than the vertices alone.
const PER_STATION: usize = 16;
const PER_BARE_STATION: usize = 40;
const STATION_CELLS: f64 = 0.8;

/// The longest run of the wall must be this share of the extent.
const LEAST_RUN: f64 = 0.4;

/// How far from the meridian a point may lie, as a share of the greatest radius: room for a hand-made wall, not for a
/// handle.
const REACH: f64 = 0.06;

/// The share of the height at foot and rim that has no say on the datum (project).
const END_SHARE: f64 = 0.06;

/// Lips and feet are hardly ever less than this high, mm, unless that is more than a fifth of the vessel (project).
const END_MM: f64 = 2.0;
const MOST_END_SHARE: f64 = 0.2;

/// A surface of revolution has this share of itself within this share of its greatest radius of the meridian (project):
/// a dented tin has 0.87, a pitcher with handle and spout 0.83, a fluted vase 0.58, an owl 0.57, an oval bottle 0.46.
const LEAST_SHARE: f64 = 0.7;
const NEAR: f64 = 0.02;

/// With an inside that does not join the outside, nearly all of the surface must lie on one of the two (project): planned
/// vessels without their rim have 1.00, the owl's feathers pass for two such walls with 0.94.
const LEAST_SHARE_OF_TWO: f64 = 0.97;

/// Rounds of axis and meridian.
const ROUNDS: usize = 3;

/// Finds axis, meridian and walls on a sample; `measured` is how many points the scan itself has.
///
/// # Errors
/// [`Rejection`] if there is no axis of revolution, no continuous meridian, or too little of the surface on it.
pub(super) fn place(surface: &Surface, measured: usize, up: Option<Vector3<f64>>) -> Result<Placement, Rejection> {
    let axis_error = |e: crate::axis::AxisError| Rejection { step: Step::Axis, reason: e.to_string() };
    let profile_error = |e: ProfileError| Rejection { step: Step::Profile, reason: e.to_string() };
    let fit = estimate_axis(&surface.points, &surface.normals, up).map_err(axis_error)?;
    let turned = faces_inwards(surface, &fit.frame);
    let surface = if turned { surface.clone().turned() } else { surface.clone() };
    let Surface { points, normals } = &surface;
    let Traced { frame, path, inside, opening, cell } =
        upright(points, normals, fit.frame, up).map_err(profile_error)?;
    let length = length(&path);
    let per_station = if normals.is_empty() { PER_BARE_STATION } else { PER_STATION };
    let most = (measured / per_station).clamp(FEWEST_STATIONS, MOST_STATIONS);
    let count = ((length / (STATION_CELLS * cell)) as usize).clamp(FEWEST_STATIONS, most);
    let stations = Stations::along(&path, count).ok_or(profile_error(ProfileError::NoOuterWall))?;
    let placement = settle(points, normals, frame, stations, opening).map_err(profile_error)?;
    let mut placement = Placement { turned, ..placement };
    if placement.share < LEAST_SHARE {
        let beside = share_of_inside(points, normals, &frame, &inside, &placement);
        if placement.share + beside >= LEAST_SHARE_OF_TWO {
            placement.inside_apart = true;
            placement.share += beside;
        }
    }
    let share = placement.share;
    if share < LEAST_SHARE {
        return Err(Rejection {
            step: Step::Profile,
            reason: format!(
                "not a vessel of revolution: {:.0} % of its surface lies within {:.0} % of its radius of the best surface of \
                 revolution, at least {:.0} % expected",
                100.0 * share,
                100.0 * NEAR,
                100.0 * LEAST_SHARE
            ),
        });
    }
    Ok(placement)
}

/// Slices of the height in which the outermost points are looked for, and how far from the outermost they may lie, as a share
/// of the greatest radius: less than any wall's thickness.
const SLICES: usize = 100;
const OUTERMOST: f64 = 0.01;

/// Whether the outermost points at most heights face the axis. The volume within the triangles would not tell: that of a
/// surface with its base cut off has any sign.
fn faces_inwards(surface: &Surface, frame: &Frame) -> bool {
    let HalfPlane { radius, height, normal, .. } = HalfPlane::new(&surface.points, &surface.normals, frame);
    let low = height.iter().copied().fold(f64::INFINITY, f64::min);
    let high = height.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let slice = |height: f64| (((height - low) / (high - low) * SLICES as f64) as usize).min(SLICES - 1);
    let mut widest = [0.0_f64; SLICES];
    radius.iter().zip(&height).for_each(|(r, z)| widest[slice(*z)] = widest[slice(*z)].max(*r));
    let near = OUTERMOST * widest.iter().copied().fold(0.0, f64::max);
    let mut outwards = [0.0_f64; SLICES];
    for ((r, z), [facing, _]) in radius.iter().zip(&height).zip(&normal) {
        if widest[slice(*z)] - r <= near {
            outwards[slice(*z)] += f64::from(*facing);
        }
    }
    let inwards = outwards.iter().filter(|sum| **sum < 0.0).count();
    2 * inwards > outwards.iter().filter(|sum| sum.abs() > 0.0).count()
}

/// Share of the points that lie near a run of the inside which does not join the outside.
fn share_of_inside(
    points: &[Point3<f64>],
    normals: &[Vector3<f32>],
    frame: &Frame,
    inside: &[[f64; 2]],
    outside: &Placement,
) -> f64 {
    let count = outside.stations.stations.len();
    let Some(stations) = Stations::along(inside, count) else { return 0.0 };
    let half_plane = HalfPlane::new(points, normals, frame);
    let widest = outside.stations.stations.iter().map(|s| s.radius).fold(0.0, f64::max);
    let member = assign(&half_plane, &stations.stations, stations.spacing, outside.reach);
    share_near(&half_plane, &member, &stations, NEAR * widest)
}

/// Length of a polyline, mm.
fn length(path: &[[f64; 2]]) -> f64 {
    path.windows(2).map(|p| (p[1][0] - p[0][0]).hypot(p[1][1] - p[0][1])).sum()
}

/// The traced meridian with the opening on top.
struct Traced {
    frame: Frame,
    /// Radius and height along it, mm.
    path: Vec<[f64; 2]>,
    /// The same of the inside, where it does not join it.
    inside: Vec<[f64; 2]>,
    opening: Opening,
    /// Side of the cells it was traced through, mm.
    cell: f64,
}

/// Traces the meridian and turns it the right way up.
fn upright(
    points: &[Point3<f64>],
    normals: &[Vector3<f32>],
    frame: Frame,
    up: Option<Vector3<f64>>,
) -> Result<Traced, ProfileError> {
    // Where nothing is declared or seen, the direction that agrees with the file's own axes is kept.
    let direction = frame.direction();
    let leading = direction[direction.iamax()];
    let frame = if leading < 0.0 { frame.reversed().unwrap_or(frame) } else { frame };
    let half_plane = HalfPlane::new(points, normals, &frame);
    let extent = half_plane.radius.iter().copied().fold(0.0, f64::max) * 2.0;
    let tall = half_plane.height.iter().copied().fold(f64::NEG_INFINITY, f64::max)
        - half_plane.height.iter().copied().fold(f64::INFINITY, f64::min);
    let extent = extent.max(tall);
    let [least, most] = CELL_SHARES;
    let per_cell = if normals.is_empty() { PER_BARE_CELL } else { PER_CELL };
    let cell = (MERIDIAN_LENGTHS * extent * per_cell / points.len() as f64).clamp(least * extent, most * extent);
    let [mut path, mut inside] = profile::trace(&Cells::new(&half_plane, cell));
    let run = length(&path);
    if run < LEAST_RUN * extent {
        return Err(ProfileError::Broken { found_mm: run, needed_mm: LEAST_RUN * extent });
    }
    let declared = up.map(|up| up.dot(&frame.direction()) > 0.0);
    let (turn, opening) = profile::opening(&path, declared);
    let frame = if turn { frame.reversed().unwrap_or(frame) } else { frame };
    if turn {
        for run in [&mut path, &mut inside] {
            run.iter_mut().for_each(|p| p[1] = -p[1]);
            run.reverse();
        }
    }
    // Normals tell outside from inside; without them the wider wall is the outer one.
    if normals.is_empty() && profile::inside_out(&path) {
        path.reverse();
    }
    Ok(Traced { frame, path, inside, opening, cell })
}

/// The stations that have a say on the datum: the outer wall without lip and foot.
pub(super) fn datum(stations: &Stations, walls: &Walls) -> Range<f64> {
    let all = &stations.stations;
    let (low, high) = (all[walls.foot].height, all[walls.rim].height);
    let tall = high - low;
    let end = (END_SHARE * tall).max(END_MM.min(MOST_END_SHARE * tall));
    low + end..high - end
}

/// Alternates between the stations' places and the axis until both rest.
fn settle(
    points: &[Point3<f64>],
    normals: &[Vector3<f32>],
    mut frame: Frame,
    mut stations: Stations,
    opening: Opening,
) -> Result<Placement, ProfileError> {
    let mut covariance = Matrix4::identity();
    let (mut reach, mut share, mut scale) = (0.0, 0.0, 0.0);
    for round in 0..ROUNDS {
        let walls = Walls::new(&stations)?;
        let heights = datum(&stations, &walls);
        let half_plane = HalfPlane::new(points, normals, &frame);
        let widest = stations.stations.iter().map(|s| s.radius).fold(0.0, f64::max);
        reach = (REACH * widest).max(2.0 * stations.spacing);
        let member = assign(&half_plane, &stations.stations, stations.spacing, reach);
        share = share_near(&half_plane, &member, &stations, NEAR * widest);
        // The underside and the inside of a foot ring are no part of the datum.
        let outside = walls.foot..walls.rim;
        let is_datum = |index: usize, s: &Station| outside.contains(&index) && heights.contains(&s.height);
        let patches = stations.patches(is_datum);
        let Some(rest) = axis::Step::at_rest(&half_plane, &patches, &member) else { break };
        let Some(first) = revolve(&half_plane, &patches, stations.spacing, &member, Some(&rest)) else { break };
        let Some(step) = revolve(&half_plane, &patches, stations.spacing, &member, Some(&first)) else { break };
        scale = step.scale;
        covariance = step.cofactor * scale * scale;
        let Some(moved) = stations.moved(&step) else { break };
        if let Some(next) = frame.moved(damped(&step, reach)) {
            frame = next;
        }
        stations = moved;
        if round > 1 && step.delta[0].hypot(step.delta[1]) < 1e-3 * step.scale {
            break;
        }
    }
    let walls = Walls::new(&stations)?;
    Ok(Placement {
        frame,
        stations,
        walls,
        opening,
        covariance,
        scale,
        share,
        turned: false,
        inside_apart: false,
        reach,
    })
}

/// Share of the points within `distance` mm of the meridian.
fn share_near(points: &HalfPlane, member: &[u32], stations: &Stations, distance: f64) -> f64 {
    let near = |(index, station): (usize, &u32)| {
        stations.stations.get(*station as usize).is_some_and(|station| {
            station.offset(points.radius[index], points.height[index], stations.spacing).0.abs() <= distance
        })
    };
    member.iter().enumerate().filter(|member| near(*member)).count() as f64 / member.len().max(1) as f64
}

/// A step that leaves the ground on which it was found is shortened.
fn damped(step: &axis::Step, reach: f64) -> [f64; 4] {
    let shift = step.delta[0].hypot(step.delta[1]);
    let damp = if shift > reach { reach / shift } else { 1.0 };
    step.delta.map(|d| d * damp)
}

/// One round of refinement with the walls' lobes taken off; `last` leaves the stations where their points put them, so
/// that their slope and curvature hold.
pub(super) fn refine(placement: &Placement, located: &Located, walls: &[Wall], last: bool) -> Placement {
    let mut points = located.points.clone();
    points.radius = radius_without_lobes(located, walls, Centres::OuterKept);
    let heights = datum(&located.stations, &located.walls);
    let outside = located.walls.foot..located.walls.rim;
    let is_datum = |index: usize, s: &Station| outside.contains(&index) && heights.contains(&s.height);
    let patches = located.stations.patches(is_datum);
    let spacing = located.stations.spacing;
    let step = axis::Step::at_rest(&points, &patches, &located.kept)
        .and_then(|rest| revolve(&points, &patches, spacing, &located.kept, Some(&rest)))
        .and_then(|first| revolve(&points, &patches, spacing, &located.kept, Some(&first)));
    let unchanged = || Placement { frame: located.frame, stations: located.stations.clone(), ..placement.clone() };
    let Some(step) = step else { return unchanged() };
    let stations = if last { Some(located.stations.fitted(&step)) } else { located.stations.moved(&step) };
    let (Some(frame), Some(stations)) = (located.frame.moved(damped(&step, placement.reach)), stations) else {
        return unchanged();
    };
    let Ok(walls) = Walls::new(&stations) else { return unchanged() };
    // The scale for the judgement whether this is a vessel at all is that of the surface with its lobes.
    Placement { frame, stations, walls, covariance: step.cofactor * step.scale * step.scale, ..placement.clone() }
}
