//! Total run-out and surface profile from a filtered map of deviations.

use std::f64::consts::TAU;

use rand_xoshiro::Xoshiro256PlusPlus;

use crate::quantity::Seed;

use super::correction::{Simulation, correct, normal, range};
use super::error::{DeviationError, check, enough};
use super::input::DeviationRow;
use super::lobing::{ChiSquareSum, NoiseTerm};
use super::measured::Measured;
use super::smoothing::{Basis, denoised_map};

/// Simulated maps; each is large, so few: they fix the noise's mean share of the range to a twentieth of its spread.
const DRAWS: usize = 100;
/// Highest degree over the height of the map's likely shape.
const SMOOTHEST: usize = 18;
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
/// let maps = [[-0.1, 0.0, 0.3], [-0.2, 0.0, 0.2], [0.0, 0.1, 0.0]].map(|row| row.map(Some));
/// let rows = maps.each_ref().map(|row| DeviationRow { deviation_mm: row, u_mm: 0.0, independent: 3 });
/// assert!((total_runout(&rows, Seed::new(1))?.estimate.value() - 0.5).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// ISO 1101 (total radial run-out; here about the mean meridian instead of a cylinder).
pub fn total_runout(body: &[DeviationRow<'_>], seed: Seed) -> Result<Measured, DeviationError> {
    corrected_range(body, seed)
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
/// let around = [0.3, -0.3, 0.3, -0.3].map(Some);
/// let rows = [DeviationRow { deviation_mm: &around, u_mm: 0.0, independent: 4 }; 3];
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
        let seen: Vec<f64> = row.deviation_mm.iter().flatten().copied().collect();
        let share = seen.len() as f64 / row.deviation_mm.len() as f64;
        // As many squares as there are independent values in what was seen, each with the row's mean square.
        let free = ((independent(row) as f64 * share).round() as usize).max(1);
        let mean_square = seen.iter().map(|d| d * d).sum::<f64>() / seen.len() as f64;
        let weight = 1.0 / free as f64;
        let term = NoiseTerm { square: weight * mean_square, variance: weight * row.u_mm.powi(2) };
        terms.extend(std::iter::repeat_n(term, free));
    }
    let root_mean_square = ChiSquareSum::new(&terms, rows.len() as f64).measured()?;
    Ok(SurfaceProfile { root_mean_square, peak_to_valley: corrected_range(body, seed)? })
}

/// The rows that hold values.
fn checked<'a, 'b>(body: &'b [DeviationRow<'a>]) -> Result<Vec<&'b DeviationRow<'a>>, DeviationError> {
    let rows: Vec<&DeviationRow<'_>> = body.iter().filter(|row| row.deviation_mm.iter().any(Option::is_some)).collect();
    enough("body rows with values", rows.len(), FEWEST)?;
    let expected = rows[0].deviation_mm.len();
    for row in &rows {
        let found = row.deviation_mm.len();
        if found != expected {
            return Err(DeviationError::LengthsDiffer { what: "deviation_mm", expected, found });
        }
        check("deviation_mm", &row.deviation_mm.iter().flatten().copied().collect::<Vec<_>>(), f64::NEG_INFINITY)?;
        check("u_mm", &[row.u_mm], 0.0)?;
    }
    Ok(rows)
}

fn independent(row: &DeviationRow<'_>) -> usize {
    row.independent.clamp(1, row.deviation_mm.len())
}

