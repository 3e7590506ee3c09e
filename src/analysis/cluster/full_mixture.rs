//! Gaussian mixtures with a full covariance for every group, noise not taken out: a second opinion.

use linfa::DatasetBase;
use linfa::prelude::{Fit, Predict};
use linfa_clustering::GaussianMixtureModel;
use ndarray::{Array2, Axis};

use super::kmeans::distinct_rows;
use crate::math::cholesky;
use crate::math::density::LN_TWO_PI;
use crate::quantity::Seed;

/// Starts, each with a seed of its own; the package's own runs go on from one another and are no starts.
const STARTS: u64 = 3;

/// Added to every variance of the standardised points, so that no group collapses.
const REGULARISATION: f64 = 1e-4;

/// A fitted mixture.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct FullMixture {
    pub(super) labels: Vec<usize>,
    pub(super) bic: f64,
}

/// The best of several fits; `None` if too few rows for that many full covariances, or none converged.
///
/// The package shows no likelihood, so it is computed here from weights, means and covariances.
pub(super) fn full_mixture(points: &Array2<f64>, groups: usize, seed: Seed) -> Option<FullMixture> {
    let (rows, dimensions) = points.dim();
    let finite = points.iter().all(|value| value.is_finite());
    if groups == 0 || !finite || rows < groups * (dimensions + 2) || distinct_rows(points) < groups {
        return None;
    }
    let spread = points.std_axis(Axis(0), 0.0).mapv(|s| if s > 0.0 { s } else { 1.0 });
    let points = (points - &points.mean_axis(Axis(0))?) / &spread;
    let mut best: Option<FullMixture> = None;
    for start in 0..STARTS {
        if let Some(found) = one(&points, groups, seed.derive(start))
            && best.as_ref().is_none_or(|best| found.bic > best.bic)
        {
            best = Some(found);
        }
    }
    best
}

fn one(points: &Array2<f64>, groups: usize, seed: Seed) -> Option<FullMixture> {
    let dataset = DatasetBase::from(points.view());
    let model = GaussianMixtureModel::params_with_rng(groups, seed.rng())
        .n_runs(1)
        .reg_covariance(REGULARISATION)
        .fit(&dataset)
        .ok()?;
    let log_likelihood = log_likelihood(points, &model)?;
    let dimensions = points.ncols();
    let parameters = groups - 1 + groups * (dimensions + dimensions * (dimensions + 1) / 2);
    let bic = 2.0 * log_likelihood - parameters as f64 * (points.nrows() as f64).ln();
    Some(FullMixture { labels: model.predict(points).to_vec(), bic })
}

fn log_likelihood(points: &Array2<f64>, model: &GaussianMixtureModel<f64>) -> Option<f64> {
    let n = points.ncols();
    let mut factors = Vec::new();
    for covariance in model.covariances().outer_iter() {
        let mut lower: Vec<f64> = covariance.iter().copied().collect();
        if !cholesky::factorise(&mut lower, n) {
            return None;
        }
        factors.push(lower);
    }
    let mut total = 0.0;
    for row in points.rows() {
        let logs: Vec<f64> = factors
            .iter()
            .enumerate()
            .map(|(k, lower)| {
                let mut rest: Vec<f64> = row.iter().zip(model.means().row(k)).map(|(x, mean)| x - mean).collect();
                cholesky::solve_lower(lower, n, &mut rest);
                let square: f64 = rest.iter().map(|value| value * value).sum();
                model.weights()[k].ln() - 0.5 * (n as f64 * LN_TWO_PI + cholesky::log_determinant(lower, n) + square)
            })
            .collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        total += most + logs.iter().map(|log| (log - most).exp()).sum::<f64>().ln();
    }
    total.is_finite().then_some(total)
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;
    use rand::Rng;
    use rand_distr::StandardNormal;

    fn two_groups() -> Array2<f64> {
        let mut rng = Seed::new(5).rng();
        Array2::from_shape_fn((60, 2), |(i, _)| rng.sample::<f64, _>(StandardNormal) + if i < 30 { 0.0 } else { 9.0 })
    }

    #[test]
    fn the_likelihood_of_one_group_is_that_of_its_moments() {
        let points = array![[-1.0], [1.0], [-1.0], [1.0]];
        let model = GaussianMixtureModel::params_with_rng(1, Seed::new(1).rng())
            .n_runs(1)
            .reg_covariance(0.0)
            .fit(&DatasetBase::from(points.view()))
            .unwrap();
        // Mean 0, variance 1: four times -(ln 2 pi + 1) / 2
        assert!((log_likelihood(&points, &model).unwrap() + 2.0 * (LN_TWO_PI + 1.0)).abs() < 1e-9);
    }

    #[test]
    fn starts_differ_because_seeds_do() {
        let points = two_groups();
        let runs: Vec<_> = (0..3).filter_map(|start| one(&points, 3, Seed::new(9).derive(start))).collect();
        assert!(runs.windows(2).any(|pair| pair[0] != pair[1]));
        assert!(
            full_mixture(&points, 2, Seed::new(1)).unwrap().bic > full_mixture(&points, 1, Seed::new(1)).unwrap().bic
        );
    }

    #[test]
    fn what_is_not_finite_or_too_little_never_reaches_the_package() {
        assert_eq!(full_mixture(&array![[f64::NAN], [0.0], [1.0], [2.0], [3.0]], 1, Seed::new(1)), None);
        assert_eq!(full_mixture(&Array2::ones((9, 1)), 2, Seed::new(1)), None);
        assert_eq!(full_mixture(&array![[0.0], [1.0]], 1, Seed::new(1)), None);
    }
}
