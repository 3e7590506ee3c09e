//! Seams: where two views meet, the surface steps along a meridian, at one azimuth over most of the height.

use std::f64::consts::TAU;

use super::finding::{Defect, Finding, Place};
use super::residuals::Residuals;
use crate::math::robust;
use crate::quantity::Estimate;
use crate::reduction::WallSide;

/// Sectors round the wall: the widest see a blended seam, the narrowest tell a step from a lobe.
const SECTORS: [usize; 4] = [720, 360, 180, 90];

/// Stretches of the wall's height: a seam runs through more than half of them, damage does not.
const STRETCHES: usize = 8;

/// Points in each sector of each stretch, on average.
const FEWEST: usize = 4;

/// A smaller step is none, mm (project): it changes no value by as much as any use of the tables shows.
const LEAST_STEP_MM: f64 = 0.005;

/// A step this many times the scatter of steps round the wall is a seam (project; by simulation, see the tests).
const THRESHOLD: f64 = 5.5;

pub(super) fn seam(points: &Residuals, wall: WallSide) -> Option<Finding> {
    let supported = SECTORS.into_iter().filter(|sectors| points.len() >= FEWEST * STRETCHES * sectors);
    supported.filter_map(|sectors| strongest(points, wall, sectors)).max_by(|a, b| a.evidence.total_cmp(&b.evidence))
}

/// Steps are looked for at so many places in each sector: a step in the middle of a sector shows on neither side of it.
const PLACES: usize = 3;

/// The strongest step between neighbouring sectors.
fn strongest(points: &Residuals, wall: WallSide, sectors: usize) -> Option<Finding> {
    let [start, end] = points.reach();
    let places = PLACES * sectors;
    let mut sums = vec![[(0.0, 0_u32); STRETCHES]; places];
    for index in 0..points.len() {
        let place = ((points.azimuth[index] / TAU + 0.5) * places as f64) as usize;
        let stretch = ((points.arc[index] - start) / (end - start) * STRETCHES as f64) as usize;
        let sum = &mut sums[place.min(places - 1)][stretch.min(STRETCHES - 1)];
        *sum = (sum.0 + points.offset[index], sum.1 + 1);
    }
    let mean = |from: usize, stretch: usize| {
        let within = (from..from + PLACES).map(|place| sums[place % places][stretch]);
        let (sum, count) = within.fold((0.0, 0), |total, part| (total.0 + part.0, total.1 + part.1));
        (count > 0).then(|| sum / f64::from(count))
    };
    let steps: Vec<(usize, f64)> = (0..places)
        .filter_map(|place| {
            let step = |stretch| {
                let [far, near] = [2, 1].map(|sectors| mean(place + places - sectors * PLACES, stretch));
                let [next, beyond] = [mean(place, stretch), mean(place + PLACES, stretch)];
                // Both sides led on to the seam by their own slope.
                Some((1.5 * next? - 0.5 * beyond?) - (1.5 * near? - 0.5 * far?))
            };
            middle_half((0..STRETCHES).filter_map(step).collect()).map(|step| (place, step))
        })
        .collect();
    let (middle, scatter) = robust::mad(&mut steps.iter().map(|(_, step)| *step).collect::<Vec<_>>())?;
    let (place, step) = steps.into_iter().max_by(|a, b| (a.1 - middle).abs().total_cmp(&(b.1 - middle).abs()))?;
    Some(Finding {
        defect: Defect::Seam,
        strength: Estimate::new(step.abs(), scatter).ok()?,
        evidence: if step.abs() < LEAST_STEP_MM { 0.0 } else { (step - middle).abs() / scatter.max(f64::MIN_POSITIVE) },
        threshold: THRESHOLD,
        wall: Some(wall),
        place: Place::Azimuth((place as f64 / places as f64 - 0.5) * TAU),
    })
}

/// Mean of the middle half of the stretches' steps: damage in a quarter of the height has no say. `None` if fewer than
/// three quarters of the stretches were seen.
fn middle_half(mut steps: Vec<f64>) -> Option<f64> {
    if 4 * steps.len() < 3 * STRETCHES {
        return None;
    }
    steps.sort_unstable_by(f64::total_cmp);
    let quarter = steps.len() / 4;
    let middle = &steps[quarter..steps.len() - quarter];
    Some(middle.iter().sum::<f64>() / middle.len() as f64)
}
