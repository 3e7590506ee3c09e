//! The population behind noisy, bounded and missing logarithms: one multivariate normal, fitted by expectation-maximisation.

use ndarray::{Array2, ArrayView1, ArrayView2};
use rand::seq::index;
use rayon::prelude::*;

use super::LogReading;
use super::factors::{self, Factors};
use crate::math::acceleration::{Climb, Step, movement};
use crate::math::cholesky;
use crate::math::density::inverse_mills;
use crate::quantity::Seed;

/// Expectation-maximisation; 20 to 50 steps are usual, after which the bounds' stand-ins, a step behind, keep it from resting closer.
const CLIMB: Climb = Climb { most: 100, slack: 1.0 };

/// The fit rests when no mean moves by more than this share of a standard deviation in a step, and no covariance by more than
/// this share of the variances.
const CONVERGED: f64 = 3e-4;

/// Passes over the bounds of a vessel once the population is known.
const FINAL_PASSES: usize = 20;

/// Share of the way a bound's stand-in moves at each pass; less than 1 keeps expectation propagation from swinging.
const DAMPING: f64 = 0.7;

/// The population is fitted to at most this many vessels, drawn at random; its parameters are then known to a few percent.
const MOST_FITTED: usize = 1_000;

/// Least variance of a measure's logarithm across vessels: 1 % scatter.
pub(super) const LEAST_VARIANCE: f64 = 1e-4;

/// Vessels per block of the sums; fixed, so that the sums do not depend on the number of threads.
const BLOCK: usize = 128;

/// What one measure of one vessel says of its true logarithm: a normal in information form.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::analysis) struct Site {
    /// 1 / variance; 0 where nothing is known.
    pub(in crate::analysis) precision: f64,
    /// Mean / variance.
    pub(in crate::analysis) shift: f64,
}

/// A factor model of the population and what each vessel's data say.
pub(super) struct FactorFit {
    pub(super) mean: Vec<f64>,
    pub(super) factors: Factors,
    /// As in [`LatentFit`], the bounds seen from this population.
    pub(super) sites: Vec<Vec<Site>>,
}

/// The fitted population and what each vessel's logarithms are given it.
pub(super) struct LatentFit {
    pub(super) mean: Vec<f64>,
    pub(super) covariance: Array2<f64>,
    /// Expected logarithms, vessels x measures.
    pub(super) expected: Array2<f64>,
    /// The population once more; `None` where nothing was fitted.
    pub(super) population: Option<Population>,
    /// What each vessel's data say, vessels x measures, bounds by their normal stand-ins.
    pub(super) sites: Vec<Vec<Site>>,
}

/// Posterior of one vessel.
struct Posterior {
    mean: Vec<f64>,
    covariance: Vec<f64>,
}

/// Fits the population to `readings` (vessels x measures); `None` if it is not regular, which shrinkage does not let happen.
///
/// Noise enters as a variance of its own per value, bounds by expectation propagation (the normal with the moments of the
/// truncated one), missing values not at all. Covariances between measures are shrunk towards 0 as if half as many
/// further vessels as there are measures had shown none.
pub(super) fn fit(readings: &[Vec<LogReading>], seed: Seed) -> Option<LatentFit> {
    let measures = readings.first()?.len();
    let chosen = sample(readings.len(), seed);
    let (mean, covariance) = start(readings, measures);
    let start = [mean, covariance, Vec::new()];
    let [mean, covariance, _] = climb(readings, &chosen, start, |sums, _| Some(sums.shrunk()))?;
    finish(readings, mean, covariance)
}

