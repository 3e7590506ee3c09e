//! Real Fourier transforms with planners kept per thread.

use std::cell::RefCell;
use std::sync::Arc;

use realfft::num_complex::Complex64;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

thread_local! {
    static PLANNER: RefCell<RealFftPlanner<f64>> = RefCell::new(RealFftPlanner::new());
}

pub(super) fn forward(length: usize) -> Arc<dyn RealToComplex<f64>> {
    PLANNER.with(|planner| planner.borrow_mut().plan_fft_forward(length))
}

pub(super) fn inverse(length: usize) -> Arc<dyn ComplexToReal<f64>> {
    PLANNER.with(|planner| planner.borrow_mut().plan_fft_inverse(length))
}

/// The least even length, at least `least`, that is 1, 3 or 5 times a power of two: such transforms are fast.
pub(super) fn friendly_length(least: usize) -> usize {
    let mut best = least.max(2).next_power_of_two();
    for factor in [3, 5] {
        let mut length = 2 * factor;
        while length < least {
            length *= 2;
        }
        best = best.min(length);
    }
    best
}

/// The values of `mean` + sum of `cos[n - 1]` cos n theta + `sin[n - 1]` sin n theta at theta = 2 pi j / `count`, j from 0.
///
/// Harmonics beyond half the grid are sampled as they are: they alias, they are not lost.
///
/// # Example
/// ```
/// use tornus::math::fourier::samples;
/// let values = samples(5.0, &[1.0], &[2.0], 4); // 5 + cos + 2 sin at 0, 90, 180, 270 degrees
/// assert!(values.iter().zip([6.0, 7.0, 4.0, 3.0]).all(|(found, wanted)| (found - wanted).abs() < 1e-14));
/// ```
#[must_use]
pub fn samples(mean: f64, cos: &[f64], sin: &[f64], count: usize) -> Vec<f64> {
    if count == 0 {
        return Vec::new();
    }
    let plan = inverse(count);
    let mut spectrum = plan.make_input_vec();
    let mut values = plan.make_output_vec();
    spectrum[0].re = mean;
    for (index, (&a, &b)) in cos.iter().zip(sin).enumerate() {
        let folded = (index + 1) % count;
        if folded == 0 || 2 * folded == count {
            spectrum[folded].re += a; // the sine vanishes on these nodes
        } else if 2 * folded < count {
            spectrum[folded] += Complex64::new(0.5 * a, -0.5 * b);
        } else {
            spectrum[count - folded] += Complex64::new(0.5 * a, 0.5 * b);
        }
    }
    if plan.process(&mut spectrum, &mut values).is_err() {
        unreachable!("buffers come from the plan, the ends of the spectrum are real");
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    #[test]
    fn lengths_are_friendly() {
        assert_eq!([1, 5, 7, 601, 700, 1281].map(friendly_length), [2, 6, 8, 640, 768, 1536]);
    }

    #[test]
    fn grids_too_coarse_alias() {
        let (cos, sin) = ([0.3, -0.2, 0.5, 0.7, 0.11], [0.1, 0.4, -0.6, 0.9, -0.13]);
        for count in [1, 2, 3, 4, 5, 6, 11, 16] {
            for (j, value) in samples(2.0, &cos, &sin, count).iter().enumerate() {
                let theta = TAU * j as f64 / count as f64;
                let direct: f64 = (1..=5)
                    .map(|n| cos[n - 1] * (n as f64 * theta).cos() + sin[n - 1] * (n as f64 * theta).sin())
                    .sum();
                assert!((value - 2.0 - direct).abs() < 1e-13, "{count} nodes, node {j}");
            }
        }
    }
}
