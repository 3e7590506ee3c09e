//! What is known of an inside that is seen part of the way down.
//!
//! The measures of the inside are of the whole body. Of a part they are the part's, and what the rest may be leaves them open:
//! as much as the part itself varies, by the share that is not seen. How thick a wall is where its inside was not seen, the
//! part does not say at all: walls thicken towards the floor.

use std::f64::consts::SQRT_2;

use super::ledger::Ledger;
use super::record::{Meridian, SectionRow};
use super::wall::Wall;
use crate::math::robust;
use crate::profile::AT_AXIS;
use crate::quantity::Source;

/// An inside of which less than this share of the body's heights is seen says nothing of the rest (project).
const LEAST_SEEN: f64 = 1.0 / 3.0;

/// Of the body's heights this share may lie below the floor of a vessel whose inside is seen whole (project: feet and floors
/// of planned vessels take up to a quarter of the height, a tenth of which is no body).
const FLOOR: f64 = 0.15;

const THICKNESS: [&str; 3] = ["wall_mean", "wall_min", "wall_max"];
const OF_A_PART: [&str; 4] = ["wall_unevenness", "roundness_inner", "axis_straightness_inner", "coaxiality_inner"];

/// Widens the measures of a part of the inside for the rest, and takes back those that the part says nothing of.
pub(super) fn enter(ledger: &mut Ledger, walls: &[(Wall, Vec<SectionRow>, Meridian)]) {
    let [(_, outer, _), (_, inner, meridian)] = walls else { return };
    let unseen = unseen(outer, meridian);
    if unseen <= FLOOR {
        return;
    }
    let reason = format!("the inside was seen over {:.0} % of the body's height only", 100.0 * (1.0 - unseen));
    THICKNESS.iter().for_each(|name| ledger.withhold(name, &reason));
    if unseen > 1.0 - LEAST_SEEN {
        OF_A_PART.iter().for_each(|name| ledger.withhold(name, &reason));
        return;
    }
    let mut ront: Vec<f64> = inner.iter().filter(|row| row.body).filter_map(|r| Some(r.ront_lsci?.value())).collect();
    let spread = robust::mad(&mut ront).map_or(0.0, |(_, spread)| spread);
    for row in &mut ledger.rows {
        let varies = match row.measure {
            "roundness_inner" => SQRT_2 * spread,
            "wall_unevenness" | "axis_straightness_inner" | "coaxiality_inner" => row.estimate.value(),
            _ => continue,
        };
        row.widen(Source::Sampling, unseen * varies);
    }
}

/// Share of the body's heights that lie below all that is seen of the inside; nothing where its floor is seen.
fn unseen(outer: &[SectionRow], inner: &Meridian) -> f64 {
    let widest = outer.iter().map(|row| row.radius.value()).fold(0.0, f64::max);
    if inner.stations.last().is_some_and(|last| last.radius.value() < AT_AXIS * widest) {
        return 0.0;
    }
    let deepest = inner.stations.iter().map(|station| station.height_mm).fold(f64::INFINITY, f64::min);
    let body = || outer.iter().filter(|row| row.body);
    body().filter(|row| row.height_mm < deepest).count() as f64 / body().count().max(1) as f64
}
