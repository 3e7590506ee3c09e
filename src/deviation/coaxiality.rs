//! Coaxiality of the inner wall and concentricity of the rim to the datum axis.

use nalgebra::{Cholesky, Matrix2, Matrix2x4, Matrix4, SymmetricEigen, Vector2, Vector4};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::quantity::{Seed, Source};

use super::correction::{Simulation, correct, normal};
use super::error::{DeviationError, check, enough};
use super::input::{DatumUncertainty, SHARE_OF_END, SectionCentre};
use super::measured::Measured;

/// Simulated scans; they are cheap here.
const DRAWS: usize = 1000;
/// Fewest sections that make a line with something left over.
const FEWEST: usize = 3;
/// Least standard uncertainty used in a weight, mm: far below any scanner's, it only keeps exact data from dividing by 0.
const LEAST_U_MM: f64 = 1e-9;

/// Coaxiality of a wall to the datum: twice the greatest distance from the datum of the line fitted to the wall's section
/// centres, over the heights of those sections.
///
/// A straight line is farthest from another at one of its ends, so the two ends are compared.
///
/// # Units and shapes
/// mm; body sections in any order, centres about the datum axis.
///
/// # Uncertainty
/// From the sections (weighted least squares) and the datum's covariance, by simulation.
///
/// # Errors
/// `TooFew` with fewer than three sections, `Degenerate` when they stand at one height.
///
/// # Example
/// An inner axis that leans from 0.1 mm at 10 mm to 0.3 mm at 30 mm: 0.6 mm.
/// ```
/// use tornus::deviation::{SectionCentre, coaxiality};
/// use tornus::{Estimate, Seed};
/// let centres = [10.0, 20.0, 30.0].into_iter().map(|height_mm| {
///     Ok(SectionCentre::new(height_mm, Estimate::new(0.01 * height_mm, 0.0)?, Estimate::new(0.0, 0.0)?))
/// }).collect::<Result<Vec<_>, tornus::quantity::EstimateError>>()?;
/// let found = coaxiality(&centres, None, Seed::new(1))?.estimate;
/// assert!((found.value() - 0.6).abs() < 1e-6);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// ISO 1101 (coaxiality tolerance: a cylinder about the datum axis; its diameter is what is given here).
pub fn coaxiality(
    body: &[SectionCentre],
    datum: Option<&DatumUncertainty>,
    seed: Seed,
) -> Result<Measured, DeviationError> {
    enough("body sections", body.len(), FEWEST)?;
    let heights: Vec<f64> = body.iter().map(|c| c.height_mm).collect();
    check("height_mm", &heights, f64::NEG_INFINITY)?;
    let (low, high) = heights.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &z| (l.min(z), h.max(z)));
    let (line, covariance) = fit_line(body, [low, high])?;
    let half = (high - low) / 2.0;
    // (x, y) at the low end, then at the high end, from (x, y, x slope, y slope) at mid-height.
    let ends = Matrix4::new(
        1.0, 0.0, -half, 0.0, //
        0.0, 1.0, 0.0, -half, //
        1.0, 0.0, half, 0.0, //
        0.0, 1.0, 0.0, half,
    );
    let mut of_ends = ends * covariance * ends.transpose();
    let own = of_ends.trace();
    if let Some(datum) = datum {
        let mut jacobian = Matrix4::zeros();
        let [at_low, at_high] = levers_of_ends(body, low, high);
        jacobian.fixed_rows_mut::<2>(0).copy_from(&datum.jacobian(at_low));
        jacobian.fixed_rows_mut::<2>(2).copy_from(&datum.jacobian(at_high));
        of_ends += jacobian * datum.covariance * jacobian.transpose();
    }
    let root = square_root(of_ends);
    let seen = ends * line;
    let of_line = |v: &[f64]| 2.0 * v[0].hypot(v[1]).max(v[2].hypot(v[3]));
    let simulation = Simulation {
        seen_statistic: of_line(seen.as_slice()),
        seen: seen.as_slice(),
        shape: seen.as_slice(),
        statistic: of_line,
        noise: |rng: &mut Xoshiro256PlusPlus, out: &mut [f64]| {
            let draw = root * Vector4::from_fn(|_, _| normal(rng));
            out.copy_from_slice(draw.as_slice());
        },
        draws: DRAWS,
    };
    Ok(correct(simulation, seed)?.with_share(Source::Axis, share_beyond(own, of_ends.trace())))
}

