//! A run of stations as the curve that the measures of a meridian are taken from.

use std::f64::consts::TAU;
use std::ops::Range;

use super::correlation::Correlation;
use super::located::Located;
use super::meridian::{own_uncertainty, spaced};
use super::record::SectionRow;
use crate::deviation::{DeviationError, WallCurve};
use crate::profile::AT_AXIS;

/// Stations over which the polished meridian is averaged: of the parabola through thirteen of them, the widest it is smoothed
/// with, the middle has 0.175 of the variance of one, as the mean of six.
const SMOOTHED_STATIONS: f64 = 6.0;

/// Where points lie further apart than stations, those between two of them lean on both.
const SMOOTHED_PITCHES: f64 = 2.0;

/// The columns of a run of stations.
pub(super) struct Curve {
    arc: Vec<f64>,
    height: Vec<f64>,
    radius: Vec<f64>,
    /// Standard uncertainty along the normal, mm: each station's own, and what a gap hides of all alike.
    u_own: Vec<f64>,
    u_hidden: Vec<f64>,
    /// Distance of the scan's points, mm.
    pitch: f64,
    /// Arc length over which stations err alike, mm.
    alike: f64,
    mean_square: Vec<f64>,
}

impl Curve {
    /// The stations of a range; `sections` of its wall say how far from round it is.
    pub(super) fn of(
        located: &Located,
        correlation: &Correlation,
        range: Range<usize>,
        sections: &[SectionRow],
    ) -> Self {
        let pitch = located.pitch(range.clone());
        let smoothed = (SMOOTHED_STATIONS * located.stations.spacing).max(SMOOTHED_PITCHES * pitch);
        let mut curve = Self {
            arc: Vec::with_capacity(range.len()),
            height: Vec::with_capacity(range.len()),
            radius: Vec::with_capacity(range.len()),
            u_own: Vec::with_capacity(range.len()),
            u_hidden: Vec::with_capacity(range.len()),
            pitch,
            alike: smoothed.max(TAU.sqrt() * correlation.length_mm()),
            mean_square: Vec::with_capacity(range.len()),
        };
        for (index, arc) in spaced(located, range) {
            let station = &located.stations.stations[index];
            curve.arc.push(arc);
            curve.height.push(station.height);
            curve.radius.push(station.radius);
            curve.u_own.push(own_uncertainty(located, correlation, index));
            curve.u_hidden.push(located.u_hidden[index]);
            curve.mean_square.push(mean_square_at(sections, station.height));
        }
        curve
    }

    /// # Errors
    /// [`DeviationError`] with fewer than four stations.
    pub(super) fn wall(&self) -> Result<WallCurve<'_>, DeviationError> {
        WallCurve::new(&self.arc, &self.height, &self.radius, &self.u_own)?
            .with_pitch(self.pitch)
            .with_errors_alike(self.alike, &self.u_hidden)
    }

    /// Mean square of the radius about its mean, by station, mm2.
    pub(super) fn mean_square(&self) -> &[f64] {
        &self.mean_square
    }

    /// The greatest radius, mm.
    pub(super) fn widest(&self) -> f64 {
        self.radius.iter().copied().fold(0.0, f64::max)
    }

    /// Whether the curve begins in the middle of the underside.
    pub(super) fn begins_at_axis(&self) -> bool {
        self.radius.first().is_some_and(|radius| *radius < AT_AXIS * self.widest())
    }

    pub(super) fn heights(&self) -> &[f64] {
        &self.height
    }

    pub(super) fn radii(&self) -> &[f64] {
        &self.radius
    }
}

/// Half the summed squared amplitudes of the section nearest to a height: the mean square of the radius about its mean.
pub(super) fn mean_square_at(sections: &[SectionRow], height: f64) -> f64 {
    let off = |section: &&SectionRow| (section.height_mm - height).abs();
    let nearest = sections.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
    nearest.map_or(0.0, |section| section.harmonics.iter().map(|h| 0.5 * h.amplitude.value().powi(2)).sum())
}
