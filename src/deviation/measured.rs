//! A measure of one vessel: value, standard uncertainty, and what noise alone would show.

use crate::quantity::{Budget, Estimate, EstimateError, Source};

use super::correction::TWO_SIDED_95;

/// A measure with what the scanner's noise alone would show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// Value with its standard uncertainty, in the unit of the measure.
    pub estimate: Estimate,
    /// Value that a perfect vessel exceeds in one scan of twenty; `None` for sizes, which noise does not raise.
    pub detection_limit: Option<f64>,
    /// Where its standard uncertainty comes from; the parts make up the whole of it.
    pub budget: Budget,
}

impl Measured {
    /// A value whose uncertainty is the noise's alone.
    ///
    /// # Example
    /// ```
    /// use tornus::Estimate;
    /// use tornus::deviation::Measured;
    /// use tornus::quantity::Source;
    /// let wall = Measured::new(Estimate::new(4.0, 0.03)?, None).and(Source::Axis, 0.04);
    /// assert!((wall.estimate.standard_uncertainty() - 0.05).abs() < 1e-15); // 0.03^2 + 0.04^2 = 0.05^2
    /// # Ok::<(), tornus::quantity::EstimateError>(())
    /// ```
    #[must_use]
    pub fn new(estimate: Estimate, detection_limit: Option<f64>) -> Self {
        Self { estimate, detection_limit, budget: Budget::of(Source::Noise, estimate.standard_uncertainty()) }
    }

    /// The value with a further, independent part of its uncertainty; a part that is no number is left out.
    #[must_use]
    pub fn and(self, source: Source, u: f64) -> Self {
        self.with_budget(self.budget.and(source, u))
    }

    /// The value with every part of another, independent budget.
    #[must_use]
    pub fn and_all(self, other: &Budget) -> Self {
        self.with_budget(self.budget.with(other))
    }

    /// The value with what noise leaves of it `factor` times as uncertain.
    #[must_use]
    pub fn with_noise_times(self, factor: f64) -> Self {
        let noise = self.budget.part(Source::Noise);
        self.and(Source::Noise, noise * (factor * factor - 1.0).max(0.0).sqrt())
    }

    /// The value where `share` of its variance, 0 to 1, is told to come from `source` instead of the noise.
    pub(super) fn with_share(self, source: Source, share: f64) -> Self {
        let (noise, share) = (self.budget.part(Source::Noise), share.clamp(0.0, 1.0));
        let others = Source::ALL.into_iter().filter(|s| *s != Source::Noise).map(|s| (s, self.budget.part(s)));
        let kept = Budget::of(Source::Noise, noise * (1.0 - share).sqrt()).and(source, noise * share.sqrt());
        Self { budget: others.fold(kept, |budget, (s, u)| budget.and(s, u)), ..self }
    }

    fn with_budget(self, budget: Budget) -> Self {
        match Estimate::new(self.estimate.value(), budget.total()) {
            Ok(estimate) => Self { estimate, budget, ..self },
            Err(_) => self,
        }
    }

    /// A size: no detection limit.
    pub(super) fn size(value: f64, u: f64) -> Result<Self, EstimateError> {
        Ok(Self::new(Estimate::new(value, u)?, None))
    }

    /// A deviation with its detection limit.
    pub(super) fn deviation(value: f64, u: f64, limit: f64) -> Result<Self, EstimateError> {
        Ok(Self::new(Estimate::new(value, u)?, Some(limit)))
    }

    /// Root of a power whose expected noise was taken off already.
    ///
    /// `power` may be negative: then the value is 0. `u_power` is its standard uncertainty and `limit_power` the power
    /// that noise alone exceeds in one case of twenty. The standard uncertainty of the root is the half-width of the 95 %
    /// interval of the power, taken through the root, divided by 1.96: near zero the root is too curved for its slope.
    pub(super) fn root_of_power(power: f64, u_power: f64, limit_power: f64) -> Result<Self, EstimateError> {
        let value = power.max(0.0).sqrt();
        let upper = (power.max(0.0) + TWO_SIDED_95 * u_power).sqrt();
        let lower = power - TWO_SIDED_95 * u_power;
        let half = if lower > 0.0 { (upper - lower.sqrt()) / 2.0 } else { upper - value };
        Self::deviation(value, half / TWO_SIDED_95, limit_power.max(0.0).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn far_above_the_noise_the_root_has_the_slope_of_the_root() {
        let measured = Measured::root_of_power(4.0, 0.004, 0.001).unwrap();
        assert!((measured.estimate.value() - 2.0).abs() < 1e-12);
        assert!((measured.estimate.standard_uncertainty() - 0.001).abs() < 1e-8); // u / (2 sqrt P)
    }

    #[test]
    fn a_negative_power_is_zero_with_an_uncertainty() {
        let measured = Measured::root_of_power(-1.0, 1.0, 1.0).unwrap();
        assert_eq!(measured.estimate.value().to_bits(), 0.0_f64.to_bits());
        assert!(measured.estimate.standard_uncertainty() > 0.5);
    }
}