/// What a lean moves both ends of the line by: the sections' levers drawn to a line over their heights, as the centres are.
fn levers_of_ends(body: &[SectionCentre], low: f64, high: f64) -> [f64; 2] {
    let count = body.len() as f64;
    let mean = |of: &dyn Fn(&SectionCentre) -> f64| body.iter().map(of).sum::<f64>() / count;
    let (height, lever) = (mean(&|c| c.height_mm), mean(&|c| c.lever_mm));
    let across = mean(&|c| (c.height_mm - height) * (c.lever_mm - lever));
    let slope = across / mean(&|c| (c.height_mm - height).powi(2)).max(f64::MIN_POSITIVE);
    [low, high].map(|end| lever + slope * (end - height))
}

/// What part of a variance lies beyond `own`.
fn share_beyond(own: f64, whole: f64) -> f64 {
    if whole > 0.0 { 1.0 - own / whole } else { 0.0 }
}

/// Concentricity of one circle to the datum: twice the distance of its centre.
///
/// # Units
/// mm.
///
/// # Uncertainty
/// From the circle's centre and the datum's covariance at its height, by simulation.
///
/// # Errors
/// None for finite numbers.
///
/// # Example
/// A centre at (0.03, 0.04) mm: 0.1 mm.
/// ```
/// use tornus::deviation::{SectionCentre, concentricity};
/// use tornus::{Estimate, Seed};
/// let rim = SectionCentre::new(80.0, Estimate::new(0.03, 0.0)?, Estimate::new(0.04, 0.0)?);
/// assert!((concentricity(&rim, None, Seed::new(1))?.estimate.value() - 0.1).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// ISO 1101 (concentricity tolerance of a centre point).
pub fn concentricity(
    circle: &SectionCentre,
    datum: Option<&DatumUncertainty>,
    seed: Seed,
) -> Result<Measured, DeviationError> {
    let own = Vector2::new(circle.x.standard_uncertainty(), circle.y.standard_uncertainty());
    let own = Matrix2::from_diagonal(&own.component_mul(&own));
    let covariance = own + datum.map_or_else(Matrix2::zeros, |datum| datum.at(circle.height_mm));
    let mut whole = Matrix4::zeros();
    whole.fixed_view_mut::<2, 2>(0, 0).copy_from(&covariance);
    let root = square_root(whole);
    let centre = [circle.x.value(), circle.y.value()];
    let simulation = Simulation {
        seen_statistic: 2.0 * centre[0].hypot(centre[1]),
        seen: &centre,
        shape: &centre,
        statistic: |v: &[f64]| 2.0 * v[0].hypot(v[1]),
        noise: |rng: &mut Xoshiro256PlusPlus, out: &mut [f64]| {
            let draw = root * Vector4::new(normal(rng), normal(rng), 0.0, 0.0);
            out.copy_from_slice(&draw.as_slice()[..2]);
        },
        draws: DRAWS,
    };
    Ok(correct(simulation, seed)?.with_share(Source::Axis, share_beyond(own.trace(), covariance.trace())))
}

/// The least-squares line (x, y, x slope, y slope) midway between the body's ends, with its covariance.
///
/// Each centre weighs by its own uncertainty together with the scatter the centres show beyond it, so that a bent wall's
/// sections weigh alike; the bend itself is no uncertainty of the line.
fn fit_line(body: &[SectionCentre], ends: [f64; 2]) -> Result<(Vector4<f64>, Matrix4<f64>), DeviationError> {
    let height = 0.5 * (ends[0] + ends[1]);
    let (first, _) = weighted_line(body, ends, 0.0)?;
    let freedom = (2.0 * body.len() as f64 - 4.0).max(1.0);
    let (mut scatter, mut noise) = (0.0, 0.0);
    for centre in body {
        let left = seen(centre) - design(centre, height) * first;
        scatter += left.norm_squared() / freedom;
        noise += uncertainties(centre).norm_squared() / (2.0 * body.len() as f64);
    }
    weighted_line(body, ends, (scatter - noise).max(0.0))
}

fn weighted_line(
    body: &[SectionCentre],
    ends: [f64; 2],
    scatter: f64,
) -> Result<(Vector4<f64>, Matrix4<f64>), DeviationError> {
    let height = 0.5 * (ends[0] + ends[1]);
    let (mut normal_matrix, mut own, mut right) = (Matrix4::zeros(), Matrix4::zeros(), Vector4::zeros());
    for centre in body {
        let (design, variance) = (design(centre, height), uncertainties(centre).map(|u| u * u));
        let share = if ends.contains(&centre.height_mm) { SHARE_OF_END } else { 1.0 };
        let weight = Matrix2::from_diagonal(&variance.map(|v| share / (v + scatter)));
        normal_matrix += design.transpose() * weight * design;
        own += design.transpose() * weight * Matrix2::from_diagonal(&variance) * weight * design;
        right += design.transpose() * weight * seen(centre);
    }
    let degenerate = DeviationError::Degenerate { what: "section heights", fitted: "line" };
    let factor = Cholesky::new(normal_matrix).ok_or(degenerate)?;
    let inverse = factor.inverse();
    Ok((factor.solve(&right), inverse * own * inverse))
}

