//! The extracted profile of one section.

use std::f64::consts::TAU;

use super::RoundnessError;
use crate::math::fourier::{self, HarmonicFit};
use crate::quantity::Upr;

/// Radii of one section at strictly increasing angles.
///
/// # Example
/// ```
/// use tornus::roundness::RoundnessProfile;
/// let profile = RoundnessProfile::new(vec![0.0, 1.0, 2.0, 4.0], vec![50.0, 50.1, 50.0, 49.9])?;
/// assert!((profile.largest_gap_rad() - (2.0 * std::f64::consts::PI - 4.0)).abs() < 1e-15); // from 4 rad round to 0
/// assert!(RoundnessProfile::new(vec![1.0, 0.5], vec![50.0, 50.0]).is_err());
/// # Ok::<(), tornus::roundness::RoundnessError>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct RoundnessProfile {
    angles_rad: Vec<f64>,
    radii_mm: Vec<f64>,
    largest_gap_rad: f64,
}

impl RoundnessProfile {
    /// A profile from angles (rad, strictly increasing within [0, 2 pi)) and radii (mm, > 0).
    ///
    /// # Errors
    /// [`RoundnessError`] if the numbers of angles and radii differ, there are none, or one is out of its range.
    pub fn new(angles_rad: Vec<f64>, radii_mm: Vec<f64>) -> Result<Self, RoundnessError> {
        if angles_rad.len() != radii_mm.len() {
            return Err(RoundnessError::LengthMismatch { angles: angles_rad.len(), radii: radii_mm.len() });
        }
        if angles_rad.is_empty() {
            return Err(RoundnessError::TooFew { count: 0, needed: 1 });
        }
        let mut before = f64::NEG_INFINITY;
        for (index, &angle_rad) in angles_rad.iter().enumerate() {
            if !(angle_rad > before && (0.0..TAU).contains(&angle_rad)) {
                return Err(RoundnessError::AngleOutOfOrder { index, angle_rad });
            }
            before = angle_rad;
        }
        if let Some(index) = radii_mm.iter().position(|radius| !(radius.is_finite() && *radius > 0.0)) {
            return Err(RoundnessError::BadRadius { index, radius_mm: radii_mm[index] });
        }
        let largest_gap_rad = fourier::largest_gap(&angles_rad);
        Ok(Self { angles_rad, radii_mm, largest_gap_rad })
    }

    /// The angles, rad.
    #[must_use]
    pub fn angles_rad(&self) -> &[f64] {
        &self.angles_rad
    }

    /// The radii, mm.
    #[must_use]
    pub fn radii_mm(&self) -> &[f64] {
        &self.radii_mm
    }

    /// The largest gap between neighbouring angles, rad.
    #[must_use]
    pub const fn largest_gap_rad(&self) -> f64 {
        self.largest_gap_rad
    }

    /// The highest harmonic, at most `wanted`, that the sampling supports; `None` where it supports none.
    #[must_use]
    pub fn supported(&self, wanted: Upr) -> Option<Upr> {
        let highest = fourier::supported_highest(&self.angles_rad, usize::from(wanted.get()));
        u16::try_from(highest).ok().and_then(Upr::new)
    }

    /// The harmonics up to `highest` by least squares, all points of equal weight.
    ///
    /// # Errors
    /// [`RoundnessError::Harmonics`] if the sampling does not support them.
    pub fn fit(&self, highest: Upr) -> Result<HarmonicFit, RoundnessError> {
        Ok(fourier::fit(&self.angles_rad, &self.radii_mm, None, usize::from(highest.get()))?)
    }
}
