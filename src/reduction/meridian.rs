//! A wall's stations as published meridian rows.

use std::ops::Range;

use super::correlation::Correlation;
use super::located::Located;
use super::record::{Meridian, StationRow, WallSide};
use super::{Rejection, Step};
use crate::math::robust;
use crate::quantity::Estimate;

/// Stations to each side over which the meridian's unevenness is taken.
const ROUGH_REACH: usize = 4;

/// Root of the summed squares of the fourth difference's coefficients 1, -4, 6, -4, 1.
const FOURTH: f64 = 8.366_600_265_340_756;

/// The mean meridian over a range of stations.
///
/// # Errors
/// [`Rejection`] if a station's numbers are not usable.
pub(super) fn meridian(
    located: &Located,
    correlation: &Correlation,
    side: WallSide,
    range: Range<usize>,
) -> Result<Meridian, Rejection> {
    let row = |(index, arc_mm): (usize, f64)| {
        let station = &located.stations.stations[index];
        let u = own_uncertainty(located, correlation, index).hypot(located.u_hidden[index]);
        let radius = Estimate::new(station.radius, u).map_err(|e| Rejection {
            step: Step::Profile,
            reason: format!("station {index} of the {} meridian: {e}", side.word()),
        })?;
        let sign = match side {
            WallSide::Outer => 1.0,
            WallSide::Inner => -1.0,
        };
        // A wall that bulges away from the axis falls behind its tangent: on the outside along the normal, inside against it.
        Ok(StationRow { arc_mm, height_mm: station.height, radius, curvature_per_mm: -sign * station.bend })
    };
    Ok(Meridian { stations: spaced(located, range).map(row).collect::<Result<_, _>>()?, arcs: Vec::new() })
}

/// The stations of a range with their arc lengths, mm; those in the same place as the one before are left out.
pub(super) fn spaced(located: &Located, range: Range<usize>) -> impl Iterator<Item = (usize, f64)> + '_ {
    let first = range.start;
    range
        .scan((first, 0.0), |(before, arc_mm), index| {
            let [last, station] = [*before, index].map(|index| &located.stations.stations[index]);
            let step = (station.radius - last.radius).hypot(station.height - last.height);
            let apart = step > 0.0 || *before == index;
            if apart {
                *arc_mm += step;
                *before = index;
            }
            Some(apart.then_some((index, *arc_mm)))
        })
        .flatten()
}

/// Standard uncertainty of a station along its normal by noise, and by its points' course between stations, mm; what a gap
/// hides is not in it, for that errs alike all along the meridian.
pub(super) fn own_uncertainty(located: &Located, correlation: &Correlation, index: usize) -> f64 {
    let shared = correlation.mean_variance(located.stations.stations[index].radius.max(located.reach)).sqrt();
    located.u_offset[index].max(unevenness(located, index)).hypot(shared)
}

/// Standard deviation of the stations about a smooth meridian, along the normal, around one of them, mm.
///
/// A curve that is smooth over five stations has next to no fourth difference; where the scan's points lie further apart
/// than the stations, the stations scatter by more than the points' noise, and this shows it.
pub(super) fn unevenness(located: &Located, index: usize) -> f64 {
    let all = &located.stations.stations;
    let fourth = |at: usize| {
        let [a, b, c, d, e] = [at - 2, at - 1, at, at + 1, at + 2].map(|i| &all[i]);
        let difference =
            |of: fn(&crate::profile::Station) -> f64| of(a) - 4.0 * of(b) + 6.0 * of(c) - 4.0 * of(d) + of(e);
        let along = difference(|s| s.radius) * c.normal[0] + difference(|s| s.height) * c.normal[1];
        along.abs() / FOURTH
    };
    let low = index.saturating_sub(ROUGH_REACH).max(2);
    let high = (index + ROUGH_REACH).min(all.len().saturating_sub(3));
    let mut found: Vec<f64> = (low..=high).map(fourth).collect();
    // 0.6745: median of the absolute values of a normal distribution with unit standard deviation.
    robust::median(&mut found).map_or(0.0, |median| median / 0.6745)
}
