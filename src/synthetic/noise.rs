//! Scanner noise along the surface normal.

use std::f64::consts::TAU;

use nalgebra::{Point3, Vector3};
use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::quantity::Seed;

/// Noise of a scanner along the surface normal: a white part and a part correlated over the surface.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Noise {
    /// Standard deviation of the part that is independent from vertex to vertex, mm.
    pub white_mm: f64,
    /// Standard deviation of the correlated part, mm.
    pub correlated_mm: f64,
    /// Correlation length of the correlated part, mm: its correlation over a distance d is exp(-d2 / (2 length2)).
    pub length_mm: f64,
}

impl Noise {
    /// White noise of this standard deviation, mm.
    #[must_use]
    pub const fn white(sd_mm: f64) -> Self {
        Self { white_mm: sd_mm, correlated_mm: 0.0, length_mm: 0.0 }
    }
}

/// Plane waves in the correlated part: enough that one point's distribution is close to normal.
const WAVES: u64 = 96;

/// A drawn field of noise.
///
/// # References
/// Rahimi & Recht 2007, Random features for large-scale kernel machines (Gaussian covariance from random plane waves).
#[derive(Clone, Debug)]
pub(super) struct NoiseField {
    white_mm: f64,
    amplitude_mm: f64,
    waves: Vec<(Vector3<f64>, f64)>,
}

impl NoiseField {
    pub(super) fn new(noise: Noise, seed: Seed) -> Self {
        let mut waves = Vec::new();
        if noise.correlated_mm > 0.0 && noise.length_mm > 0.0 {
            let mut rng = seed.rng();
            for _ in 0..WAVES {
                let mut part = || -> f64 { StandardNormal.sample(&mut rng) };
                let wave = Vector3::new(part(), part(), part()) / noise.length_mm;
                waves.push((wave, TAU * rng.r#gen::<f64>()));
            }
        }
        let amplitude_mm = noise.correlated_mm * (2.0 / WAVES as f64).sqrt();
        Self { white_mm: noise.white_mm, amplitude_mm, waves }
    }

    /// The noise at a point, mm; the white part is drawn from `rng`, always, so that scans of one seed with and without noise
    /// have their vertices at the same places.
    pub(super) fn at(&self, position: &Point3<f64>, rng: &mut impl Rng) -> f64 {
        let draw: f64 = StandardNormal.sample(rng);
        let white = self.white_mm * draw;
        let waves: f64 = self.waves.iter().map(|(wave, phase)| (wave.dot(&position.coords) + phase).cos()).sum();
        white + self.amplitude_mm * waves
    }
}
