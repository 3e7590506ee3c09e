//! Flatness and perpendicularity of the rim's highest and the foot's lowest circle.

use nalgebra::{Cholesky, Matrix2, Matrix3, Vector3};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::quantity::{Seed, Source};

use super::correction::{Simulation, correct, normal, range};
use super::error::{DeviationError, check, enough};
use super::input::{CirclePoint, DatumUncertainty};
use super::measured::Measured;
use super::smoothing::Basis;

/// Simulated scans.
const DRAWS: usize = 300;
/// Highest harmonic of the ring's likely shape; what is rougher is taken together.
const SMOOTHEST: usize = 16;
/// Fewest points of a circle: a plane takes three, and a saddle must be able to show.
const FEWEST: usize = 8;

/// Flatness of a ring of points: range of the heights about their least-squares plane.
///
/// # Units and shapes
/// mm; points of one circle, azimuths in any order, gaps allowed.
///
/// # Uncertainty
/// From the points' heights, by simulation; the datum drops out.
///
/// # Errors
/// `TooFew` with fewer than eight points, `Degenerate` when they lie on a line.
///
/// # Example
/// Eight points alternately 0.1 mm up and down the saddle z = 0.1 mm cos 2 theta: 0.2 mm.
/// ```
/// use std::f64::consts::TAU;
/// use tornus::deviation::{CirclePoint, flatness};
/// use tornus::{Estimate, Seed};
/// let ring = (0..8).map(|i| {
///     let azimuth_rad = TAU * f64::from(i) / 8.0;
///     Ok(CirclePoint { azimuth_rad, radius_mm: 40.0, height: Estimate::new(0.1 * (2.0 * azimuth_rad).cos(), 0.0)? })
/// }).collect::<Result<Vec<_>, tornus::quantity::EstimateError>>()?;
/// assert!((flatness(&ring, Seed::new(1))?.estimate.value() - 0.2).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// ISO 12781-1 (FLTt about the least-squares reference plane).
pub fn flatness(ring: &[CirclePoint], seed: Seed) -> Result<Measured, DeviationError> {
    let plane = Plane::new(ring)?;
    let heights: Vec<f64> = ring.iter().map(|p| p.height.value()).collect();
    let azimuths: Vec<f64> = ring.iter().map(|p| p.azimuth_rad).collect();
    let variance = ring.iter().map(|p| p.height.standard_uncertainty().powi(2)).sum::<f64>() / ring.len() as f64;
    let simulation = Simulation {
        seen_statistic: plane.range_about(&heights),
        seen: &heights,
        shape: &Basis::harmonics(&azimuths, SMOOTHEST).denoised(&plane.residuals(&heights), variance),
        statistic: |heights: &[f64]| plane.range_about(heights),
        noise: |rng: &mut Xoshiro256PlusPlus, out: &mut [f64]| {
            out.iter_mut().zip(ring).for_each(|(o, p)| *o = p.height.standard_uncertainty() * normal(rng));
        },
        draws: DRAWS,
    };
    Ok(correct(simulation, seed)?)
}

/// Perpendicularity of a ring's least-squares plane to the datum axis: its rise across the ring's mean diameter.
///
/// # Units and shapes
/// mm; as [`flatness`].
///
/// # Uncertainty
/// From the points' heights and the datum's tilt, by simulation.
///
/// # Errors
/// As [`flatness`].
///
/// # Example
/// A plane that rises 0.001 per mm in x across a diameter of 80 mm: 0.08 mm.
/// ```
/// use std::f64::consts::TAU;
/// use tornus::deviation::{CirclePoint, perpendicularity};
/// use tornus::{Estimate, Seed};
/// let ring = (0..8).map(|i| {
///     let azimuth_rad = TAU * f64::from(i) / 8.0;
///     Ok(CirclePoint { azimuth_rad, radius_mm: 40.0, height: Estimate::new(0.04 * azimuth_rad.cos(), 0.0)? })
/// }).collect::<Result<Vec<_>, tornus::quantity::EstimateError>>()?;
/// assert!((perpendicularity(&ring, None, Seed::new(1))?.estimate.value() - 0.08).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// ISO 1101 (perpendicularity of a surface to a datum axis; here of its least-squares plane).
pub fn perpendicularity(
    ring: &[CirclePoint],
    datum: Option<&DatumUncertainty>,
    seed: Seed,
) -> Result<Measured, DeviationError> {
    let plane = Plane::new(ring)?;
    let heights: Vec<f64> = ring.iter().map(|p| p.height.value()).collect();
    let fitted = plane.fit(&heights);
    let own: Matrix2<f64> = plane.slope_covariance(ring);
    let mut covariance = own;
    if let Some(datum) = datum {
        // A tilt about y raises the plane along x, one about x along y; signs do not matter to a covariance of independent draws
        // but for the cross term.
        let c = &datum.covariance;
        covariance += Matrix2::new(c[(3, 3)], -c[(3, 2)], -c[(2, 3)], c[(2, 2)]);
    }
    let root = nalgebra::SymmetricEigen::new(covariance);
    let root = root.eigenvectors * Matrix2::from_diagonal(&root.eigenvalues.map(|v| v.max(0.0).sqrt()));
    let diameter = 2.0 * ring.iter().map(|p| p.radius_mm).sum::<f64>() / ring.len() as f64;
    let slope = [fitted.y, fitted.z];
    let rise = |slope: &[f64]| diameter * slope[0].hypot(slope[1]);
    let simulation = Simulation {
        seen_statistic: rise(&slope),
        seen: &slope,
        shape: &slope,
        statistic: rise,
        noise: |rng: &mut Xoshiro256PlusPlus, out: &mut [f64]| {
            let draw = root * nalgebra::Vector2::new(normal(rng), normal(rng));
            out.copy_from_slice(draw.as_slice());
        },
        draws: DRAWS,
    };
    let whole = covariance.trace();
    let of_axis = if whole > 0.0 { 1.0 - own.trace() / whole } else { 0.0 };
    Ok(correct(simulation, seed)?.with_share(Source::Axis, of_axis))
}

