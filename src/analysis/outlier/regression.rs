//! What level of precision is usual, each vessel predicted from the others.

use ndarray::Array2;
use rand::seq::index;
use rayon::prelude::*;

use super::design::{Block, joined};
use crate::math::bisection::root;
use crate::math::cholesky;
use crate::math::density::{normal_cdf, normal_log_density};
use crate::math::robust::{TUKEY_95, tukey_weight};
use crate::quantity::Seed;

/// Fewest vessels with a known level; fewer say nothing of what is usual.
pub(super) const FEWEST_VESSELS: usize = 8;

/// Tuning of the scale that withstands half the vessels being unusual (Rousseeuw & Yohai 1984).
const TUKEY_BREAKDOWN: f64 = 1.547_645;

/// Shrinkage of the circumstances' effects, in vessels: the effect of a group of eight is taken at 8 / 9.
const SHRINKAGE: f64 = 1.0;

/// A circumstance plays a part if it narrows the spread of the predictions' misses by at least this share ("project"; less
/// is what a circumstance without effect would often seem to do).
const WORTHWHILE: f64 = 0.05;

/// Random starts, and steps of each before they are compared.
const STARTS: usize = 100;
const FIRST_STEPS: usize = 3;

/// Starts are compared on at most this many vessels.
const MOST_COMPARED_ON: usize = 600;

/// The final spread is taken from the residuals within so many first spreads: far enough out to lose little, near enough to leave
/// out what is unusual ("common practice, no source").
const CUT: f64 = 3.0;

/// Share of what all residuals would tell of the spread that those within [`CUT`] tell: their number times the variance of their
/// squares, 0.9973 x 1.733 / 2.
const INFORMATION_KEPT: f64 = 0.864;

/// Steps of the final fit.
const FINAL_STEPS: usize = 50;

/// Least spread of levels about what is usual: 5 % ("project").
const LEAST_SPREAD: f64 = 0.05;

/// To what a spread's logarithm is found: the rounding of sums over thousands of vessels.
const ROUNDING: f64 = 1e-13;

/// Degrees of freedom at least; fewer would call nothing unusual.
const LEAST_DEGREES: f64 = 3.0;

/// A level with the variance of its measurement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Response {
    pub(super) value: f64,
    pub(super) variance: f64,
}

/// What is usual for each vessel, itself left out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Usual {
    /// Predicted levels.
    pub(super) predicted: Vec<f64>,
    /// Standard deviation of a vessel's true level about its prediction.
    pub(super) spreads: Vec<f64>,
    /// Degrees of freedom of the spread of true levels.
    pub(super) degrees: f64,
    /// The circumstances that play a part.
    pub(super) words: Vec<&'static str>,
}

/// Rows of the regression: intercept and columns, responses, variances.
struct Problem<'a> {
    columns: &'a Array2<f64>,
    rows: Vec<(usize, Response)>,
}

/// A fit: coefficients, intercept first, and the spread of the levels about it.
#[derive(Clone)]
struct Fit {
    coefficients: Vec<f64>,
    spread: f64,
}

/// Predicts each vessel's level from the others' by a robust, shrunken regression; `None` of too few vessels.
///
/// The fit withstands nearly half the vessels being unusual (S-estimate of the spread, then M-estimate with 95 %
/// efficiency), so that several unusual vessels do not hide one another. Circumstances enter one at a time, the one that
/// predicts best first, as long as they are worthwhile.
///
/// # References
/// Yohai 1987, High breakdown-point and high efficiency robust estimates for regression; Hoerl & Kennard 1970 (shrinkage).
pub(super) fn usual(blocks: &[Block], responses: &[Option<Response>], seed: Seed) -> Option<Usual> {
    let rows: Vec<_> = responses.iter().enumerate().filter_map(|(row, response)| Some((row, (*response)?))).collect();
    if rows.len() < FEWEST_VESSELS {
        return None;
    }
    let solve = |chosen: &[&Block]| {
        let columns = joined(chosen, responses.len());
        let words = chosen.iter().map(|block| block.word).collect();
        Problem { columns: &columns, rows: rows.clone() }.solve(words, seed)
    };
    let mut chosen: Vec<&Block> = Vec::new();
    let mut best = solve(&chosen)?;
    loop {
        let rest = blocks.iter().filter(|block| chosen.iter().all(|c| c.word != block.word));
        let tried = |block| {
            let with: Vec<&Block> = chosen.iter().copied().chain([block]).collect();
            Some((solve(&with)?, with))
        };
        let found: Vec<_> = rest.collect::<Vec<_>>().into_par_iter().filter_map(tried).collect();
        let Some((next, with)) = found.into_iter().reduce(|a, b| if b.0.0 < a.0.0 { b } else { a }) else { break };
        if next.0 > (1.0 - WORTHWHILE) * best.0 {
            break;
        }
        (best, chosen) = (next, with);
    }
    Some(best.1)
}

