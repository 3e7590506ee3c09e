//! The Gaussian filter of a closed profile, as a transmission of harmonics and as weights on an even grid.

use std::f64::consts::TAU;

/// alpha = sqrt(ln 2 / pi): with it the Gaussian transmits one half at the cutoff (ISO 16610-21).
pub const ALPHA: f64 = 0.469_718_639_349_825_67;

/// The share of harmonic `upr` that the long-wave filter of `cutoff` (UPR) lets pass: 2^-(upr / cutoff)^2.
///
/// # Example
/// ```
/// use tornus::math::gaussian_filter::transmission;
/// assert_eq!(transmission(50.0, 50.0), 0.5);
/// assert_eq!(transmission(100.0, 50.0), 0.0625); // 2^-4
/// ```
///
/// # References
/// ISO 16610-21 (exp(-pi (alpha n / cutoff)^2) with alpha = sqrt(ln 2 / pi)); clause not checked.
#[must_use]
pub fn transmission(upr: f64, cutoff: f64) -> f64 {
    let ratio = upr / cutoff;
    (-ratio * ratio).exp2()
}

/// The weights of the filter on a closed even grid of `count` points, from offset 0 on; they sum to 1 and are circular.
///
/// s(x) = exp(-pi (x / (alpha lambda))^2) / (alpha lambda), wrapped round the revolution, where lambda is the wavelength
/// of `cutoff`. On a grid of more than 6 x cutoff points they give [`transmission`] to 1e-9 (the tail beyond the grid's
/// own limit folds back).
///
/// # Units and shapes
/// `cutoff` in UPR, > 0; `count` weights.
///
/// # References
/// ISO 16610-21, weighting function for closed profiles; clause not checked.
#[must_use]
pub fn weights(count: usize, cutoff: f64) -> Vec<f64> {
    let width = ALPHA * TAU / cutoff;
    let turns = (width / TAU * REACH).ceil() as i64;
    let mut weights: Vec<f64> = (0..count)
        .map(|node| {
            let angle = TAU * node as f64 / count as f64;
            (-turns - 1..=turns).map(|turn| weight_at((angle + TAU * turn as f64) / width)).sum()
        })
        .collect();
    let total: f64 = weights.iter().sum();
    for weight in &mut weights {
        *weight /= total;
    }
    weights
}

/// Beyond this many widths the weight is below 1e-22: exp(-pi 4^2).
const REACH: f64 = 4.0;

fn weight_at(widths: f64) -> f64 {
    (-std::f64::consts::PI * widths * widths).exp()
}

/// The mean line of a closed profile on an even grid, by the circular sum with `weights` (as many as `values`).
///
/// The order of work is the square of the count: for long profiles filter the harmonics by [`transmission`] instead.
#[must_use]
pub fn filter(values: &[f64], weights: &[f64]) -> Vec<f64> {
    let count = values.len();
    (0..count)
        .map(|node| {
            weights.iter().enumerate().map(|(offset, weight)| weight * values[(node + count - offset) % count]).sum()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn alpha_is_its_definition() {
        assert!((ALPHA - (std::f64::consts::LN_2 / std::f64::consts::PI).sqrt()).abs() < 1e-16);
    }

    #[test]
    fn weights_and_transmission_agree() {
        for (cutoff, upr, tolerance) in
            [(50.0, 7.0, 1e-12), (50.0, 50.0, 1e-12), (15.0, 40.0, 1e-12), (1.5, 1.0, 1e-12)]
        {
            let count = 720;
            let wave: Vec<f64> = (0..count).map(|j| (upr * TAU * f64::from(j) / f64::from(count)).cos()).collect();
            let passed = filter(&wave, &weights(wave.len(), cutoff));
            for (out, into) in passed.iter().zip(&wave) {
                let error = (out - transmission(upr, cutoff) * into).abs();
                assert!(error < tolerance, "cutoff {cutoff}, {upr} UPR: {error}");
            }
        }
    }
}
