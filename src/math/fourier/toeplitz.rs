//! The normal equations of a harmonic fit: a Hermitian Toeplitz matrix in the sums over the weights.
//!
//! A real periodic function is held as its half spectrum c_0..c_K (c_-n is the conjugate of c_n). The matrix maps c to
//! sum_m S_(n-m) c_m, |n| <= K: the spectrum, cut at K, of the function times the density of the weights. On a grid of
//! more than 4 K nodes that product is exact, so a multiplication costs two real transforms.

use std::sync::Arc;

use nalgebra::{DMatrix, DVector};
use realfft::num_complex::Complex64;
use realfft::{ComplexToReal, RealToComplex};

use super::transform;

/// Residual, relative to the right-hand side, at which the solution is taken as reached.
const TOLERANCE: f64 = 1e-12;

/// The same for the columns that only yield variances.
const VARIANCE_TOLERANCE: f64 = 1e-8;

/// Steps of conjugate gradients after which the dense solution takes over; a condition of 30 needs about 80.
const MOST_STEPS: usize = 120;

const ZERO: Complex64 = Complex64::new(0.0, 0.0);

/// Solution of the normal equations, and the diagonal of the inverse of their real form (mean, cosines, sines).
pub(super) struct Solution {
    /// Half spectrum c_0..c_K.
    pub(super) spectrum: Vec<Complex64>,
    /// Diagonal element of the mean.
    pub(super) mean_factor: f64,
    /// Diagonal elements of the cosines, n = 1..=K.
    pub(super) cos_factor: Vec<f64>,
    /// Diagonal elements of the sines, n = 1..=K.
    pub(super) sin_factor: Vec<f64>,
    /// Steps of conjugate gradients; 0 where the dense solution was taken.
    pub(super) iterations: usize,
}

/// Solves for the half spectrum; `sums[k]` for k = 0..=2 K, `right[n]` for n = 0..=K. `None` if singular.
pub(super) fn solve(sums: &[Complex64], right: &[Complex64]) -> Option<Solution> {
    iterate(sums, right).or_else(|| solve_dense(sums, right))
}

fn iterate(sums: &[Complex64], right: &[Complex64]) -> Option<Solution> {
    let highest = right.len() - 1;
    let mut product = ToeplitzProduct::new(sums, highest);
    let mut last = vec![ZERO; highest + 1];
    let (spectrum, iterations) = conjugate_gradients(&mut product, right, TOLERANCE)?;
    let column = if highest == 0 {
        vec![Complex64::new(1.0 / sums[0].re, 0.0)]
    } else {
        last[highest] = Complex64::new(1.0, 0.0);
        let (even, _) = conjugate_gradients(&mut product, &last, VARIANCE_TOLERANCE)?;
        last[highest] = Complex64::new(0.0, 1.0);
        let (odd, _) = conjugate_gradients(&mut product, &last, VARIANCE_TOLERANCE)?;
        first_column(&even, &odd)
    };
    let (mean_factor, cos_factor, sin_factor) = inverse_diagonal(&column)?;
    Some(Solution { spectrum, mean_factor, cos_factor, sin_factor, iterations })
}

/// The first column of the inverse (right-hand side 1 at n = -K) from the answers to 1 and to i at n = K.
fn first_column(even: &[Complex64], odd: &[Complex64]) -> Vec<Complex64> {
    let highest = even.len() - 1;
    let i = Complex64::new(0.0, 1.0);
    let negative = (1..=highest).rev().map(|n| 0.5 * (even[n].conj() + i * odd[n].conj()));
    let positive = (0..=highest).map(|n| 0.5 * (even[n] + i * odd[n]));
    negative.chain(positive).collect()
}

/// Diagonal of the inverse in real form, from the first column of the complex inverse.
///
/// By the formula of Gohberg & Semencul (1972; from memory, checked against dense inverses), with N x N lower triangular
/// Toeplitz matrices L: T^-1 = (L(x) L(x)^H - L(y) L(y)^H) / x_0, y = (0, conj x_(N-1), .., conj x_1).
fn inverse_diagonal(x: &[Complex64]) -> Option<(f64, Vec<f64>, Vec<f64>)> {
    let size = x.len();
    let highest = (size - 1) / 2;
    let lead = x[0].re;
    let positive = lead > 0.0;
    if !positive {
        return None;
    }
    let y: Vec<Complex64> = std::iter::once(ZERO).chain(x[1..].iter().rev().map(|z| z.conj())).collect();
    let diagonal: Vec<f64> = x
        .iter()
        .zip(&y)
        .scan(0.0, |sum, (x, y)| {
            *sum += x.norm_sqr() - y.norm_sqr();
            Some(*sum / lead)
        })
        .collect();
    let (mut cos, mut sin) = (Vec::with_capacity(highest), Vec::with_capacity(highest));
    for n in 1..=highest {
        let length = highest - n + 1;
        let cross: f64 = dot(&x[2 * n..2 * n + length], &x[..length]) - dot(&y[2 * n..2 * n + length], &y[..length]);
        let both = diagonal[highest + n] + diagonal[highest - n];
        cos.push(both + 2.0 * cross / lead);
        sin.push(both - 2.0 * cross / lead);
    }
    let positive = diagonal[highest] > 0.0 && cos.iter().chain(&sin).all(|factor| *factor > 0.0);
    positive.then_some((diagonal[highest], cos, sin))
}

/// Real part of sum a conj b.
fn dot(a: &[Complex64], b: &[Complex64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a.re * b.re + a.im * b.im).sum()
}

