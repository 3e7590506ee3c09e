//! Radii in a geometric series, by likelihood against smooth alternatives.

use super::super::cluster::drawn;
use super::lengths::Lengths;
use super::statement::{Claims, Series, Value};
use crate::math::density::{LN_TWO_PI, t_below};
use crate::math::golden_section::least;
use crate::math::variance::moments;
use crate::quantity::Seed;

/// Scatter of a maker about a series is looked for between these, relative: below a hundred-thousandth nothing turned by
/// hand or machine can be told apart, above 1 there is no series.
const SCATTER: (f64, f64) = (1e-5, 1.0);

/// First and last member of an arithmetic series are at most in this ratio.
const MOST_GROWTH: f64 = 100.0;

/// How the logarithms of a series's members run, each vessel at its own size.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Shape {
    /// Equal ratios, the ratio stated.
    Stated(f64),
    /// Equal ratios, the ratio fitted between logarithms.
    Geometric(f64, f64),
    /// Equal differences.
    Arithmetic,
    /// A power of the place, counted from 1.
    Power,
    /// Ratios that grow or shrink steadily: a parabola of the logarithms.
    Parabola,
}

impl Shape {
    const fn word(self) -> &'static str {
        match self {
            Self::Stated(_) | Self::Geometric(..) => "geometric",
            Self::Arithmetic => "arithmetic",
            Self::Power => "power",
            Self::Parabola => "parabola",
        }
    }

    /// Parameters common to all vessels, the scatter included.
    const fn parameters(self) -> usize {
        match self {
            Self::Stated(_) => 1,
            Self::Geometric(..) | Self::Arithmetic | Self::Power => 2,
            Self::Parabola => 3,
        }
    }
}

/// One vessel's members: logarithms and their relative uncertainties.
#[derive(Clone, Debug, PartialEq)]
struct Members {
    vessel: usize,
    logs: Vec<f64>,
    us: Vec<f64>,
}

/// A shape fitted to vessels.
#[derive(Clone, Debug, PartialEq)]
struct Fit {
    /// Logarithm of each member, up to the vessel's size.
    mean: Vec<f64>,
    /// Logarithm of the ratio, of a geometric series.
    log_ratio: Option<f64>,
    /// Relative scatter about the shape.
    scatter: f64,
    log_likelihood: f64,
}

/// What is found of one series.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SeriesVerdict {
    /// Its name.
    pub name: String,
    /// Vessels with every member.
    pub vessels: usize,
    /// The ratio stated, or the likeliest within the bounds.
    pub ratio: Option<f64>,
    /// The likeliest ratio of these vessels, bounds or not.
    pub likeliest: Option<f64>,
    /// Relative scatter about the series, measurement taken out.
    pub scatter: Option<f64>,
    /// Bayesian information criterion less that of the best alternative: below 0 the series is the better description.
    pub bic_difference: Option<f64>,
    /// The best alternative.
    pub alternative: Option<&'static str>,
    /// Of a stated ratio: probability that a decoy ratio would lie as near the likeliest.
    pub p: Option<f64>,
    /// Probability that the half that was held out would fit the series so much better than the best alternative of the
    /// first half if both were as good.
    pub held_out: Option<f64>,
    /// Whether the series is accepted: preferred by the criterion and by the held-out half.
    pub accepted: bool,
}

