//! Gaussian mixtures of places known with noise.

use ndarray::Array2;

use super::evidence::{Evidence, MOST_DIMENSIONS, Small, SmallSquare};
use super::expectation::{Moments, expectation};
use crate::math::acceleration::{Climb, Step};
use crate::math::cholesky;

/// Least variance of a group along a component, as a share of the mean variance of all.
const LEAST_SHARE: f64 = 1e-5;

/// The scale of a group is drawn towards 1 as if by so many further vessels ("project": with none, a group of three could
/// shrink to a point; with many, a wide group is split in two).
const SCALE_PRIOR: f64 = 2.0;

/// Vessels of no group at the start, where such are allowed for; the fit finds its own number.
const FIRST_STRAYS: f64 = 0.5;

/// What the covariances of the groups have in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CovarianceFamily {
    /// One covariance for all groups.
    Common,
    /// One shape and orientation, a scale of its own for each group.
    Scaled,
    /// Variances of its own along the components for each group, drawn towards the common ones as if by dimensions + 2
    /// further vessels.
    Diagonal,
    /// A covariance of its own for each group, drawn towards the common one likewise.
    Own,
}

impl CovarianceFamily {
    /// Every family.
    pub const ALL: [Self; 4] = [Self::Common, Self::Scaled, Self::Diagonal, Self::Own];

    /// A word for tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Common => "common",
            Self::Scaled => "scaled",
            Self::Diagonal => "diagonal",
            Self::Own => "own",
        }
    }

    /// Whether the family says anything of its own about one group.
    #[must_use]
    pub const fn of_one_group(self) -> bool {
        matches!(self, Self::Common | Self::Diagonal)
    }

    /// Free parameters of a mixture of `groups` in `dimensions`.
    #[must_use]
    pub const fn parameters(self, groups: usize, dimensions: usize) -> usize {
        let full = dimensions * (dimensions + 1) / 2;
        let covariance = match self {
            Self::Common => full,
            Self::Scaled => full + groups - 1,
            Self::Diagonal => groups * dimensions,
            Self::Own => groups * full,
        };
        groups - 1 + groups * dimensions + covariance
    }
}

/// One group of a mixture: weight, mean and covariance of the true places.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Component {
    pub(super) weight: f64,
    pub(super) mean: Small,
    pub(super) covariance: SmallSquare,
}

/// A Gaussian mixture.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixture {
    /// What the covariances have in common.
    pub family: CovarianceFamily,
    pub(super) components: Vec<Component>,
    /// Share of vessels that belong to no group, where such are allowed for.
    pub(super) strays: f64,
}

impl Mixture {
    /// Every number that a fit moves.
    fn numbers(&self) -> Vec<f64> {
        let of = |c: &Component| [&[c.weight][..], &c.mean, &c.covariance].concat();
        self.components.iter().flat_map(of).chain([self.strays]).collect()
    }

    /// A mixture like this with other numbers.
    fn with_numbers(&self, numbers: &[f64]) -> Self {
        let mut mixture = self.clone();
        let each = numbers.chunks_exact(1 + MOST_DIMENSIONS + MOST_DIMENSIONS * MOST_DIMENSIONS);
        for (component, numbers) in mixture.components.iter_mut().zip(each) {
            component.weight = numbers[0];
            component.mean.copy_from_slice(&numbers[1..=MOST_DIMENSIONS]);
            component.covariance.copy_from_slice(&numbers[1 + MOST_DIMENSIONS..]);
        }
        mixture.strays = numbers[numbers.len() - 1];
        mixture
    }
}

/// A fitted mixture.
#[derive(Clone, Debug, PartialEq)]
pub struct MixtureFit {
    /// The mixture.
    pub mixture: Mixture,
    /// Natural log-likelihood of the evidence.
    pub log_likelihood: f64,
    /// Probability of each vessel for each group; what is missing to 1 is that of belonging to none.
    pub probabilities: Array2<f64>,
    /// 2 log-likelihood - parameters x ln(vessels): the greater the better.
    pub bic: f64,
}

