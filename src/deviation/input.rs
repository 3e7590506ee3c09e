//! What the measures start from: section centres, harmonics, deviation maps, rings of points, the datum's uncertainty.

use nalgebra::{Matrix2, Matrix2x4, Matrix4};

use crate::quantity::Estimate;

/// What the lowest and the highest section of a body stand for, in sections: the body ends at their middles.
pub(crate) const SHARE_OF_END: f64 = 0.5;

/// Centre of one section about the datum axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionCentre {
    /// Height, mm.
    pub height_mm: f64,
    /// Centre, mm; its uncertainty is that of the section alone, without the datum's.
    pub x: Estimate,
    /// Centre, mm; its uncertainty is that of the section alone, without the datum's.
    pub y: Estimate,
    /// What a unit of the datum's lean moves the centre by, mm: on a cylinder the height z, elsewhere z + r dr/dz, for a
    /// leaning cut of a slanting wall is displaced.
    pub lever_mm: f64,
    /// The part of its uncertainty that it shares with its neighbours.
    pub alike: Alike,
}

impl SectionCentre {
    /// A section of an upright wall that errs for itself.
    #[must_use]
    pub const fn new(height_mm: f64, x: Estimate, y: Estimate) -> Self {
        Self { height_mm, x, y, lever_mm: height_mm, alike: Alike { u_mm: 0.0, length_mm: 0.0 } }
    }
}

/// A part of a section's error that its neighbours share: sections d apart are correlated in it by exp(-d2 / (2 length2)).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Alike {
    /// Standard uncertainty, mm; at most the whole.
    pub u_mm: f64,
    /// Correlation length along the height, mm.
    pub length_mm: f64,
}

/// Harmonics of one section as fitted, the noise still in them; the first is 1 UPR.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionHarmonics<'a> {
    /// Amplitudes as fitted, mm.
    pub raw_amplitude_mm: &'a [f64],
    /// Standard uncertainty of each of the cosine and the sine coefficient, mm: s sqrt(2 / N) for N even angles with
    /// white noise s.
    pub u_coefficient_mm: &'a [f64],
}

/// Harmonics of one section as fitted, with their phases, the noise still in them; the first is 1 UPR.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionCoefficients<'a> {
    /// Coefficients of the cosines, mm.
    pub cos_mm: &'a [f64],
    /// Coefficients of the sines, mm.
    pub sin_mm: &'a [f64],
    /// Standard uncertainty of each of both, mm.
    pub u_coefficient_mm: &'a [f64],
}

/// Filtered deviations of one section from the mean surface of revolution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeviationRow<'a> {
    /// Deviations at even steps of azimuth around the whole circle, as many in every row, mm; `None` where nothing was seen
    /// or the surface was set aside.
    pub deviation_mm: &'a [Option<f64>],
    /// Standard uncertainty of each value from the scanner's noise, after the filter, mm.
    pub u_mm: f64,
    /// How many independent values the filter leaves in a whole circle: 2 x cut-off + 1.
    pub independent: usize,
}

/// One point of the rim's highest or the foot's lowest circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CirclePoint {
    /// Azimuth, rad.
    pub azimuth_rad: f64,
    /// Distance from the datum axis, mm.
    pub radius_mm: f64,
    /// Height with its standard uncertainty, mm.
    pub height: Estimate,
}

/// How well the datum axis is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DatumUncertainty {
    /// Height at which the offsets are given, mm.
    pub height_mm: f64,
    /// Covariance of (offset x, offset y, tilt about x, tilt about y), mm and rad.
    pub covariance: Matrix4<f64>,
}

impl DatumUncertainty {
    /// Covariance of the datum's place at `height_mm`, or as a section with this lever sees it, mm^2: a tilt about y moves x,
    /// a tilt about x moves y the other way.
    #[must_use]
    pub fn at(&self, height_mm: f64) -> Matrix2<f64> {
        let jacobian = self.jacobian(height_mm);
        jacobian * self.covariance * jacobian.transpose()
    }

    pub(super) fn jacobian(&self, height_mm: f64) -> Matrix2x4<f64> {
        let arm = height_mm - self.height_mm;
        Matrix2x4::new(1.0, 0.0, 0.0, arm, 0.0, 1.0, -arm, 0.0)
    }
}