fn corrected_range(body: &[DeviationRow<'_>], seed: Seed) -> Result<Measured, DeviationError> {
    let rows = checked(body)?;
    let width = rows[0].deviation_mm.len();
    // Between independent values the map is smooth: every so many columns show its noise as well as all.
    let stride = (width / rows.iter().map(|row| independent(row)).max().unwrap_or(1)).max(1);
    let shown: Vec<Vec<usize>> = rows
        .iter()
        .map(|row| (0..width).step_by(stride).filter(|&i| row.deviation_mm[i].is_some()).collect())
        .collect();
    let all: Vec<f64> = rows.iter().flat_map(|row| row.deviation_mm.iter().flatten().copied()).collect();
    let part: Vec<f64> =
        rows.iter().zip(&shown).flat_map(|(row, places)| places.iter().filter_map(|&i| row.deviation_mm[i])).collect();
    let shape: Vec<f64> = likely_shape(&rows)
        .iter()
        .zip(&shown)
        .flat_map(|(row, places)| places.iter().map(|&i| row[i]).collect::<Vec<f64>>())
        .collect();
    let mut drawn = vec![0.0; width];
    let simulation = Simulation {
        seen_statistic: range(&all),
        seen: &part,
        shape: &shape,
        statistic: range,
        noise: |rng: &mut Xoshiro256PlusPlus, out: &mut [f64]| {
            let mut start = 0;
            for (row, places) in rows.iter().zip(&shown) {
                draw_row(rng, row.u_mm, independent(row), &mut drawn);
                for (out, &i) in out[start..].iter_mut().zip(places) {
                    *out = drawn[i];
                }
                start += places.len();
            }
        },
        draws: DRAWS,
    };
    Ok(correct(simulation, seed)?)
}

/// The map without its noise, whose power lies in as many coefficients of a row as there are independent values.
fn likely_shape(rows: &[&DeviationRow<'_>]) -> Vec<Vec<f64>> {
    let (count, width) = (rows.len(), rows[0].deviation_mm.len());
    let free = rows.iter().map(|row| independent(row)).max().unwrap_or(1);
    let square = rows.iter().map(|row| row.u_mm.powi(2)).sum::<f64>() / count as f64;
    let places: Vec<f64> = (0..count).map(|i| i as f64).collect();
    let azimuths: Vec<f64> = (0..width).map(|i| TAU * i as f64 / width as f64).collect();
    let along = Basis::polynomials(&places, SMOOTHEST);
    let across = Basis::harmonics(&azimuths, free / 2);
    let filled: Vec<Vec<f64>> = rows.iter().map(|row| filled(row.deviation_mm)).collect();
    denoised_map(&filled, &along, &across, square * width as f64 / free as f64)
}

/// A row with its gaps bridged linearly around the circle.
fn filled(row: &[Option<f64>]) -> Vec<f64> {
    let n = row.len();
    let known: Vec<(usize, f64)> = row.iter().enumerate().filter_map(|(i, d)| d.map(|d| (i, d))).collect();
    let mut out = vec![0.0; n];
    for (pair, &(from, value)) in known.iter().enumerate() {
        let (to, next) = known[(pair + 1) % known.len()];
        let gap = if to > from { to - from } else { to + n - from };
        for step in 0..gap {
            out[(from + step) % n] = value + (next - value) * step as f64 / gap as f64;
        }
    }
    out
}

/// Noise of one row: `free` independent draws around the circle, linear between.
fn draw_row(rng: &mut Xoshiro256PlusPlus, u: f64, free: usize, out: &mut [f64]) {
    let first = u * normal(rng);
    let (mut left, mut node) = (first, 0);
    let mut right = if free > 1 { u * normal(rng) } else { first };
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

    fn map(eccentricity: f64, seed: u64) -> Vec<Vec<Option<f64>>> {
        let mut rng = Seed::new(seed).rng();
        (0..40)
            .map(|_| {
                (0..60)
                    .map(|i| Some(eccentricity * (TAU * f64::from(i) / 60.0).cos() + NOISE * normal(&mut rng)))
                    .collect()
            })
            .collect()
    }

    fn rows(map: &[Vec<Option<f64>>]) -> Vec<DeviationRow<'_>> {
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
    fn gaps_are_bridged_around_the_circle() {
        let row = [None, Some(1.0), None, Some(3.0), None, None];
        let wanted = [1.5, 1.0, 2.0, 3.0, 2.5, 2.0];
        for (a, b) in filled(&row).iter().zip(wanted) {
            assert!((a - b).abs() < 1e-12);
        }
    }

    #[test]
    fn empty_rows_are_left_out() {
        let row = DeviationRow { deviation_mm: &[Some(0.1), None, Some(-0.1)], u_mm: 0.0, independent: 2 };
        let none = DeviationRow { deviation_mm: &[None, None, None], u_mm: 0.0, independent: 2 };
        assert!((total_runout(&[row, none, row, row], Seed::new(1)).unwrap().estimate.value() - 0.2).abs() < 1e-12);
        assert!(total_runout(&[row, none, row], Seed::new(1)).is_err());
    }
}
