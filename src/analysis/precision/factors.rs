//! What the measures of precision share and what each has alone: a factor model of their covariance.

use ndarray::Array2;

use super::latent::LEAST_VARIANCE;
use crate::math::svd::symmetric_eigen;

/// Factors looked for at most ("project": a corpus of tens of vessels with some twenty measures tells no more apart).
const MOST_FACTORS: usize = 3;

/// Vessels wanted per factor ("common practice, no source").
const VESSELS_PER_FACTOR: usize = 10;

/// Least share of a measure's variance that is its own ("project", its effect not measured): one measure must not become the
/// factor by itself.
const LEAST_UNIQUE: f64 = 0.02;

/// Rounds of loadings given uniquenesses and back, when a number of factors is judged.
const ROUNDS: usize = 200;

/// A covariance as loadings times their transpose plus a diagonal.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::analysis) struct Factors {
    /// Measures x factors, in natural logarithms per standard deviation of the factor.
    pub(in crate::analysis) loadings: Array2<f64>,
    /// Variance of each measure outside the factors.
    pub(in crate::analysis) unique: Vec<f64>,
}

impl Factors {
    /// The covariance they stand for, row by row.
    pub(super) fn covariance(&self) -> Vec<f64> {
        let mut covariance = self.loadings.dot(&self.loadings.t());
        covariance.diag_mut().iter_mut().zip(&self.unique).for_each(|(value, unique)| *value += unique);
        covariance.into_iter().collect()
    }
}

/// One round of maximum likelihood: the loadings for uniquenesses, then the uniquenesses for these loadings.
///
/// # References
/// Lawley & Maxwell 1971, Factor analysis as a statistical method, chapter 4.
pub(super) fn round(covariance: &[f64], unique: &[f64], count: usize) -> Option<Factors> {
    let n = unique.len();
    let scaled = Array2::from_shape_fn((n, n), |(row, k)| covariance[row * n + k] / (unique[row] * unique[k]).sqrt());
    let eigen = symmetric_eigen(scaled.view())?;
    let loadings = Array2::from_shape_fn((n, count.min(n)), |(row, k)| {
        (unique[row] * (eigen.values[k] - 1.0).max(0.0)).sqrt() * eigen.vectors[[row, k]]
    });
    let own = |row: usize| {
        let variance = covariance[row * n + row];
        let rest = variance - loadings.row(row).iter().map(|l| l * l).sum::<f64>();
        rest.max(LEAST_UNIQUE * variance).max(LEAST_VARIANCE)
    };
    Some(Factors { unique: (0..n).map(own).collect(), loadings })
}

/// Uniquenesses to start from: half of each variance.
pub(super) fn first_unique(covariance: &[f64], measures: usize) -> Vec<f64> {
    (0..measures).map(|row| (0.5 * covariance[row * measures + row]).max(LEAST_VARIANCE)).collect()
}

/// The factors with the greatest BIC, at least one; `None` where three measures or more are wanting, which no factor
/// model describes.
pub(super) fn choose(covariance: &[f64], measures: usize, vessels: usize) -> Option<Factors> {
    let most = MOST_FACTORS.min(vessels / VESSELS_PER_FACTOR).min(identified(measures)).max(1);
    let mut best: Option<(f64, Factors)> = None;
    for count in (1..=most).take_while(|_| measures >= 3) {
        let mut factors =
            Factors { loadings: Array2::zeros((measures, 0)), unique: first_unique(covariance, measures) };
        for _ in 0..ROUNDS {
            factors = round(covariance, &factors.unique, count)?;
        }
        let bic = bic(covariance, &factors, vessels)?;
        if best.as_ref().is_none_or(|(most, _)| bic > *most) {
            best = Some((bic, factors));
        }
    }
    best.map(|(_, factors)| factors)
}

/// The most factors that so many measures can tell (Ledermann's bound).
fn identified(measures: usize) -> usize {
    let p = measures as f64;
    ((2.0 * p + 1.0 - (8.0 * p + 1.0).sqrt()) / 2.0).floor() as usize
}

/// 2 log-likelihood - parameters x ln(vessels) of a sample with this covariance, without what all numbers share.
fn bic(covariance: &[f64], factors: &Factors, vessels: usize) -> Option<f64> {
    let n = factors.unique.len();
    let eigen = symmetric_eigen(Array2::from_shape_vec((n, n), factors.covariance()).ok()?.view())?;
    let log_determinant: f64 = eigen.values.iter().map(|value| value.ln()).sum();
    let along = |k: usize| -> f64 {
        let vector = eigen.vectors.column(k);
        let row = |i: usize| (0..n).map(|j| covariance[i * n + j] * vector[j]).sum::<f64>();
        (0..n).map(|i| vector[i] * row(i)).sum::<f64>() / eigen.values[k]
    };
    let trace: f64 = (0..n).map(along).sum();
    let count = factors.loadings.ncols();
    let parameters = (n * count + n - count * (count - 1) / 2) as f64;
    let vessels = vessels as f64;
    Some(-vessels * (log_determinant + trace) - parameters * vessels.ln())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn covariance_of(loadings: &[[f64; 2]], unique: f64) -> Vec<f64> {
        let n = loadings.len();
        let value = |row: usize, k: usize| {
            loadings[row][0] * loadings[k][0] + loadings[row][1] * loadings[k][1] + if row == k { unique } else { 0.0 }
        };
        (0..n * n).map(|at| value(at / n, at % n)).collect()
    }

    #[test]
    fn planted_factors_are_counted_and_recovered() {
        let one = [[1.0, 0.0]; 6];
        let found = choose(&covariance_of(&one, 0.25), 6, 60).unwrap();
        assert_eq!(found.loadings.ncols(), 1);
        assert!(found.loadings.iter().all(|l| (l.abs() - 1.0).abs() < 1e-6));
        assert!(found.unique.iter().all(|u| (u - 0.25).abs() < 1e-6));
        let two = [[1.0, 0.0], [1.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.0, 1.0], [0.0, 1.0], [0.0, 1.0]];
        assert_eq!(choose(&covariance_of(&two, 0.25), 7, 60).unwrap().loadings.ncols(), 2);
    }

    #[test]
    fn one_measure_with_a_wide_scatter_of_its_own_is_no_factor() {
        let mut covariance = covariance_of(&[[1.0, 0.0]; 6], 0.25);
        covariance[7 * 3] = 9.0; // the variance of the fourth measure
        let found = choose(&covariance, 6, 60).unwrap();
        assert_eq!(found.loadings.ncols(), 1);
        assert!((found.unique[3] - 8.0).abs() < 1e-3);
    }

    #[test]
    fn two_measures_are_too_few() {
        assert_eq!(choose(&[1.0, 0.5, 0.5, 1.0], 2, 60), None);
        assert_eq!([3, 5, 6].map(identified), [1, 2, 3]); // Ledermann 1937: 3 -> 1, 5 -> 2, 6 -> 3
    }
}