impl Problem<'_> {
    fn size(&self) -> usize {
        1 + self.columns.ncols()
    }

    fn regressors(&self, row: usize) -> impl Iterator<Item = f64> {
        std::iter::once(1.0).chain(self.columns.row(row).into_iter().copied())
    }

    fn predict(&self, coefficients: &[f64], row: usize) -> f64 {
        self.regressors(row).zip(coefficients).map(|(x, c)| x * c).sum()
    }

    fn residuals(&self, coefficients: &[f64]) -> Vec<f64> {
        self.rows.iter().map(|(row, response)| response.value - self.predict(coefficients, *row)).collect()
    }

    /// Information matrix of weighted rows, the shrinkage on its diagonal but for the intercept; and the right-hand side.
    fn normal_equations(&self, weights: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let n = self.size();
        let (mut matrix, mut right) = (vec![0.0; n * n], vec![0.0; n]);
        (1..n).for_each(|k| matrix[k * n + k] = SHRINKAGE);
        matrix[0] = 1e-9;
        let mut x = vec![1.0; n];
        for ((row, response), weight) in self.rows.iter().zip(weights).filter(|(_, weight)| **weight > 0.0) {
            x.iter_mut().zip(self.regressors(*row)).for_each(|(own, value)| *own = value);
            for i in 0..n {
                right[i] += weight * x[i] * response.value;
                (0..=i).for_each(|j| matrix[i * n + j] += weight * x[i] * x[j]);
            }
        }
        for i in 0..n {
            (0..i).for_each(|j| matrix[j * n + i] = matrix[i * n + j]);
        }
        (matrix, right)
    }

    fn coefficients(&self, weights: &[f64]) -> Option<Vec<f64>> {
        let (mut matrix, mut right) = self.normal_equations(weights);
        if !cholesky::factorise(&mut matrix, self.size()) {
            return None;
        }
        cholesky::solve(&matrix, self.size(), &mut right);
        Some(right)
    }

    /// Weights of rows at a fit: Tukey's, times how much of the row's variance is not its measurement's.
    fn weights(&self, fit: &Fit, tuning: f64) -> Vec<f64> {
        let residuals = self.residuals(&fit.coefficients);
        let one = |(residual, (_, response)): (&f64, &(usize, Response))| {
            let share = own_share(fit.spread, response.variance);
            tukey_weight(residual * share.sqrt() / fit.spread, tuning) * share
        };
        residuals.iter().zip(&self.rows).map(one).collect()
    }

    /// Refits with new weights; the spread follows if `respread`.
    fn step(&self, fit: &Fit, tuning: f64, respread: bool) -> Option<Fit> {
        let coefficients = self.coefficients(&self.weights(fit, tuning))?;
        let spread = if respread { self.spread(&self.residuals(&coefficients), 0.0) } else { fit.spread };
        Some(Fit { coefficients, spread })
    }

    fn variances(&self) -> Vec<f64> {
        self.rows.iter().map(|(_, response)| response.variance).collect()
    }

    fn spread(&self, residuals: &[f64], used: f64) -> f64 {
        spread(residuals, &self.variances(), used)
    }

    fn solve(&self, words: Vec<&'static str>, seed: Seed) -> Option<(f64, Usual)> {
        let mut fit = self.start(seed)?;
        fit.spread = self.spread(&self.residuals(&fit.coefficients), 0.0);
        for _ in 0..FINAL_STEPS {
            let next = self.step(&fit, TUKEY_95, false)?;
            let moved = next.coefficients.iter().zip(&fit.coefficients).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            fit = next;
            if moved < 1e-9 {
                break;
            }
        }
        self.leave_out(fit, words)
    }

    /// The start with the least spread: fits to few random rows, improved by a few steps.
    fn start(&self, seed: Seed) -> Option<Fit> {
        let part = if self.rows.len() > MOST_COMPARED_ON {
            let mut chosen = index::sample(&mut seed.rng(), self.rows.len(), MOST_COMPARED_ON).into_vec();
            chosen.sort_unstable();
            chosen.into_iter().map(|at| self.rows[at]).collect()
        } else {
            self.rows.clone()
        };
        let part = Problem { columns: self.columns, rows: part };
        let count = part.rows.len();
        let wanted = (self.size() + 1).min(count / 2);
        let mut rng = seed.derive(1).rng();
        let starts: Vec<_> = (0..STARTS).map(|_| index::sample(&mut rng, count, wanted)).collect();
        let improved = |rows: index::IndexVec| {
            let mut weights = vec![0.0; count];
            rows.into_iter().for_each(|row| weights[row] = 1.0);
            let coefficients = part.coefficients(&weights)?;
            let mut fit = Fit { spread: part.spread(&part.residuals(&coefficients), 0.0), coefficients };
            for _ in 0..FIRST_STEPS {
                let Some(next) = part.step(&fit, TUKEY_BREAKDOWN, true) else { break };
                fit = next;
            }
            Some(fit)
        };
        let fits: Vec<Fit> = starts.into_par_iter().filter_map(improved).collect();
        fits.into_iter().reduce(|best, next| if next.spread < best.spread { next } else { best })
    }

    /// Predictions with each row left out, and the spread of what they miss.
    fn leave_out(&self, mut fit: Fit, words: Vec<&'static str>) -> Option<(f64, Usual)> {
        let n = self.size();
        let weights = self.weights(&fit, TUKEY_95);
        let (mut lower, _) = self.normal_equations(&weights);
        if !cholesky::factorise(&mut lower, n) {
            return None;
        }
        let leverage = |row: usize| {
            let mut x: Vec<f64> = self.regressors(row).collect();
            cholesky::solve_lower(&lower, n, &mut x);
            x.iter().map(|value| value * value).sum::<f64>()
        };
        let residuals = self.residuals(&fit.coefficients);
        let mut usual = Usual {
            predicted: (0..self.columns.nrows()).map(|row| self.predict(&fit.coefficients, row)).collect(),
            spreads: (0..self.columns.nrows()).map(leverage).collect(),
            degrees: 0.0,
            words,
        };
        let mut used = 0.0;
        let mut missed = Vec::new();
        for (((row, response), weight), residual) in self.rows.iter().zip(&weights).zip(&residuals) {
            let without = (1.0 - weight * usual.spreads[*row]).max(1e-6);
            used += 1.0 - without;
            missed.push(residual / without);
            usual.predicted[*row] = response.value - residual / without;
            usual.spreads[*row] /= without;
        }
        fit.spread = cut_spread(&residuals, &self.variances(), self.spread(&residuals, used), used);
        usual.spreads.iter_mut().for_each(|leverage| *leverage = fit.spread * (1.0 + *leverage).sqrt());
        let kept = self.rows.iter().zip(&weights).filter(|(_, weight)| **weight > 0.0);
        let shares: Vec<f64> = kept.map(|((_, response), _)| own_share(fit.spread, response.variance)).collect();
        usual.degrees = (INFORMATION_KEPT * (informative(&shares) - used)).max(LEAST_DEGREES);
        Some((self.spread(&missed, 0.0), usual))
    }
}

