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

/// Whether the stations' uncertainty has what a gap in the azimuth hides of them, which errs alike all along the meridian.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unseen {
    Included,
    LeftOut,
}

/// The mean meridian over a range of stations.
///
/// # Errors
/// [`Rejection`] if a station's numbers are not usable.
pub(super) fn meridian(
    located: &Located,
    correlation: &Correlation,
    side: WallSide,
    range: Range<usize>,
    unseen: Unseen,
) -> Result<Meridian, Rejection> {
    let mut stations = Vec::with_capacity(range.len());
    let mut arc_mm = 0.0;
    let mut before: Option<(f64, f64)> = None;
    for index in range {
        let station = &located.stations.stations[index];
        if let Some((radius, height)) = before {
            let step = (station.radius - radius).hypot(station.height - height);
            if step <= 0.0 {
                continue;
            }
            arc_mm += step;
        }
        before = Some((station.radius, station.height));
        let own = located.u_offset[index].max(unevenness(located, index));
        let shared = correlation.mean_variance(station.radius.max(located.reach)).sqrt();
        let u = own.hypot(shared).hypot(if unseen == Unseen::Included { located.u_hidden[index] } else { 0.0 });
        let radius = Estimate::new(station.radius, u).map_err(|e| Rejection {
            step: Step::Profile,
            reason: format!("station {index} of the {} meridian: {e}", side.word()),
        })?;
        let sign = match side {
            WallSide::Outer => 1.0,
            WallSide::Inner => -1.0,
        };
        // A wall that bulges away from the axis falls behind its tangent: on the outside along the normal, inside against it.
        stations.push(StationRow { arc_mm, height_mm: station.height, radius, curvature_per_mm: -sign * station.bend });
    }
    Ok(Meridian { stations, arcs: Vec::new() })
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
