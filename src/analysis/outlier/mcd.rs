//! Centre and covariance of the half of the rows that lies closest together.

use ndarray::{Array2, ArrayView1};
use rand::seq::index;

use crate::math::cholesky;
use crate::math::density::{chi_square_below, chi_square_quantile};
use crate::quantity::Seed;

/// Concentration steps before the starts are compared, and starts that go on to the end (Rousseeuw & Van Driessen 1999).
const FIRST_STEPS: usize = 2;
const KEPT_STARTS: usize = 10;

/// Concentration steps at most; each lowers the determinant or is the last.
const MOST_STEPS: usize = 100;

/// Starts are compared on at most this many rows.
const MOST_COMPARED_ON: usize = 600;

/// Rows within this quantile of chi-square about the raw estimate enter the reweighted one.
const REWEIGHTED_WITHIN: f64 = 0.975;

/// How much less than consistent the raw covariance of the half is in small samples: 1 - exp(first) n^-second of one and of
/// two dimensions (Pison, Van Aelst & Willems 2002; digits as general statistics packages print them).
const SMALL_SAMPLE: [(f64, f64); 2] =
    [(0.262_024_211_897_096, 0.604_756_680_630_497), (0.673_292_623_522_027, 0.691_365_864_961_895)];

/// The same of p > 2: 1 - first p^-second at 2 p^2 and at 3 p^2 rows, between and beyond them straight in the logarithms.
const SMALL_SAMPLE_BEYOND: [(f64, f64, f64); 2] =
    [(2.0, 1.427_645_716_878_02, 1.262_633_369_321_51), (3.0, 1.061_411_159_817_25, 1.289_079_914_403_87)];

/// Minimum covariance determinant estimate of rows in p dimensions.
#[derive(Clone, Debug, PartialEq)]
pub struct Mcd {
    /// The h rows whose covariance has the least determinant, in order.
    pub subset: Vec<usize>,
    /// ln of that determinant (covariance with divisor h - 1, no factor).
    pub log_determinant: f64,
    /// Mean of the reweighted rows.
    pub centre: Vec<f64>,
    /// Covariance of the reweighted rows, row by row, consistent at the normal, itself without a small-sample factor.
    pub covariance: Vec<f64>,
    /// Squared robust distance of every row.
    pub square_distances: Vec<f64>,
}

impl Mcd {
    /// Squared distances of `rows` from the centre, each in the covariance with the variances of its own measurement added;
    /// `None` if a sum is not positive definite.
    #[must_use]
    pub fn noisy_square_distances(&self, rows: &Array2<f64>, noise: &Array2<f64>) -> Option<Vec<f64>> {
        let p = self.centre.len();
        let one = |(row, noise): (ArrayView1<'_, f64>, ArrayView1<'_, f64>)| {
            let mut lower = self.covariance.clone();
            noise.iter().enumerate().for_each(|(k, variance)| lower[k * p + k] += variance);
            if !cholesky::factorise(&mut lower, p) {
                return None;
            }
            let mut rest: Vec<f64> = row.iter().zip(&self.centre).map(|(value, mean)| value - mean).collect();
            cholesky::solve_lower(&lower, p, &mut rest);
            Some(rest.iter().map(|value| value * value).sum())
        };
        rows.rows().into_iter().zip(noise.rows()).map(one).collect()
    }
}

