//! Straightness of a wall's axis.

use crate::quantity::Seed;

use super::correction::{Simulation, correct, normal};
use super::error::{DeviationError, check, enough};
use super::input::SectionCentre;
use super::measured::Measured;
use super::smoothing::Basis;

/// Simulated scans; doubling them moves the value by less than a tenth of its uncertainty.
const DRAWS: usize = 300;
/// Highest degree of the axis's likely shape; what is rougher is taken together.
const SMOOTHEST: usize = 18;
/// Fewest sections: a line takes two, and one more must be free to leave it.
const FEWEST: usize = 4;

/// Straightness of the axis that a wall's section centres trace: twice their greatest distance from their own
/// least-squares line, the diameter of the cylinder about that line which holds them.
///
/// The least cylinder about any line (ISO 1101's minimum zone) is at most this wide.
///
/// # Units and shapes
/// mm; body sections in any order.
///
/// # Uncertainty
/// From the sections' own uncertainties, by simulation; the datum drops out, because a shift or a tilt of it moves all
/// centres along a line.
///
/// # Errors
/// `TooFew` with fewer than four sections, `Degenerate` when they stand at one height.
///
/// # Example
/// Five equally spaced centres, the middle one 0.5 mm aside: the line passes at 0.1 mm (their mean), the middle is
/// 0.4 mm from it, so the straightness is 0.8 mm.
/// ```
/// use tornus::deviation::{SectionCentre, axis_straightness};
/// use tornus::{Estimate, Seed};
/// let centres = [0.0, 0.0, 0.5, 0.0, 0.0].into_iter().enumerate().map(|(i, x)| {
///     Ok(SectionCentre::new(10.0 * i as f64, Estimate::new(x, 0.0)?, Estimate::new(0.0, 0.0)?))
/// }).collect::<Result<Vec<_>, tornus::quantity::EstimateError>>()?;
/// assert!((axis_straightness(&centres, Seed::new(1))?.estimate.value() - 0.8).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// ISO 12780-1 (least-squares reference line), ISO 1101 (straightness of an axis); clauses not quoted.
pub fn axis_straightness(body: &[SectionCentre], seed: Seed) -> Result<Measured, DeviationError> {
    let n = body.len();
    enough("body sections", n, FEWEST)?;
    let mut body = body.to_vec();
    body.sort_by(|a, b| a.height_mm.total_cmp(&b.height_mm));
    let heights: Vec<f64> = body.iter().map(|c| c.height_mm).collect();
    check("height_mm", &heights, f64::NEG_INFINITY)?;
    let line = Line::new(&heights)?;
    let mut centres: Vec<f64> = body.iter().map(|c| c.x.value()).collect();
    centres.extend(body.iter().map(|c| c.y.value()));
    let mut u: Vec<f64> = body.iter().map(|c| c.x.standard_uncertainty()).collect();
    u.extend(body.iter().map(|c| c.y.standard_uncertainty()));
    let basis = Basis::polynomials(&heights, SMOOTHEST);
    let shape: Vec<f64> = [(&centres[..n], &u[..n]), (&centres[n..], &u[n..])]
        .into_iter()
        .flat_map(|(values, u)| basis.denoised(&line.residuals(values), mean_square(u)))
        .collect();
    let simulation = Simulation {
        seen_statistic: 2.0 * line.greatest_distance(&centres[..n], &centres[n..]),
        seen: &centres,
        shape: &shape,
        statistic: |v: &[f64]| 2.0 * line.greatest_distance(&v[..n], &v[n..]),
        noise: |rng: &mut _, out: &mut [f64]| out.iter_mut().zip(&u).for_each(|(o, u)| *o = u * normal(rng)),
        draws: DRAWS,
    };
    Ok(correct(simulation, seed)?)
}

fn mean_square(values: &[f64]) -> f64 {
    values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64
}

/// Least-squares lines over fixed heights.
struct Line {
    arm: Vec<f64>,
    square: f64,
}

