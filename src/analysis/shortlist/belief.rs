//! What is believed of one quantity, and what a further measurement of it would be worth.

use crate::math::density::{LN_TWO_PI, normal_cdf};

/// Steps of the quadrature over what the measurement may show; four times as many change a gain by less than 2e-4. An even number,
/// so that a bound in the middle of what is believed lies between two.
const STEPS: usize = 376;

/// A decision surer than this is left alone: no measurement could gain more.
const SURE: f64 = 1.0 - 1e-5;

/// The quadrature reaches this many standard deviations to each side, beyond which 7e-6 of the probability lies.
const REACH: f64 = 4.5;

/// One normal of a mixture.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Part {
    weight: f64,
    mean: f64,
    variance: f64,
}

/// A mixture of normals: what is believed of a quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    parts: Vec<Part>,
}

/// A decision by where a quantity lies: how sure it is, and what a measurement would add.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Gain {
    /// Probability that the decision taken now is the one an exact measurement would take.
    pub now: f64,
    /// By how much the further measurement is expected to raise it.
    pub gain: f64,
}

impl Belief {
    /// The quantity is about `mean` with this variance.
    #[must_use]
    pub fn normal(mean: f64, variance: f64) -> Self {
        Self { parts: vec![Part { weight: 1.0, mean, variance }] }
    }

    /// Before it was measured: 0 with this variance in most cases, and in the share `unusual` with another.
    #[must_use]
    pub fn of_population(variance: f64, unusual: f64, unusual_variance: f64) -> Self {
        let part = |weight, variance| Part { weight, mean: 0.0, variance };
        Self { parts: vec![part(1.0 - unusual, variance), part(unusual, unusual_variance)] }
    }

    /// After a measurement of `value` with this variance.
    #[must_use]
    pub fn measured(&self, value: f64, variance: f64) -> Self {
        let mut parts = Vec::with_capacity(self.parts.len());
        Measuring::new(&self.parts, variance).believe(value, &mut parts);
        Self { parts }
    }

    /// After it is known to lie below `limit`: each normal cut off there, and described by its mean and variance.
    #[must_use]
    pub fn below(&self, limit: f64) -> Self {
        let cut = |part: &Part| {
            let spread = part.variance.sqrt();
            let z = (limit - part.mean) / spread;
            let mills = crate::math::density::inverse_mills(z);
            let variance = part.variance * (1.0 - mills * (z + mills)).max(1e-12);
            Part { weight: part.weight * normal_cdf(z), mean: part.mean - spread * mills, variance }
        };
        let parts: Vec<Part> = self.parts.iter().map(cut).collect();
        let sum: f64 = parts.iter().map(|part| part.weight).sum();
        let positive = sum > 0.0;
        if !positive {
            return Self::normal(limit, 0.0);
        }
        Self { parts: parts.into_iter().map(|part| Part { weight: part.weight / sum, ..part }).collect() }
    }

    /// Probability of each class: below the first bound, between bounds, above the last.
    #[must_use]
    pub fn classes(&self, bounds: &[f64]) -> Vec<f64> {
        let below = |bound: f64| -> f64 { self.parts.iter().map(|part| part.weight * part.below(bound)).sum() };
        let mut found: Vec<f64> = Vec::with_capacity(bounds.len() + 1);
        let mut last = 0.0;
        for bound in bounds {
            let next = below(*bound);
            found.push(next - last);
            last = next;
        }
        found.push(1.0 - last);
        found
    }

    /// What a further measurement with this variance would add to the decision between these classes, right or wrong.
    ///
    /// Preposterior analysis: over everything the measurement may show, the probability of the class that would then be
    /// likeliest, less that of the class likeliest now. `bounds` rise.
    ///
    /// # Example
    /// A quantity believed to lie about the bound, measured again as well as before.
    /// ```
    /// use tornus::analysis::shortlist::Belief;
    /// let found = Belief::normal(0.0, 1.0).gain(&[0.0], 1.0);
    /// assert!((found.now - 0.5).abs() < 1e-9);
    /// assert!((found.gain - 0.25).abs() < 1e-4); // atan(sqrt(1 / 1)) / pi
    /// ```
    ///
    /// # References
    /// Raiffa & Schlaifer 1961, Applied statistical decision theory (expected value of sample information).
    #[must_use]
    pub fn gain(&self, bounds: &[f64], variance: f64) -> Gain {
        let now = greatest(&self.parts, bounds);
        let spread = |part: &Part| (part.variance + variance).sqrt();
        let low = self.parts.iter().map(|part| part.mean - REACH * spread(part)).fold(f64::INFINITY, f64::min);
        let high = self.parts.iter().map(|part| part.mean + REACH * spread(part)).fold(f64::NEG_INFINITY, f64::max);
        let step = (high - low) / STEPS as f64;
        let known = now > SURE || self.parts.iter().all(|part| part.variance <= 0.0);
        if known || !step.is_finite() {
            return Gain { now, gain: 0.0 };
        }
        let measuring = Measuring::new(&self.parts, variance);
        let mut after = Vec::with_capacity(self.parts.len());
        let mut at = |k: usize| {
            let density = measuring.believe(low + step * (k as f64 + 0.5), &mut after);
            density * greatest(&after, bounds)
        };
        let then: f64 = (0..STEPS).map(&mut at).sum::<f64>() * step;
        Gain { now, gain: (then - now).clamp(0.0, (1.0 - now).max(0.0)) }
    }
}

