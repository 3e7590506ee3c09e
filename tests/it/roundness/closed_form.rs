//! Profiles whose deviations are known in closed form.

use std::f64::consts::TAU;

use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use tornus::Seed;
use tornus::math::circle::CircleError;
use tornus::math::fourier::FourierError;
use tornus::math::gaussian_filter::transmission;
use tornus::roundness::{
    FilteredProfile, NoiseReference, ReferenceCircle, RoundnessError, RoundnessProfile, associate, evaluate, harmonics,
};

use super::upr;
use crate::math::{close, numbers, published};

fn even(count: u32, radius: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
    let angles: Vec<f64> = (0..count).map(|j| TAU * f64::from(j) / f64::from(count)).collect();
    let radii = angles.iter().map(|theta| radius(*theta)).collect();
    (angles, radii)
}

/// R6: R + a cos(n t), closed form: RONt 2 a, RONp = RONv = a, RONq a / root 2 about the least-squares circle.
#[test]
fn one_harmonic() {
    for n in [2, 3, 5, 15] {
        let wave = f64::from(n);
        let (_, radii) = even(720 * n, |theta| 50.0 + 0.1 * (wave * theta).cos());
        let circle = associate(&FilteredProfile::new(radii).unwrap(), ReferenceCircle::Lsci).unwrap();
        close(circle.ront_mm, 0.2, 1e-13);
        close(circle.ronp_mm, 0.1, 1e-13);
        close(circle.ronv_mm, 0.1, 1e-13);
        close(circle.ronq_mm, 0.1 / 2.0_f64.sqrt(), 1e-13);
        assert!(circle.center_mm.coords.norm() < 1e-13);
    }
}

/// R6 through the whole chain: fit at uneven angles, filter, circles; the filter passes 2^-(n / 50)^2.
#[test]
fn one_harmonic_through_the_filter() {
    let noise = NoiseReference::new(upr(100), upr(50), 1024, Seed::new(1)).unwrap();
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(3);
    for n in [2_u16, 3, 7, 20] {
        let angles: Vec<f64> = (0..1000).map(|j| TAU * (f64::from(j) + rng.gen_range(0.0..0.9)) / 1000.0).collect();
        let radii = angles.iter().map(|t| 50.0 + 0.1 * (f64::from(n) * t - 1.0).cos()).collect();
        let profile = RoundnessProfile::new(angles, radii).unwrap();
        let found = evaluate(&profile.fit(upr(100)).unwrap(), 0.0, upr(50), &noise).unwrap();
        let passed = transmission(f64::from(n), 50.0);
        // between nodes of the grid a crest is missed by at most a (1 - cos(n pi / 1024))
        let missed = 2.0 * 0.1 * (1.0 - (f64::from(n) * TAU / 2048.0).cos());
        assert!((found.ront_lsci.value() - 0.2 * passed).abs() <= missed + 1e-10);
        close(found.ronq_lsci.value(), 0.1 * passed / 2.0_f64.sqrt(), 1e-10);
        let third = harmonics(&profile, upr(100)).unwrap().harmonics[usize::from(n) - 1];
        close(third.raw_amplitude_mm, 0.1, 1e-10);
        close(third.phase_rad, 1.0, 1e-9);
    }
}

/// A circle off the axis is round: deviations are distances from its own centre.
#[test]
fn an_eccentric_circle_is_round() {
    let (_, radii) = even(512, |theta| {
        let t = theta - 0.4;
        3.0 * t.cos() + (50.0_f64.powi(2) - (3.0 * t.sin()).powi(2)).sqrt()
    });
    let profile = FilteredProfile::new(radii).unwrap();
    for reference in [ReferenceCircle::Lsci, ReferenceCircle::Mzci, ReferenceCircle::Mcci, ReferenceCircle::Mici] {
        let circle = associate(&profile, reference).unwrap();
        assert!(circle.ront_mm < 1e-12, "{reference:?}: {}", circle.ront_mm);
        close(circle.radius_mm, 50.0, 1e-12);
        assert!((circle.center_mm.coords.norm() - 3.0).abs() < 1e-11);
    }
}

/// G1: ISO 16610-21 Gaussian transmission (memory + exact).
#[test]
fn gaussian_transmission() {
    let Some(text) = published("filter/gaussian_transmission.csv") else { return };
    for row in numbers(&text) {
        let error = (transmission(1.0 / row[0], 1.0) / row[1] - 1.0).abs();
        assert!(error < 1e-12, "wavelength {} of the cutoff: {error:e}", row[0]);
    }
}