/// Judges a series.
///
/// Every vessel has its own size; ratio and scatter are common. The alternatives are an arithmetic series, a power of the
/// place and a parabola of the logarithms. On the first half of the vessels everything is fitted; the held-out half says
/// whether the series predicts it better than the best alternative that does not contain the series.
///
/// # References
/// Schwarz 1978 (the criterion); Vuong 1989, Likelihood ratio tests for model selection and non-nested hypotheses.
pub(super) fn judge(lengths: &Lengths, claims: &Claims, series: &Series, first: &[bool], seed: Seed) -> SeriesVerdict {
    let all = members(lengths, series);
    let all: Vec<Members> = drawn(all.len(), MOST_JUDGED, seed).into_iter().map(|place| all[place].clone()).collect();
    let mut verdict = SeriesVerdict { name: series.name.clone(), vessels: all.len(), ..SeriesVerdict::default() };
    let shape = match series.ratio {
        Value::Fixed(ratio) => Shape::Stated(ratio.ln()),
        Value::Fitted { from, to } => Shape::Geometric(from.ln(), to.ln()),
    };
    if all.len() < LEAST_VESSELS {
        return verdict;
    }
    let values = all.iter().map(|m| m.logs.len() - 1).sum::<usize>() as f64;
    let criterion = |shape: Shape, fit: &Fit| shape.parameters() as f64 * values.ln() - 2.0 * fit.log_likelihood;
    let own = fit(&all, shape);
    let free = fit(&all, Shape::Geometric(-MOST_GROWTH.ln(), MOST_GROWTH.ln()));
    let others = [Shape::Arithmetic, Shape::Power, Shape::Parabola];
    let best =
        others.map(|other| (criterion(other, &fit(&all, other)), other)).into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
    verdict.ratio = own.log_ratio.map(f64::exp);
    verdict.likeliest = free.log_ratio.map(f64::exp);
    verdict.scatter = Some(own.scatter);
    verdict.bic_difference = best.map(|(least, _)| criterion(shape, &own) - least);
    verdict.alternative = best.map(|(_, other)| other.word());
    if let (Shape::Stated(stated), Some(likeliest)) = (shape, free.log_ratio) {
        // A decoy ratio lies anywhere within reach; so near the likeliest it lies in this share of it.
        verdict.p = Some(((stated - likeliest).abs() / claims.reach.ln_1p()).min(1.0));
    }
    let (one, other): (Vec<Members>, Vec<Members>) = all.into_iter().partition(|m| first[m.vessel]);
    verdict.held_out = held_out(&one, &other, shape);
    let honest = claims.fixed_before_looking || matches!(shape, Shape::Geometric(..));
    let preferred = verdict.bic_difference.is_some_and(|difference| difference < 0.0);
    verdict.accepted = honest && preferred && verdict.held_out.is_some_and(|p| p <= 0.05);
    verdict
}

/// Of more vessels so many drawn at random are judged: the series' ratio is then known to a fiftieth of what vessels scatter.
const MOST_JUDGED: usize = 2_000;

/// Fewer vessels than this say nothing of scatter and ratio together (project).
const LEAST_VESSELS: usize = 6;

fn members(lengths: &Lengths, series: &Series) -> Vec<Members> {
    let of = |vessel: usize| {
        let found: Option<Vec<_>> = series.lengths.iter().map(|&length| lengths.values[length][vessel]).collect();
        let found = found?;
        Some(Members {
            vessel,
            logs: found.iter().map(|member| member.value().ln()).collect(),
            us: found.iter().map(|member| member.standard_uncertainty() / member.value()).collect(),
        })
    };
    (0..lengths.vessels.len()).filter_map(of).collect()
}

/// Vuong's comparison on the held-out half.
fn held_out(one: &[Members], other: &[Members], shape: Shape) -> Option<f64> {
    if one.len() < LEAST_VESSELS / 2 || other.len() < LEAST_VESSELS / 2 {
        return None;
    }
    let own = fit(one, shape);
    let rivals = [Shape::Arithmetic, Shape::Power].map(|rival| fit(one, rival));
    let rival = rivals.into_iter().max_by(|a, b| a.log_likelihood.total_cmp(&b.log_likelihood))?;
    let gain = |m: &Members| log_likelihood(m, &own.mean, own.scatter) - log_likelihood(m, &rival.mean, rival.scatter);
    let gains: Vec<f64> = other.iter().map(gain).collect();
    let found = moments(&gains)?;
    let deviation = found.standard_deviation;
    let n = gains.len() as f64;
    if deviation <= 0.0 {
        return None;
    }
    Some(1.0 - t_below(found.mean * n.sqrt() / deviation, n - 1.0))
}