/// As many vessels measured without error would tell as much of the spread as [`cut_spread`] learns from these shares.
///
/// A squared residual grows with the spread by its share and is weighted by the square of that.
fn informative(shares: &[f64]) -> f64 {
    let sum = |power: i32| shares.iter().map(|share| share.powi(power)).sum::<f64>();
    sum(3).powi(2) / sum(4).max(f64::MIN_POSITIVE)
}

/// The share of a residual's variance that is not its measurement's.
fn own_share(spread: f64, variance: f64) -> f64 {
    spread * spread / (spread * spread + variance)
}

/// The spread at which half the residuals, measured with these variances, look unusual to Tukey's function; `used` is what
/// the fit has already taken up. A residual counts by the share of its variance that is not its measurement's: poor scans
/// say little of how far vessels differ, and half of them must not make vessels seem alike.
fn spread(residuals: &[f64], variances: &[f64], used: f64) -> f64 {
    let freedom = (1.0 - used / residuals.len().max(1) as f64).max(1e-3);
    let unusual = |spread: f64| -> f64 {
        let square = spread * spread;
        let (mut sum, mut count) = (0.0, 0.0);
        for (residual, variance) in residuals.iter().zip(variances) {
            let whole = 1.0 / (square + variance);
            let share = square * whole;
            // The residual's share over the spread, squared: its share of its square.
            let inside = (1.0 - residual * residual * whole / (TUKEY_BREAKDOWN * TUKEY_BREAKDOWN)).max(0.0);
            sum += share * (1.0 - inside * inside * inside);
            count += share;
        }
        sum / (count * freedom)
    };
    let most = residuals.iter().fold(LEAST_SPREAD, |most, residual| most.max(residual.abs()));
    root(|log| unusual(log.exp()) - 0.5, LEAST_SPREAD.ln(), (10.0 * most).ln(), ROUNDING).exp()
}

