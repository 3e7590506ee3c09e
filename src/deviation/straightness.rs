//! Straightness of a wall's axis.

use rand_xoshiro::Xoshiro256PlusPlus;

use crate::quantity::Seed;

use super::correction::{Simulation, correct, normal};
use super::error::{DeviationError, check, enough};
use super::input::{SHARE_OF_END, SectionCentre};
use super::measured::Measured;
use super::smoothing::Basis;

/// Simulated scans; doubling them moves the value by less than a tenth of its uncertainty.
const DRAWS: usize = 300;
/// Highest degree of the axis's likely shape; what is rougher is taken together.
const SMOOTHEST: usize = 18;
/// Weights below this add nothing to what neighbours share.
const NEGLIGIBLE: f64 = 1e-3;
/// Fewest sections: a line takes two, and one more must be free to leave it.
const FEWEST: usize = 4;

/// Straightness of the axis that a wall's section centres trace: twice their greatest distance from their own
/// least-squares line, the diameter of the cylinder about that line which holds them.
///
/// The body ends at the middles of its lowest and highest section: each stands for half a section in the line.
///
/// The least cylinder about any line (ISO 1101's minimum zone) is at most this wide.
///
/// # Units and shapes
/// mm; body sections in any order.
///
/// # Uncertainty
/// From the sections' uncertainties, what neighbours share of them drawn as shared, by simulation; the datum drops out,
/// because a shift or a tilt of it moves all centres along a line.
///
/// # Errors
/// `TooFew` with fewer than four sections, `Degenerate` when they stand at one height.
///
/// # Example
/// Five equally spaced centres, the middle one 0.5 mm aside: the line passes at 0.125 mm (a quarter of it, as two of the five
/// are halves), the middle is 0.375 mm from it, so the straightness is 0.75 mm.
/// ```
/// use tornus::deviation::{SectionCentre, axis_straightness};
/// use tornus::{Estimate, Seed};
/// let centres = [0.0, 0.0, 0.5, 0.0, 0.0].into_iter().enumerate().map(|(i, x)| {
///     Ok(SectionCentre::new(10.0 * i as f64, Estimate::new(x, 0.0)?, Estimate::new(0.0, 0.0)?))
/// }).collect::<Result<Vec<_>, tornus::quantity::EstimateError>>()?;
/// assert!((axis_straightness(&centres, Seed::new(1))?.estimate.value() - 0.75).abs() < 1e-12);
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
    let noises = [0, 1].map(|axis| Noise::of(&body, axis));
    let basis = Basis::polynomials(&heights, SMOOTHEST);
    let shape: Vec<f64> = [&centres[..n], &centres[n..]]
        .into_iter()
        .zip(&noises)
        .flat_map(|(values, noise)| {
            basis.denoised_from(&line.residuals(values), noise.whole(), |column| noise.along(column))
        })
        .collect();
    let simulation = Simulation {
        seen_statistic: 2.0 * line.greatest_distance(&centres[..n], &centres[n..]),
        seen: &centres,
        shape: &shape,
        statistic: |v: &[f64]| 2.0 * line.greatest_distance(&v[..n], &v[n..]),
        noise: |rng: &mut _, out: &mut [f64]| {
            out.chunks_mut(n).zip(&noises).for_each(|(out, noise)| noise.draw(rng, out));
        },
        draws: DRAWS,
    };
    Ok(correct(simulation, seed)?)
}

/// The noise of one coordinate of the centres: each section's own, and what neighbours share, as white noise drawn together
/// over the heights.
struct Noise {
    own: Vec<f64>,
    shared: Vec<f64>,
    /// By section the first of its neighbours and the weights, of unit power, that draw them together.
    weights: Vec<(usize, Vec<f64>)>,
}

impl Noise {
    /// Of coordinate x (0) or y (1).
    fn of(body: &[SectionCentre], axis: usize) -> Self {
        let u = |c: &SectionCentre| if axis == 0 { c.x } else { c.y }.standard_uncertainty();
        let shared: Vec<f64> = body.iter().map(|c| c.alike.u_mm.min(u(c))).collect();
        let own = body.iter().zip(&shared).map(|(c, s)| (u(c).powi(2) - s * s).sqrt()).collect();
        // White noise under exp(-d2 / length2) is correlated by exp(-d2 / (2 length2)).
        let weights = body.iter().map(|at| {
            let weight = |c: &SectionCentre| {
                let distance = (c.height_mm - at.height_mm) / at.alike.length_mm.max(f64::MIN_POSITIVE);
                (-distance * distance).exp()
            };
            let first = body.partition_point(|c| c.height_mm < at.height_mm && weight(c) < NEGLIGIBLE);
            let near: Vec<f64> = body[first..].iter().map(weight).take_while(|weight| *weight >= NEGLIGIBLE).collect();
            let norm = near.iter().map(|w| w * w).sum::<f64>().sqrt();
            (first, near.into_iter().map(|w| w / norm).collect())
        });
        let weights = weights.collect();
        Self { own, shared, weights }
    }

