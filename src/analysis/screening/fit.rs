//! Both documented populations fitted to their references, by expectation-maximisation.

use super::belief::Belief;
use super::expectation::{Counted, Sums, sums};
use super::population::{Population, Populations};
use crate::analysis::precision::LogReading;
use crate::math::acceleration::{Climb, Step, movement};
use crate::math::cholesky;

/// Expectation-maximisation; 20 to 50 steps are usual, where plain ones may take thousands.
const CLIMB: Climb = Climb { most: 200, slack: 1.0 };

/// The fit rests when no mean moves by more than this share of a standard deviation in a step, and no covariance by more than
/// this share of the variances: with steps that shrink to 0.95 each time it is then within 0.2 % of where they lead.
const CONVERGED: f64 = 1e-4;

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

/// Strays spread so many times as widely as all references together.
const STRAY_SPREAD: f64 = 3.0;

/// Fits both populations together by expectation-maximisation; `None` if a covariance is not regular or one is empty.
///
/// Each reference's true logarithms are what its readings leave of the population's normal: a value from a noisy scan
/// counts less, a bound counts as a bound. The two populations share a part of their covariance. A fit to much the same
/// references may be given to start `from`: it shortens the way and moves its end by no more than [`CONVERGED`] allows.
pub(super) fn fit(groups: [&[Counted<'_>]; 2], from: Option<&Populations>) -> Option<Populations> {
    let fresh = [start(groups[0])?, start(groups[1])?];
    let measures = groups[0].first()?.0.readings.len();
    let strays = strays(&groups.concat(), measures);
    let end = CLIMB.from(
        numbers(from.map_or(&fresh, |known| &known.both))?,
        |place| {
            let before = with_numbers(&fresh, place);
            let next = both_steps(groups, &before)?;
            let moved = |kind: usize| apart(&next[kind], &before[kind], &fresh[kind]);
            let loss = moved(0).max(moved(1));
            Some(Step { next: numbers(&next)?, loss })
        },
        |_, loss| loss <= CONVERGED,
    )?;
    Some(Populations { both: with_numbers(&fresh, &end.next), strays })
}

/// Coefficients of both populations and the factors of their covariances, logarithms on the diagonal: whatever a leap makes of
/// these is a regular covariance. `None` if one is not.
fn numbers(both: &[Population; 2]) -> Option<Vec<f64>> {
    let mut numbers = Vec::new();
    for population in both {
        let measures = population.measures();
        let mut lower = population.covariance.clone();
        if !cholesky::factorise(&mut lower, measures) {
            return None;
        }
        (0..measures).for_each(|k| lower[k * measures + k] = lower[k * measures + k].ln());
        numbers.extend(population.coefficients.iter().chain(&lower));
    }
    Some(numbers)
}

/// Populations like these with other coefficients and covariances.
fn with_numbers(like: &[Population; 2], numbers: &[f64]) -> [Population; 2] {
    let mut rest = numbers;
    like.each_ref().map(|like| {
        let measures = like.measures();
        let (coefficients, others) = rest.split_at(like.coefficients.len());
        let (lower, others) = others.split_at(measures * measures);
        rest = others;
        let factor =
            |row: usize, k: usize| if row == k { lower[row * measures + k].exp() } else { lower[row * measures + k] };
        let cell = |row: usize, column: usize| (0..=row.min(column)).map(|k| factor(row, k) * factor(column, k)).sum();
        let covariance = (0..measures * measures).map(|at| cell(at / measures, at % measures)).collect();
        like.with(coefficients.to_vec(), covariance)
    })
}

/// How far apart coefficients and covariances are, in standard deviations of the readings `like` starts from.
fn apart(one: &Population, other: &Population, like: &Population) -> f64 {
    movement([&one.coefficients, &other.coefficients], [&one.covariance, &other.covariance], &like.covariance)
}

/// One step of expectation-maximisation of both populations; `None` if a covariance it starts from is not regular.
fn both_steps(groups: [&[Counted<'_>]; 2], before: &[Population; 2]) -> Option<[Population; 2]> {
    let [first, second] = [step(groups[0], &before[0])?, step(groups[1], &before[1])?];
    let shared = shared_covariance(&first, &second, before[0].measures());
    Some([first.population(&before[0], &shared), second.population(&before[1], &shared)])
}

/// The strays' normal: no covariances, as there is nothing they have in common.
fn strays(all: &[Counted<'_>], measures: usize) -> Belief {
    let mut covariance = vec![0.0; measures * measures];
    let mean = (0..measures).map(|measure| {
        let (mean, variance) = moments(all, measure);
        covariance[measure * measures + measure] = STRAY_SPREAD * STRAY_SPREAD * variance;
        mean
    });
    Belief::new(mean.collect(), covariance)
}

/// Mean and variance of a measure's logarithms, bounds at their limits.
fn moments(group: &[Counted<'_>], measure: usize) -> (f64, f64) {
    let known: Vec<(f64, f64)> =
        group.iter().filter_map(|(subject, times)| Some((placed(&subject.readings[measure])?, *times))).collect();
    let count = known.iter().map(|(_, times)| times).sum::<f64>().max(1.0);
    let mean = known.iter().map(|(value, times)| times * value).sum::<f64>() / count;
    let square = known.iter().map(|(value, times)| times * (value - mean) * (value - mean)).sum::<f64>() / count;
    (mean, square.max(LEAST_VARIANCE))
}

/// Means of the known values, and their variances without covariances.
fn start(group: &[Counted<'_>]) -> Option<Population> {
    let (first, _) = group.first()?;
    let (regressors, measures) = (first.regressors.len(), first.readings.len());
    let mut gram = vec![0.0; regressors * regressors];
    group.iter().for_each(|(subject, times)| add_products(&mut gram, &subject.regressors, *times));
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
    Population::new(coefficients, covariance, leverage, number(group) + SHARED + 2.0)
}

/// Where a reading places a first guess.
const fn placed(reading: &LogReading) -> Option<f64> {
    match *reading {
        LogReading::Known { value, .. } => Some(value),
        LogReading::Below { limit } => Some(limit),
        LogReading::Missing => None,
    }
}

/// How many references there are, each as often as it counts.
fn number(group: &[Counted<'_>]) -> f64 {
    group.iter().map(|(_, times)| times).sum()
}

/// What one step of the fit found in a group.
struct Found {
    coefficients: Vec<f64>,
    /// Squares and products about the mean, with what the measurements leave open and what the slopes cost.
    squares: Vec<f64>,
    count: f64,
}

fn step(group: &[Counted<'_>], population: &Population) -> Option<Found> {
    let Sums { products, mut squares } = sums(group, population)?;
    let measures = population.measures();
    let regressors = products.len() / measures;
    let mut coefficients = vec![0.0; regressors * measures];
    for row in 0..regressors {
        for measure in 0..measures {
            coefficients[row * measures + measure] = (0..regressors)
                .map(|k| population.leverage[row * regressors + k] * products[k * measures + measure])
                .sum();
        }
    }
    // Squares about the mean and the ridge's cost of the slopes, together, are the squares less products times coefficients.
    for row in 0..measures {
        for column in 0..measures {
            let along = (0..regressors).map(|k| products[k * measures + row] * coefficients[k * measures + column]);
            squares[row * measures + column] -= along.sum::<f64>();
        }
    }
    add_products(&mut squares, &coefficients[..measures], -FLAT);
    Some(Found { coefficients, squares, count: number(group) })
}

fn add_products(sum: &mut [f64], values: &[f64], weight: f64) {
    for (row, sums) in values.iter().zip(sum.chunks_exact_mut(values.len())) {
        sums.iter_mut().zip(values).for_each(|(sum, value)| *sum += weight * row * value);
    }
}

impl Found {
    fn population(self, before: &Population, shared: &[f64]) -> Population {
        let (weight, measures) = (SHARED + self.count - 1.0, before.measures());
        // Of both triangles the lower: rounding would part them more with every step.
        let cell = |at: usize| {
            let (row, column) = (at / measures, at % measures);
            let lower = row.max(column) * measures + row.min(column);
            (self.squares[lower] + SHARED * shared[lower]) / weight
        };
        let covariance = (0..measures * measures).map(cell).collect();
        before.with(self.coefficients, covariance)
    }
}

/// The covariance of both groups together, its correlations drawn towards their mean: measures of one vessel go up and down
/// together, and few references cannot tell their many correlations apart.
///
/// # References
/// Ledoit & Wolf 2004, Honey, I shrunk the sample covariance matrix (the target of equal correlations; from memory).
fn shared_covariance(first: &Found, second: &Found, measures: usize) -> Vec<f64> {
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
    let to_mean = measures as f64 / (measures as f64 + first.count + second.count);
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

    use super::super::population::Subject;
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

    /// References that count once each.
    fn counted(subjects: &[Subject]) -> Vec<Counted<'_>> {
        subjects.iter().map(|subject| (subject, 1.0)).collect()
    }

    fn once(groups: [&[Subject]; 2]) -> Populations {
        fit([&counted(groups[0]), &counted(groups[1])], None).unwrap()
    }

    #[test]
    fn mean_slope_and_spread_come_back_without_the_noise() {
        let (old, modern) = (group(2_000, -1.0, 0.5, 1), group(2_000, -3.0, 0.0, 2));
        let [modern, old] = once([&modern, &old]).both;
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
            let [first, _] = once([&group(count, 0.0, 0.0, 3), &group(count, 5.0, 0.0, 4)]).both;
            let reading = LogReading::Known { value: 2.0, variance: 1e-6, hidden: 0.0 };
            first.distance(&Subject { regressors: vec![1.0, 0.0], readings: vec![reading] }).unwrap().p
        };
        assert!(tail(6) > 100.0 * tail(60), "{} {}", tail(6), tail(60));
    }

    #[test]
    fn a_vessel_unlike_both_has_a_ratio_near_one() {
        let populations = once([&group(30, 0.0, 0.0, 5), &group(30, 2.0, 0.0, 6)]);
        let score = |value| {
            let reading = LogReading::Known { value, variance: 1e-6, hidden: 0.0 };
            populations.score(&Subject { regressors: vec![1.0, 0.0], readings: vec![reading] })
        };
        assert!(score(0.0) > 2.0 && score(2.0) < -2.0, "{} {}", score(0.0), score(2.0));
        assert!(score(9.0).abs() < 0.1 && score(-7.0).abs() < 0.1, "{} {}", score(9.0), score(-7.0));
    }

    /// Vessels of five measures that go together, whose noise is as great as their spread in some, bounded where small.
    fn noisy(count: usize, at: f64, seed: u64) -> Vec<Subject> {
        let mut rng = Seed::new(seed).rng();
        let mut normal = || rng.sample::<f64, _>(StandardNormal);
        let mut piece = |row: usize| {
            let (shared, z) = (normal(), normal());
            let mut reading = |measure: usize| {
                let noise = 0.1 + 0.1 * ((row + measure) % 5) as f64;
                let value = at + 0.2 * z + 0.3 * shared + 0.3 * normal() + noise * normal();
                if measure > 2 && value < at - 0.4 {
                    return LogReading::Below { limit: at - 0.4 };
                }
                LogReading::Known { value, variance: noise * noise, hidden: 0.0 }
            };
            Subject { regressors: vec![1.0, z], readings: (0..5).map(&mut reading).collect() }
        };
        (0..count).map(&mut piece).collect()
    }

    /// Plain steps, so many that no more change anything.
    fn plain(groups: [&[Counted<'_>]; 2]) -> [Population; 2] {
        let first = groups.map(|group| start(group).unwrap());
        (0..3_000).fold(first, |before, _| both_steps(groups, &before).unwrap())
    }

    #[test]
    fn leaps_end_where_thousands_of_plain_steps_do() {
        for (seed, number) in [(11, 7), (12, 20), (13, 80)] {
            let (modern, old) = (noisy(number, -3.0, seed), noisy(number + 5, -2.5, 100 + seed));
            let all = [counted(&modern), counted(&old)];
            let whole = fit([&all[0], &all[1]], None).unwrap();
            // A resample: every third reference thrice, the others as often as they come.
            let drawn = all.each_ref().map(|group| {
                let times = |at: usize| [3.0, 0.0, 1.0][at % 3];
                let kept = group.iter().enumerate().filter(|(at, _)| times(*at) > 0.0);
                kept.map(|(at, (subject, _))| (*subject, times(at))).collect::<Vec<Counted<'_>>>()
            });
            let again = fit([&drawn[0], &drawn[1]], Some(&whole)).unwrap();
            for (found, groups) in [(&whole, &all), (&again, &drawn)] {
                let wanted = plain([&groups[0], &groups[1]]);
                for ((found, wanted), group) in found.both.iter().zip(&wanted).zip(groups) {
                    let off = apart(found, wanted, &start(group).unwrap());
                    assert!(off < 20.0 * CONVERGED, "{number}: {off}");
                }
            }
        }
    }

    #[test]
    fn counting_a_reference_twice_is_having_it_twice() {
        let (modern, old) = (noisy(12, -3.0, 21), noisy(15, -2.5, 22));
        let doubled = [&modern, &old].map(|group| [&group[..], &group[..3]].concat());
        let times = |at: usize| if at < 3 { 2.0 } else { 1.0 };
        let counts = [&modern, &old]
            .map(|group| group.iter().enumerate().map(|(at, subject)| (subject, times(at))).collect::<Vec<_>>());
        let (twice, weighed) = (once([&doubled[0], &doubled[1]]), fit([&counts[0], &counts[1]], None).unwrap());
        for (a, b) in twice.both.iter().zip(&weighed.both) {
            assert!(apart(a, b, a) < 1e-9, "{}", apart(a, b, a));
        }
    }
}