/// The same by a factor model instead of shrinkage, from the shrunk fit on; `None` if the measures are too few for one.
pub(super) fn fit_factors(readings: &[Vec<LogReading>], shrunk: &LatentFit, seed: Seed) -> Option<FactorFit> {
    let measures = shrunk.mean.len();
    let covariance: Vec<f64> = shrunk.covariance.iter().copied().collect();
    let mut factors = factors::choose(&covariance, measures, readings.len())?;
    let count = factors.loadings.ncols();
    let start = [shrunk.mean.clone(), factors.covariance(), factors.unique.clone()];
    let [mean, ..] = climb(readings, &sample(readings.len(), seed), start, |sums, unique| {
        let [mean, covariance] = sums.moments();
        factors = factors::round(&covariance, unique, count)?;
        Some([mean, factors.covariance(), factors.unique.clone()])
    })?;
    let population = Population::new(&mean, &factors.covariance())?;
    let sites: Option<_> = readings.par_iter().map(|row| population.sites(row)).collect();
    Some(FactorFit { mean, factors, sites: sites? })
}

/// Mean, covariance, and what else a step goes on from: the variance each measure has alone, in a factor model.
type Parameters = [Vec<f64>; 3];

/// Expectation-maximisation until mean and covariance rest; `maximise` makes the next parameters of the sums and of the third of
/// those before.
fn climb<M>(readings: &[Vec<LogReading>], chosen: &[usize], start: Parameters, mut maximise: M) -> Option<Parameters>
where
    M: FnMut(&Sums, &[f64]) -> Option<Parameters>,
{
    let mut sites: Vec<Vec<Site>> = chosen.iter().map(|&row| readings[row].iter().map(site).collect()).collect();
    let measures = start[0].len();
    let split = |numbers: &[f64]| {
        let (mean, rest) = numbers.split_at(measures);
        let (covariance, rest) = rest.split_at(measures * measures);
        [mean, covariance, rest].map(<[f64]>::to_vec)
    };
    let step = |numbers: &[f64]| {
        let before = split(numbers);
        let population = Population::new(&before[0], &before[1])?;
        let next = maximise(&step(&population, chosen, readings, &mut sites)?, &before[2])?;
        let loss = movement([&before[0], &next[0]], [&before[1], &next[1]], &next[1]);
        Some(Step { loss, next: next.concat() })
    };
    Some(split(&CLIMB.from(start.concat(), step, |_, loss| loss <= CONVERGED)?.next))
}

fn sample(vessels: usize, seed: Seed) -> Vec<usize> {
    if vessels <= MOST_FITTED {
        return (0..vessels).collect();
    }
    let mut chosen = index::sample(&mut seed.rng(), vessels, MOST_FITTED).into_vec();
    chosen.sort_unstable();
    chosen
}

fn site(reading: &LogReading) -> Site {
    match *reading {
        LogReading::Known { value, variance, .. } => Site { precision: 1.0 / variance, shift: value / variance },
        LogReading::Below { .. } | LogReading::Missing => Site::default(),
    }
}

/// Means and variances of the known values, no covariances.
fn start(readings: &[Vec<LogReading>], measures: usize) -> (Vec<f64>, Vec<f64>) {
    let mut mean = vec![0.0; measures];
    let mut covariance = vec![0.0; measures * measures];
    for measure in 0..measures {
        let known: Vec<f64> = readings
            .iter()
            .filter_map(|row| match row[measure] {
                LogReading::Known { value, .. } => Some(value),
                LogReading::Below { .. } | LogReading::Missing => None,
            })
            .collect();
        let count = known.len().max(1) as f64;
        mean[measure] = known.iter().sum::<f64>() / count;
        let squares = known.iter().map(|value| (value - mean[measure]) * (value - mean[measure])).sum::<f64>();
        covariance[measure * measures + measure] = (squares / count).max(LEAST_VARIANCE);
    }
    (mean, covariance)
}

/// A normal population in information form.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Population {
    precision: Vec<f64>,
    shift: Vec<f64>,
}

impl Population {
    fn new(mean: &[f64], covariance: &[f64]) -> Option<Self> {
        let n = mean.len();
        let mut lower = covariance.to_vec();
        if !cholesky::factorise(&mut lower, n) {
            return None;
        }
        let mut precision = vec![0.0; n * n];
        cholesky::invert(&lower, n, &mut precision);
        let shift = (0..n).map(|row| (0..n).map(|k| precision[row * n + k] * mean[k]).sum()).collect();
        Some(Self { precision, shift })
    }

