//! The meridian moved to where every point of the scan, its lobes taken off, puts it.

use super::lobes::{Centres, radius_without_lobes};
use super::located::Located;
use super::wall::Wall;
use crate::section::NO_STATION;

/// Points that lie further off than this many scales of the whole surface have no say: handles, chips, loose parts.
const FAR: f64 = 5.0;

/// Points that the correction of a station is taken from, at least; it is a smooth function along the meridian, because
/// the meridian it corrects was found from the same surface.
const WINDOW_POINTS: f64 = 150.0;

/// Stations to each side that a correction may look at, at most.
const WINDOW_STATIONS: usize = 4;

/// The variance of a parabola's value at its middle is 9/4 of that of a mean of as many points (closed form, even spread).
const PARABOLA_FACTOR: f64 = 2.25;

/// Points, summed offsets and summed squares at a station.
#[derive(Clone, Copy, Default)]
struct Sums {
    count: f64,
    offset: f64,
    square: f64,
}

/// Moves each station by the mean offset of the points around it, states its uncertainty, and takes what the sections'
/// meridian moved by off their means.
pub(super) fn polish(located: &mut Located, walls: &mut [Wall]) {
    let radius = radius_without_lobes(located, walls, Centres::TakenOff);
    let spacing = located.stations.spacing;
    let far = FAR * located.scale;
    let mut sums = vec![Sums::default(); located.stations.stations.len()];
    for (index, &station) in located.member.iter().enumerate() {
        if station == NO_STATION {
            continue;
        }
        let (offset, t) =
            located.stations.stations[station as usize].offset(radius[index], located.points.height[index], spacing);
        if offset.abs() <= far && t.abs() <= spacing {
            let sum = &mut sums[station as usize];
            sum.count += 1.0;
            sum.offset += offset;
            sum.square += offset * offset;
        }
    }
    let before = located.stations.clone();
    for index in 0..sums.len() {
        let window = window(&sums, index);
        if window.count < 1.0 {
            located.u_offset[index] = located.scale;
            continue;
        }
        let mean = window.offset / window.count;
        let variance = (window.square / window.count - mean * mean).max(0.0);
        located.stations.shift(index, mean);
        // The station's own place comes from a parabola through its own points, its correction from the window.
        let own = sums[index].count.max(1.0);
        located.u_offset[index] = (variance * (PARABOLA_FACTOR / own.max(window.count / 3.0))).sqrt();
    }
    for wall in walls.iter_mut() {
        wall.follow(located, &before);
    }
    let foot = located.rezero();
    walls.iter_mut().for_each(|wall| wall.lower(foot));
}

/// The sums over a station and as many neighbours as the correction needs.
fn window(sums: &[Sums], index: usize) -> Sums {
    let mut total = sums[index];
    for reach in 1..=WINDOW_STATIONS {
        if total.count >= WINDOW_POINTS {
            break;
        }
        for other in [index.checked_sub(reach), Some(index + reach)].into_iter().flatten() {
            if let Some(sum) = sums.get(other) {
                total.count += sum.count;
                total.offset += sum.offset;
                total.square += sum.square;
            }
        }
    }
    total
}