impl MixtureFit {
    /// The likeliest group of each vessel.
    #[must_use]
    pub fn labels(&self) -> Vec<usize> {
        let likeliest = |row: ndarray::ArrayView1<'_, f64>| {
            row.iter()
                .enumerate()
                .fold((0, f64::NEG_INFINITY), |best, (k, &p)| if p > best.1 { (k, p) } else { best })
                .0
        };
        self.probabilities.rows().into_iter().map(likeliest).collect()
    }

    /// Probability of each vessel of belonging to no group.
    #[must_use]
    pub fn stray_probabilities(&self) -> Vec<f64> {
        self.probabilities.rows().into_iter().map(|row| (1.0 - row.sum()).clamp(0.0, 1.0)).collect()
    }
}

/// Fits a mixture from a first partition (`None`: no group) by expectation-maximisation; `None` if a group empties or is not regular.
///
/// The groups are those of the true places: each vessel's noise is taken out of the covariances, so that a noisy scanner
/// widens no group and makes none of its own.
///
/// # References
/// Bovy, Hogg & Roweis 2011, Extreme deconvolution, section 2; covariance families after Banfield & Raftery 1993.
#[must_use]
pub fn fit_mixture(
    evidence: &Evidence,
    start: &[Option<usize>],
    groups: usize,
    family: CovarianceFamily,
) -> Option<MixtureFit> {
    improve(evidence, first_mixture(evidence, start, groups, family)?, Effort::FULL)
}

/// How far expectation-maximisation is carried on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Effort {
    /// Steps at most.
    pub(super) steps: usize,
    /// Rise of the log-likelihood per vessel and step below which it rests.
    pub(super) rest: f64,
}

impl Effort {
    /// For likelihoods that are compared with each other.
    pub(super) const FULL: Self = Self { steps: 200, rest: 1e-5 };
    /// To tell which of several starts is worth carrying on.
    pub(super) const SHORT: Self = Self { steps: 6, rest: 1e-3 };
    /// For labels alone, which no longer change when the log-likelihood still does.
    pub(super) const LABELS: Self = Self { steps: 50, rest: 1e-3 };
}

/// Expectation-maximisation from a mixture until it rests.
pub(super) fn improve(evidence: &Evidence, mixture: Mixture, effort: Effort) -> Option<MixtureFit> {
    judge(evidence, climb(evidence, mixture, effort)?.0)
}

/// The same without what each vessel is in it: the mixture, and its log-likelihood before the last step.
pub(super) fn climb(evidence: &Evidence, mixture: Mixture, effort: Effort) -> Option<(Mixture, f64)> {
    let step = |numbers: &[f64]| {
        let (moments, log_likelihood) = expectation(evidence, &mixture.with_numbers(numbers), None)?;
        let next = Sums::new(evidence, moments).mixture(mixture.family, evidence.len())?;
        Some(Step { next: next.numbers(), loss: -log_likelihood })
    };
    let least = effort.rest * evidence.len() as f64;
    let climb = Climb { most: effort.steps, slack: 0.0 };
    let end = climb.from(mixture.numbers(), step, |before, now| (before - now).abs() < least)?;
    Some((mixture.with_numbers(&end.next), -end.loss))
}

/// The mixture of a first partition (`None`: no group); `None` if a group is empty.
pub(super) fn first_mixture(
    evidence: &Evidence,
    start: &[Option<usize>],
    groups: usize,
    family: CovarianceFamily,
) -> Option<Mixture> {
    Sums::of_partition(evidence, start, groups).mixture(family, evidence.len())
}

/// Likelihood and probabilities of evidence under a mixture.
pub(super) fn judge(evidence: &Evidence, mixture: Mixture) -> Option<MixtureFit> {
    let groups = mixture.components.len();
    let mut probabilities = Array2::zeros((evidence.len(), groups));
    let (_, log_likelihood) = expectation(evidence, &mixture, Some(&mut probabilities))?;
    let strays = usize::from(evidence.stray_log_density().is_some());
    let parameters = (mixture.family.parameters(groups, evidence.dimensions) + strays) as f64;
    let bic = 2.0 * log_likelihood - parameters * (evidence.len().max(1) as f64).ln();
    Some(MixtureFit { mixture, log_likelihood, probabilities, bic })
}

/// What the next parameters are made of.
struct Sums {
    dimensions: usize,
    moments: Moments,
    least: f64,
}

