//! A measured value together with its standard uncertainty.

/// A value with its standard uncertainty, in the unit of the value.
///
/// # Example
/// ```
/// use tornus::Estimate;
/// let radius = Estimate::new(40.0, 0.002)?;
/// assert_eq!(radius.expanded(2.0), 0.004); // U = k u, GUM (JCGM 100:2008) clause 6
/// # Ok::<(), tornus::quantity::EstimateError>(())
/// ```
///
/// # References
/// JCGM 100:2008, Guide to the expression of uncertainty in measurement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    value: f64,
    standard_uncertainty: f64,
}

/// Why a pair of numbers is no estimate.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum EstimateError {
    /// The value is not a finite number.
    #[error("value is not finite: {0}")]
    NotFinite(f64),
    /// The uncertainty is negative or not finite.
    #[error("standard uncertainty must be finite and not negative: {0}")]
    BadUncertainty(f64),
}

impl Estimate {
    /// A value with the standard uncertainty `u`.
    ///
    /// # Errors
    /// [`EstimateError`] if `value` is not finite, or `u` is negative or not finite.
    pub fn new(value: f64, u: f64) -> Result<Self, EstimateError> {
        if !value.is_finite() {
            return Err(EstimateError::NotFinite(value));
        }
        if !(u.is_finite() && u >= 0.0) {
            return Err(EstimateError::BadUncertainty(u));
        }
        Ok(Self { value, standard_uncertainty: u })
    }

    /// Zero, known exactly.
    #[must_use]
    pub const fn exact_zero() -> Self {
        Self { value: 0.0, standard_uncertainty: 0.0 }
    }

    /// The value.
    #[must_use]
    pub const fn value(self) -> f64 {
        self.value
    }

    /// The standard uncertainty u.
    #[must_use]
    pub const fn standard_uncertainty(self) -> f64 {
        self.standard_uncertainty
    }

    /// The value with a further, independent standard uncertainty; one that is no number is left out.
    ///
    /// # Example
    /// ```
    /// use tornus::Estimate;
    /// let radius = Estimate::new(40.0, 0.003)?.widened(0.004);
    /// assert!((radius.standard_uncertainty() - 0.005).abs() < 1e-15); // 0.003^2 + 0.004^2 = 0.005^2
    /// # Ok::<(), tornus::quantity::EstimateError>(())
    /// ```
    #[must_use]
    pub fn widened(self, u: f64) -> Self {
        Self::new(self.value, self.standard_uncertainty.hypot(u)).unwrap_or(self)
    }

    /// The expanded uncertainty U = k u.
    #[must_use]
    pub fn expanded(self, coverage_factor: f64) -> f64 {
        coverage_factor * self.standard_uncertainty
    }
}
