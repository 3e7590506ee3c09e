//! The sums `sum w exp(-i k theta)` over many points at once, without a pass over the points for each k.
//!
//! Each point goes to the nearest of `nodes` grid angles. Within a cell, exp(-i k (theta - node)) is a polynomial in the
//! offset, so the sums are Fourier transforms of the moments `sum w x^p` of the cells. The polynomials are truncated
//! Chebyshev series: with 8 nodes per harmonic of the fit (4 per sum) and 12 terms the first term left out is
//! 2 J_12(pi / 4) < 6e-14 of the sum of the weights.
//!
//! The scheme is a low-rank nonuniform transform: Ruiz-Antolin & Townsend 2018, A nonuniform fast Fourier transform
//! based on low rank approximation, SIAM J. Sci. Comput. 40, A529 (from memory).

use std::cell::RefCell;
use std::f64::consts::{PI, TAU};
use std::rc::Rc;
use std::sync::Arc;

use realfft::RealToComplex;
use realfft::num_complex::Complex64;

use super::transform;

/// Terms of the polynomial within a cell; the error is given above.
const TERMS: usize = 12;

/// Nodes for each harmonic of the fit; the sums go up to twice its highest harmonic.
const NODES_PER_HARMONIC: usize = 8;

/// How many plans a thread keeps; each holds a few hundred kilobytes at 150 harmonics.
const PLANS_KEPT: usize = 8;

thread_local! {
    static PLANS: RefCell<Vec<Rc<MomentPlan>>> = const { RefCell::new(Vec::new()) };
}

/// The sums a fit needs.
pub(super) struct Sums {
    /// `sum w exp(-i k theta)`, k = 0..=2 K.
    pub(super) weights: Vec<Complex64>,
    /// `sum w y exp(-i k theta)`, k = 0..=K.
    pub(super) values: Vec<Complex64>,
}

/// Transforms and polynomials for all fits up to one highest harmonic.
pub(super) struct MomentPlan {
    nodes: usize,
    forward: Arc<dyn RealToComplex<f64>>,
    /// `polynomial[p][k]`: the factor of x^p in exp(-i k offset), x in half cells, as the multiple of 1 or, for odd
    /// p, of -i.
    polynomial: Vec<Vec<f64>>,
}

impl MomentPlan {
    /// The plan for fits up to `highest`, from this thread's store.
    pub(super) fn for_highest(highest: usize) -> Rc<Self> {
        let capacity = transform::friendly_length(highest.max(16));
        PLANS.with(|plans| {
            let mut plans = plans.borrow_mut();
            if let Some(plan) = plans.iter().find(|plan| plan.nodes == NODES_PER_HARMONIC * capacity) {
                return Rc::clone(plan);
            }
            if plans.len() == PLANS_KEPT {
                plans.remove(0);
            }
            let plan = Rc::new(Self::new(capacity));
            plans.push(Rc::clone(&plan));
            plan
        })
    }

    fn new(capacity: usize) -> Self {
        let nodes = NODES_PER_HARMONIC * capacity;
        let mut polynomial = vec![Vec::new(); TERMS];
        for k in 0..=2 * capacity {
            for (order, factor) in cell_polynomial(PI * k as f64 / nodes as f64).into_iter().enumerate() {
                // (-i)^p is -1 at p = 2, i at p = 3: the sign goes into the factor
                polynomial[order].push(if order % 4 < 2 { factor } else { -factor });
            }
        }
        Self { nodes, forward: transform::forward(nodes), polynomial }
    }

    /// The sums for a fit up to `highest`; `weight(i)` and `value(i)` belong to `angles[i]`.
    pub(super) fn sums(
        &self,
        angles: &[f64],
        highest: usize,
        weight: impl Fn(usize) -> f64,
        value: impl Fn(usize) -> f64,
    ) -> Sums {
        let mut moments = vec![Moments { weights: [0.0; TERMS], values: [0.0; TERMS] }; self.nodes];
        let cells_per_radian = self.nodes as f64 / TAU;
        for (index, &angle) in angles.iter().enumerate() {
            let position = angle * cells_per_radian;
            let nearest = position.round();
            let node = (nearest as i64).rem_euclid(self.nodes as i64) as usize;
            moments[node].add(weight(index), value(index), 2.0 * (position - nearest));
        }
        Sums {
            weights: self.spectrum(2 * highest, |node, order| moments[node].weights[order]),
            values: self.spectrum(highest, |node, order| moments[node].values[order]),
        }
    }

