//! Harmonic least squares against a dense solution that shares no code with it.

use std::f64::consts::TAU;

use nalgebra::{DMatrix, DVector};
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use tornus::math::fourier::{FourierError, HarmonicFit, fit, supported_highest};

struct Dense {
    coefficients: DVector<f64>,
    factors: DVector<f64>,
    residual_sum_squares: f64,
}

/// Least squares by the QR decomposition of the full design matrix.
fn dense(angles: &[f64], values: &[f64], weights: &[f64], highest: usize) -> Dense {
    let design = DMatrix::from_fn(angles.len(), 2 * highest + 1, |row, column| match column {
        0 => 1.0,
        n if n <= highest => (n as f64 * angles[row]).cos(),
        n => ((n - highest) as f64 * angles[row]).sin(),
    });
    let roots = DVector::from_iterator(weights.len(), weights.iter().map(|w| w.sqrt()));
    let scaled = DMatrix::from_fn(design.nrows(), design.ncols(), |r, c| design[(r, c)] * roots[r]);
    let right = DVector::from_fn(values.len(), |r, _| values[r] * roots[r]);
    let decomposition = scaled.clone().qr();
    let triangle = decomposition.r();
    let coefficients = triangle.solve_upper_triangular(&(decomposition.q().transpose() * &right)).unwrap();
    let inverse = triangle.solve_upper_triangular(&DMatrix::identity(design.ncols(), design.ncols())).unwrap();
    let factors = (&inverse * inverse.transpose()).diagonal();
    let residual_sum_squares = (right - scaled * &coefficients).norm_squared();
    Dense { coefficients, factors, residual_sum_squares }
}

fn check(angles: &[f64], weights: Option<&[f64]>, highest: usize) -> HarmonicFit {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(highest as u64);
    let values: Vec<f64> = angles
        .iter()
        .map(|t| 50.0 + 0.4 * (t - 0.3).cos() + 0.1 * (3.0 * t).sin() + 0.02 * rng.gen_range(-1.0..1.0))
        .collect();
    let found = fit(angles, &values, weights, highest).unwrap();
    let ones = vec![1.0; angles.len()];
    let wanted = dense(angles, &values, weights.unwrap_or(&ones), highest);
    let coefficients = std::iter::once(&found.mean).chain(&found.cos).chain(&found.sin);
    let factors = std::iter::once(&found.mean_variance_factor).chain(&found.cos_factor).chain(&found.sin_factor);
    for (index, (coefficient, factor)) in coefficients.zip(factors).enumerate() {
        let error = (coefficient - wanted.coefficients[index]).abs();
        assert!(error < 1e-9 * 0.4, "K {highest}, coefficient {index}: off by {error:e}");
        let error = (factor / wanted.factors[index] - 1.0).abs();
        assert!(error < 1e-8, "K {highest}, variance factor {index}: off by {error:e}");
    }
    let error = (found.residual_sum_squares - wanted.residual_sum_squares).abs() / angles.len() as f64;
    assert!(error < 1e-12, "K {highest}: residual sum of squares off by {error:e}");
    found
}

fn random_angles(count: usize, seed: u64, from: f64, to: f64) -> Vec<f64> {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut angles: Vec<f64> = (0..count).map(|_| rng.gen_range(from..to)).collect();
    angles.sort_by(f64::total_cmp);
    angles
}

#[test]
fn uneven_angles_agree_with_the_dense_solution() {
    for (count, wanted) in [(40, 4), (400, 40), (1500, 150), (3, 1)] {
        let angles: Vec<f64> = random_angles(count, 5, 0.0, 1.0)
            .iter()
            .enumerate()
            .map(|(j, wobble)| TAU * (j as f64 + 0.9 * wobble) / count as f64)
            .collect();
        check(&angles, None, wanted);
    }
}

#[test]
fn random_angles_agree_up_to_what_they_support() {
    for seed in 0..5 {
        let angles = random_angles(1200, seed, 0.0, TAU);
        let highest = supported_highest(&angles, 150);
        assert!(highest > 40, "{highest}");
        check(&angles, None, highest);
    }
}