impl Line {
    fn new(heights: &[f64]) -> Result<Self, DeviationError> {
        let mean = heights.iter().sum::<f64>() / heights.len() as f64;
        let arm: Vec<f64> = heights.iter().map(|z| z - mean).collect();
        let square = arm.iter().map(|a| a * a).sum::<f64>();
        if square > 0.0 {
            Ok(Self { arm, square })
        } else {
            Err(DeviationError::Degenerate { what: "heights", fitted: "line" })
        }
    }

    /// Mean and slope.
    fn fit(&self, values: &[f64]) -> (f64, f64) {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let slope = self.arm.iter().zip(values).map(|(a, v)| a * v).sum::<f64>() / self.square;
        (mean, slope)
    }

    fn residuals(&self, values: &[f64]) -> Vec<f64> {
        let (mean, slope) = self.fit(values);
        self.arm.iter().zip(values).map(|(a, v)| v - mean - slope * a).collect()
    }

    fn greatest_distance(&self, x: &[f64], y: &[f64]) -> f64 {
        let ((mx, sx), (my, sy)) = (self.fit(x), self.fit(y));
        let away = |((a, x), y): ((&f64, &f64), &f64)| (x - mx - sx * a).powi(2) + (y - my - sy * a).powi(2);
        self.arm.iter().zip(x).zip(y).map(away).fold(0.0, f64::max).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::super::correction::TWO_SIDED_95;
    use super::*;
    use crate::quantity::Estimate;

    fn bowed(bow: f64, noise: f64, seed: u64) -> Vec<SectionCentre> {
        let mut rng = Seed::new(seed).rng();
        (0..50)
            .map(|i| {
                let t = f64::from(i) / 49.0;
                let x = bow * (std::f64::consts::PI * t).sin();
                let mut noisy = |value: f64| Estimate::new(value + noise * normal(&mut rng), noise).unwrap();
                SectionCentre::new(100.0 * t, noisy(x), noisy(0.3 * x))
            })
            .collect()
    }

    #[test]
    fn intervals_cover_the_bow() {
        let noise = 0.002;
        for bow in [0.01, 0.1] {
            let truth = axis_straightness(&bowed(bow, 0.0, 0), Seed::new(0)).unwrap().estimate.value();
            let (mut covered, mut sum) = (0, 0.0);
            for trial in 0..1000 {
                let found = axis_straightness(&bowed(bow, noise, trial), Seed::new(trial)).unwrap().estimate;
                covered += usize::from((found.value() - truth).abs() <= found.expanded(TWO_SIDED_95));
                sum += found.value() - truth;
            }
            assert!((930..=970).contains(&covered), "{bow}: {covered} of 1000, bias {}", sum / 1000.0);
            assert!(sum.abs() / 1000.0 < 0.5 * noise, "{bow}: bias {}", sum / 1000.0);
        }
    }

    #[test]
    fn a_straight_axis_is_called_crooked_in_one_scan_of_twenty() {
        let crooked = (0..1000)
            .filter(|&trial| {
                let found = axis_straightness(&bowed(0.0, 0.002, trial), Seed::new(trial)).unwrap();
                found.estimate.value() > found.detection_limit.unwrap()
            })
            .count();
        assert!((32..=72).contains(&crooked), "{crooked}"); // binomial 6.9, the limit's own spread from 300 draws about as much
    }

    #[test]
    fn the_datum_drops_out() {
        let centres = bowed(0.1, 0.001, 5);
        let tilted: Vec<SectionCentre> = centres
            .iter()
            .map(|c| SectionCentre {
                x: Estimate::new(c.x.value() + 0.3 - 0.01 * c.height_mm, c.x.standard_uncertainty()).unwrap(),
                ..*c
            })
            .collect();
        let of = |c: &[SectionCentre]| axis_straightness(c, Seed::new(1)).unwrap().estimate.value();
        assert!((of(&centres) - of(&tilted)).abs() < 1e-10);
    }

    #[test]
    fn one_height_holds_no_line() {
        let centre = SectionCentre::new(5.0, Estimate::exact_zero(), Estimate::exact_zero());
        assert!(matches!(axis_straightness(&[centre; 6], Seed::new(1)), Err(DeviationError::Degenerate { .. })));
        assert!(matches!(axis_straightness(&[centre; 3], Seed::new(1)), Err(DeviationError::TooFew { .. })));
    }
}