    /// `sum_p (-i)^p polynomial[k][p] transform(moments of order p)[k]`, k = 0..=`last`.
    fn spectrum(&self, last: usize, moment: impl Fn(usize, usize) -> f64) -> Vec<Complex64> {
        let mut total = vec![Complex64::new(0.0, 0.0); last + 1];
        let mut cells = self.forward.make_input_vec();
        let mut transformed = self.forward.make_output_vec();
        let mut scratch = self.forward.make_scratch_vec();
        for (order, polynomial) in self.polynomial.iter().enumerate() {
            for (node, cell) in cells.iter_mut().enumerate() {
                *cell = moment(node, order);
            }
            if self.forward.process_with_scratch(&mut cells, &mut transformed, &mut scratch).is_err() {
                unreachable!("buffers come from the plan");
            }
            let terms = total.iter_mut().zip(&transformed).zip(polynomial);
            match order % 2 {
                0 => terms.for_each(|((sum, z), factor)| *sum += z * factor),
                _ => terms.for_each(|((sum, z), factor)| *sum += Complex64::new(z.im * factor, -z.re * factor)),
            }
        }
        total
    }
}

/// The moments of one cell.
#[derive(Clone, Copy)]
struct Moments {
    weights: [f64; TERMS],
    values: [f64; TERMS],
}

impl Moments {
    fn add(&mut self, weight: f64, value: f64, x: f64) {
        // Powers by doubling: a chain of products would wait for each one.
        let (x2, x4) = (x * x, x * x * x * x);
        let x8 = x4 * x4;
        let x3 = x2 * x;
        let powers = [1.0, x, x2, x3, x4, x4 * x, x4 * x2, x4 * x3, x8, x8 * x, x8 * x2, x8 * x3];
        for (sum, power) in self.weights.iter_mut().zip(powers) {
            *sum += weight * power;
        }
        let weighted = weight * value;
        for (sum, power) in self.values.iter_mut().zip(powers) {
            *sum += weighted * power;
        }
    }
}

/// Factors q with exp(-i z x) = sum q_p (-i x)^p for |x| <= 1, from the Chebyshev series
/// exp(-i z x) = J_0(z) + 2 sum (-i)^m J_m(z) T_m(x) cut after `TERMS` terms.
fn cell_polynomial(z: f64) -> [f64; TERMS] {
    let mut factors = [0.0; TERMS];
    // (-i)^m T_m(x) as a polynomial in u = -i x has the recurrence C_(m+1) = 2 u C_m + C_(m-1).
    let mut before = [0.0; TERMS];
    let mut current = [0.0; TERMS];
    current[0] = 1.0;
    for order in 0..TERMS {
        let share = if order == 0 { bessel_j(0, z) } else { 2.0 * bessel_j(order, z) };
        for (factor, c) in factors.iter_mut().zip(&current) {
            *factor += share * c;
        }
        let doubling = if order == 0 { 1.0 } else { 2.0 };
        let mut next = before;
        for power in 1..TERMS {
            next[power] += doubling * current[power - 1];
        }
        if order == 0 {
            next[0] = 0.0;
        }
        before = current;
        current = next;
    }
    factors
}

/// J_m(z) for 0 <= z <= 1 by its power series; 12 terms reach the last digit.
fn bessel_j(order: usize, z: f64) -> f64 {
    let half = 0.5 * z;
    let mut term: f64 = (1..=order).map(|k| half / k as f64).product();
    let mut sum = term;
    for k in 1..12_usize {
        term *= -half * half / (k * (k + order)) as f64;
        sum += term;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};
    use rand_xoshiro::Xoshiro256PlusPlus;

    #[test]
    fn sums_are_those_of_the_definition() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(11);
        let angles: Vec<f64> = (0..500).map(|_| rng.gen_range(-1.0..8.0)).collect();
        let weights: Vec<f64> = angles.iter().map(|_| rng.gen_range(0.0..2.0)).collect();
        let values: Vec<f64> = angles.iter().map(|_| rng.gen_range(-1.0..1.0)).collect();
        for highest in [1, 16, 33, 150] {
            let sums = MomentPlan::for_highest(highest).sums(&angles, highest, |i| weights[i], |i| values[i]);
            let scale: f64 = weights.iter().sum();
            for (k, sum) in sums.weights.iter().enumerate() {
                let direct: Complex64 =
                    angles.iter().zip(&weights).map(|(t, w)| Complex64::from_polar(*w, -(k as f64) * t)).sum();
                assert!((sum - direct).norm() < 1e-13 * scale, "K {highest}, k {k}: {}", (sum - direct).norm() / scale);
            }
            for (k, sum) in sums.values.iter().enumerate() {
                let direct: Complex64 = (0..500)
                    .map(|i| Complex64::from_polar(1.0, -(k as f64) * angles[i]) * weights[i] * values[i])
                    .sum();
                assert!((sum - direct).norm() < 1e-13 * scale);
            }
        }
    }
}
