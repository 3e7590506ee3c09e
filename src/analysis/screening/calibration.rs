//! From scores to calibrated likelihood ratios.

/// A straight line from a score to the natural logarithm of a likelihood ratio.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    /// Logarithm of the ratio at score 0.
    pub intercept: f64,
    /// Logarithm of the ratio gained per unit of the score; never negative.
    pub slope: f64,
}

/// Newton steps at most; a handful suffices.
const MOST_STEPS: usize = 50;

/// Movement below which the line has converged.
const CONVERGED: f64 = 1e-10;

/// Least curvature of the cost: keeps a step finite where every score is the same.
const LEAST_CURVATURE: f64 = 1e-9;

impl Calibration {
    /// The line of a logistic regression of which proposition is true on the score, both propositions weighing the same.
    ///
    /// The targets are not 1 and 0. Where n references of the other proposition never scored, the odds cannot be backed beyond
    /// n + 1, so the target is (n + 1) / (n + 2), and 1 / (n + 2) the other way: scores that separate the references entirely
    /// still get a finite line. A falling line would turn the score's meaning around; it becomes
    /// the line that says nothing. `None` if a set is empty.
    ///
    /// # Example
    /// ```
    /// use tornus::analysis::screening::Calibration;
    /// // Scores that do not differ say nothing: targets 2/3 and 1/3 at one score have the even odds in their middle.
    /// let line = Calibration::fit(&[3.0], &[3.0]).unwrap();
    /// assert!(line.ln_ratio(3.0).abs() < 1e-9);
    /// ```
    ///
    /// # References
    /// Platt 2000, Probabilities for support vector machines (such targets, there from the own number); Morrison & Poh 2018, Avoiding overstating the
    /// strength of forensic evidence (shrinkage for small samples); both from memory.
    #[must_use]
    pub fn fit(first: &[f64], second: &[f64]) -> Option<Self> {
        if first.is_empty() || second.is_empty() {
            return None;
        }
        let reach = first.iter().chain(second).map(|s| s.abs()).fold(0.0, f64::max);
        let unit = if reach > 0.0 { reach } else { 1.0 };
        let target = |count: usize| (count as f64 + 1.0) / (count as f64 + 2.0);
        let of = |scores: &[f64], target: f64| -> Vec<[f64; 3]> {
            scores.iter().map(|score| [score / unit, target, 1.0 / scores.len() as f64]).collect()
        };
        let cases = [of(first, target(second.len())), of(second, 1.0 - target(first.len()))].concat();
        let [mut intercept, mut slope] = [0.0_f64; 2];
        for _ in 0..MOST_STEPS {
            let [to_intercept, to_slope] = newton_step(&cases, intercept, slope);
            intercept += to_intercept;
            slope += to_slope;
            if to_intercept.abs().max(to_slope.abs()) < CONVERGED {
                break;
            }
        }
        if slope < 0.0 || !(intercept.is_finite() && slope.is_finite()) {
            return Some(Self { intercept: 0.0, slope: 0.0 });
        }
        Some(Self { intercept, slope: slope / unit })
    }

    /// The natural logarithm of the likelihood ratio at a score.
    #[must_use]
    pub fn ln_ratio(&self, score: f64) -> f64 {
        self.intercept + self.slope * score
    }
}

/// The step that would end at the least cost, were it a parabola; at most 1 in each coordinate of the line.
fn newton_step(cases: &[[f64; 3]], intercept: f64, slope: f64) -> [f64; 2] {
    let [mut down, mut down_slope] = [0.0; 2];
    let [mut a, mut b, mut c] = [LEAST_CURVATURE, 0.0, LEAST_CURVATURE];
    for [score, target, weight] in cases {
        let share = 1.0 / (1.0 + (-(intercept + slope * score)).exp());
        let (off, curvature) = (weight * (target - share), weight * share * (1.0 - share));
        down += off;
        down_slope += off * score;
        a += curvature;
        b += curvature * score;
        c += curvature * score * score;
    }
    let determinant = (a * c - b * b).max(LEAST_CURVATURE * LEAST_CURVATURE);
    let step = [(c * down - b * down_slope) / determinant, (a * down_slope - b * down) / determinant];
    let longest = step[0].abs().max(step[1].abs());
    if longest > 1.0 { step.map(|part| part / longest) } else { step }
}

#[cfg(test)]
mod tests {
    use rand::Rng;
    use rand_distr::StandardNormal;

    use super::*;
    use crate::quantity::Seed;

    #[test]
    fn separated_scores_get_the_odds_their_number_deserves() {
        // One score each side, 9 times: the best line passes through the targets 10/11 and 1/11, odds 10 and 1/10.
        let line = Calibration::fit(&[2.0; 9], &[-2.0; 9]).unwrap();
        assert!((line.ln_ratio(2.0) - 10.0_f64.ln()).abs() < 1e-6, "{line:?}");
        assert!((line.ln_ratio(-2.0) + 10.0_f64.ln()).abs() < 1e-6, "{line:?}");
        // Unequal numbers: what 4 modern and 9 old references back is 10 for and 5 against.
        let line = Calibration::fit(&[2.0; 4], &[-2.0; 9]).unwrap();
        assert!((line.ln_ratio(2.0) - 10.0_f64.ln()).abs() < 1e-6, "{line:?}");
        assert!((line.ln_ratio(-2.0) + 5.0_f64.ln()).abs() < 1e-6, "{line:?}");
    }

    #[test]
    fn too_sure_scores_are_taken_back() {
        // Normals of spread 1 at +-1: the true logarithm of the ratio is 2 x. Scores of 6 x are three times too sure.
        let mut rng = Seed::new(5).rng();
        let mut draw = |at: f64| (0..4_000).map(|_| 6.0 * (at + rng.sample::<f64, _>(StandardNormal))).collect();
        let (first, second): (Vec<f64>, Vec<f64>) = (draw(1.0), draw(-1.0));
        let line = Calibration::fit(&first, &second).unwrap();
        // The slope's relative standard error with 8,000 cases is about 2.5 %.
        assert!((line.slope - 1.0 / 3.0).abs() < 0.03 && line.intercept.abs() < 0.15, "{line:?}");
    }

    #[test]
    fn reversed_scores_say_nothing() {
        let line = Calibration::fit(&[-1.0, -2.0], &[1.0, 2.0]).unwrap();
        assert_eq!(line, Calibration { intercept: 0.0, slope: 0.0 });
        assert_eq!(Calibration::fit(&[], &[1.0]), None);
    }
}