impl Sums {
    fn new(evidence: &Evidence, moments: Moments) -> Self {
        let n = evidence.dimensions;
        let cells = (evidence.len() * n).max(1) as f64;
        let square: f64 = evidence.points.iter().map(|value| value * value).sum();
        Self { dimensions: n, moments, least: (LEAST_SHARE * square / cells).max(f64::MIN_POSITIVE) }
    }

    fn of_partition(evidence: &Evidence, labels: &[Option<usize>], groups: usize) -> Self {
        let n = evidence.dimensions;
        let mut moments = Moments::new(groups);
        moments.strays = if evidence.stray_log_density().is_some() { FIRST_STRAYS } else { 0.0 };
        for (place, label) in evidence.points.rows().into_iter().zip(labels) {
            let Some(group) = *label else { continue };
            moments.weights[group] += 1.0;
            for row in 0..n {
                moments.firsts[group][row] += place[row];
                (0..n).for_each(|k| moments.seconds[group][row * n + k] += place[row] * place[k]);
            }
        }
        Self::new(evidence, moments)
    }

    /// The mixture these sums make likeliest; `None` if a group has less than one vessel in it.
    fn mixture(&self, family: CovarianceFamily, vessels: usize) -> Option<Mixture> {
        if self.moments.weights.iter().any(|weight| *weight < 1.0 - 1e-9) {
            return None;
        }
        let n = self.dimensions;
        let mut means = self.moments.firsts.clone();
        let mut scatters = self.moments.seconds.clone();
        for (group, weight) in self.moments.weights.iter().enumerate() {
            means[group].iter_mut().for_each(|value| *value /= weight);
            for row in 0..n {
                for column in 0..n {
                    scatters[group][row * n + column] -= weight * means[group][row] * means[group][column];
                }
            }
        }
        let covariances = match family {
            CovarianceFamily::Common => vec![self.common(&scatters, None); means.len()],
            CovarianceFamily::Scaled => self.scaled(&scatters)?,
            CovarianceFamily::Diagonal => self.own(&scatters, true),
            CovarianceFamily::Own => self.own(&scatters, false),
        };
        let components = (0..means.len())
            .map(|k| Component {
                weight: self.moments.weights[k] / vessels as f64,
                mean: means[k],
                covariance: covariances[k],
            })
            .collect();
        Some(Mixture { family, components, strays: self.moments.strays / vessels as f64 })
    }

    /// The common covariance of scatters, each divided by its group's scale.
    fn common(&self, scatters: &[SmallSquare], scales: Option<&[f64]>) -> SmallSquare {
        let n = self.dimensions;
        let total: f64 = self.moments.weights.iter().sum();
        let mut common = [0.0; MOST_DIMENSIONS * MOST_DIMENSIONS];
        for (group, scatter) in scatters.iter().enumerate() {
            let scale = scales.map_or(1.0, |scales| scales[group]);
            (0..n * n).for_each(|at| common[at] += scatter[at] / scale / total);
        }
        (0..n).for_each(|k| common[k * n + k] = common[k * n + k].max(0.0) + self.least);
        common
    }

    /// One shape, a scale per group: a few rounds of one given the other.
    fn scaled(&self, scatters: &[SmallSquare]) -> Option<Vec<SmallSquare>> {
        const ROUNDS: usize = 5;
        let n = self.dimensions;
        let mut scales = vec![1.0; scatters.len()];
        let mut shape = self.common(scatters, None);
        for _ in 0..ROUNDS {
            let mut lower = shape;
            if !cholesky::factorise(&mut lower[..n * n], n) {
                return None;
            }
            let mut inverse = [0.0; MOST_DIMENSIONS * MOST_DIMENSIONS];
            cholesky::invert(&lower, n, &mut inverse);
            for (group, scatter) in scatters.iter().enumerate() {
                let trace: f64 = (0..n * n).map(|at| inverse[at] * scatter[at]).sum();
                scales[group] = (trace / n as f64 + SCALE_PRIOR) / (self.moments.weights[group] + SCALE_PRIOR);
            }
            shape = self.common(scatters, Some(&scales));
        }
        let scale = |group: usize| {
            let mut covariance = shape;
            covariance[..n * n].iter_mut().for_each(|value| *value *= scales[group]);
            covariance
        };
        Some((0..scatters.len()).map(scale).collect())
    }

