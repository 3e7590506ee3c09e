//! The logarithms of a documented population's measures: their mean given size and material, their spread, and how well
//! both are known from the references there are.

use super::belief::Belief;
use super::spread::log_densities;
use crate::analysis::precision::LogReading;
use crate::math::cholesky;
use crate::math::density::{chi_square_quantile, f_above};

/// One vessel as the model sees it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Subject {
    /// The regressors: 1, then what size and material put there.
    pub(super) regressors: Vec<f64>,
    /// Its measures' logarithms.
    pub(super) readings: Vec<LogReading>,
}

/// Steps of expectation-maximisation at most.
const MOST_STEPS: usize = 40;

/// Movement of a coefficient, in natural logarithms, below which the fit has converged (0.1 % of a deviation).
const CONVERGED: f64 = 1e-3;

/// Slopes are shrunk as if this many further references, one standard deviation off, had shown none. With 1 a slope seen in
/// 20 references loses 5 %; 0 would let 6 references fit 4 coefficients.
const RIDGE: f64 = 1.0;

/// Weight of the intercept's prior: enough to keep the algebra regular.
const FLAT: f64 = 1e-6;

/// A population's covariance is drawn towards that of both as if this many further references had it. With few modern
/// references their own covariance alone would be far too narrow in some direction.
const SHARED: f64 = 4.0;

/// Least variance of a measure's logarithm across vessels: 1 % scatter.
const LEAST_VARIANCE: f64 = 1e-4;

/// Points that stand for the scale of a t-distribution, each as probable.
const SCALES: usize = 8;

/// A population fitted to its documented references.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Population {
    /// Regressors x measures, row by row.
    coefficients: Vec<f64>,
    /// Covariance of the logarithms about their mean, row by row.
    covariance: Vec<f64>,
    /// (Z'Z + ridge)^-1, row by row.
    leverage: Vec<f64>,
    /// Degrees of freedom of the covariance.
    degrees: f64,
    /// Scales of the t-distribution's parts.
    scales: [f64; SCALES],
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
    strays: Belief,
}

/// Share of strays ("common practice, no source"). 0.001 instead moves the ratio of a vessel unlike both further from 1.
const STRAYS: f64 = 0.01;

