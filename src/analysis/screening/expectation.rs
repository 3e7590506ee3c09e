//! What a population and their readings leave of the references' true logarithms, for as many measures as there are: nearly all
//! time of a fit is spent here.

use super::population::{Population, Subject};
use super::spread::LEAST_KEPT;
use crate::analysis::precision::LogReading;
use crate::math::density::inverse_mills;
use crate::math::small_cholesky::SmallCholesky;

/// A reference, and how many times it counts.
pub(super) type Counted<'a> = (&'a Subject, f64);

/// Sums over references of what a population's next parameters are made of.
pub(super) struct Sums {
    /// Of regressors times expected logarithms, regressors x measures.
    pub(super) products: Vec<f64>,
    /// Of expected products of the logarithms, measures x measures.
    pub(super) squares: Vec<f64>,
}

/// The sums over a group; `None` if the population's covariance is not regular.
pub(super) fn sums(group: &[Counted<'_>], population: &Population) -> Option<Sums> {
    match population.measures() {
        1 => of::<1>(group, population),
        2 => of::<2>(group, population),
        3 => of::<3>(group, population),
        4 => of::<4>(group, population),
        5 => of::<5>(group, population),
        6 => of::<6>(group, population),
        7 => of::<7>(group, population),
        8 => of::<8>(group, population),
        9 => of::<9>(group, population),
        10 => of::<10>(group, population),
        _ => None,
    }
}

fn of<const N: usize>(group: &[Counted<'_>], population: &Population) -> Option<Sums> {
    let covariance = std::array::from_fn(|row| std::array::from_fn(|k| population.covariance[row * N + k]));
    let precision = SmallCholesky::<N>::new(&covariance)?.inverse();
    let mut products = vec![[0.0; N]; population.coefficients.len() / N];
    let mut squares = [[0.0; N]; N];
    for (subject, times) in group {
        let belief = Belief::of(population, &precision, subject)?;
        for (z, products) in subject.regressors.iter().zip(&mut products) {
            (0..N).for_each(|k| products[k] += times * z * belief.mean[k]);
        }
        for (row, sums) in squares.iter_mut().enumerate() {
            for (k, sum) in sums.iter_mut().enumerate() {
                *sum += times * (belief.covariance[row][k] + belief.mean[row] * belief.mean[k]);
            }
        }
    }
    Some(Sums { products: products.concat(), squares: squares.concat() })
}

/// What is believed of one reference: as [`super::belief::Belief`] after all readings.
struct Belief<const N: usize> {
    mean: [f64; N],
    covariance: [[f64; N]; N],
}

impl<const N: usize> Belief<N> {
    /// Values first, all at once, then one bound after another.
    fn of(population: &Population, precision: &[[f64; N]; N], subject: &Subject) -> Option<Self> {
        let mut expected = [0.0; N];
        population.put_mean(&subject.regressors, &mut expected);
        let mut joined = *precision;
        let mut shift: [f64; N] = std::array::from_fn(|row| (0..N).map(|k| precision[row][k] * expected[k]).sum());
        for (k, reading) in subject.readings.iter().enumerate() {
            if let LogReading::Known { value, variance, .. } = *reading {
                joined[k][k] += 1.0 / variance;
                shift[k] += value / variance;
            }
        }
        let covariance = SmallCholesky::new(&joined)?.inverse();
        let mean = std::array::from_fn(|row| (0..N).map(|k| covariance[row][k] * shift[k]).sum());
        let mut belief = Self { mean, covariance };
        for (k, reading) in subject.readings.iter().enumerate() {
            if let LogReading::Below { limit } = *reading {
                belief.cut(k, limit);
            }
        }
        Some(belief)
    }

    /// Takes in that a logarithm is at most `limit`.
    fn cut(&mut self, index: usize, limit: f64) {
        let along = self.covariance[index];
        let spread = along[index].sqrt();
        let alpha = (limit - self.mean[index]) / spread;
        let mills = inverse_mills(alpha);
        let kept = (1.0 - mills * (alpha + mills)).clamp(LEAST_KEPT, 1.0);
        let weight = (1.0 - kept) / along[index];
        for row in 0..N {
            self.mean[row] -= mills / spread * along[row];
            (0..N).for_each(|k| self.covariance[row][k] -= weight * along[row] * along[k]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::belief;
    use super::*;

    #[test]
    fn one_reference_is_believed_as_taking_in_its_readings_leaves_it() {
        let covariance = vec![1.0, 0.5, 0.2, 0.1, 0.5, 2.0, 0.3, 0.0, 0.2, 0.3, 0.5, 0.1, 0.1, 0.0, 0.1, 0.8];
        let coefficients = vec![0.2, -0.5, 0.1, 1.0, 0.3, 0.0, -0.1, 0.2];
        let population = Population::new(coefficients, covariance.clone(), vec![0.0; 4], 20.0).unwrap();
        let readings = vec![
            LogReading::Below { limit: -0.2 },
            LogReading::Known { value: 0.7, variance: 0.04, hidden: 0.0 },
            LogReading::Missing,
            LogReading::Below { limit: 1.1 },
        ];
        let subject = Subject { regressors: vec![1.0, 2.0], readings };
        let mut wanted = belief::Belief::new(population.mean(&subject.regressors), covariance);
        wanted.take_in(&subject.readings);
        let found = sums(&[(&subject, 3.0)], &population).unwrap();
        for row in 0..4 {
            assert!((found.products[row] - 3.0 * wanted.mean[row]).abs() < 1e-12);
            assert!((found.products[4 + row] - 6.0 * wanted.mean[row]).abs() < 1e-12);
            for k in 0..4 {
                let square = wanted.covariance[row * 4 + k] + wanted.mean[row] * wanted.mean[k];
                assert!((found.squares[row * 4 + k] - 3.0 * square).abs() < 1e-12);
            }
        }
        let flat = population.with(population.coefficients.clone(), vec![1.0; 16]);
        assert!(sums(&[(&subject, 1.0)], &flat).is_none());
    }
}
