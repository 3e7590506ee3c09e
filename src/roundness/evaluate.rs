//! Roundness deviations of one section, corrected for noise.

use super::{FilteredProfile, NoiseReference, ReferenceCircle, RoundnessError, associate_points};
use crate::math::fourier::HarmonicFit;
use crate::quantity::{Estimate, Upr};

/// Roundness deviations of one section, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionRoundness {
    /// RONt about the least-squares circle.
    pub ront_lsci: Estimate,
    /// RONq about the least-squares circle.
    pub ronq_lsci: Estimate,
    /// RONp about the least-squares circle.
    pub ronp_lsci: Estimate,
    /// RONv about the least-squares circle.
    pub ronv_lsci: Estimate,
    /// RONt about the minimum zone circles.
    pub ront_mzci: Estimate,
    /// RONt about the minimum circumscribed circle.
    pub ront_mcci: Estimate,
    /// RONt about the maximum inscribed circle.
    pub ront_mici: Estimate,
    /// RONt about the least-squares circle with nothing taken off for noise.
    pub raw_ront_lsci_mm: f64,
    /// What noise alone would show as `ront_lsci` in 5 % of sections at most.
    pub detection_limit_mm: f64,
}

/// Roundness deviations of one section; `noise_mm` is the standard deviation of a value of unit weight.
///
/// # Errors
/// [`RoundnessError`].
pub fn evaluate(
    fit: &HarmonicFit,
    noise_mm: f64,
    cutoff: Upr,
    noise: &NoiseReference,
) -> Result<SectionRoundness, RoundnessError> {
    if !(noise_mm.is_finite() && noise_mm >= 0.0) {
        return Err(RoundnessError::BadNoise { noise_mm });
    }
    let points = FilteredProfile::from_fit(fit, cutoff, noise.grid())?.points();
    let lsci = associate_points(&points, ReferenceCircle::Lsci)?;
    let mzci = associate_points(&points, ReferenceCircle::Mzci)?;
    let mcci = associate_points(&points, ReferenceCircle::Mcci)?;
    let mici = associate_points(&points, ReferenceCircle::Mici)?;
    let estimate = |value: f64| Estimate::new(value, noise_mm).map_err(|_| RoundnessError::BadNoise { noise_mm });
    Ok(SectionRoundness {
        ront_lsci: estimate(lsci.ront_mm)?,
        ronq_lsci: estimate(lsci.ronq_mm)?,
        ronp_lsci: estimate(lsci.ronp_mm)?,
        ronv_lsci: estimate(lsci.ronv_mm)?,
        ront_mzci: estimate(mzci.ront_mm)?,
        ront_mcci: estimate(mcci.ront_mm)?,
        ront_mici: estimate(mici.ront_mm)?,
        raw_ront_lsci_mm: lsci.ront_mm,
        detection_limit_mm: noise.limit_factor() * noise_mm,
    })
}