/// Strays spread so many times as widely as all references together.
const STRAY_SPREAD: f64 = 3.0;

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
    /// Expected logarithms at these regressors.
    pub(super) fn mean(&self, regressors: &[f64]) -> Vec<f64> {
        let measures = self.coefficients.len() / regressors.len();
        (0..measures)
            .map(|k| regressors.iter().enumerate().map(|(row, z)| z * self.coefficients[row * measures + k]).sum())
            .collect()
    }

    /// Standard deviation of one more vessel's logarithm of each measure, without its measurement.
    pub(super) fn spread(&self, regressors: &[f64]) -> Vec<f64> {
        let measures = self.coefficients.len() / regressors.len();
        let widened = self.widening(regressors);
        (0..measures).map(|k| (widened * self.covariance[k * measures + k]).sqrt()).collect()
    }

    /// Log-density of a vessel's readings: the predictive t-distribution, its measurement variances added.
    pub(super) fn log_density(&self, subject: &Subject) -> f64 {
        let factor = self.factor(subject);
        let factors = self.scales.map(|scale| scale * factor);
        let parts = log_densities(&self.mean(&subject.regressors), &self.covariance, factors, &subject.readings);
        let most = parts.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most + (parts.iter().map(|part| (part - most).exp()).sum::<f64>() / SCALES as f64).ln()
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

/// Fits both populations together by expectation-maximisation; `None` if a covariance is not regular or one is empty.
///
/// Each reference's true logarithms are what its readings leave of the population's normal: a value from a noisy scan
/// counts less, a bound counts as a bound. The two populations share a part of their covariance.
pub(super) fn fit(groups: [&[&Subject]; 2]) -> Option<Populations> {
    let mut fitted = [start(groups[0])?, start(groups[1])?];
    let measures = groups[0].first()?.readings.len();
    for _ in 0..MOST_STEPS {
        let [first, second] = [step(groups[0], &fitted[0])?, step(groups[1], &fitted[1])?];
        let shared = shared_covariance(&first, &second, measures, groups[0].len() + groups[1].len());
        let next = [first.population(&fitted[0], &shared), second.population(&fitted[1], &shared)];
        let moved = |a: &Population, b: &Population| {
            a.coefficients.iter().zip(&b.coefficients).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
        };
        let most = moved(&next[0], &fitted[0]).max(moved(&next[1], &fitted[1]));
        fitted = next;
        if most < CONVERGED {
            break;
        }
    }
    Some(Populations { both: fitted, strays: strays(&groups.concat(), measures) })
}

/// The strays' normal: no covariances, as there is nothing they have in common.
fn strays(all: &[&Subject], measures: usize) -> Belief {
    let mut covariance = vec![0.0; measures * measures];
    let mean = (0..measures).map(|measure| {
        let (mean, variance) = moments(all, measure);
        covariance[measure * measures + measure] = STRAY_SPREAD * STRAY_SPREAD * variance;
        mean
    });
    Belief::new(mean.collect(), covariance)
}

/// Mean and variance of a measure's logarithms, bounds at their limits.
fn moments(group: &[&Subject], measure: usize) -> (f64, f64) {
    let known: Vec<f64> = group.iter().filter_map(|subject| placed(&subject.readings[measure])).collect();
    let count = known.len().max(1) as f64;
    let mean = known.iter().sum::<f64>() / count;
    let square = known.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / count;
    (mean, square.max(LEAST_VARIANCE))
}

/// Means of the known values, and their variances without covariances.
fn start(group: &[&Subject]) -> Option<Population> {
    let first = group.first()?;
    let (regressors, measures) = (first.regressors.len(), first.readings.len());
    let mut gram = vec![0.0; regressors * regressors];
    for subject in group {
        for row in 0..regressors {
            for column in 0..regressors {
                gram[row * regressors + column] += subject.regressors[row] * subject.regressors[column];
            }
        }
    }
    (0..regressors).for_each(|k| gram[k * regressors + k] += if k == 0 { FLAT } else { RIDGE });
    let mut leverage = vec![0.0; gram.len()];
    if !cholesky::factorise(&mut gram, regressors) {
        return None;
    }
    cholesky::invert(&gram, regressors, &mut leverage);
    let mut coefficients = vec![0.0; regressors * measures];
    let mut covariance = vec![0.0; measures * measures];
    for measure in 0..measures {
        (coefficients[measure], covariance[measure * measures + measure]) = moments(group, measure);
    }
    let degrees = group.len() as f64 + SHARED + 2.0;
    Some(Population { coefficients, covariance, leverage, degrees, scales: scales(degrees) })
}

/// Where a reading places a first guess.
const fn placed(reading: &LogReading) -> Option<f64> {
    match *reading {
        LogReading::Known { value, .. } => Some(value),
        LogReading::Below { limit } => Some(limit),
        LogReading::Missing => None,
    }
}

/// degrees / chi-square at the middles of equally probable classes.
fn scales(degrees: f64) -> [f64; SCALES] {
    std::array::from_fn(|k| degrees / chi_square_quantile((k as f64 + 0.5) / SCALES as f64, degrees))
}

/// What one step of the fit found in a group.
struct Step {
    coefficients: Vec<f64>,
    /// Squares and products about the mean, with what the measurements leave open and what the slopes cost.
    squares: Vec<f64>,
    count: f64,
}

fn step(group: &[&Subject], population: &Population) -> Option<Step> {
    let first = group.first()?;
    let (regressors, measures) = (first.regressors.len(), first.readings.len());
    let mut squares = vec![0.0; measures * measures];
    let mut products = vec![0.0; regressors * measures];
    let mut expected = Vec::with_capacity(group.len());
    let mut belief = Belief::new(Vec::new(), population.covariance.clone());
    for subject in group {
        belief.mean = population.mean(&subject.regressors);
        belief.covariance.copy_from_slice(&population.covariance);
        belief.condition(&subject.readings);
        for (row, z) in subject.regressors.iter().enumerate() {
            (0..measures).for_each(|k| products[row * measures + k] += z * belief.mean[k]);
        }
        squares.iter_mut().zip(&belief.covariance).for_each(|(sum, left)| *sum += left);
        expected.push(std::mem::take(&mut belief.mean));
    }
    let mut coefficients = vec![0.0; regressors * measures];
    for row in 0..regressors {
        for measure in 0..measures {
            coefficients[row * measures + measure] = (0..regressors)
                .map(|k| population.leverage[row * regressors + k] * products[k * measures + measure])
                .sum();
        }
    }
    let about = Population { coefficients, ..population.clone() };
    for (subject, expected) in group.iter().zip(&expected) {
        let off: Vec<f64> = expected.iter().zip(about.mean(&subject.regressors)).map(|(a, b)| a - b).collect();
        add_products(&mut squares, &off, 1.0);
    }
    for row in 1..regressors {
        add_products(&mut squares, &about.coefficients[row * measures..(row + 1) * measures], RIDGE);
    }
    Some(Step { coefficients: about.coefficients, squares, count: group.len() as f64 })
}

fn add_products(sum: &mut [f64], values: &[f64], weight: f64) {
    let n = values.len();
    for row in 0..n {
        for column in 0..n {
            sum[row * n + column] += weight * values[row] * values[column];
        }
    }
}

impl Step {
    fn population(self, before: &Population, shared: &[f64]) -> Population {
        let weight = SHARED + self.count - 1.0;
        let covariance =
            self.squares.iter().zip(shared).map(|(own, shared)| (own + SHARED * shared) / weight).collect();
        Population { coefficients: self.coefficients, covariance, ..before.clone() }
    }
}

/// The covariance of both groups together, its correlations drawn towards their mean: measures of one vessel go up and down
/// together, and few references cannot tell their many correlations apart.
///
/// # References
/// Ledoit & Wolf 2004, Honey, I shrunk the sample covariance matrix (the target of equal correlations; from memory).
fn shared_covariance(first: &Step, second: &Step, measures: usize, references: usize) -> Vec<f64> {
    let weight = (first.count + second.count - 2.0).max(1.0);
    let pooled = |row: usize, column: usize| {
        (first.squares[row * measures + column] + second.squares[row * measures + column]) / weight
    };
    let spread: Vec<f64> = (0..measures).map(|k| pooled(k, k).max(LEAST_VARIANCE).sqrt()).collect();
    let correlation = |row: usize, column: usize| pooled(row, column) / (spread[row] * spread[column]);
    let pairs = (measures * measures.saturating_sub(1) / 2).max(1) as f64;
    let sum: f64 =
        (0..measures).flat_map(|row| (0..row).map(move |column| (row, column))).map(|(r, c)| correlation(r, c)).sum();
    let mean = (sum / pairs).max(0.0);
    let to_mean = measures as f64 / (measures + references) as f64;
    let mut shared = vec![0.0; measures * measures];
    for row in 0..measures {
        for column in 0..measures {
            let drawn = if row == column { 1.0 } else { to_mean * mean + (1.0 - to_mean) * correlation(row, column) };
            shared[row * measures + column] = drawn * spread[row] * spread[column];
        }
    }
    shared
}

#[cfg(test)]
mod tests {
    use rand::Rng;
    use rand_distr::StandardNormal;

    use super::*;
    use crate::quantity::Seed;

    /// Vessels whose only logarithm is `at` + `slope` z + 0.3 normal, measured with noise 0.2 in every second.
    fn group(count: usize, at: f64, slope: f64, seed: u64) -> Vec<Subject> {
        let mut rng = Seed::new(seed).rng();
        (0..count)
            .map(|row| {
                let mut normal = || rng.sample::<f64, _>(StandardNormal);
                let z = normal();
                let noise = if row % 2 == 0 { 0.2 } else { 0.01 };
                let value = at + slope * z + 0.3 * normal() + noise * normal();
                let reading = LogReading::Known { value, variance: noise * noise, hidden: 0.0 };
                Subject { regressors: vec![1.0, z], readings: vec![reading] }
            })
            .collect()
    }

    #[test]
    fn mean_slope_and_spread_come_back_without_the_noise() {
        let (old, modern) = (group(2_000, -1.0, 0.5, 1), group(2_000, -3.0, 0.0, 2));
        let refs = [&modern, &old].map(|g| g.iter().collect::<Vec<_>>());
        let [modern, old] = fit([&refs[0], &refs[1]]).unwrap().both;
        // 3 standard errors of 2,000 vessels with spread 0.35 are 0.023.
        for (population, mean, slope) in [(&old, -1.0, 0.5), (&modern, -3.0, 0.0)] {
            assert!((population.coefficients[0] - mean).abs() < 0.023, "{population:?}");
            assert!((population.coefficients[1] - slope).abs() < 0.023, "{population:?}");
            assert!((population.covariance[0].sqrt() - 0.3).abs() < 0.02, "{population:?}");
        }
    }

    #[test]
    fn few_references_make_wide_tails() {
        let tail = |count: usize| {
            let refs =
                [group(count, 0.0, 0.0, 3), group(count, 5.0, 0.0, 4)].map(|g| g.into_iter().collect::<Vec<_>>());
            let borrowed = [refs[0].iter().collect::<Vec<_>>(), refs[1].iter().collect::<Vec<_>>()];
            let [first, _] = fit([&borrowed[0], &borrowed[1]]).unwrap().both;
            let reading = LogReading::Known { value: 2.0, variance: 1e-6, hidden: 0.0 };
            first.distance(&Subject { regressors: vec![1.0, 0.0], readings: vec![reading] }).unwrap().p
        };
        assert!(tail(6) > 100.0 * tail(60), "{} {}", tail(6), tail(60));
    }

    #[test]
    fn a_vessel_unlike_both_has_a_ratio_near_one() {
        let refs = [group(30, 0.0, 0.0, 5), group(30, 2.0, 0.0, 6)];
        let borrowed = refs.each_ref().map(|g| g.iter().collect::<Vec<_>>());
        let populations = fit([&borrowed[0], &borrowed[1]]).unwrap();
        let score = |value| {
            let reading = LogReading::Known { value, variance: 1e-6, hidden: 0.0 };
            populations.score(&Subject { regressors: vec![1.0, 0.0], readings: vec![reading] })
        };
        assert!(score(0.0) > 2.0 && score(2.0) < -2.0, "{} {}", score(0.0), score(2.0));
        assert!(score(9.0).abs() < 0.1 && score(-7.0).abs() < 0.1, "{} {}", score(9.0), score(-7.0));
    }
}
