//! How much of a component is measurement noise.

use ndarray::{ArrayView1, ArrayView2};

/// A component whose scores are half noise says as much of the scans as of the vessels ("project").
const LEAST_RELIABILITY: f64 = 0.5;

/// One component's share of noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reliability {
    /// Mean square of the scores' standard uncertainties.
    pub(super) noise_variance: f64,
    /// Share of the scores' variance that is the vessels', 0 to 1.
    pub(super) reliability: f64,
    /// Whether noise alone would show as much, or makes up more than half.
    pub(super) below_noise: bool,
}

/// The reliability of each component, from its variance and the scores' standard uncertainties (vessels x components).
///
/// `noisy` is the number of coordinates that carry independent noise. Components look for the greatest variance, so that
/// noise alone has one of up to (1 + sqrt(`noisy` / vessels))^2 times its mean; components no greater are below noise. Where
/// the variances are free of noise already, `noisy` is 0.
///
/// # References
/// Marchenko & Pastur 1967 (the greatest eigenvalue of noise; from memory).
pub(super) fn reliabilities(
    variances: ArrayView1<'_, f64>,
    u_scores: ArrayView2<'_, f64>,
    noisy: usize,
) -> Vec<Reliability> {
    let vessels = u_scores.nrows().max(1) as f64;
    let edge = (1.0 + (noisy as f64 / vessels).sqrt()).powi(2);
    let one = |(variance, us): (&f64, ArrayView1<'_, f64>)| {
        let noise_variance = us.iter().map(|u| u * u).sum::<f64>() / vessels;
        let reliability = (1.0 - noise_variance / variance).clamp(0.0, 1.0);
        let below_noise = reliability < LEAST_RELIABILITY || *variance <= edge * noise_variance;
        Reliability { noise_variance, reliability, below_noise }
    };
    variances.iter().zip(u_scores.columns()).map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::PrincipalComponents;
    use crate::quantity::Seed;
    use ndarray::{Array2, array};
    use rand::Rng;
    use rand_distr::StandardNormal;

    #[test]
    fn shares_of_noise_are_those_of_the_variances() {
        let us = array![[0.1, 0.3], [0.3, 0.3]];
        let found = reliabilities(array![1.0, 0.12].view(), us.view(), 0);
        assert!((found[0].noise_variance - 0.05).abs() < 1e-12 && (found[0].reliability - 0.95).abs() < 1e-12);
        assert!((found[1].reliability - 0.25).abs() < 1e-12); // 1 - 0.09 / 0.12
        assert_eq!((found[0].below_noise, found[1].below_noise), (false, true));
    }

    #[test]
    fn components_of_noise_are_below_noise_and_a_real_one_is_not() {
        let mut rng = Seed::new(4).rng();
        let mut normal = || rng.sample::<f64, _>(StandardNormal);
        let (vessels, noisy) = (60, 64);
        let mut rows = Array2::from_shape_fn((vessels, noisy), |_| normal());
        // A direction with five times the greatest variance of noise, (1 + sqrt(64 / 60))^2 = 4.1.
        rows.rows_mut().into_iter().for_each(|mut row| row[7] += 4.6 * normal());
        let pca = PrincipalComponents::new(&rows).unwrap();
        let found = reliabilities(pca.variances.view(), Array2::ones((vessels, pca.rank())).view(), noisy);
        assert!(!found[0].below_noise);
        // The second may pass the limit by the scatter of the greatest eigenvalue, a few per cent.
        assert!(found.iter().skip(2).all(|component| component.below_noise));
    }
}
