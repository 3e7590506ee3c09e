//! The rim's highest and the foot's lowest circle as points around the axis.

use std::f64::consts::TAU;

use super::located::Located;
use crate::deviation::CirclePoint;
use crate::quantity::Estimate;
use crate::section::NO_STATION;

/// Sectors of a ring, and points that a sector needs.
const SECTORS: usize = 36;
const FEWEST: u32 = 3;

/// A station belongs to the ring while its normal leans from the axis by no more than this cosine (project): a deviation
/// along the normal is then a deviation in height to within a third.
const UPRIGHT: f64 = 0.75;

/// Which end of the vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    Rim,
    Foot,
}

/// Mean height of the end's circle by sector, mm; empty where the scan does not show it.
pub(super) fn ring(located: &Located, end: End, noise: f64) -> Vec<CirclePoint> {
    let (sign, from) = match end {
        End::Rim => (1.0, located.walls.rim),
        End::Foot => (-1.0, located.walls.foot),
    };
    let all = &located.stations.stations;
    let upright = |index: &usize| sign * all[*index].normal[1] >= UPRIGHT;
    let near = (0.02 * located.height).max(2.0 * located.stations.spacing);
    let close = |index: &usize| upright(index) && (all[*index].height - all[from].height).abs() <= near;
    let after = (from..all.len()).take_while(close).last();
    let before = (0..=from).rev().take_while(close).last();
    let (Some(first), Some(last)) = (before.or(after.map(|_| from)), after.or(before.map(|_| from))) else {
        return Vec::new();
    };
    let mut sums = [(0_u32, 0.0, 0.0); SECTORS];
    for (index, station) in located.member.iter().enumerate() {
        if *station == NO_STATION || !(first..=last).contains(&(*station as usize)) {
            continue;
        }
        let station = &all[*station as usize];
        let (off, _) = station.offset(located.points.radius[index], located.points.height[index], located.stations.spacing);
        let sector = ((located.points.azimuth[index] / TAU + 0.5) * SECTORS as f64) as usize;
        let sum = &mut sums[sector.min(SECTORS - 1)];
        sum.0 += 1;
        sum.1 += off / station.normal[1];
        sum.2 += located.points.radius[index];
    }
    let height = all[from].height;
    let points = sums.iter().enumerate().filter(|(_, (count, ..))| *count >= FEWEST).filter_map(|(sector, sum)| {
        let count = f64::from(sum.0);
        let height = Estimate::new(height + sum.1 / count, noise / count.sqrt()).ok()?;
        let azimuth_rad = ((sector as f64 + 0.5) / SECTORS as f64 - 0.5) * TAU;
        Some(CirclePoint { azimuth_rad, radius_mm: sum.2 / count, height })
    });
    let points: Vec<CirclePoint> = points.collect();
    if points.len() * 3 >= SECTORS * 2 { points } else { Vec::new() }
}
