//! The body: the sections that say how truly a vessel was made, without lip and foot.

use super::located::Located;
use super::wall::Wall;
use super::{Rejection, Step};
use crate::math::robust;
use crate::quantity::Estimate;
use crate::section::BODY_MARGIN;

/// Walls steeper than 30 degrees to the horizontal have sections that speak of roundness (project).
const STEEP: f64 = 0.5;

/// Where less than this share of the heights is steep, as in a plate, all of them count.
const STEEP_SHARE: f64 = 0.25;

/// A section seen at less than this share of the azimuths that the usual one of its wall is seen at lies on an edge, where points
/// of what is beside it stray in: its centre errs by several times what its noise says (project).
const EDGE: f64 = 0.5;

/// Sections further from round than this share of their radius, root mean square of the harmonics 2 to 15, are no
/// sections of a vessel of revolution (project): hand-made pots stay within 2 %, an oval of axes 1 to 1.1 is at 3.5 %.
const ROUGHEST: f64 = 0.03;

/// Which sections of each wall belong to the body.
#[derive(Clone, Debug)]
pub(super) struct Body {
    walls: Vec<Vec<usize>>,
}

impl Body {
    /// # Errors
    /// [`Rejection`] if no section of the outer body could be measured, or the sections are far from round.
    pub(super) fn of(located: &Located, walls: &[Wall]) -> Result<Self, Rejection> {
        let ends = ends(located);
        let body = Self { walls: walls.iter().map(|wall| of_wall(wall, ends)).collect() };
        let Some(outer) = walls.first() else { return Ok(body) };
        let rejection = |reason| Rejection { step: Step::Sections, reason };
        let mut roughness: Vec<f64> = body.outer().iter().filter_map(|&index| roughness(outer, index)).collect();
        let typical = robust::median(&mut roughness)
            .ok_or_else(|| rejection("no section of the outer wall is seen two thirds of the way round".to_owned()))?;
        if typical > ROUGHEST {
            return Err(rejection(format!(
                "not a vessel of revolution: its sections leave their circle by {:.1} % of the radius (root mean square), at \
                 most {:.0} % expected",
                100.0 * typical,
                100.0 * ROUGHEST
            )));
        }
        Ok(body)
    }

    /// The outer wall's body sections.
    pub(super) fn outer(&self) -> &[usize] {
        self.sections(0)
    }

    /// The body sections of a wall.
    pub(super) fn sections(&self, wall: usize) -> &[usize] {
        self.walls.get(wall).map(Vec::as_slice).unwrap_or_default()
    }

    /// Standard deviation of a point along the normal: median over the outer body's sections.
    pub(super) fn noise(&self, walls: &[Wall]) -> Estimate {
        let of = |index: &usize| Some(walls[0].fits[*index].as_ref()?.noise * walls[0].meridian[*index]?.steepness);
        let mut noises: Vec<f64> = self.outer().iter().filter_map(of).collect();
        let Some((median, spread)) = robust::mad(&mut noises) else { return Estimate::exact_zero() };
        // 1.2533 is the square root of pi / 2: spread of a median against that of a mean.
        Estimate::new(median, 1.2533 * spread / (noises.len() as f64).sqrt()).unwrap_or_else(|_| Estimate::exact_zero())
    }
}

/// Whether a body with sections at these heights, its lowest and its highest, ends elsewhere than at the tenths of the height
/// that sections are laid through: where the wall grows flat or is no longer seen. The end is then met to half a section.
pub(super) fn unclear(heights: &[f64], wall: &Wall, located: &Located) -> [bool; 2] {
    let off = |height: Option<&f64>, end: f64| height.is_some_and(|h| (h - end).abs() > 0.5 * wall.heights.step);
    let [low, high] = ends(located);
    [off(heights.first(), low), off(heights.last(), high)]
}

/// The heights at which the body of a steep wall ends, mm.
pub(super) fn ends(located: &Located) -> [f64; 2] {
    [BODY_MARGIN, 1.0 - BODY_MARGIN].map(|share| share * located.height)
}

/// A wall's sections from one end of the body to the other: a section whose band holds an end is in where more than half of it
/// is, so that the body of a coarse scan is on the mean as high as that of a dense one.
fn of_wall(wall: &Wall, [low, high]: [f64; 2]) -> Vec<usize> {
    let half = 0.5 * wall.heights.step;
    let all: Vec<usize> = (0..wall.heights.count)
        .filter(|&index| (low - half..high + half).contains(&wall.heights.middle(index)))
        .collect();
    let steepness = |index: usize| wall.meridian.get(index).copied().flatten().map(|meridian| meridian.steepness);
    // At the middle, or at the edge towards a neighbour of the body: below it a foot may be steep.
    let steep_at = |index: usize| {
        let own = steepness(index)?;
        let beside = [index.checked_sub(1), Some(index + 1)].into_iter().flatten();
        let beside = beside.filter(|beside| all.contains(beside)).filter_map(steepness);
        Some(beside.map(|beside| 0.5 * (own + beside)).fold(own, f64::max))
    };
    let fitted = |index: usize| wall.fits[index].is_some() && wall.meridian[index].is_some();
    let mut seen: Vec<usize> = all.iter().copied().filter(|&index| fitted(index)).collect();
    let usual =
        robust::median(&mut seen.iter().map(|&index| wall.coverage[index]).collect::<Vec<f64>>()).unwrap_or(0.0);
    seen.retain(|&index| wall.coverage[index] >= EDGE * usual);
    let steep: Vec<usize> =
        seen.iter().copied().filter(|&index| steep_at(index).is_some_and(|steepness| steepness >= STEEP)).collect();
    if steep.len() as f64 >= STEEP_SHARE * all.len() as f64 { steep } else { seen }
}

/// Root mean square of harmonics 2 to 15 over the radius.
fn roughness(wall: &Wall, index: usize) -> Option<f64> {
    let radius = wall.meridian[index]?.radius;
    let harmonics = &wall.fits[index].as_ref()?.harmonics;
    let power = |n: usize| harmonics.cos[n - 1].powi(2) + harmonics.sin[n - 1].powi(2);
    let low_orders = 2..=harmonics.highest().min(15);
    Some((0.5 * low_orders.map(power).sum::<f64>()).sqrt() / radius)
}
