//! The profile that the filter leaves, on an even grid.

use std::f64::consts::TAU;

use nalgebra::Point2;

use super::RoundnessError;
use crate::math::fourier::HarmonicFit;
use crate::math::gaussian_filter::transmission;
use crate::quantity::Upr;

/// Radii on an even grid of angles, from angle 0 on, after the filter.
#[derive(Clone, Debug, PartialEq)]
pub struct FilteredProfile {
    radii_mm: Vec<f64>,
}

impl FilteredProfile {
    /// A profile from radii (mm, > 0) at the angles 2 pi j / count; what filter they went through is the caller's word.
    ///
    /// # Errors
    /// [`RoundnessError`] if there are fewer than 4 radii or one is not a positive number.
    pub fn new(radii_mm: Vec<f64>) -> Result<Self, RoundnessError> {
        if radii_mm.len() < 4 {
            return Err(RoundnessError::TooFew { count: radii_mm.len(), needed: 4 });
        }
        match radii_mm.iter().position(|radius| !(radius.is_finite() && *radius > 0.0)) {
            Some(index) => Err(RoundnessError::BadRadius { index, radius_mm: radii_mm[index] }),
            None => Ok(Self { radii_mm }),
        }
    }

    /// The harmonics of `fit` through the long-wave Gaussian filter of `cutoff`, on `grid` angles.
    ///
    /// Harmonic 1 passes whole: it is where the section lies, and a filter must not pull the section towards the axis.
    ///
    /// # Errors
    /// As [`FilteredProfile::new`]; harmonics may reach below radius 0.
    ///
    /// # References
    /// ISO 12181-2, ISO 16610-21; clauses not checked.
    pub fn from_fit(fit: &HarmonicFit, cutoff: Upr, grid: usize) -> Result<Self, RoundnessError> {
        let cutoff = f64::from(cutoff.get());
        Self::new(fit.on_grid(grid, |n| if n == 1 { 1.0 } else { transmission(n as f64, cutoff) }))
    }

    /// The radii, mm.
    #[must_use]
    pub fn radii_mm(&self) -> &[f64] {
        &self.radii_mm
    }

    /// The points of the profile in the plane of the section, mm.
    #[must_use]
    pub fn points(&self) -> Vec<Point2<f64>> {
        let count = self.radii_mm.len() as f64;
        let place = |(j, radius): (usize, &f64)| {
            let (sin, cos) = (TAU * j as f64 / count).sin_cos();
            Point2::new(radius * cos, radius * sin)
        };
        self.radii_mm.iter().enumerate().map(place).collect()
    }
}
