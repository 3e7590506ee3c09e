//! What a usual vessel would show in the scans that one vessel has.

use crate::math::density::t_tails;

/// The noise is integrated over so many standard deviations to each side; what lies beyond is 1e-12.
const REACH: f64 = 7.0;

/// Steps of the integration, standard deviations: no wider than the spread of true levels looks in the noise, so that none is
/// stepped over, but at most and at least these.
const WIDEST_STEP: f64 = 0.25;
const NARROWEST_STEP: f64 = 0.05;

/// Below this share of the level the noise changes no probability in its first three digits ("project").
const NEGLIGIBLE_NOISE: f64 = 1e-3;

/// Level of precision of a usual vessel as its scan would show it: exp(centre + spread t) + noise z.
///
/// The true level is lognormal (with the tails of Student's t); the scanner's noise adds to deviations, not to their
/// logarithms. A poor scan of a usual vessel can show a level far above the usual, hardly one far below.
pub(super) struct Predictive {
    /// Logarithm of the usual level.
    pub(super) centre: f64,
    /// Standard deviation of the logarithm.
    pub(super) spread: f64,
    /// Degrees of freedom of the t.
    pub(super) degrees: f64,
    /// Standard deviation of the noise, in units of the level.
    pub(super) noise: f64,
}

impl Predictive {
    /// Probabilities of a level at most, and at least, that of this logarithm.
    pub(super) fn tails(&self, value: f64) -> (f64, f64) {
        let level = value.exp();
        if self.noise < NEGLIGIBLE_NOISE * level.min(self.centre.exp()) {
            return self.true_tails(value);
        }
        let width = self.spread * self.centre.exp() / self.noise;
        let step_width = width.clamp(NARROWEST_STEP, WIDEST_STEP);
        let steps = (REACH / step_width).ceil() as i32;
        let (mut below, mut above, mut weights) = (0.0, 0.0, 0.0);
        for step in -steps..=steps {
            let z = f64::from(step) * step_width;
            let weight = (-0.5 * z * z).exp();
            let rest = level - self.noise * z;
            let (under, over) = if rest > 0.0 { self.true_tails(rest.ln()) } else { (0.0, 1.0) };
            below += weight * under;
            above += weight * over;
            weights += weight;
        }
        (below / weights, above / weights)
    }

    /// Standard deviation of the logarithm, noise included to first order.
    pub(super) fn log_spread(&self) -> f64 {
        let relative = self.noise / self.centre.exp();
        self.spread.hypot((relative * relative).ln_1p().sqrt())
    }

    /// The tails of the true level.
    fn true_tails(&self, value: f64) -> (f64, f64) {
        t_tails((value - self.centre) / self.spread, self.degrees)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::density::normal_cdf;

    fn predictive(spread: f64, noise: f64) -> Predictive {
        Predictive { centre: 0.0, spread, degrees: 1e6, noise }
    }

    #[test]
    fn without_noise_the_level_is_lognormal_and_without_spread_it_is_normal() {
        let (below, above) = predictive(0.3, 0.0).tails(-0.6);
        assert!((below - normal_cdf(-2.0)).abs() < 1e-6 && (above - normal_cdf(2.0)).abs() < 1e-6);
        // 1 + 0.5 z at least 2.5: z at least 3. A spread of 0.03 widens 0.5 by 0.2 %, which makes this tail 2 % likelier.
        let (_, above) = predictive(0.03, 0.5).tails(2.5_f64.ln());
        assert!((above / normal_cdf(-3.0) - 1.0).abs() < 0.05, "{above}");
    }

    #[test]
    fn noise_makes_high_levels_likelier_than_low_ones() {
        let (_, above) = predictive(0.2, 1.0).tails(3.0_f64.ln());
        assert!(above > 0.02); // two standard deviations of the noise
        let (without, _) = predictive(0.2, 0.0).tails(-1.0);
        let (with, _) = predictive(0.2, 0.1).tails(-1.0);
        assert!(with < 1e-3 && with > without);
    }
}