/// A measurement of this variance that may still show any value: what does not depend on the value is reckoned once.
struct Measuring<'a> {
    parts: &'a [Part],
    variance: f64,
    /// By part, the logarithms of its weight and of the variance with which it expects the value.
    logs: Vec<(f64, f64)>,
}

impl<'a> Measuring<'a> {
    fn new(parts: &'a [Part], variance: f64) -> Self {
        let logs = parts.iter().map(|part| (part.weight.ln(), (part.variance + variance).ln())).collect();
        Self { parts, variance, logs }
    }

    /// Puts into `after` what is believed once the measurement shows `value`; gives the density with which it does.
    fn believe(&self, value: f64, after: &mut Vec<Part>) -> f64 {
        after.clear();
        let mut density = 0.0;
        let mut most = f64::NEG_INFINITY;
        for (part, (log_weight, log_variance)) in self.parts.iter().zip(&self.logs) {
            let (total, off) = (part.variance + self.variance, value - part.mean);
            let log = -0.5 * (LN_TWO_PI + log_variance + off * off / total);
            density += part.weight * log.exp();
            most = most.max(log_weight + log);
            let share = part.variance / total;
            let mean = part.mean + share * off;
            after.push(Part { weight: log_weight + log, mean, variance: part.variance - share * part.variance });
        }
        after.iter_mut().for_each(|part| part.weight = (part.weight - most).exp());
        let sum: f64 = after.iter().map(|part| part.weight).sum();
        after.iter_mut().for_each(|part| part.weight /= sum);
        density
    }
}

/// The probability of the likeliest of the classes that the bounds divide.
fn greatest(parts: &[Part], bounds: &[f64]) -> f64 {
    let (mut last, mut most) = (0.0, 0.0_f64);
    for bound in bounds {
        let next: f64 = parts.iter().map(|part| part.weight * part.below(*bound)).sum();
        most = most.max(next - last);
        last = next;
    }
    most.max(1.0 - last)
}

impl Part {
    fn below(self, bound: f64) -> f64 {
        if self.variance > 0.0 {
            normal_cdf((bound - self.mean) / self.variance.sqrt())
        } else {
            f64::from(u8::from(self.mean <= bound))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_better_measurement_is_worth_more_up_to_certainty() {
        for (variance, spare) in [(1.0_f64, 1e-8_f64), (4.0, 1.0), (0.01, 0.04)] {
            let found = Belief::normal(3.0, variance).gain(&[3.0], spare);
            let wanted = (variance / spare).sqrt().atan() / PI;
            assert!((found.gain - wanted).abs() < 2e-4, "{variance} {spare}: {} {wanted}", found.gain);
        }
        let exact = Belief::normal(0.5, 1.0).gain(&[0.0], 1e-10);
        assert!((exact.now + exact.gain - 1.0).abs() < 2e-4);
    }

    #[test]
    fn what_is_certain_gains_nothing() {
        assert!(Belief::normal(9.0, 1.0).gain(&[-3.0, 3.0], 1e-4).gain < 1e-6);
        assert!(Belief::normal(0.0, 0.0).gain(&[0.0], 1.0).gain.abs() < 1e-12);
        assert!(Belief::normal(0.0, 1.0).gain(&[0.0], 1e12).gain < 1e-5);
        assert!(Belief::normal(0.0, 1.0).gain(&[], 1.0).gain.abs() < 1e-12); // one class: no decision
    }

    #[test]
    fn a_measurement_moves_belief_by_its_weight() {
        let belief = Belief::normal(0.0, 1.0).measured(2.0, 1.0);
        assert_eq!(belief, Belief::normal(1.0, 0.5));
        // 10 standard deviations off: the unusual explain it
        let mixed = Belief::of_population(1.0, 0.05, 25.0).measured(10.0, 0.01);
        assert!(mixed.classes(&[3.0])[1] > 0.999);
    }

    #[test]
    fn half_a_normal_has_its_published_moments() {
        let Part { mean, variance, .. } = Belief::normal(0.0, 1.0).below(0.0).parts[0];
        assert!((mean + (2.0 / PI).sqrt()).abs() < 1e-12 && (variance - (1.0 - 2.0 / PI)).abs() < 1e-12);
    }
}
