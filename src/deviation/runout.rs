//! Total run-out and surface profile from a filtered map of deviations.

use rand_xoshiro::Xoshiro256PlusPlus;

use crate::quantity::Seed;

use super::correction::{Simulation, correct, normal};
use super::error::{DeviationError, check, enough};
use super::input::DeviationRow;
use super::lobing::{ChiSquareSum, NoiseTerm};
use super::measured::Measured;

/// Simulated maps; each is large, so few: they fix the noise's mean share of the range to a twentieth of its spread.
const DRAWS: usize = 100;
/// Fewest rows of the body.
const FEWEST: usize = 3;

/// Deviation of the outer wall from its mean surface of revolution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceProfile {
    /// Root mean square over the body, rows weighted alike.
    pub root_mean_square: Measured,
    /// Peak to valley over the body.
    pub peak_to_valley: Measured,
}

/// Total radial run-out of a wall about the datum axis: range over the body of its radial deviations from the mean
/// meridian, eccentricity included.
///
/// # Units and shapes
/// mm; one row per body section, deviations filtered and taken about the datum axis.
///
/// # Uncertainty
/// From the noise of the filtered values, by simulation; values of a row are taken as linear between as many independent
/// ones as the filter leaves.
///
/// # Errors
/// `TooFew` with fewer than three rows that hold values, `BadNumber` for values that are not finite.
///
/// # Example
/// Rows that reach from -0.1 to 0.3 mm and from -0.2 to 0.2 mm: 0.5 mm.
/// ```
/// use tornus::Seed;
/// use tornus::deviation::{DeviationRow, total_runout};
/// let row = |deviation_mm| DeviationRow { deviation_mm, u_mm: 0.0, independent: 3 };
/// let rows = [row(&[-0.1, 0.0, 0.3]), row(&[-0.2, 0.0, 0.2]), row(&[0.0, 0.1, 0.0])];
/// assert!((total_runout(&rows, Seed::new(1))?.estimate.value() - 0.5).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// ISO 1101 (total radial run-out; here about the mean meridian instead of a cylinder).
pub fn total_runout(body: &[DeviationRow<'_>], seed: Seed) -> Result<Measured, DeviationError> {
    range(body, seed)
}

/// Surface profile of a wall: deviations along the normal from the mean surface of revolution, root mean square and peak
/// to valley.
///
/// # Units and shapes
/// mm; one row per body section at equal steps of height.
///
/// # Uncertainty
/// Root mean square: the noise's power is taken off, its spread from the number of independent values. Peak to valley:
/// as [`total_runout`].
///
/// # Errors
/// As [`total_runout`].
///
/// # Example
/// Deviations of 0.3 and -0.3 mm throughout: root mean square 0.3 mm, peak to valley 0.6 mm.
/// ```
/// use tornus::Seed;
/// use tornus::deviation::{DeviationRow, surface_profile};
/// let rows = [DeviationRow { deviation_mm: &[0.3, -0.3, 0.3, -0.3], u_mm: 0.0, independent: 4 }; 3];
/// let found = surface_profile(&rows, Seed::new(1))?;
/// assert!((found.root_mean_square.estimate.value() - 0.3).abs() < 1e-12);
/// assert!((found.peak_to_valley.estimate.value() - 0.6).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// ISO 1101 (profile of a surface; here about the mean surface, not a nominal one).
pub fn surface_profile(body: &[DeviationRow<'_>], seed: Seed) -> Result<SurfaceProfile, DeviationError> {
    let rows = checked(body)?;
    let mut terms = Vec::new();
    for row in &rows {
        let values = row.deviation_mm.len() as f64;
        let mean_square = row.deviation_mm.iter().map(|d| d * d).sum::<f64>() / values;
        let free = independent(row);
        // As many squares as there are independent values, each with the row's mean square.
        let weight = 1.0 / free as f64;
        let term = NoiseTerm { square: weight * mean_square, variance: weight * row.u_mm.powi(2) };
        terms.extend(std::iter::repeat_n(term, free));
    }
    let root_mean_square = ChiSquareSum::new(&terms, rows.len() as f64).measured()?;
    Ok(SurfaceProfile { root_mean_square, peak_to_valley: range(body, seed)? })
}

/// The rows that hold values.
fn checked<'a, 'b>(body: &'b [DeviationRow<'a>]) -> Result<Vec<&'b DeviationRow<'a>>, DeviationError> {
    let rows: Vec<&DeviationRow<'_>> = body.iter().filter(|row| !row.deviation_mm.is_empty()).collect();
    enough("body rows with values", rows.len(), FEWEST)?;
    for row in &rows {
        check("deviation_mm", row.deviation_mm, f64::NEG_INFINITY)?;
        check("u_mm", &[row.u_mm], 0.0)?;
    }
    Ok(rows)
}

fn independent(row: &DeviationRow<'_>) -> usize {
    row.independent.clamp(1, row.deviation_mm.len())
}

fn range(body: &[DeviationRow<'_>], seed: Seed) -> Result<Measured, DeviationError> {
    let rows = checked(body)?;
    let seen: Vec<f64> = rows.iter().flat_map(|row| row.deviation_mm.iter().copied()).collect();
    let simulation = Simulation {
        statistic: |values: &[f64]| {
            let (low, high) = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| (l.min(v), h.max(v)));
            high - low
        },
        noise: |rng: &mut Xoshiro256PlusPlus, out: &mut [f64]| {
            let mut start = 0;
            for row in &rows {
                let end = start + row.deviation_mm.len();
                draw_row(rng, row.u_mm, independent(row), &mut out[start..end]);
                start = end;
            }
        },
        draws: DRAWS,
    };
    Ok(correct(&seen, simulation, seed)?)
}

/// Noise of one row: `free` independent draws around the circle, linear between.
fn draw_row(rng: &mut Xoshiro256PlusPlus, u: f64, free: usize, out: &mut [f64]) {
    let first = u * normal(rng);
    let (mut left, mut right, mut node) = (first, first, 0);
    if free > 1 {
        right = u * normal(rng);
    }
    let step = free as f64 / out.len() as f64;
    for (i, value) in out.iter_mut().enumerate() {
        let place = i as f64 * step;
        while place >= (node + 1) as f64 {
            node += 1;
            left = right;
            right = if node + 1 >= free { first } else { u * normal(rng) };
        }
        *value = left + (place - node as f64) * (right - left);
    }
}

#[cfg(test)]
mod tests {
    use super::super::correction::TWO_SIDED_95;
    use super::*;

    const NOISE: f64 = 0.01;

    fn map(eccentricity: f64, seed: u64) -> Vec<Vec<f64>> {
        let mut rng = Seed::new(seed).rng();
        (0..40)
            .map(|_| (0..60).map(|i| eccentricity * (0.1047 * f64::from(i)).cos() + NOISE * normal(&mut rng)).collect())
            .collect()
    }

    fn rows(map: &[Vec<f64>]) -> Vec<DeviationRow<'_>> {
        map.iter().map(|row| DeviationRow { deviation_mm: row, u_mm: NOISE, independent: row.len() }).collect()
    }

    #[test]
    fn intervals_cover_and_noise_alone_is_detected_in_one_scan_of_twenty() {
        for (eccentricity, cover) in [(0.0, false), (0.1, true)] {
            let (mut rms, mut pv, mut found_rms, mut found_pv) = (0, 0, 0, 0);
            for trial in 0..400 {
                let map = map(eccentricity, trial);
                let found = surface_profile(&rows(&map), Seed::new(trial)).unwrap();
                let within = |m: Measured, truth: f64| {
                    usize::from((m.estimate.value() - truth).abs() <= m.estimate.expanded(TWO_SIDED_95))
                };
                let above = |m: Measured| usize::from(m.estimate.value() > m.detection_limit.unwrap());
                rms += within(found.root_mean_square, eccentricity / 2.0_f64.sqrt());
                pv += within(found.peak_to_valley, 2.0 * eccentricity);
                found_rms += above(found.root_mean_square);
                found_pv += above(found.peak_to_valley);
            }
            if cover {
                assert!((368..=392).contains(&rms), "rms {rms}");
                assert!((368..=396).contains(&pv), "pv {pv}");
            } else {
                assert!((9..=32).contains(&found_rms), "rms {found_rms}"); // 20 +- 2.7 binomial standard deviations
                assert!((6..=36).contains(&found_pv), "pv {found_pv}"); // and the limit's own spread from 100 draws
            }
        }
    }

    #[test]
    fn empty_rows_are_left_out() {
        let row = DeviationRow { deviation_mm: &[0.1, -0.1], u_mm: 0.0, independent: 2 };
        let none = DeviationRow { deviation_mm: &[], u_mm: 0.0, independent: 2 };
        assert!((total_runout(&[row, none, row, row], Seed::new(1)).unwrap().estimate.value() - 0.2).abs() < 1e-12);
        assert!(total_runout(&[row, none, row], Seed::new(1)).is_err());
    }
}