    /// The vessel's logarithms given its sites.
    fn posterior(&self, sites: &[Site]) -> Option<Posterior> {
        let n = sites.len();
        let lower = self.with(sites)?;
        let mut covariance = vec![0.0; n * n];
        cholesky::invert(&lower, n, &mut covariance);
        Some(Posterior { mean: self.expected(sites, &lower), covariance })
    }

    /// The factor of the precision that a vessel's logarithms have given its sites.
    fn with(&self, sites: &[Site]) -> Option<Vec<f64>> {
        let n = sites.len();
        let mut lower = self.precision.clone();
        sites.iter().enumerate().for_each(|(index, site)| lower[index * n + index] += site.precision);
        cholesky::factorise(&mut lower, n).then_some(lower)
    }

    /// The expected logarithms, of which [`Self::with`] gave the factor.
    fn expected(&self, sites: &[Site], lower: &[f64]) -> Vec<f64> {
        let mut mean: Vec<f64> = self.shift.iter().zip(sites).map(|(shift, site)| shift + site.shift).collect();
        cholesky::solve(lower, sites.len(), &mut mean);
        mean
    }

    /// Standard uncertainty of a vessel's expected logarithms along directions of the measures.
    pub(super) fn u_along(&self, sites: &[Site], directions: ArrayView2<'_, f64>) -> Option<Vec<f64>> {
        let n = sites.len();
        let lower = self.with(sites)?;
        let along = |direction: ArrayView1<'_, f64>| {
            let mut rest = direction.to_vec();
            cholesky::solve_lower(&lower, n, &mut rest); // d' (L L')^-1 d is the square of L^-1 d
            rest.iter().map(|value| value * value).sum::<f64>().sqrt()
        };
        Some(directions.rows().into_iter().map(along).collect())
    }

    /// The sites of a vessel's readings once its bounds have settled beside each other.
    ///
    /// What the values say of the measures that are bounded is a population for these few measures; the passes are made there.
    fn sites(&self, readings: &[LogReading]) -> Option<Vec<Site>> {
        let n = readings.len();
        let mut sites: Vec<Site> = readings.iter().map(site).collect();
        let bounded: Vec<usize> = (0..n).filter(|&at| matches!(readings[at], LogReading::Below { .. })).collect();
        if bounded.is_empty() {
            return Some(sites);
        }
        let rest = self.posterior(&sites)?;
        let mean: Vec<f64> = bounded.iter().map(|&at| rest.mean[at]).collect();
        let cells = bounded.iter().flat_map(|row| bounded.iter().map(move |column| row * n + column));
        let covariance: Vec<f64> = cells.map(|at| rest.covariance[at]).collect();
        let among = Population::new(&mean, &covariance)?;
        let limits: Vec<LogReading> = bounded.iter().map(|&at| readings[at]).collect();
        let mut settled = vec![Site::default(); bounded.len()];
        for _ in 0..FINAL_PASSES {
            among.pass(&limits, &mut settled)?;
        }
        bounded.into_iter().zip(settled).for_each(|(at, site)| sites[at] = site);
        Some(sites)
    }

    /// One pass over the bounds, whose sites it moves.
    fn pass(&self, readings: &[LogReading], sites: &mut [Site]) -> Option<()> {
        if !readings.iter().any(|reading| matches!(reading, LogReading::Below { .. })) {
            return Some(());
        }
        let lower = self.with(sites)?;
        let mean = self.expected(sites, &lower);
        for (index, reading) in readings.iter().enumerate() {
            if let LogReading::Below { limit } = *reading {
                let mut along = vec![0.0; sites.len()];
                along[index] = 1.0;
                cholesky::solve_lower(&lower, sites.len(), &mut along);
                let variance = along.iter().map(|value| value * value).sum();
                sites[index] = bounded(sites[index], mean[index], variance, limit);
            }
        }
        Some(())
    }
}