fn design(centre: &SectionCentre, height: f64) -> Matrix2x4<f64> {
    let arm = centre.height_mm - height;
    Matrix2x4::new(1.0, 0.0, arm, 0.0, 0.0, 1.0, 0.0, arm)
}

fn seen(centre: &SectionCentre) -> Vector2<f64> {
    Vector2::new(centre.x.value(), centre.y.value())
}

fn uncertainties(centre: &SectionCentre) -> Vector2<f64> {
    Vector2::new(centre.x.standard_uncertainty(), centre.y.standard_uncertainty()).map(|u| u.max(LEAST_U_MM))
}

/// A matrix whose product with its transpose is `covariance`; tiny negative eigenvalues of rounding count as 0.
fn square_root(covariance: Matrix4<f64>) -> Matrix4<f64> {
    let eigen = SymmetricEigen::new((covariance + covariance.transpose()) / 2.0);
    eigen.eigenvectors * Matrix4::from_diagonal(&eigen.eigenvalues.map(|v| v.max(0.0).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::super::correction::TWO_SIDED_95;
    use super::*;
    use crate::quantity::Estimate;

    const NOISE: f64 = 0.01;

    fn leaning(offset: f64, lean: f64, seed: u64) -> Vec<SectionCentre> {
        let mut rng = Seed::new(seed).rng();
        (0..30)
            .map(|i| {
                let z = 2.0 * f64::from(i);
                let mut noisy = |v: f64| Estimate::new(v + NOISE * normal(&mut rng), NOISE).unwrap();
                SectionCentre::new(z, noisy(offset + lean * z), noisy(-0.5 * offset))
            })
            .collect()
    }

    fn datum() -> DatumUncertainty {
        let covariance = Matrix4::from_diagonal(&Vector4::new(4e-6, 4e-6, 1e-8, 1e-8));
        DatumUncertainty { height_mm: 29.0, covariance }
    }

    /// Covered and detected, of 1,000 simulated scans with an uncertain datum.
    fn simulate(offset: f64, lean: f64) -> (usize, usize) {
        let truth = 2.0 * (offset + lean * 58.0).hypot(0.5 * offset).max(offset.hypot(0.5 * offset));
        let mut rng = Seed::new(99).rng();
        let (mut covered, mut detected) = (0, 0);
        for trial in 0..1000 {
            let shift = square_root(datum().covariance) * Vector4::from_fn(|_, _| normal(&mut rng));
            let moved: Vec<SectionCentre> = leaning(offset, lean, trial)
                .into_iter()
                .map(|c| {
                    let by = datum().jacobian(c.height_mm) * shift;
                    let add = |e: Estimate, d: f64| Estimate::new(e.value() + d, e.standard_uncertainty()).unwrap();
                    SectionCentre { x: add(c.x, by.x), y: add(c.y, by.y), ..c }
                })
                .collect();
            let found = coaxiality(&moved, Some(&datum()), Seed::new(trial)).unwrap();
            covered += usize::from((found.estimate.value() - truth).abs() <= found.estimate.expanded(TWO_SIDED_95));
            detected += usize::from(found.estimate.value() > found.detection_limit.unwrap());
        }
        (covered, detected)
    }

    #[test]
    fn intervals_cover_the_coaxiality() {
        for (offset, lean) in [(0.02, 0.0), (0.03, 0.001), (0.2, -0.002)] {
            let (covered, _) = simulate(offset, lean);
            assert!((930..=970).contains(&covered), "{offset} {lean}: {covered}");
        }
    }

    #[test]
    fn a_coaxial_wall_is_called_displaced_in_one_scan_of_twenty() {
        let (_, detected) = simulate(0.0, 0.0);
        assert!((32..=72).contains(&detected), "{detected}");
    }

    #[test]
    fn the_datum_moves_with_its_tilt() {
        let covariance = Matrix4::from_diagonal(&Vector4::new(0.0, 0.0, 0.0, 1e-6));
        let datum = DatumUncertainty { height_mm: 10.0, covariance };
        let at = datum.at(30.0);
        assert!((at[(0, 0)] - 4e-4).abs() < 1e-15); // (20 mm x 0.001 rad)^2, in x for a tilt about y
        assert!(at[(1, 1)].abs() < 1e-15);
    }
}