    /// Sum of the sections' variances.
    fn whole(&self) -> f64 {
        self.own.iter().chain(&self.shared).map(|u| u * u).sum()
    }

    /// Variance of the sum of the centres times a column.
    fn along(&self, column: &[f64]) -> f64 {
        let own: f64 = self.own.iter().zip(column).map(|(u, c)| (u * c).powi(2)).sum();
        let mut drawn = vec![0.0; column.len()];
        for (((first, weights), u), c) in self.weights.iter().zip(&self.shared).zip(column) {
            drawn[*first..].iter_mut().zip(weights).for_each(|(d, w)| *d += u * c * w);
        }
        own + drawn.iter().map(|d| d * d).sum::<f64>()
    }

    fn draw(&self, rng: &mut Xoshiro256PlusPlus, out: &mut [f64]) {
        let white: Vec<f64> = out.iter().map(|_| normal(rng)).collect();
        for (i, out) in out.iter_mut().enumerate() {
            let (first, weights) = &self.weights[i];
            let together: f64 = white[*first..].iter().zip(weights).map(|(n, w)| n * w).sum();
            *out = self.own[i] * normal(rng) + self.shared[i] * together;
        }
    }
}

/// Least-squares lines over fixed heights.
struct Line {
    arm: Vec<f64>,
    weight: Vec<f64>,
    square: f64,
}

impl Line {
    /// Heights rising.
    fn new(heights: &[f64]) -> Result<Self, DeviationError> {
        let last = heights.len() - 1;
        let weight: Vec<f64> = (0..=last).map(|i| if i == 0 || i == last { SHARE_OF_END } else { 1.0 }).collect();
        let mean = mean(&weight, heights);
        let arm: Vec<f64> = heights.iter().map(|z| z - mean).collect();
        let square = arm.iter().zip(&weight).map(|(a, w)| w * a * a).sum::<f64>();
        if square > 0.0 {
            Ok(Self { arm, weight, square })
        } else {
            Err(DeviationError::Degenerate { what: "heights", fitted: "line" })
        }
    }

    /// Mean and slope.
    fn fit(&self, values: &[f64]) -> (f64, f64) {
        let slope = self.arm.iter().zip(&self.weight).zip(values).map(|((a, w), v)| w * a * v).sum::<f64>();
        (mean(&self.weight, values), slope / self.square)
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

fn mean(weights: &[f64], values: &[f64]) -> f64 {
    weights.iter().zip(values).map(|(w, v)| w * v).sum::<f64>() / weights.iter().sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::super::correction::TWO_SIDED_95;
    use super::*;
    use crate::deviation::Alike;
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

    /// A bow of centres whose errors neighbours share over `length` mm, half of their power.
    fn bowed_alike(bow: f64, noise: f64, length: f64, seed: u64) -> Vec<SectionCentre> {
        let alike = Alike { u_mm: noise * 0.5_f64.sqrt(), length_mm: length };
        let still: Vec<SectionCentre> = (0..50)
            .map(|i| {
                let t = f64::from(i) / 49.0;
                let x = bow * (std::f64::consts::PI * t).sin();
                let estimate = |value: f64| Estimate::new(value, noise).unwrap();
                SectionCentre { alike, ..SectionCentre::new(100.0 * t, estimate(x), estimate(0.3 * x)) }
            })
            .collect();
        let mut rng = Seed::new(seed).rng();
        // Gaussian noise of the wanted correlation as a sum of waves of random wave number (Bochner), drawn otherwise than by the
        // code under test.
        let mut errors = || -> Vec<f64> {
            let waves: Vec<[f64; 3]> =
                (0..400).map(|_| [normal(&mut rng) / length, normal(&mut rng), normal(&mut rng)]).collect();
            still
                .iter()
                .map(|c| {
                    let sum: f64 =
                        waves.iter().map(|[k, a, b]| a * (k * c.height_mm).cos() + b * (k * c.height_mm).sin()).sum();
                    alike.u_mm * (sum / 20.0 + normal(&mut rng))
                })
                .collect()
        };
        let (x, y) = (errors(), errors());
        let moved = |estimate: Estimate, by: f64| Estimate::new(estimate.value() + by, noise).unwrap();
        still
            .iter()
            .zip(x.iter().zip(&y))
            .map(|(c, (x, y))| SectionCentre { x: moved(c.x, *x), y: moved(c.y, *y), ..*c })
            .collect()
    }

    #[test]
    fn intervals_cover_where_neighbours_err_alike() {
        for (bow, length) in [(0.02, 8.0), (0.1, 4.0)] {
            let truth = axis_straightness(&bowed(bow, 0.0, 0), Seed::new(0)).unwrap().estimate.value();
            let covered = (0..400)
                .filter(|&trial| {
                    let found = axis_straightness(&bowed_alike(bow, 0.004, length, trial), Seed::new(trial)).unwrap();
                    (found.estimate.value() - truth).abs() <= found.estimate.expanded(TWO_SIDED_95)
                })
                .count();
            assert!((368..=392).contains(&covered), "{bow} {length}: {covered} of 400");
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