/// The spread of the residuals within [`CUT`] first spreads by the moments of a normal cut off there: robust as the first is,
/// and nearly as steady as a standard deviation.
///
/// A residual counts by the square of its share. The share itself would be likeliest were the variances of measurement exact;
/// but where they are stated with care, so too great, poor and smoothed scans would make vessels seem more alike than good ones
/// show, and the square loses little (of 60 vessels, half of them poor, a thirtieth).
fn cut_spread(residuals: &[f64], variances: &[f64], first: f64, used: f64) -> f64 {
    let freedom = (1.0 - used / residuals.len().max(1) as f64).max(1e-3);
    let kept: Vec<(f64, f64, f64)> = residuals
        .iter()
        .zip(variances)
        .map(|(residual, variance)| (*residual, *variance, CUT * (first * first + variance).sqrt()))
        .filter(|(residual, _, cut)| residual.abs() <= *cut)
        .collect();
    let excess = |spread: f64| -> f64 {
        let excess = kept.iter().map(|(residual, variance, cut)| {
            let total = spread * spread + variance;
            own_share(spread, *variance).powi(2)
                * (residual * residual / (total * freedom) - cut_variance(cut / total.sqrt()))
        });
        excess.sum::<f64>()
    };
    let most = (2.0 * first).max(2.0 * LEAST_SPREAD);
    root(|log| excess(log.exp()), LEAST_SPREAD.ln(), most.ln(), ROUNDING).exp()
}

/// Variance of a standard normal cut off at -`cut` and `cut`.
fn cut_variance(cut: f64) -> f64 {
    1.0 - 2.0 * cut * normal_log_density(cut, 0.0, 1.0).exp() / (2.0 * normal_cdf(cut) - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::Rng;
    use rand_distr::StandardNormal;

    fn normals(count: usize, seed: u64) -> Vec<f64> {
        let mut rng = Seed::new(seed).rng();
        (0..count).map(|_| rng.sample::<f64, _>(StandardNormal)).collect()
    }

    #[test]
    fn the_spread_of_normals_is_theirs_and_measurement_is_taken_out() {
        let values: Vec<f64> = normals(4_000, 3).iter().map(|z| 0.5 * z).collect();
        assert!((spread(&values, &vec![0.0; 4_000], 0.0) - 0.5).abs() < 0.03);
        assert!((spread(&values, &vec![0.16; 4_000], 0.0) - 0.3).abs() < 0.04); // 0.25 - 0.16 = 0.3^2
    }

    #[test]
    fn the_cut_spread_is_nearly_as_steady_as_a_standard_deviation_and_leaves_out_the_unusual() {
        let estimate = |seed: u64, unusual: usize| {
            let mut values: Vec<f64> = normals(60, 100 + seed).iter().map(|z| 0.5 * z).collect();
            values.iter_mut().take(unusual).for_each(|value| *value -= 4.0);
            let variances = vec![0.0; 60];
            (cut_spread(&values, &variances, spread(&values, &variances, 0.0), 0.0) / 0.5).ln()
        };
        let clean: Vec<f64> = (0..400).map(|seed| estimate(seed, 0)).collect();
        let mean = clean.iter().sum::<f64>() / 400.0;
        let scatter = (clean.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / 399.0).sqrt();
        // 1 / sqrt(2 x 60 x 0.864) = 0.098, known to 4 % from 400 corpora; a fifth is allowed for the cut, which moves too.
        assert!(scatter < 1.2 * 0.098 && mean.abs() < 0.03, "{mean} {scatter}");
        let spoilt = (0..400).map(|seed| estimate(seed, 9)).sum::<f64>() / 400.0;
        assert!(spoilt.abs() < 0.05, "{spoilt}"); // 9 of 60 unusual
    }

    #[test]
    fn vessels_tell_of_the_spread_as_far_as_their_variance_is_their_own() {
        assert!((informative(&[1.0; 20]) - 20.0).abs() < 1e-9);
        assert!((informative(&[0.5; 20]) - 5.0).abs() < 1e-9); // half of the variance: a quarter of what is told
        assert!((informative(&[[1.0; 10], [0.01; 10]].concat()) - 10.0).abs() < 1e-3);
    }

    #[test]
    fn a_fifth_of_unusual_vessels_moves_neither_line_nor_spread_far() {
        let x = normals(60, 1);
        let noise = normals(60, 2);
        let block = Block { word: "size", columns: Array2::from_shape_fn((60, 1), |(row, _)| x[row]) };
        let responses: Vec<_> = (0..60)
            .map(|row| {
                Some(Response {
                    value: 0.8 * x[row] + 0.3 * noise[row] - if row < 12 { 3.0 } else { 0.0 },
                    variance: 0.0,
                })
            })
            .collect();
        let found = usual(&[block], &responses, Seed::new(1)).unwrap();
        for (predicted, x) in found.predicted.iter().zip(&x).take(12) {
            assert!((predicted - 0.8 * x).abs() < 0.6); // a fifth of the 3 they are off by
        }
        assert!(found.spreads[0] < 0.55);
        assert_eq!(found.words, ["size"]);
    }

    #[test]
    fn too_few_vessels_say_nothing_of_what_is_usual() {
        assert_eq!(usual(&[], &[Some(Response { value: 0.0, variance: 0.0 }); 3], Seed::new(1)), None);
    }
}