/// The minimum covariance determinant estimate with h = (n + p + 1) / 2, from `starts` random subsets of p + 1 rows.
///
/// # Errors and edge cases
/// `None` if there are not more than 2 p rows, no dimension, or the half that lies closest together spans fewer dimensions.
///
/// # References
/// Rousseeuw & Van Driessen 1999, A fast algorithm for the minimum covariance determinant estimator; Pison, Van Aelst &
/// Willems 2002, Small sample corrections for LTS and MCD (of the raw estimate, before rows are reweighted).
#[must_use]
pub fn minimum_covariance_determinant(rows: &Array2<f64>, starts: usize, seed: Seed) -> Option<Mcd> {
    let (n, p) = rows.dim();
    if p == 0 || n <= 2 * p {
        return None;
    }
    let part = index_of_part(n, seed);
    let compared = rows.select(ndarray::Axis(0), &part);
    let kept = best_starts(&compared, starts, seed.derive(1));
    let ends = kept.into_iter().filter_map(|start| concentrate(&compared, start, half(part.len(), p), MOST_STEPS));
    let best = ends.min_by(|a, b| a.log_determinant.total_cmp(&b.log_determinant))?;
    // The rows compared are all rows of a corpus that is not large; then this is at rest already.
    reweight(rows, concentrate(rows, best, half(n, p), MOST_STEPS)?)
}

fn half(n: usize, p: usize) -> usize {
    (n + p).div_ceil(2).min(n)
}

fn index_of_part(n: usize, seed: Seed) -> Vec<usize> {
    if n <= MOST_COMPARED_ON {
        return (0..n).collect();
    }
    let mut part = index::sample(&mut seed.rng(), n, MOST_COMPARED_ON).into_vec();
    part.sort_unstable();
    part
}

/// The starts whose covariances have the least determinants after a few steps.
fn best_starts(rows: &Array2<f64>, starts: usize, seed: Seed) -> Vec<Moments> {
    let (n, p) = rows.dim();
    let mut rng = seed.rng();
    let mut found: Vec<Moments> = Vec::new();
    for _ in 0..starts {
        let order = index::sample(&mut rng, n, n.min(3 * p + 3)).into_vec();
        // One more row at a time until the covariance is regular.
        let first = (p + 1..=order.len()).find_map(|count| Moments::of(rows, order[..count].to_vec()));
        found.extend(first.and_then(|first| concentrate(rows, first, half(n, p), FIRST_STEPS)));
    }
    found.sort_by(|a, b| a.log_determinant.total_cmp(&b.log_determinant));
    found.dedup_by(|a, b| a.rows == b.rows);
    found.truncate(KEPT_STARTS);
    found
}

/// Mean and covariance of some rows.
#[derive(Clone)]
struct Moments {
    rows: Vec<usize>,
    mean: Vec<f64>,
    covariance: Vec<f64>,
    lower: Vec<f64>,
    log_determinant: f64,
}

impl Moments {
    fn of(all: &Array2<f64>, rows: Vec<usize>) -> Option<Self> {
        let p = all.ncols();
        let count = rows.len() as f64;
        let mean: Vec<f64> = (0..p).map(|k| rows.iter().map(|&row| all[[row, k]]).sum::<f64>() / count).collect();
        let mut covariance = vec![0.0; p * p];
        for &row in &rows {
            for i in 0..p {
                for j in 0..=i {
                    covariance[i * p + j] += (all[[row, i]] - mean[i]) * (all[[row, j]] - mean[j]);
                }
            }
        }
        for i in 0..p {
            for j in 0..=i {
                covariance[i * p + j] /= count - 1.0;
                covariance[j * p + i] = covariance[i * p + j];
            }
        }
        let mut lower = covariance.clone();
        if !cholesky::factorise(&mut lower, p) {
            return None;
        }
        let log_determinant = cholesky::log_determinant(&lower, p);
        Some(Self { rows, mean, covariance, lower, log_determinant })
    }

    fn square_distances(&self, all: &Array2<f64>) -> Vec<f64> {
        let p = self.mean.len();
        let mut rest = vec![0.0; p];
        let mut one = |row: ndarray::ArrayView1<'_, f64>| {
            rest.iter_mut().zip(row).zip(&self.mean).for_each(|((rest, value), mean)| *rest = value - mean);
            cholesky::solve_lower(&self.lower, p, &mut rest);
            rest.iter().map(|value| value * value).sum()
        };
        all.rows().into_iter().map(&mut one).collect()
    }
}