fn fit(members: &[Members], shape: Shape) -> Fit {
    let count = members.first().map_or(0, |m| m.logs.len());
    let places: Vec<f64> = (0..count).map(|j| j as f64).collect();
    match shape {
        Shape::Stated(log) => with_mean(members, places.iter().map(|j| j * log).collect(), Some(log)),
        Shape::Geometric(from, to) => {
            let found = linear(members, std::slice::from_ref(&places));
            // Within bounds the likelihood has one top: beyond a bound, the bound is the likeliest.
            let log = found.coefficients.first().copied().unwrap_or_default().clamp(from, to);
            with_mean(members, places.iter().map(|j| j * log).collect(), Some(log))
        }
        Shape::Arithmetic => {
            let last = (count - 1) as f64;
            let run = |growth: f64| places.iter().map(|j| (1.0 + (growth.exp() - 1.0) * j / last).ln()).collect();
            let worse = |growth: f64| -with_mean(members, run(growth), None).log_likelihood;
            with_mean(members, run(least(worse, -MOST_GROWTH.ln(), MOST_GROWTH.ln())), None)
        }
        Shape::Power => linear(members, &[places.iter().map(|j| (j + 1.0).ln()).collect()]).fit,
        Shape::Parabola => linear(members, &[places.clone(), places.iter().map(|j| j * j).collect()]).fit,
    }
}

struct Linear {
    coefficients: Vec<f64>,
    fit: Fit,
}

/// The likeliest combination of runs, each vessel at its own size.
fn linear(members: &[Members], runs: &[Vec<f64>]) -> Linear {
    let mean = |scatter: f64| {
        let coefficients = weighted(members, runs, scatter);
        let count = runs.first().map_or(0, Vec::len);
        let at = |j: usize| runs.iter().zip(&coefficients).map(|(run, c)| c * run[j]).sum();
        (coefficients.clone(), (0..count).map(at).collect::<Vec<f64>>())
    };
    let worse = |log_scatter: f64| {
        let scatter = log_scatter.exp();
        -total(members, &mean(scatter).1, scatter)
    };
    let scatter = least(worse, SCATTER.0.ln(), SCATTER.1.ln()).exp();
    let (coefficients, mean) = mean(scatter);
    let log_likelihood = total(members, &mean, scatter);
    Linear { coefficients, fit: Fit { mean, log_ratio: None, scatter, log_likelihood } }
}

/// Weighted least squares of the logarithms on the runs, each vessel's weighted mean taken off.
fn weighted(members: &[Members], runs: &[Vec<f64>], scatter: f64) -> Vec<f64> {
    let n = runs.len();
    let (mut normal, mut right) = (vec![0.0; n * n], vec![0.0; n]);
    for m in members {
        let weights: Vec<f64> = m.us.iter().map(|u| 1.0 / (u * u + scatter * scatter)).collect();
        let sum: f64 = weights.iter().sum();
        let centred = |values: &[f64]| -> Vec<f64> {
            let middle = values.iter().zip(&weights).map(|(v, w)| v * w).sum::<f64>() / sum;
            values.iter().map(|v| v - middle).collect()
        };
        let logs = centred(&m.logs);
        let runs: Vec<Vec<f64>> = runs.iter().map(|run| centred(run)).collect();
        let product = |a: &[f64], b: &[f64]| a.iter().zip(b).zip(&weights).map(|((a, b), w)| a * b * w).sum::<f64>();
        for i in 0..n {
            right[i] += product(&runs[i], &logs);
            (0..n).for_each(|j| normal[i * n + j] += product(&runs[i], &runs[j]));
        }
    }
    if crate::math::cholesky::factorise(&mut normal, n) {
        crate::math::cholesky::solve(&normal, n, &mut right);
    }
    right
}

/// The likeliest scatter about a given run.
fn with_mean(members: &[Members], mean: Vec<f64>, log_ratio: Option<f64>) -> Fit {
    let worse = |log_scatter: f64| -total(members, &mean, log_scatter.exp());
    let scatter = least(worse, SCATTER.0.ln(), SCATTER.1.ln()).exp();
    let log_likelihood = total(members, &mean, scatter);
    Fit { mean, log_ratio, scatter, log_likelihood }
}

fn total(members: &[Members], mean: &[f64], scatter: f64) -> f64 {
    members.iter().map(|m| log_likelihood(m, mean, scatter)).sum()
}

