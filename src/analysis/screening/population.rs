//! The logarithms of a documented population's measures: how probable a vessel's are in it, given its size and material.

use super::belief::Belief;
use super::spread::log_densities;
use crate::analysis::precision::LogReading;
use crate::math::density::f_above;
use crate::math::quadrature::gauss_gamma;

/// One vessel as the model sees it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Subject {
    /// The regressors: 1, then what size and material put there.
    pub(super) regressors: Vec<f64>,
    /// Its measures' logarithms.
    pub(super) readings: Vec<LogReading>,
}

/// Scales of a normal that together stand for a t-distribution. With 4 the log-density of a vessel up to two standard deviations
/// off in each of ten measures is right to 0.35 with the fewest references and to 0.06 with 100 (test); with 3 to 1.2 and 0.25,
/// with 5 to 0.18 and 0.01; eight scales that are equally probable, instead of a Gauss rule's, to 0.98 and 0.55.
const SCALES: usize = 4;

/// A population fitted to its documented references.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Population {
    /// Regressors x measures, row by row.
    pub(super) coefficients: Vec<f64>,
    /// Covariance of the logarithms about their mean, row by row.
    pub(super) covariance: Vec<f64>,
    /// (Z'Z + ridge)^-1, row by row.
    pub(super) leverage: Vec<f64>,
    /// Degrees of freedom of the covariance.
    degrees: f64,
    /// Scales of the t-distribution's parts.
    scales: [f64; SCALES],
    /// Logarithms of their probabilities.
    log_weights: [f64; SCALES],
}

/// Both documented populations, and the strays of either.
///
/// One piece in a hundred of either kind is taken to be unlike all references, spread about as widely as pieces come at all:
/// a vessel far from both populations then has a ratio near 1, instead of one that two remote tails decide.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Populations {
    /// Modern, old.
    pub(super) both: [Population; 2],
    /// The strays: a normal about the mean of all references.
    pub(super) strays: Belief,
}

/// Share of strays ("common practice, no source"). 0.001 instead moves the ratio of a vessel unlike both further from 1.
const STRAYS: f64 = 0.01;

impl Populations {
    /// The score of a vessel: the logarithm of the ratio of its densities, modern over old, before calibration.
    pub(super) fn score(&self, subject: &Subject) -> f64 {
        let stray = STRAYS.ln() + self.strays.log_density_alone(&subject.readings);
        let [modern, old] = self.both.each_ref().map(|population| {
            let own = (-STRAYS).ln_1p() + population.log_density(subject);
            own.max(stray) + (-(own - stray).abs()).exp().ln_1p()
        });
        modern - old
    }

    /// Distances from the modern and the old population.
    pub(super) fn distances(&self, subject: &Subject) -> [Option<Distance>; 2] {
        self.both.each_ref().map(|population| population.distance(subject))
    }
}

/// How far a vessel lies from a population.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Distance {
    /// In standard deviations per measure: 1 is usual.
    pub distance: f64,
    /// How often a vessel of the population would lie as far off.
    pub p: f64,
}

impl Population {
    /// A population whose covariance is known with so many degrees of freedom; `None` if that is no number.
    pub(super) fn new(coefficients: Vec<f64>, covariance: Vec<f64>, leverage: Vec<f64>, degrees: f64) -> Option<Self> {
        // A t is a normal whose variance is multiplied by degrees / chi-square, and half a chi-square is a gamma.
        let rule = gauss_gamma::<SCALES>(degrees / 2.0)?;
        let (scales, log_weights) = (rule.map(|(half, _)| degrees / (2.0 * half)), rule.map(|(_, weight)| weight.ln()));
        Some(Self { coefficients, covariance, leverage, degrees, scales, log_weights })
    }

    /// The same with another mean and spread.
    pub(super) fn with(&self, coefficients: Vec<f64>, covariance: Vec<f64>) -> Self {
        Self { coefficients, covariance, leverage: self.leverage.clone(), ..*self }
    }

    /// How many measures it has.
    pub(super) fn measures(&self) -> usize {
        self.covariance.len().isqrt()
    }

    /// Expected logarithms at these regressors.
    pub(super) fn mean(&self, regressors: &[f64]) -> Vec<f64> {
        let mut mean = vec![0.0; self.measures()];
        self.put_mean(regressors, &mut mean);
        mean
    }