/// RONt = RONp + RONv; the minimum zone is the least; mean square = sum of the harmonics' powers (Parseval).
#[test]
fn relations_between_parameters() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(4);
    for _ in 0..200 {
        let waves: Vec<(f64, f64)> = (2..30).map(|_| (rng.gen_range(0.0..0.02), rng.gen_range(0.0..TAU))).collect();
        let (_, radii) = even(360, |theta| {
            let wave = |(k, (a, phase)): (usize, &(f64, f64))| a * ((k + 2) as f64 * theta - phase).cos();
            40.0 + waves.iter().enumerate().map(wave).sum::<f64>()
        });
        let profile = FilteredProfile::new(radii).unwrap();
        let about = |reference| associate(&profile, reference).unwrap();
        let lsci = about(ReferenceCircle::Lsci);
        close(lsci.ront_mm, lsci.ronp_mm + lsci.ronv_mm, 1e-14);
        let least = about(ReferenceCircle::Mzci).ront_mm;
        for reference in [ReferenceCircle::Lsci, ReferenceCircle::Mcci, ReferenceCircle::Mici] {
            assert!(about(reference).ront_mm >= least - 1e-13);
        }
        let power: f64 = waves.iter().map(|(a, _)| 0.5 * a * a).sum();
        // the circle through a profile about the origin differs from its mean in the second order of a / R
        assert!((lsci.ronq_mm - power.sqrt()).abs() < 1e-3 * power.sqrt());
    }
}

#[test]
fn poor_profiles_are_errors() {
    let new = |angles: &[f64], radii: &[f64]| RoundnessProfile::new(angles.to_vec(), radii.to_vec()).unwrap_err();
    assert_eq!(new(&[0.0], &[1.0, 2.0]), RoundnessError::LengthMismatch { angles: 1, radii: 2 });
    assert_eq!(new(&[], &[]), RoundnessError::TooFew { count: 0, needed: 1 });
    assert_eq!(new(&[1.0, 1.0], &[1.0; 2]), RoundnessError::AngleOutOfOrder { index: 1, angle_rad: 1.0 });
    assert_eq!(new(&[1.0, 7.0], &[1.0; 2]), RoundnessError::AngleOutOfOrder { index: 1, angle_rad: 7.0 });
    assert_eq!(new(&[1.0, 2.0], &[1.0, 0.0]), RoundnessError::BadRadius { index: 1, radius_mm: 0.0 });
    assert!(matches!(new(&[1.0, f64::NAN], &[1.0; 2]), RoundnessError::AngleOutOfOrder { index: 1, .. }));
    assert!(matches!(new(&[1.0, 2.0], &[1.0, f64::NAN]), RoundnessError::BadRadius { index: 1, .. }));

    let (angles, radii) = even(90, |_| 50.0);
    let profile = RoundnessProfile::new(angles, radii).unwrap();
    assert_eq!(profile.supported(upr(150)), Some(upr(14)));
    let sparse = profile.fit(upr(50)).unwrap_err();
    assert!(matches!(sparse, RoundnessError::Harmonics(FourierError::UnderDetermined { count: 90, unknowns: 101 })));
    let fit = profile.fit(upr(14)).unwrap();
    let noise = NoiseReference::new(upr(14), upr(15), 64, Seed::new(1)).unwrap();
    assert_eq!(evaluate(&fit, -1.0, upr(15), &noise), Err(RoundnessError::BadNoise { noise_mm: -1.0 }));
    let other = evaluate(&fit, 0.0, upr(50), &noise);
    assert_eq!(other, Err(RoundnessError::CutoffMismatch { reference: 15, section: 50 }));
    assert!(matches!(FilteredProfile::new(vec![1.0; 3]), Err(RoundnessError::TooFew { .. })));
    assert!(matches!(NoiseReference::new(upr(50), upr(15), 100, Seed::new(1)), Err(RoundnessError::TooFew { .. })));
    let line: Vec<nalgebra::Point2<f64>> = (0..9).map(|j| nalgebra::Point2::new(f64::from(j), 1.0)).collect();
    let none = tornus::roundness::associate_points(&line, ReferenceCircle::Mzci);
    assert_eq!(none, Err(RoundnessError::Circle(CircleError::Degenerate)));
}

#[test]
fn a_perfect_circle_has_no_deviation() {
    let (angles, radii) = even(360, |_| 50.0);
    let noise = NoiseReference::new(upr(50), upr(50), 256, Seed::new(1)).unwrap();
    let fit = RoundnessProfile::new(angles, radii).unwrap().fit(upr(50)).unwrap();
    let found = evaluate(&fit, 0.0, upr(50), &noise).unwrap();
    for estimate in [found.ront_lsci, found.ronq_lsci, found.ront_mzci, found.ront_mcci, found.ront_mici] {
        assert!(estimate.value() < 1e-12 && estimate.standard_uncertainty() < 1e-12);
    }
    assert!(found.detection_limit_mm < 1e-15);
}