/// Log-likelihood of one vessel's members about a run, whatever the vessel's size: the size is integrated out.
fn log_likelihood(members: &Members, mean: &[f64], scatter: f64) -> f64 {
    // Nothing is allocated: a fit asks for this some thousand times of every vessel.
    let rests = || {
        let weighted = members.us.iter().map(|u| 1.0 / (u * u + scatter * scatter));
        members.logs.iter().zip(mean).map(|(log, mean)| log - mean).zip(weighted)
    };
    let sum: f64 = rests().map(|(_, w)| w).sum();
    let middle = rests().map(|(r, w)| r * w).sum::<f64>() / sum;
    let square: f64 = rests().map(|(r, w)| w * (r - middle) * (r - middle)).sum();
    let logs: f64 = rests().map(|(_, w)| w.ln()).sum();
    0.5 * (logs - sum.ln() - square - (members.logs.len() as f64 - 1.0) * LN_TWO_PI)
}

#[cfg(test)]
mod tests {
    use super::super::statement::tests::on;
    use super::*;
    use crate::quantity::Estimate;
    use rand::Rng;
    use rand_distr::StandardNormal;

    fn corpus(run: impl Fn(usize) -> f64, scatter: f64, seed: u64) -> (Lengths, Vec<bool>) {
        let mut rng = Seed::new(seed).rng();
        let mut values = vec![Vec::new(); 5];
        for _ in 0..40 {
            let size = 20.0 * (0.3 * rng.sample::<f64, _>(StandardNormal)).exp();
            for (j, column) in values.iter_mut().enumerate() {
                let value = size * run(j) * (scatter * rng.sample::<f64, _>(StandardNormal)).exp();
                column.push(Estimate::new(value, 0.001 * value).ok());
            }
        }
        let vessels = (0..40).map(|v| v.to_string()).collect();
        let lengths = Lengths { vessels, groups: vec![None; 40], sizes: vec![None; 40], values };
        (lengths, (0..40).map(|v| v % 2 == 0).collect())
    }

    fn verdict(run: impl Fn(usize) -> f64, ratio: Value) -> SeriesVerdict {
        let (lengths, first) = corpus(run, 0.01, 4);
        let claims = on(&["a"], &[]);
        let series = Series { name: "s".into(), lengths: (0..5).collect(), ratio };
        judge(&lengths, &claims, &series, &first, Seed::new(1))
    }

    #[test]
    fn a_planted_series_is_preferred_and_its_ratio_recovered() {
        let found = verdict(|j| 1.3_f64.powi(j as i32), Value::Fixed(1.3));
        // The parabola has two parameters more, 2 ln 160 = 10.2, and gains a chi-square of two degrees: above 8 in 2 %.
        assert!(found.accepted && found.bic_difference.unwrap() < -2.0, "{found:?}");
        // 40 vessels x 10 squared places about their mean: 0.01 / sqrt(400) = 0.0005 of the logarithm; 4 of them
        assert!((found.likeliest.unwrap() / 1.3 - 1.0).abs() < 0.002);
        assert!((found.scatter.unwrap() / 0.01 - 1.0).abs() < 0.25); // 160 degrees: 5.6 % each
        let fitted = verdict(|j| 1.3_f64.powi(j as i32), Value::Fitted { from: 1.0, to: 2.0 });
        assert!(fitted.accepted && fitted.p.is_none());
    }

    #[test]
    fn equal_differences_and_a_wrong_ratio_are_not_accepted() {
        let arithmetic = verdict(|j| 1.0 + 0.4 * j as f64, Value::Fitted { from: 1.0, to: 2.0 });
        assert!(!arithmetic.accepted && arithmetic.alternative == Some("arithmetic"), "{arithmetic:?}");
        let wrong = verdict(|j| 1.3_f64.powi(j as i32), Value::Fixed(1.2));
        assert!(!wrong.accepted && wrong.p == Some(1.0), "{wrong:?}"); // 8 % off, decoys reach 5 %
    }

    #[test]
    fn too_few_vessels_are_not_judged() {
        let lengths = Lengths { vessels: vec!["a".into()], values: vec![vec![None]; 3], ..Lengths::default() };
        let series = Series { name: "s".into(), lengths: vec![0, 1, 2], ratio: Value::Fixed(2.0) };
        let found = judge(&lengths, &on(&["a"], &[]), &series, &[true], Seed::new(1));
        assert_eq!((found.vessels, found.bic_difference, found.accepted), (0, None, false));
    }
}