/// Concentration steps: the h rows nearest to the present estimate make the next.
fn concentrate(all: &Array2<f64>, mut moments: Moments, h: usize, steps: usize) -> Option<Moments> {
    for _ in 0..steps {
        let distances = moments.square_distances(all);
        let mut order: Vec<usize> = (0..all.nrows()).collect();
        let nearer = |a: &usize, b: &usize| distances[*a].total_cmp(&distances[*b]).then(a.cmp(b));
        if h < order.len() {
            order.select_nth_unstable_by(h, nearer);
            order.truncate(h);
        }
        order.sort_unstable();
        if order == moments.rows {
            break;
        }
        moments = Moments::of(all, order)?;
    }
    Some(moments)
}

/// Factor that makes the covariance of the innermost `share` of a p-variate normal consistent.
fn consistency(share: f64, p: usize) -> f64 {
    if share >= 1.0 {
        return 1.0;
    }
    share / chi_square_below(chi_square_quantile(share, p as f64), p as f64 + 2.0)
}

/// Factor that makes the raw covariance of `n` normal rows right on average, beside [`consistency`].
fn small_sample(n: usize, p: usize) -> f64 {
    let (n, dimensions) = (n as f64, p as f64);
    let log_short = match p {
        1 | 2 => SMALL_SAMPLE[p - 1].0 - SMALL_SAMPLE[p - 1].1 * n.ln(),
        _ => {
            let [(x, y), (next_x, next_y)] =
                SMALL_SAMPLE_BEYOND.map(|(q, a, b)| ((q * dimensions * dimensions).ln(), a.ln() - b * dimensions.ln()));
            y + (n.ln() - x) * (next_y - y) / (next_x - x)
        }
    };
    1.0 / (1.0 - log_short.exp())
}

fn reweight(all: &Array2<f64>, raw: Moments) -> Option<Mcd> {
    let (n, p) = all.dim();
    let factor = consistency(raw.rows.len() as f64 / n as f64, p) * small_sample(n, p);
    let limit = factor * chi_square_quantile(REWEIGHTED_WITHIN, p as f64);
    let distances = raw.square_distances(all);
    let near: Vec<usize> = (0..n).filter(|&row| distances[row] <= limit).collect();
    let reweighted = Moments::of(all, near)?;
    let factor = consistency(REWEIGHTED_WITHIN, p);
    Some(Mcd {
        subset: raw.rows,
        log_determinant: raw.log_determinant,
        square_distances: reweighted.square_distances(all).into_iter().map(|square| square / factor).collect(),
        centre: reweighted.mean,
        covariance: reweighted.covariance.into_iter().map(|value| value * factor).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn too_few_rows_or_a_flat_half_have_no_estimate() {
        assert_eq!(minimum_covariance_determinant(&Array2::zeros((4, 2)), 50, Seed::new(1)), None);
        assert_eq!(minimum_covariance_determinant(&Array2::zeros((40, 2)), 50, Seed::new(1)), None);
        assert_eq!(minimum_covariance_determinant(&Array2::zeros((9, 0)), 50, Seed::new(1)), None);
    }

    #[test]
    fn distances_do_not_depend_on_scale_and_shear() {
        let rows = Array2::from_shape_fn((40, 2), |(i, j)| ((i * (7 + 4 * j) + 5 * i * i) % 31) as f64);
        let sheared =
            Array2::from_shape_fn(
                (40, 2),
                |(i, j)| if j == 0 { 3.0 * rows[[i, 0]] } else { rows[[i, 1]] - 2.0 * rows[[i, 0]] },
            );
        let (one, other) = (
            minimum_covariance_determinant(&rows, 200, Seed::new(1)).unwrap(),
            minimum_covariance_determinant(&sheared, 200, Seed::new(1)).unwrap(),
        );
        assert_eq!(one.subset, other.subset);
        for (a, b) in one.square_distances.iter().zip(&other.square_distances) {
            assert!((a - b).abs() < 1e-8 * (1.0 + a));
        }
    }
}