    /// Covariances per group, drawn towards the common one; of each only the diagonal if `diagonal`.
    fn own(&self, scatters: &[SmallSquare], diagonal: bool) -> Vec<SmallSquare> {
        let n = self.dimensions;
        let common = self.common(scatters, None);
        let prior = if scatters.len() > 1 { (n + 2) as f64 } else { 0.0 };
        let one = |group: usize| {
            let mut covariance = [0.0; MOST_DIMENSIONS * MOST_DIMENSIONS];
            for row in 0..n {
                for column in (0..n).filter(|column| !diagonal || *column == row) {
                    let at = row * n + column;
                    covariance[at] = (scatters[group][at] + prior * common[at]) / (self.moments.weights[group] + prior);
                }
                covariance[row * n + row] = covariance[row * n + row].max(0.0) + self.least;
            }
            covariance
        };
        (0..scatters.len()).map(one).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Seed;
    use rand::Rng;
    use rand_distr::StandardNormal;

    fn normals(rows: usize, seed: u64) -> Array2<f64> {
        let mut rng = Seed::new(seed).rng();
        Array2::from_shape_fn((rows, 1), |_| rng.sample::<f64, _>(StandardNormal))
    }

    #[test]
    fn the_noise_is_taken_out_of_the_covariance() {
        let points = normals(4_000, 1) + normals(4_000, 2) * 2.0;
        let evidence = Evidence::from_points(&points, &[2.0]);
        let fit = fit_mixture(&evidence, &[Some(0); 4_000], 1, CovarianceFamily::Common).unwrap();
        // Total variance 5, of which 4 is noise; its standard error is 5 sqrt(2 / 4000) = 0.11.
        assert!((fit.mixture.components[0].covariance[0] - 1.0).abs() < 0.3);
    }

    #[test]
    fn one_group_has_the_likelihood_of_its_moments() {
        let points = ndarray::array![[-1.0], [1.0], [-1.0], [1.0]];
        let evidence = Evidence::from_points(&points, &[0.0]);
        let fit = fit_mixture(&evidence, &[Some(0); 4], 1, CovarianceFamily::Common).unwrap();
        // Mean 0, variance 1: four times -(ln 2 pi + 1) / 2
        assert!((fit.log_likelihood + 2.0 * (std::f64::consts::TAU.ln() + 1.0)).abs() < 1e-4);
    }

    #[test]
    fn a_vessel_of_which_nothing_is_known_says_nothing() {
        let points = ndarray::array![[-5.0], [-5.2], [-4.8], [5.0], [5.2], [4.8], [0.0]];
        let told = |x: f64| (vec![100.0], vec![100.0 * x]);
        let information = (0..7).map(|row| if row < 6 { told(points[[row, 0]]) } else { (vec![0.0], vec![0.0]) });
        let evidence = Evidence::from_information(1, information.collect());
        let start = [0, 0, 0, 1, 1, 1, 0].map(Some);
        let fit = fit_mixture(&evidence, &start, 2, CovarianceFamily::Common).unwrap();
        assert!((fit.mixture.components[0].mean[0] + 5.0).abs() < 0.05);
        assert!((fit.probabilities[[6, 0]] - fit.mixture.components[0].weight).abs() < 1e-2); // its prior probability
    }

    #[test]
    fn a_stray_belongs_to_no_group() {
        let mut points = normals(40, 3) * 0.1;
        points[[39, 0]] = 30.0;
        let evidence = Evidence::from_points(&points, &[0.0]).with_strays();
        let mut start = vec![Some(0); 40];
        start[39] = None;
        let fit = fit_mixture(&evidence, &start, 1, CovarianceFamily::Common).unwrap();
        let stray = fit.stray_probabilities();
        assert!(stray[39] > 0.99 && stray[..39].iter().all(|p| *p < 0.5));
        assert!(fit.mixture.components[0].covariance[0] < 0.02);
    }

    #[test]
    fn an_empty_group_is_no_group() {
        let evidence = Evidence::from_points(&normals(5, 4), &[0.0]);
        assert_eq!(fit_mixture(&evidence, &[Some(0); 5], 2, CovarianceFamily::Own), None);
    }
}