    /// The same, written into `mean`.
    pub(super) fn put_mean(&self, regressors: &[f64], mean: &mut [f64]) {
        mean.fill(0.0);
        for (z, row) in regressors.iter().zip(self.coefficients.chunks_exact(mean.len())) {
            mean.iter_mut().zip(row).for_each(|(sum, coefficient)| *sum += z * coefficient);
        }
    }

    /// Standard deviation of one more vessel's logarithm of each measure, without its measurement.
    pub(super) fn spread(&self, regressors: &[f64]) -> Vec<f64> {
        let measures = self.measures();
        let widened = self.widening(regressors);
        (0..measures).map(|k| (widened * self.covariance[k * measures + k]).sqrt()).collect()
    }

    /// Log-density of a vessel's readings: the predictive t-distribution, its measurement variances added.
    pub(super) fn log_density(&self, subject: &Subject) -> f64 {
        let factor = self.factor(subject);
        let factors = self.scales.map(|scale| scale * factor);
        let parts = log_densities(&self.mean(&subject.regressors), &self.covariance, factors, &subject.readings);
        let parts: [f64; SCALES] = std::array::from_fn(|k| self.log_weights[k] + parts[k]);
        let most = parts.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most + parts.iter().map(|part| (part - most).exp()).sum::<f64>().ln()
    }

    /// How far a vessel's values lie from the population's mean; `None` without a value.
    pub(super) fn distance(&self, subject: &Subject) -> Option<Distance> {
        let factor = self.factor(subject);
        let covariance = self.covariance.iter().map(|value| factor * value).collect();
        let evidence = Belief::new(self.mean(&subject.regressors), covariance).take_in(&subject.readings);
        let values = evidence.values as f64;
        let mean_square = evidence.distance_squared / values;
        (evidence.values > 0)
            .then(|| Distance { distance: mean_square.sqrt(), p: f_above(mean_square, values, self.degrees) })
    }

    /// What the covariance is multiplied by for one more vessel, but for the scale of the t-distribution's part.
    fn factor(&self, subject: &Subject) -> f64 {
        self.widening(&subject.regressors) * (self.degrees - 2.0) / self.degrees
    }

    /// How much the uncertainty of the mean widens the spread of one more vessel.
    fn widening(&self, regressors: &[f64]) -> f64 {
        let n = regressors.len();
        let part = |row: usize| (0..n).map(|k| self.leverage[row * n + k] * regressors[k]).sum::<f64>();
        1.0 + (0..n).map(|row| regressors[row] * part(row)).sum::<f64>()
    }
}

#[cfg(test)]
mod tests {
    use statrs::function::gamma::ln_gamma;

    use super::*;

    /// With the identity as its covariance and nothing measured off, a population's density is the multivariate t of its degrees,
    /// whose variance is 1: (degrees - 2) / degrees is the square of its scale.
    #[test]
    fn few_scales_stand_for_the_t_distribution() {
        const MEASURES: usize = 10;
        let identity: Vec<f64> =
            (0..MEASURES * MEASURES).map(|at| if at % (MEASURES + 1) == 0 { 1.0 } else { 0.0 }).collect();
        // Six references and a hundred, each with the 6 degrees that both populations share.
        for (degrees, tolerance) in [(12.0, 0.35), (106.0, 0.06)] {
            let population = Population::new(vec![0.0; MEASURES], identity.clone(), vec![0.0], degrees).unwrap();
            for off in [0.0, 0.5, 1.0, 1.5, 2.0] {
                let reading = LogReading::Known { value: off, variance: 1e-12, hidden: 0.0 };
                let found =
                    population.log_density(&Subject { regressors: vec![1.0], readings: vec![reading; MEASURES] });
                let (dimensions, square) = (MEASURES as f64, (degrees - 2.0) / degrees);
                let wanted = ln_gamma(0.5 * (degrees + dimensions))
                    - ln_gamma(0.5 * degrees)
                    - 0.5 * dimensions * (degrees * std::f64::consts::PI * square).ln()
                    - 0.5 * (degrees + dimensions) * (dimensions * off * off / square / degrees).ln_1p();
                assert!((found - wanted).abs() < tolerance, "{degrees} {off}: {found} {wanted}");
            }
        }
    }
}
