//! The body: the sections that say how truly a vessel was made, without lip and foot.

use super::located::Located;
use super::wall::Wall;
use super::{Rejection, Step};
use crate::math::robust;
use crate::quantity::Estimate;

/// Share of the height left out above the foot and below the rim (project).
pub(super) const MARGIN: f64 = 0.1;

/// Walls steeper than 30 degrees to the horizontal have sections that speak of roundness (project).
pub(super) const STEEP: f64 = 0.5;

/// Where less than this share of the heights is steep, as in a plate, all of them count.
const STEEP_SHARE: f64 = 0.25;

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
        let (low, high) = (MARGIN * located.height, (1.0 - MARGIN) * located.height);
        let sections = walls.iter().map(|wall| of_wall(wall, low, high)).collect();
        let body = Self { walls: sections };
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

fn of_wall(wall: &Wall, low: f64, high: f64) -> Vec<usize> {
    let within: Vec<usize> = (0..wall.heights.count)
        .filter(|&index| (low..=high).contains(&wall.heights.middle(index)))
        .filter(|&index| wall.fits[index].is_some() && wall.meridian[index].is_some())
        .collect();
    let steep: Vec<usize> = within
        .iter()
        .copied()
        .filter(|&index| wall.meridian[index].is_some_and(|meridian| meridian.steepness >= STEEP))
        .collect();
    let all = (0..wall.heights.count).filter(|&index| (low..=high).contains(&wall.heights.middle(index))).count();
    if steep.len() as f64 >= STEEP_SHARE * all as f64 { steep } else { within }
}

/// Root mean square of harmonics 2 to 15 over the radius.
fn roughness(wall: &Wall, index: usize) -> Option<f64> {
    let radius = wall.meridian[index]?.radius;
    let harmonics = &wall.fits[index].as_ref()?.harmonics;
    let power = |n: usize| harmonics.cos[n - 1].powi(2) + harmonics.sin[n - 1].powi(2);
    let low_orders = 2..=harmonics.highest().min(15);
    Some((0.5 * low_orders.map(power).sum::<f64>()).sqrt() / radius)
}
