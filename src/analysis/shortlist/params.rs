//! What tomographies may cost, what they would measure and what the machine takes; checked.

/// How much each decision counts against the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weights {
    /// Whether the vessel is unusual in precision.
    pub precision: f64,
    /// Which group it belongs to, by form and by precision.
    pub group: f64,
    /// Whether it is modern work.
    pub modern: f64,
    /// What its interior, where not seen, would say of its precision.
    pub interior: f64,
}

/// What tomographies may cost, what they would measure, and what the machine takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CtTerms {
    /// What the tomographies may cost together, in the unit of the catalogue's `ct_cost`; 0 or more.
    pub budget: f64,
    /// Standard uncertainty of a tomography's lengths, mm.
    pub u_ct_mm: f64,
    /// Effective photon energy behind the filter, keV.
    pub energy_kev: f64,
    /// Longest piece the machine takes, mm.
    pub longest_mm: f64,
    /// Heaviest piece the turntable takes, kg.
    pub heaviest_kg: f64,
    /// Share of the rays that must pass the longest path through the material.
    pub least_transmission: f64,
    /// Pieces at most of each group by form; 0 for no limit.
    pub per_group: u16,
    /// How much each decision counts.
    pub weights: Weights,
}

impl Default for CtTerms {
    /// Five pieces (or units of cost) at 0.005 mm by a machine of 225 kV with a copper filter (about 100 keV would be its
    /// mean without one): 150 keV, 300 mm, 10 kg. A fiftieth of the rays is the least that leaves a usable contrast
    /// (common practice, no source; a tenth asks for two thirds of the path). Every decision counts alike.
    fn default() -> Self {
        Self {
            budget: 5.0,
            u_ct_mm: 0.005,
            energy_kev: 150.0,
            longest_mm: 300.0,
            heaviest_kg: 10.0,
            least_transmission: 0.02,
            per_group: 0,
            weights: Weights { precision: 1.0, group: 1.0, modern: 1.0, interior: 1.0 },
        }
    }
}

/// A term that is out of range.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{name} must be {expected}: {found}")]
pub struct CtTermError {
    /// Which.
    pub name: &'static str,
    /// What it must be.
    pub expected: &'static str,
    /// What it is.
    pub found: f64,
}

/// Terms that were checked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShortlistParams {
    terms: CtTerms,
}

impl ShortlistParams {
    /// Checks the terms.
    ///
    /// # Errors
    /// [`CtTermError`] at the first that is out of range.
    pub fn new(terms: CtTerms) -> Result<Self, CtTermError> {
        let check = |name, expected, found: f64, holds: bool| {
            if holds && found.is_finite() { Ok(()) } else { Err(CtTermError { name, expected, found }) }
        };
        check("budget", "0 or more", terms.budget, terms.budget >= 0.0)?;
        check("u_ct_mm", "above 0", terms.u_ct_mm, terms.u_ct_mm > 0.0)?;
        check("energy_kev", "30 to 600", terms.energy_kev, (30.0..=600.0).contains(&terms.energy_kev))?;
        check("longest_mm", "above 0", terms.longest_mm, terms.longest_mm > 0.0)?;
        check("heaviest_kg", "above 0", terms.heaviest_kg, terms.heaviest_kg > 0.0)?;
        let transmission = terms.least_transmission;
        check("least_transmission", "above 0 and below 1", transmission, transmission > 0.0 && transmission < 1.0)?;
        let Weights { precision, group, modern, interior } = terms.weights;
        for (name, weight) in [
            ("weight_precision", precision),
            ("weight_group", group),
            ("weight_modern", modern),
            ("weight_interior", interior),
        ] {
            check(name, "0 or more", weight, weight >= 0.0)?;
        }
        Ok(Self { terms })
    }

    /// The terms.
    #[must_use]
    pub const fn terms(&self) -> &CtTerms {
        &self.terms
    }

    /// Pieces at most of each group by form.
    #[must_use]
    pub(super) fn per_group(&self) -> usize {
        if self.terms.per_group == 0 { usize::MAX } else { usize::from(self.terms.per_group) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn terms_out_of_range_are_refused() {
        let refused = |terms: CtTerms| ShortlistParams::new(terms).unwrap_err().to_string();
        let usual = CtTerms::default;
        assert!(ShortlistParams::new(usual()).is_ok());
        assert_eq!(refused(CtTerms { budget: -1.0, ..usual() }), "budget must be 0 or more: -1");
        assert!(refused(CtTerms { u_ct_mm: f64::NAN, ..usual() }).contains("u_ct_mm"));
        assert!(refused(CtTerms { energy_kev: 1_000.0, ..usual() }).contains("30 to 600"));
        assert!(refused(CtTerms { least_transmission: 1.0, ..usual() }).contains("below 1"));
    }
}
