//! Double walls: two views that were not brought together leave two sheets where the vessel has one wall.

use std::f64::consts::TAU;

use super::finding::{Defect, Finding, Place};
use super::residuals::Residuals;
use crate::math::robust;
use crate::quantity::Estimate;
use crate::reduction::WallSide;

/// Points that a cell is judged by, and the pitches along and across it that hold some more: a narrow cell sees little of
/// the lobes, which run along the height.
const PER_CELL: usize = 16;
const ALONG: f64 = 12.0;
const ACROSS: f64 = 2.0;

/// Regions of the wall, along azimuth and height, and the cells one needs.
const SECTORS: usize = 12;
const STRETCHES: usize = 4;
const FEWEST_CELLS: usize = 6;

/// Share of a cell's variance that lies between its upper and lower part; of normal noise about two thirds, of two sheets
/// four standard deviations apart four fifths (project; by simulation, see the tests).
const THRESHOLD: f64 = 0.81;

/// Sheets closer than this are not told from the vessel's own surface, mm (project).
const LEAST_APART_MM: f64 = 0.05;

/// One cell split in two.
#[derive(Clone, Copy, Debug)]
struct Split {
    share: f64,
    apart: f64,
}

pub(super) fn double_wall(points: &Residuals, wall: WallSide) -> Option<Finding> {
    let [start, end] = points.reach();
    let mut regions = vec![Vec::new(); SECTORS * STRETCHES];
    for cell in cells(points, start) {
        let Some(&first) = cell.first() else { continue };
        let sector = (((points.azimuth[first] / TAU + 0.5) * SECTORS as f64) as usize).min(SECTORS - 1);
        let stretch = ((points.arc[first] - start) / (end - start) * STRETCHES as f64) as usize;
        let chosen: Vec<usize> = (0..PER_CELL).map(|k| cell[k * cell.len() / PER_CELL]).collect();
        let mut values = without_slope(points, &chosen);
        regions[stretch.min(STRETCHES - 1) * SECTORS + sector].push(split(&mut values));
    }
    let judged = regions.iter().enumerate().filter(|(_, splits)| splits.len() >= FEWEST_CELLS);
    judged.filter_map(|(region, splits)| finding(splits, region, wall)).max_by(|a, b| a.evidence.total_cmp(&b.evidence))
}

fn finding(splits: &[Split], region: usize, wall: WallSide) -> Option<Finding> {
    let share = robust::median(&mut splits.iter().map(|split| split.share).collect::<Vec<_>>())?;
    let (apart, scatter) = robust::mad(&mut splits.iter().map(|split| split.apart).collect::<Vec<_>>())?;
    let evidence = if apart >= LEAST_APART_MM { share } else { 0.0 };
    Some(Finding {
        defect: Defect::DoubleWall,
        strength: Estimate::new(apart, scatter / (splits.len() as f64).sqrt()).ok()?,
        evidence,
        threshold: THRESHOLD,
        wall: Some(wall),
        place: Place::Azimuth((((region % SECTORS) as f64 + 0.5) / SECTORS as f64 - 0.5) * TAU),
    })
}

/// The points of each cell with enough of them.
fn cells(points: &Residuals, start: f64) -> Vec<Vec<usize>> {
    let [along, across] = [ALONG, ACROSS].map(|pitches| pitches * points.pitch);
    let key = |index: usize| {
        let row = ((points.arc[index] - start) / along) as usize;
        let radius = points.at(start + (row as f64 + 0.5) * along)[0].max(across);
        (row, ((points.azimuth[index] / TAU + 0.5) * (TAU * radius / across).round()) as usize)
    };
    let mut keyed: Vec<((usize, usize), usize)> = (0..points.len()).map(|index| (key(index), index)).collect();
    keyed.sort_unstable();
    keyed
        .chunk_by(|a, b| a.0 == b.0)
        .filter(|cell| cell.len() >= PER_CELL)
        .map(|cell| cell.iter().map(|(_, index)| *index).collect())
        .collect()
}

/// The offsets without their slope round the wall: what is left of a lobe.
fn without_slope(points: &Residuals, cell: &[usize]) -> Vec<f64> {
    let count = cell.len() as f64;
    let mean = |of: &[f64]| cell.iter().map(|&index| of[index]).sum::<f64>() / count;
    let (azimuth, offset) = (mean(&points.azimuth), mean(&points.offset));
    let places = || cell.iter().map(|&index| (points.azimuth[index] - azimuth, points.offset[index] - offset));
    let square: f64 = places().map(|(x, _)| x * x).sum();
    let slope = if square > 0.0 { places().map(|(x, y)| x * y).sum::<f64>() / square } else { 0.0 };
    places().map(|(x, y)| y - slope * x).collect()
}

/// The split into an upper and a lower part that leaves least variance within the parts.
fn split(values: &mut [f64]) -> Split {
    values.sort_unstable_by(f64::total_cmp);
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let total: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    let mut best = Split { share: 0.0, apart: 0.0 };
    let mut below = 0.0;
    for (index, value) in values.iter().enumerate().take(values.len() - 1) {
        below += value - mean;
        let low = (index + 1) as f64;
        let between = below * below * count / (low * (count - low));
        if total > 0.0 && between / total > best.share {
            best = Split { share: between / total, apart: below.abs() * count / (low * (count - low)) };
        }
    }
    best
}
