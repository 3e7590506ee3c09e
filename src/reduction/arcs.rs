//! Lines and arcs of the walls' meridians as published rows.

use std::f64::consts::{PI, TAU};

use super::located::Located;
use super::meridian::unevenness;
use super::record::{ArcRow, Meridian, SectionRow};
use super::wall::Wall;
use crate::profile::arcs::{ArcStation, Joint, Piece, split};
use crate::quantity::Estimate;

/// Harmonics whose size is taken for that of the meridian's own departures from its design (project): below, ovality and
/// clamping tell nothing of the outline; above, tool marks do not either.
const MAKING_UPR: std::ops::RangeInclusive<u16> = 4..=15;

/// Splits the whole meridian and gives each piece to the wall that holds more of it; a piece across the rim stands once.
pub(super) fn split_walls(located: &Located, measured: &mut [(Wall, Vec<SectionRow>, Meridian)]) {
    let seen: Vec<usize> = (0..located.u_own.len()).filter(|index| located.u_own[*index].is_finite()).collect();
    let station = |index: &usize| {
        let station = &located.unsmoothed.stations[*index];
        let u_mm = located.u_own[*index].max(unevenness(located, *index));
        ArcStation { radius_mm: station.radius, height_mm: station.height, u_mm }
    };
    let stations: Vec<ArcStation> = seen.iter().map(station).collect();
    let form_mm = measured.first().map_or(0.0, |(_, rows, _)| making(rows));
    let found = split(&stations, form_mm);
    for (index, piece) in found.pieces.iter().enumerate() {
        let before = index.checked_sub(1).and_then(|before| found.joints.get(before));
        let ends = [&stations[piece.stations.start], &stations[piece.stations.end - 1]];
        let Some(row) = row(piece, [before, found.joints.get(index)], ends.map(|s| [s.radius_mm, s.height_mm])) else {
            continue;
        };
        let middle = seen[(piece.stations.start + piece.stations.end - 1) / 2];
        let wall = usize::from(measured.len() > 1 && middle > located.walls.rim);
        if let Some((_, _, meridian)) = measured.get_mut(wall) {
            meridian.arcs.push(row);
        }
    }
}

/// Root mean square departure of the body's sections from round within the band of harmonics, mm.
fn making(rows: &[SectionRow]) -> f64 {
    let power = |row: &SectionRow| -> f64 {
        let waves = row.harmonics.iter().filter(|wave| MAKING_UPR.contains(&wave.upr));
        waves.map(|wave| 0.5 * wave.amplitude.value().powi(2)).sum()
    };
    let powers: Vec<f64> = rows.iter().filter(|row| row.body).map(power).collect();
    if powers.is_empty() { 0.0 } else { (powers.iter().sum::<f64>() / powers.len() as f64).sqrt() }
}

/// The row of a piece between its joints, or its own ends; `None` if a number is not usable.
fn row(piece: &Piece, joints: [Option<&Joint>; 2], ends: [[f64; 2]; 2]) -> Option<ArcRow> {
    let curve = &piece.curve;
    let [from, to] = [0, 1].map(|end| joints[end].map_or(ends[end], |joint| joint.place));
    let [start, end] = [from, to].map(|place| curve.along(place));
    // An end of more than half a turn from the middle is counted the other way round.
    let length_mm =
        if piece.bent { (end - start).rem_euclid(TAU / curve.curvature.abs()) } else { (end - start).abs() };
    let u_ends_mm = joints.map(|joint| joint.map(|joint| joint.u_along_mm));
    let u_length = u_ends_mm.iter().flatten().fold(0.0_f64, |sum, u| sum.hypot(*u));
    let [k, u_k] = piece.curvature;
    let angle = if piece.bent {
        Estimate::new(k.abs() * length_mm, (u_k * length_mm).hypot(k * u_length)).ok()?
    } else {
        let [t_r, t_z] = curve.direction;
        let lean = t_r.atan2(t_z);
        // A line has no direction: one that runs down the inside leans as the same line upwards.
        let lean = if t_z < 0.0 { lean - PI * lean.signum() } else { lean };
        Estimate::new(lean, curve.u_heading(0.0)).ok()?
    };
    let center = match curve.center().filter(|_| piece.bent) {
        Some([[r, u_r], [z, u_z]]) => Some([Estimate::new(r, u_r).ok()?, Estimate::new(z, u_z).ok()?]),
        None => None,
    };
    let radius = if piece.bent { Some(Estimate::new(1.0 / k.abs(), u_k / (k * k)).ok()?) } else { None };
    let turn = joints[1].map(|joint| Estimate::new(joint.turn_rad, joint.u_turn_rad)).transpose().ok()?;
    Some(ArcRow {
        from,
        to,
        u_ends_mm,
        length_mm,
        bent: piece.bent,
        curvature: Estimate::new(k, u_k).ok()?,
        radius,
        center,
        angle,
        turn,
        smooth: joints[1].map(|joint| joint.smooth),
        rms_mm: piece.rms_mm,
        stations: piece.stations.len(),
    })
}
