//! Every point of the scan placed on the meridian; the meridian refined by all of them.

use std::ops::Range;

use super::placement::Placement;
use super::surface::Surface;
use super::{Rejection, Step};
use crate::axis::{Frame, HalfPlane, revolve};
use crate::profile::{Stations, Walls};
use crate::section::{NO_STATION, assign};

/// A scan in its vessel's frame: z = 0 at the lowest point of the foot.
#[derive(Clone, Debug)]
pub(super) struct Located {
    pub(super) frame: Frame,
    pub(super) points: HalfPlane,
    pub(super) member: Vec<u32>,
    pub(super) stations: Stations,
    pub(super) walls: Walls,
    /// Robust standard deviation of the normal distances from the meridian, mm.
    pub(super) scale: f64,
    /// Points at each station.
    pub(super) counts: Vec<u32>,
    /// Height of the rim, mm.
    pub(super) height: f64,
    pub(super) reach: f64,
}

/// Robust standard deviation of the surface about its surface of revolution, as a share of its greatest radius, at most
/// (project): hand-made pots stay below a half per cent, see `tests/it/open_data.rs`.
const MOST_SCATTER: f64 = 0.009;

/// Places every point.
///
/// # Errors
/// [`Rejection`] if the surface scatters too far about its best surface of revolution.
pub(super) fn locate(surface: &Surface, placement: &Placement) -> Result<Located, Rejection> {
    let rejection = |reason| Rejection { step: Step::Profile, reason };
    let foot = lowest(&placement.stations, &placement.walls);
    let frame = placement.frame.raised(foot);
    let mut stations = placement.stations.clone();
    stations.stations.iter_mut().for_each(|station| station.height -= foot);
    let points = HalfPlane::new(&surface.points, &surface.normals, &frame);
    let member = assign(&points, &stations.stations, stations.spacing, placement.reach);
    let mut counts = vec![0; stations.stations.len()];
    member.iter().filter(|station| **station != NO_STATION).for_each(|&station| counts[station as usize] += 1);
    let patches = stations.patches(|_, _| true);
    let step = revolve(&points, &patches, stations.spacing, &member, None)
        .and_then(|first| revolve(&points, &patches, stations.spacing, &member, Some(&first)))
        .ok_or_else(|| rejection("the points do not determine a meridian".to_owned()))?;
    let stations = stations.fitted(&step);
    let widest = stations.stations.iter().map(|station| station.radius).fold(0.0, f64::max);
    if step.scale > MOST_SCATTER * widest {
        return Err(rejection(format!(
            "not a vessel of revolution: its surface scatters by {:.2} mm about the best one, {:.1} % of its radius, at most \
             {:.1} % expected",
            step.scale,
            100.0 * step.scale / widest,
            100.0 * MOST_SCATTER
        )));
    }
    let walls = Walls::new(&stations).map_err(|e| rejection(e.to_string()))?;
    let height = -lowest_of(&stations, walls.foot..walls.rim + 1, |height| -height);
    Ok(Located { frame, points, member, stations, walls, scale: step.scale, counts, height, reach: placement.reach })
}

/// The lowest height of the outer meridian, mm, through the parabola of its lowest stations.
fn lowest(stations: &Stations, walls: &Walls) -> f64 {
    lowest_of(stations, walls.outer.clone(), |height| height)
}

/// The least of `of(height)` over a range of stations, through the parabola of the least three.
fn lowest_of(stations: &Stations, range: Range<usize>, of: impl Fn(f64) -> f64) -> f64 {
    let heights: Vec<f64> = stations.stations[range].iter().map(|station| of(station.height)).collect();
    let Some(least) = (0..heights.len()).min_by(|&a, &b| heights[a].total_cmp(&heights[b])) else { return 0.0 };
    let neighbours = least.checked_sub(1).and_then(|before| Some((heights[before], *heights.get(least + 1)?)));
    let Some((before, after)) = neighbours else { return heights[least] };
    let bend = before - 2.0 * heights[least] + after;
    if bend > 0.0 { heights[least] - (after - before).powi(2) / (8.0 * bend) } else { heights[least] }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_point_lies_between_stations() {
        // A circle of radius 10 about (30, 10): the lowest point is at height 0.
        let arc: Vec<[f64; 2]> = (0..200).map(|i| 3.2 + 3.0 * f64::from(i) / 200.0).map(|a: f64| [30.0 + 10.0 * a.cos(), 10.0 + 10.0 * a.sin()]).collect();
        let stations = Stations::along(&arc, 40).unwrap();
        assert!(lowest_of(&stations, 0..40, |h| h).abs() < 2e-3);
    }
}