/// The site of a bound: the normal that gives the rest of what is known the moments of the truncated normal.
fn bounded(site: Site, mean: f64, variance: f64, limit: f64) -> Site {
    let rest = 1.0 / variance - site.precision;
    if rest <= 0.0 || !rest.is_finite() {
        return site;
    }
    let rest_mean = (mean / variance - site.shift) / rest;
    let spread = (1.0 / rest).sqrt();
    let alpha = (limit - rest_mean) / spread;
    let mills = inverse_mills(alpha);
    let truncated_mean = rest_mean - spread * mills;
    let kept = (1.0 - mills * (alpha + mills)).max(1e-9); // share of the variance left; positive but for rounding
    let precision = (rest / kept - rest).max(0.0);
    let shift = truncated_mean * rest / kept - rest_mean * rest;
    let blend = |old: f64, new: f64| old + DAMPING * (new - old);
    Site { precision: blend(site.precision, precision), shift: blend(site.shift, shift) }
}

/// Sums over vessels: of the means, and of their outer products and covariances.
struct Sums {
    vessels: usize,
    first: Vec<f64>,
    second: Vec<f64>,
}

impl Sums {
    fn new(measures: usize) -> Self {
        Self { vessels: 0, first: vec![0.0; measures], second: vec![0.0; measures * measures] }
    }

    fn add(&mut self, posterior: &Posterior) {
        let n = self.first.len();
        self.vessels += 1;
        for row in 0..n {
            self.first[row] += posterior.mean[row];
            for column in 0..n {
                let at = row * n + column;
                self.second[at] += posterior.covariance[at] + posterior.mean[row] * posterior.mean[column];
            }
        }
    }

    fn merge(mut self, other: &Self) -> Self {
        self.vessels += other.vessels;
        for (sum, part) in self.first.iter_mut().chain(&mut self.second).zip(other.first.iter().chain(&other.second)) {
            *sum += part;
        }
        self
    }

    /// Mean and covariance.
    fn moments(&self) -> [Vec<f64>; 2] {
        let n = self.first.len();
        let count = self.vessels as f64;
        let mean: Vec<f64> = self.first.iter().map(|sum| sum / count).collect();
        let value = |at: usize| self.second[at] / count - mean[at / n] * mean[at % n];
        let mut covariance: Vec<f64> = (0..n * n).map(value).collect();
        (0..n).for_each(|k| covariance[k * n + k] = covariance[k * n + k].max(LEAST_VARIANCE));
        [mean, covariance]
    }

    /// Mean and covariance, the measures drawn apart as if half as many vessels as there are measures had shown them so.
    fn shrunk(&self) -> Parameters {
        let n = self.first.len();
        let count = self.vessels as f64;
        let kept = count / (count + n as f64 / 2.0);
        let [mean, mut covariance] = self.moments();
        (0..n * n).filter(|at| at / n != at % n).for_each(|at| covariance[at] *= kept);
        [mean, covariance, Vec::new()]
    }
}

fn step(
    population: &Population,
    chosen: &[usize],
    readings: &[Vec<LogReading>],
    sites: &mut [Vec<Site>],
) -> Option<Sums> {
    let measures = population.shift.len();
    let blocks: Option<Vec<Sums>> = chosen
        .par_chunks(BLOCK)
        .zip(sites.par_chunks_mut(BLOCK))
        .map(|(rows, sites)| {
            let mut sums = Sums::new(measures);
            for (&row, sites) in rows.iter().zip(sites) {
                population.pass(&readings[row], sites)?;
                sums.add(&population.posterior(sites)?);
            }
            Some(sums)
        })
        .collect();
    Some(blocks?.iter().fold(Sums::new(measures), Sums::merge))
}