/// Least-squares planes (height, slope in x, slope in y) over fixed places.
struct Plane {
    places: Vec<Vector3<f64>>,
    inverse: Matrix3<f64>,
}

impl Plane {
    fn new(ring: &[CirclePoint]) -> Result<Self, DeviationError> {
        enough("points of the circle", ring.len(), FEWEST)?;
        check("azimuth_rad", &ring.iter().map(|p| p.azimuth_rad).collect::<Vec<_>>(), f64::NEG_INFINITY)?;
        check("radius_mm", &ring.iter().map(|p| p.radius_mm).collect::<Vec<_>>(), 0.0)?;
        let place = |p: &CirclePoint| {
            let (sine, cosine) = p.azimuth_rad.sin_cos();
            Vector3::new(1.0, p.radius_mm * cosine, p.radius_mm * sine)
        };
        let places: Vec<Vector3<f64>> = ring.iter().map(place).collect();
        let normal_matrix: Matrix3<f64> = places.iter().map(|p| p * p.transpose()).sum();
        let degenerate = DeviationError::Degenerate { what: "points of the circle", fitted: "plane" };
        let inverse = Cholesky::new(normal_matrix).ok_or(degenerate)?.inverse();
        Ok(Self { places, inverse })
    }

    fn fit(&self, heights: &[f64]) -> Vector3<f64> {
        self.inverse * self.places.iter().zip(heights).map(|(p, h)| p * *h).sum::<Vector3<f64>>()
    }

    fn residuals(&self, heights: &[f64]) -> Vec<f64> {
        let plane = self.fit(heights);
        self.places.iter().zip(heights).map(|(p, h)| h - p.dot(&plane)).collect()
    }

    fn range_about(&self, heights: &[f64]) -> f64 {
        range(&self.residuals(heights))
    }

    fn slope_covariance(&self, ring: &[CirclePoint]) -> Matrix2<f64> {
        let middle: Matrix3<f64> = self
            .places
            .iter()
            .zip(ring)
            .map(|(p, point)| p * p.transpose() * point.height.standard_uncertainty().powi(2))
            .sum();
        (self.inverse * middle * self.inverse).fixed_view::<2, 2>(1, 1).into_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::super::correction::TWO_SIDED_95;
    use super::*;
    use crate::quantity::Estimate;

    fn ring(lean: f64, saddle: f64, noise: f64, seed: u64) -> Vec<CirclePoint> {
        let mut rng = Seed::new(seed).rng();
        (0..90)
            .map(|i| {
                let azimuth_rad = 0.07 * f64::from(i);
                let height = 40.0 * lean * azimuth_rad.cos() + saddle * (2.0 * azimuth_rad).cos();
                let height = Estimate::new(80.0 + height + noise * normal(&mut rng), noise).unwrap();
                CirclePoint { azimuth_rad, radius_mm: 40.0, height }
            })
            .collect()
    }

    #[test]
    fn intervals_cover_lean_and_saddle() {
        let noise = 0.01;
        let (lean, saddle) = (0.0005, 0.05);
        let quiet = ring(lean, saddle, 0.0, 0);
        let flat_truth = flatness(&quiet, Seed::new(0)).unwrap().estimate.value();
        let rise_truth = perpendicularity(&quiet, None, Seed::new(0)).unwrap().estimate.value();
        let (mut flat, mut rise) = (0, 0);
        for trial in 0..1000 {
            let noisy = ring(lean, saddle, noise, trial);
            let within = |found: Measured, truth: f64| {
                usize::from((found.estimate.value() - truth).abs() <= found.estimate.expanded(TWO_SIDED_95))
            };
            flat += within(flatness(&noisy, Seed::new(trial)).unwrap(), flat_truth);
            rise += within(perpendicularity(&noisy, None, Seed::new(trial)).unwrap(), rise_truth);
        }
        assert!((930..=975).contains(&flat), "flatness {flat}");
        assert!((930..=970).contains(&rise), "perpendicularity {rise}");
    }

    #[test]
    fn points_on_one_spot_hold_no_plane() {
        let point = CirclePoint { azimuth_rad: 1.0, radius_mm: 0.0, height: Estimate::new(0.0, 0.0).unwrap() };
        assert!(matches!(flatness(&[point; 9], Seed::new(1)), Err(DeviationError::Degenerate { .. })));
        assert!(matches!(flatness(&[point; 4], Seed::new(1)), Err(DeviationError::TooFew { .. })));
    }
}
