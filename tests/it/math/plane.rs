//! The least-squares plane and line against known answers.

use nalgebra::{Point3, Vector3};
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use tornus::math::{line, plane};

use super::{close, numbers, published};

/// F2: residuals orthogonal to the Jacobian, so the answer is known.
#[test]
fn null_space_plane() {
    let Some(text) = published("roundness/ls_plane_nullspace.csv") else { return };
    let points: Vec<Point3<f64>> = numbers(&text).iter().map(|row| Point3::new(row[0], row[1], row[2])).collect();
    let fit = plane::least_squares(&points).unwrap();
    let wanted = Vector3::new(0.09759000729485331, -0.19518001458970663, 0.9759000729485331);
    assert!((fit.normal - wanted).norm() < 1e-10);
    close(fit.normal.dot(&(Point3::new(5.0, -3.0, 100.0) - fit.centroid)), 0.0, 1e-10);
    close(fit.rms, 0.007187766643555412, 1e-10);
}

/// F1: saddle z = 0.01 (1 - x / 20) (1 - y / 20) and dish on a 5 x 5 grid of 10 mm, closed form.
#[test]
fn flatness_of_saddle_and_dish() {
    let grid = |height: &dyn Fn(f64, f64) -> f64| -> Vec<Point3<f64>> {
        let nodes = (0..25).map(|k| (10.0 * f64::from(k % 5), 10.0 * f64::from(k / 5)));
        nodes.map(|(x, y)| Point3::new(x, y, height(x, y))).collect()
    };
    let saddle = grid(&|x, y| 0.01 * (1.0 - x / 20.0) * (1.0 - y / 20.0));
    close(plane::least_squares(&saddle).unwrap().peak_to_valley, 0.02, 1e-15);
    let dish = grid(&|x, y| 0.005 * ((1.0 - x / 20.0).powi(2) + (1.0 - y / 20.0).powi(2)));
    close(plane::least_squares(&dish).unwrap().peak_to_valley, 0.01, 1e-15);
}

#[test]
fn poor_points_have_no_plane() {
    let along = |t: f64| Point3::new(t, 2.0 * t, -t);
    assert_eq!(plane::least_squares(&[along(0.0), along(1.0)]), Err(plane::PlaneError::TooFew { count: 2 }));
    assert_eq!(plane::least_squares(&[0.0, 1.0, 2.0, 5.0].map(along)), Err(plane::PlaneError::Degenerate));
    assert_eq!(plane::least_squares(&[along(1.0); 5]), Err(plane::PlaneError::Degenerate));
    let hole = [along(0.0), along(f64::NAN), along(2.0)];
    assert_eq!(plane::least_squares(&hole), Err(plane::PlaneError::NotFinite { index: 1 }));
}

#[test]
fn the_plane_turns_with_its_points() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(2);
    for _ in 0..200 {
        let points: Vec<Point3<f64>> = (0..30)
            .map(|_| Point3::new(rng.gen_range(-9.0..9.0), rng.gen_range(-9.0..9.0), rng.gen_range(-0.1..0.1)))
            .collect();
        let turn = nalgebra::Rotation3::from_euler_angles(rng.gen_range(-3.0..3.0), rng.gen_range(-1.0..1.0), 0.7);
        let shift = Vector3::new(1000.0, -300.0, 20.0);
        let moved: Vec<Point3<f64>> = points.iter().map(|p| turn * p + shift).collect();
        let (here, there) = (plane::least_squares(&points).unwrap(), plane::least_squares(&moved).unwrap());
        close(there.rms, here.rms, 1e-12);
        close(there.peak_to_valley, here.peak_to_valley, 1e-11);
        close((turn * here.normal).dot(&there.normal).abs(), 1.0, 1e-13);
    }
}

/// The variances of offset and slope, and their covariance away from the mean height, by simulation.
#[test]
fn line_scatters_as_stated() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(3);
    let heights: Vec<f64> = (0..40).map(|k| f64::from(k * k) / 20.0).collect();
    let weights: Vec<f64> = (0..40).map(|k| 1.0 / (0.01 + 0.001 * f64::from(k))).collect();
    let (mut offsets, mut slopes, mut cross, runs) = (0.0, 0.0, 0.0, 4000);
    let mut expected = nalgebra::Matrix2::zeros();
    for _ in 0..runs {
        let mut noise = |k: usize| (12.0 / weights[k]).sqrt() * rng.gen_range(-0.5..0.5);
        let points: Vec<Point3<f64>> =
            heights.iter().enumerate().map(|(k, z)| Point3::new(1.0 + 0.02 * z + noise(k), noise(k), *z)).collect();
        let fit = line::fit(&points, Some(&weights)).unwrap();
        let (offset, slope) = (fit.at(10.0).x - 1.2, fit.slope.x - 0.02);
        offsets += offset * offset;
        slopes += slope * slope;
        cross += offset * slope;
        expected = fit.covariance_at(10.0);
    }
    // The relative standard deviation of a variance from 4000 runs is sqrt(2 / 4000) = 0.022.
    let runs = f64::from(runs);
    assert!((offsets / runs / expected[(0, 0)] - 1.0).abs() < 0.1);
    assert!((slopes / runs / expected[(1, 1)] - 1.0).abs() < 0.1);
    assert!((cross / runs / expected[(0, 1)] - 1.0).abs() < 0.2);
}

#[test]
fn poor_points_have_no_line() {
    let level = [Point3::new(1.0, 0.0, 5.0), Point3::new(2.0, 0.0, 5.0)];
    assert_eq!(line::fit(&level, None), Err(line::LineError::Degenerate));
    assert_eq!(line::fit(&[], None), Err(line::LineError::Degenerate));
    assert_eq!(line::fit(&level, Some(&[1.0])), Err(line::LineError::LengthMismatch { points: 2, weights: 1 }));
    assert_eq!(line::fit(&level, Some(&[1.0, -1.0])), Err(line::LineError::NotFinite { index: 1 }));
}