/// The inner product of two real functions by their half spectra.
fn inner(a: &[Complex64], b: &[Complex64]) -> f64 {
    2.0 * dot(a, b) - a[0].re * b[0].re - a[0].im * b[0].im
}

/// Hestenes & Stiefel 1952. `None` where the steps run out or the matrix is not positive.
fn conjugate_gradients(
    product: &mut ToeplitzProduct,
    right: &[Complex64],
    tolerance: f64,
) -> Option<(Vec<Complex64>, usize)> {
    let mut solution = vec![ZERO; right.len()];
    let mut residual = right.to_vec();
    let mut direction = residual.clone();
    let mut mapped = vec![ZERO; right.len()];
    let mut power = inner(&residual, &residual);
    let enough = tolerance * tolerance * power;
    for step in 0..MOST_STEPS {
        if power <= enough {
            return Some((solution, step));
        }
        product.apply(&direction, &mut mapped);
        let curvature = inner(&direction, &mapped);
        let positive = curvature > 0.0;
        if !positive {
            return None;
        }
        let length = power / curvature;
        for n in 0..right.len() {
            solution[n] += length * direction[n];
            residual[n] -= length * mapped[n];
        }
        let next = inner(&residual, &residual);
        let turn = next / power;
        power = next;
        for (d, r) in direction.iter_mut().zip(&residual) {
            *d = r + turn * *d;
        }
    }
    None
}

/// Multiplication by the Toeplitz matrix through a grid.
struct ToeplitzProduct {
    density: Vec<f64>,
    values: Vec<f64>,
    spectrum: Vec<Complex64>,
    scratch: Vec<Complex64>,
    forward: Arc<dyn RealToComplex<f64>>,
    inverse: Arc<dyn ComplexToReal<f64>>,
}

impl ToeplitzProduct {
    fn new(sums: &[Complex64], highest: usize) -> Self {
        let length = transform::friendly_length(4 * highest + 2);
        let (forward, inverse) = (transform::forward(length), transform::inverse(length));
        let scratch = vec![ZERO; forward.get_scratch_len().max(inverse.get_scratch_len())];
        let (mut density, mut spectrum) = (inverse.make_output_vec(), inverse.make_input_vec());
        for (bin, sum) in spectrum.iter_mut().zip(sums) {
            *bin = sum / length as f64;
        }
        spectrum[0].im = 0.0;
        let mut product = Self { values: vec![0.0; length], density: Vec::new(), spectrum, scratch, forward, inverse };
        product.fill_grid(&mut density);
        product.density = density;
        product
    }

    fn fill_grid(&mut self, values: &mut [f64]) {
        if self.inverse.process_with_scratch(&mut self.spectrum, values, &mut self.scratch).is_err() {
            unreachable!("buffers come from the plan, the ends of the spectrum are real");
        }
    }

    fn apply(&mut self, from: &[Complex64], to: &mut [Complex64]) {
        let (used, rest) = self.spectrum.split_at_mut(from.len());
        used.copy_from_slice(from);
        used[0].im = 0.0;
        rest.fill(ZERO);
        let mut values = std::mem::take(&mut self.values);
        self.fill_grid(&mut values);
        for (value, density) in values.iter_mut().zip(&self.density) {
            *value *= density;
        }
        if self.forward.process_with_scratch(&mut values, &mut self.spectrum, &mut self.scratch).is_err() {
            unreachable!("buffers come from the plan");
        }
        self.values = values;
        to.copy_from_slice(&self.spectrum[..to.len()]);
    }
}

/// Cholesky's method on the real normal matrix; for samplings too uneven for conjugate gradients.
fn solve_dense(sums: &[Complex64], right: &[Complex64]) -> Option<Solution> {
    let highest = right.len() - 1;
    let size = 2 * highest + 1;
    let cosine = |k: usize| sums[k].re;
    let sine = |k: i64| if k < 0 { sums[k.unsigned_abs() as usize].im } else { -sums[k as usize].im };
    let matrix = DMatrix::from_fn(size, size, |row, column| {
        let (n, m) = (harmonic(row, highest), harmonic(column, highest));
        match (row > highest, column > highest) {
            (false, false) => 0.5 * (cosine(n.abs_diff(m)) + cosine(n + m)),
            (true, true) => 0.5 * (cosine(n.abs_diff(m)) - cosine(n + m)),
            (false, true) => 0.5 * (sine((n + m) as i64) + sine(m as i64 - n as i64)),
            (true, false) => 0.5 * (sine((n + m) as i64) + sine(n as i64 - m as i64)),
        }
    });
    let vector = DVector::from_fn(size, |row, _| {
        let n = harmonic(row, highest);
        if row > highest { -right[n].im } else { right[n].re }
    });
    let cholesky = matrix.cholesky()?;
    let found = cholesky.solve(&vector);
    let diagonal = cholesky.inverse().diagonal();
    let spectrum = (0..=highest)
        .map(|n| {
            if n == 0 {
                Complex64::new(found[0], 0.0)
            } else {
                Complex64::new(0.5 * found[n], -0.5 * found[highest + n])
            }
        })
        .collect();
    Some(Solution {
        spectrum,
        mean_factor: diagonal[0],
        cos_factor: diagonal.as_slice()[1..=highest].to_vec(),
        sin_factor: diagonal.as_slice()[highest + 1..].to_vec(),
        iterations: 0,
    })
}

/// Rows of the real form: mean, cosines 1..=K, sines 1..=K.
const fn harmonic(row: usize, highest: usize) -> usize {
    if row > highest { row - highest } else { row }
}