/// What every vessel's logarithms are, given the fitted population.
fn finish(readings: &[Vec<LogReading>], mean: Vec<f64>, covariance: Vec<f64>) -> Option<LatentFit> {
    let n = mean.len();
    let population = Population::new(&mean, &covariance)?;
    let all: Option<Vec<(Vec<f64>, Vec<Site>)>> = readings
        .par_iter()
        .map(|row| {
            let sites = population.sites(row)?;
            Some((population.expected(&sites, &population.with(&sites)?), sites))
        })
        .collect();
    let (expected, sites): (Vec<_>, Vec<_>) = all?.into_iter().unzip();
    Some(LatentFit {
        covariance: Array2::from_shape_fn((n, n), |(row, column)| covariance[row * n + column]),
        mean,
        expected: Array2::from_shape_fn((expected.len(), n), |(row, column)| expected[row][column]),
        population: Some(population),
        sites,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::Rng;
    use rand_distr::StandardNormal;

    #[test]
    fn the_site_of_a_bound_gives_the_moments_of_the_truncated_normal() {
        // A standard normal known to lie below 0 has mean -sqrt(2 / pi) and variance 1 - 2 / pi; full steps by repetition.
        let population = Population::new(&[0.0], &[1.0]).unwrap();
        let mut sites = [Site::default()];
        for _ in 0..60 {
            population.pass(&[LogReading::Below { limit: 0.0 }], &mut sites).unwrap();
        }
        let posterior = population.posterior(&sites).unwrap();
        let two_over_pi = 2.0 / std::f64::consts::PI;
        assert!((posterior.mean[0] + two_over_pi.sqrt()).abs() < 1e-9);
        assert!((posterior.covariance[0] - (1.0 - two_over_pi)).abs() < 1e-9);
    }

    #[test]
    fn bounds_settle_among_themselves_as_beside_all_measures() {
        // Three correlated measures, the first known, the others bounded: every pass over all three, or over the two.
        let population = Population::new(&[0.0, 0.5, -0.5], &[1.0, 0.6, 0.3, 0.6, 1.0, 0.5, 0.3, 0.5, 2.0]).unwrap();
        let readings = [
            LogReading::Known { value: 0.8, variance: 0.1, hidden: 0.0 },
            LogReading::Below { limit: 0.2 },
            LogReading::Below { limit: -1.0 },
        ];
        let mut sites: Vec<Site> = readings.iter().map(site).collect();
        for _ in 0..FINAL_PASSES {
            population.pass(&readings, &mut sites).unwrap();
        }
        for (found, wanted) in population.sites(&readings).unwrap().iter().zip(&sites) {
            assert!((found.precision - wanted.precision).abs() < 1e-10 && (found.shift - wanted.shift).abs() < 1e-10);
        }
    }

    #[test]
    fn noise_and_bounds_do_not_bias_the_population() {
        // Truth: mean -2, s.d. 0.5; half the vessels with noise 0.4, values below -2.4 known only as bounds.
        let mut rng = Seed::new(7).rng();
        let readings: Vec<Vec<LogReading>> = (0..2_000)
            .map(|row| {
                let noise = if row % 2 == 0 { 0.4 } else { 0.01 };
                let mut normal = || rng.sample::<f64, _>(StandardNormal);
                let truth = -2.0 + 0.5 * normal();
                let value = truth + noise * normal();
                let bound = row % 2 == 1 && value < -2.4;
                vec![if bound {
                    LogReading::Below { limit: -2.4 }
                } else {
                    LogReading::Known { value, variance: noise * noise, hidden: 0.0 }
                }]
            })
            .collect();
        let fitted = fit(&readings, Seed::new(1)).unwrap();
        assert!((fitted.mean[0] + 2.0).abs() < 0.06, "{}", fitted.mean[0]); // 3 standard errors of 1,000 vessels
        assert!((fitted.covariance[[0, 0]].sqrt() - 0.5).abs() < 0.05, "{}", fitted.covariance[[0, 0]]);
    }
}
