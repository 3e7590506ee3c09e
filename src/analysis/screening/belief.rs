//! What is believed of a vessel's true logarithms: a normal that takes in one measure after another.

use super::super::precision::LogReading;
use super::spread::LEAST_KEPT;
use crate::math::density::{LN_TWO_PI, inverse_mills, normal_log_cdf, normal_log_density};

/// A multivariate normal over the logarithms of one vessel's measures.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Belief {
    /// Expected logarithms.
    pub(super) mean: Vec<f64>,
    /// Their covariance, row by row.
    pub(super) covariance: Vec<f64>,
}

/// What taking in all readings of a vessel told.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Evidence {
    /// Log-density of the values and log-probability of the bounds, together.
    pub(super) log_density: f64,
    /// Squared Mahalanobis distance of the values; bounds do not enter.
    pub(super) distance_squared: f64,
    /// How many values entered it.
    pub(super) values: usize,
}

impl Belief {
    /// A belief with this mean and covariance, row by row.
    pub(super) const fn new(mean: Vec<f64>, covariance: Vec<f64>) -> Self {
        Self { mean, covariance }
    }

    /// Takes in every reading, values first: a bound is the better approximated the more is known before it.
    pub(super) fn take_in(&mut self, readings: &[LogReading]) -> Evidence {
        let mut evidence = Evidence::default();
        for (index, reading) in readings.iter().enumerate() {
            if let LogReading::Known { value, variance, .. } = *reading {
                let spread = self.variance(index) + variance;
                let off = value - self.mean[index];
                evidence.log_density += self.observe(index, value, variance);
                evidence.distance_squared += off * off / spread;
                evidence.values += 1;
            }
        }
        for (index, reading) in readings.iter().enumerate() {
            if let LogReading::Below { limit } = *reading {
                evidence.log_density += self.bound(index, limit);
            }
        }
        evidence
    }

    /// Takes in a value measured with this variance; gives the log-density it had.
    pub(super) fn observe(&mut self, index: usize, value: f64, variance: f64) -> f64 {
        let spread = self.variance(index) + variance;
        let before = self.mean[index];
        self.shift(index, (value - before) / spread, 1.0 / spread);
        normal_log_density(value, before, spread)
    }

    /// Takes in that the logarithm is at most `limit`; gives the log-probability that had.
    ///
    /// The truncated normal is replaced by the normal with its moments (Mendell & Elston 1974, Multifactorial qualitative
    /// traits, from memory): exact for one bound, and for several a probability within some percent.
    pub(super) fn bound(&mut self, index: usize, limit: f64) -> f64 {
        let spread = self.variance(index).sqrt();
        let alpha = (limit - self.mean[index]) / spread;
        let mills = inverse_mills(alpha);
        let kept = (1.0 - mills * (alpha + mills)).clamp(LEAST_KEPT, 1.0);
        self.shift(index, -mills / spread, (1.0 - kept) / (spread * spread));
        normal_log_cdf(alpha)
    }

    /// The log-density of readings under a normal without covariances, whose measures tell nothing of each other.
    pub(super) fn log_density_alone(&self, readings: &[LogReading]) -> f64 {
        // One logarithm for all values, as in `spread`.
        let (mut log_density, mut determinant) = (0.0, 1.0);
        for (index, reading) in readings.iter().enumerate() {
            match *reading {
                LogReading::Known { value, variance, .. } => {
                    let spread = self.variance(index) + variance;
                    let off = value - self.mean[index];
                    log_density -= 0.5 * (off * off / spread + LN_TWO_PI);
                    determinant *= spread;
                }
                LogReading::Below { limit } => {
                    log_density += normal_log_cdf((limit - self.mean[index]) / self.variance(index).sqrt());
                }
                LogReading::Missing => {}
            }
        }
        log_density - 0.5 * determinant.ln()
    }

    fn variance(&self, index: usize) -> f64 {
        self.covariance[index * self.mean.len() + index]
    }

    /// Moves the mean along a column of the covariance by `step`, and takes `weight` times its outer product off.
    fn shift(&mut self, index: usize, step: f64, weight: f64) {
        let n = self.mean.len();
        // The column as the row it equals, which is changed last.
        let (before, rest) = self.covariance.split_at_mut(index * n);
        let (column, after) = rest.split_at_mut(n);
        self.mean.iter_mut().zip(&*column).for_each(|(mean, along)| *mean += step * along);
        for (row, cells) in before.chunks_exact_mut(n).chain([&mut [][..]]).chain(after.chunks_exact_mut(n)).enumerate()
        {
            let taken = weight * column[row];
            cells.iter_mut().zip(&*column).for_each(|(cell, along)| *cell -= taken * along);
        }
        let taken = weight * column[index];
        column.iter_mut().for_each(|along| *along -= taken * *along);
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    #[test]
    fn values_have_the_density_of_the_joint_normal() {
        // Unit variances, correlation 0.6, noise 1 each: covariance [[2, 0.6], [0.6, 2]], determinant 3.64.
        let known = |value| LogReading::Known { value, variance: 1.0, hidden: 0.0 };
        let mut belief = Belief::new(vec![0.0, 0.0], vec![1.0, 0.6, 0.6, 1.0]);
        let evidence = belief.take_in(&[known(1.0), known(-0.5)]);
        let square = (2.0 * 1.0 + 2.0 * 0.25 - 2.0 * 0.6 * 1.0 * -0.5) / 3.64;
        assert!((evidence.distance_squared - square).abs() < 1e-12);
        assert!((evidence.log_density + 0.5 * square + (2.0 * PI).ln() + 0.5 * 3.64_f64.ln()).abs() < 1e-12);
    }

    #[test]
    fn one_bound_is_exact_and_two_are_near_the_orthant() {
        let mut belief = Belief::new(vec![0.0, 0.0], vec![1.0, 0.5, 0.5, 1.0]);
        let first = belief.bound(0, 0.0);
        assert!((first - 0.5_f64.ln()).abs() < 1e-12);
        // A standard normal below 0: mean -sqrt(2 / pi), variance 1 - 2 / pi.
        assert!((belief.mean[0] + (2.0 / PI).sqrt()).abs() < 1e-12);
        assert!((belief.covariance[0] - 1.0 + 2.0 / PI).abs() < 1e-12);
        // Both below 0: 1/4 + asin(rho) / (2 pi) = 1/3. The moments' normal comes within 1 %.
        let both = (first + belief.bound(1, 0.0)).exp();
        assert!((both - 1.0 / 3.0).abs() < 0.0033, "{both}");
    }

    #[test]
    fn without_covariances_readings_tell_nothing_of_each_other() {
        let belief = Belief::new(vec![0.3, -1.0, 0.5], vec![2.0, 0.0, 0.0, 0.0, 0.5, 0.0, 0.0, 0.0, 1.0]);
        let readings = [
            LogReading::Below { limit: -0.1 },
            LogReading::Known { value: 0.2, variance: 0.3, hidden: 0.0 },
            LogReading::Known { value: 0.1, variance: 0.01, hidden: 0.0 },
        ];
        let whole = belief.clone().take_in(&readings).log_density;
        assert!((belief.log_density_alone(&readings) - whole).abs() < 1e-12);
    }

    #[test]
    fn what_is_missing_says_nothing() {
        let mut belief = Belief::new(vec![1.0], vec![2.0]);
        assert_eq!(belief.take_in(&[LogReading::Missing]), Evidence::default());
        assert_eq!(belief, Belief::new(vec![1.0], vec![2.0]));
    }
}
