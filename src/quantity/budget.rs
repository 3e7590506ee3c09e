//! The parts of a standard uncertainty, by where they come from.

/// Where a part of a standard uncertainty comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// The scanner's noise, each point's own and that which errs alike over millimetres.
    Noise,
    /// Finitely many points, stations and sections: how a curve runs between two of them, where a body ends, what a
    /// gap, smoothing or a thinned mesh may hide.
    Sampling,
    /// The datum axis.
    Axis,
    /// The choice of what is set aside as handle or damage.
    SetAside,
    /// The instrument, by the standard uncertainty declared for it; scans with one instrument share it.
    Instrument,
}

impl Source {
    /// Every source, in the order of the published columns.
    pub const ALL: [Self; 5] = [Self::Noise, Self::Sampling, Self::Axis, Self::SetAside, Self::Instrument];

    /// The word of the published columns, `u_WORD`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Noise => "noise",
            Self::Sampling => "sampling",
            Self::Axis => "axis",
            Self::SetAside => "set_aside",
            Self::Instrument => "instrument",
        }
    }
}

/// An uncertainty budget: independent parts, in the unit of the value.
///
/// # Example
/// 0.003 mm of noise and 0.004 mm of the instrument are 0.005 mm together.
/// ```
/// use tornus::quantity::{Budget, Source};
/// let budget = Budget::of(Source::Noise, 0.003).and(Source::Instrument, 0.004);
/// assert!((budget.total() - 0.005).abs() < 1e-15);
/// assert_eq!(budget.part(Source::Axis), 0.0);
/// ```
///
/// # References
/// JCGM 100:2008, clause 5.1 (combined standard uncertainty of independent inputs).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Budget {
    parts: [f64; Source::ALL.len()],
}

impl Budget {
    /// One part alone; its sign does not matter.
    #[must_use]
    pub fn of(source: Source, u: f64) -> Self {
        Self::default().and(source, u)
    }

    /// With a further, independent part.
    #[must_use]
    pub fn and(mut self, source: Source, u: f64) -> Self {
        let part = &mut self.parts[source as usize];
        *part = part.hypot(u);
        self
    }

    /// With every part of another, independent budget.
    #[must_use]
    pub fn with(self, other: &Self) -> Self {
        Source::ALL.into_iter().fold(self, |sum, source| sum.and(source, other.part(source)))
    }

    /// Every part times a factor: the budget of a proportional value.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        Self { parts: self.parts.map(|part| (factor * part).abs()) }
    }

    /// The same proportions with another total; all of it noise where there was nothing.
    #[must_use]
    pub fn scaled_to(&self, total: f64) -> Self {
        let own = self.total();
        if own > 0.0 { self.times(total / own) } else { Self::of(Source::Noise, total) }
    }

    /// The part from one source.
    #[must_use]
    pub const fn part(&self, source: Source) -> f64 {
        self.parts[source as usize]
    }

    /// The root of the sum of the squared parts.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.parts.iter().map(|part| part * part).sum::<f64>().sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_source_met_twice_adds_in_quadrature() {
        let budget = Budget::of(Source::Axis, -3.0).and(Source::Axis, 4.0);
        assert!((budget.part(Source::Axis) - 5.0).abs() < 1e-15);
        assert!((budget.total() - 5.0).abs() < 1e-15);
    }

    #[test]
    fn a_budget_keeps_its_proportions() {
        let budget =
            Budget::of(Source::Noise, 1.0).and(Source::Sampling, 2.0).and(Source::Instrument, 2.0).scaled_to(6.0);
        assert!((budget.total() - 6.0).abs() < 1e-12);
        assert!((budget.part(Source::Sampling) - 4.0).abs() < 1e-12);
        assert!((Budget::default().scaled_to(2.0).part(Source::Noise) - 2.0).abs() < 1e-15);
    }
}
