//! A wall's stations as published meridian rows.

use std::ops::Range;

use super::located::Located;
use super::record::{Meridian, StationRow, WallSide};
use super::{Rejection, Step};
use crate::quantity::Estimate;

/// The mean meridian over a range of stations.
///
/// # Errors
/// [`Rejection`] if a station's numbers are not usable.
pub(super) fn meridian(
    located: &Located,
    side: WallSide,
    range: Range<usize>,
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
        let u = located.u_offset[index];
        let radius = Estimate::new(station.radius, u).map_err(|e| Rejection {
            step: Step::Profile,
            reason: format!("station {index} of the {} meridian: {e}", side.word()),
        })?;
        let sign = match side {
            WallSide::Outer => 1.0,
            WallSide::Inner => -1.0,
        };
        // A wall that bulges away from the axis falls behind its tangent: on the outside along the normal, inside against it.
        stations.push(StationRow {
            arc_mm,
            height_mm: station.height,
            radius,
            curvature_per_mm: -sign * station.bend,
        });
    }
    Ok(Meridian { stations })
}