#[test]
fn gaps_agree_up_to_what_they_support() {
    for (gap, highest) in [(TAU / 3.0, 1), (TAU / 6.0, 3), (0.3, 10), (0.1, 31)] {
        let angles = random_angles(2000, 9, 0.0, TAU - gap * 0.999);
        assert!(supported_highest(&angles, 150) <= highest);
        check(&angles, None, supported_highest(&angles, 150));
    }
}

#[test]
fn weights_agree_and_zero_weight_is_absence() {
    let angles = random_angles(900, 3, 0.0, TAU);
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(8);
    let weights: Vec<f64> = angles.iter().map(|t| rng.gen_range(0.2..3.0) * (1.2 + t.cos())).collect();
    check(&angles, Some(&weights), 25);
    let mut some = weights.clone();
    for weight in some.iter_mut().step_by(7) {
        *weight = 0.0;
    }
    let found = check(&angles, Some(&some), 20);
    assert_eq!(found.count, 900 - 129);
}

#[test]
fn very_uneven_density_falls_back_to_the_dense_method() {
    // Four fifths of the weight on a tenth of the turn.
    let mut angles = random_angles(3000, 4, 0.0, 0.6);
    angles.extend((0..90).map(|j| 0.6 + (TAU - 0.6) * f64::from(j) / 90.0));
    check(&angles, None, 30);
}

#[test]
fn too_sparse_and_too_few_are_errors() {
    let angles: Vec<f64> = (0..100).map(|j| TAU * f64::from(j) / 120.0).collect();
    let values = vec![1.0; 100];
    match fit(&angles, &values, None, 10) {
        Err(FourierError::TooSparse { largest_gap_rad, .. }) => {
            assert!((largest_gap_rad - TAU * 21.0 / 120.0).abs() < 1e-12);
        }
        other => panic!("{other:?}"),
    }
    assert!(matches!(
        fit(&angles, &values, None, 50),
        Err(FourierError::UnderDetermined { count: 100, unknowns: 101 })
    ));
    assert!(matches!(fit(&angles, &values[..9], None, 1), Err(FourierError::LengthMismatch { .. })));
    assert!(matches!(fit(&[0.0, f64::NAN, 4.0], &values[..3], None, 1), Err(FourierError::NotFinite { index: 1 })));
    assert!(matches!(fit(&angles, &values, Some(&[-1.0; 100]), 1), Err(FourierError::NotFinite { index: 0 })));
    assert!(matches!(fit(&[], &[], None, 0), Err(FourierError::UnderDetermined { .. })));
}

#[test]
fn one_spot_is_an_error_and_a_constant_is_its_mean() {
    assert!(fit(&[1.0; 9], &[1.0; 9], None, 1).is_err());
    let flat = fit(&[0.0, 2.0, 4.0], &[7.0; 3], None, 1).unwrap();
    assert!((flat.mean - 7.0).abs() < 1e-15 && flat.cos[0].abs() < 1e-15);
    let mean = fit(&[0.3, 0.4], &[1.0, 2.0], None, 0).unwrap();
    assert!((mean.mean - 1.5).abs() < 1e-15 && (mean.mean_variance_factor - 0.5).abs() < 1e-15);
}

#[test]
fn grid_and_single_values_agree() {
    let angles = random_angles(300, 6, 0.0, TAU);
    let values: Vec<f64> = angles.iter().map(|t| 3.0 + (2.0 * t).cos() + 0.1 * (7.0 * t).sin()).collect();
    let found = fit(&angles, &values, None, 9).unwrap();
    for (j, value) in found.on_grid(48, |_| 1.0).iter().enumerate() {
        assert!((value - found.evaluate(TAU * j as f64 / 48.0)).abs() < 1e-12);
    }
    let halved = found.on_grid(4, |n| if n == 2 { 0.5 } else { 0.0 });
    assert!((halved[0] - 3.5).abs() < 1e-12 && (halved[1] - 2.5).abs() < 1e-12);
}
