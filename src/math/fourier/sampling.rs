//! What a sampling of the circle can tell: its largest gap, and the highest harmonic it supports.

use std::f64::consts::{PI, TAU};

/// How many points each unknown needs for [`supported_highest`]; project, no source. With 3 the noise of the fit stays
/// within a fifth of that of an even sampling; with 1 the fit interpolates the noise.
const POINTS_PER_UNKNOWN: usize = 3;

/// The largest gap between neighbouring angles round the circle, in rad; a whole turn of one angle or none.
///
/// Angles may come in any order and any turn, and must be finite; increasing angles within a turn cost no sorting.
///
/// # Example
/// ```
/// use std::f64::consts::PI;
/// use tornus::math::fourier::largest_gap;
/// assert!((largest_gap(&[0.0, 0.5 * PI, PI]) - PI).abs() < 1e-15); // from pi back to 0
/// ```
#[must_use]
pub fn largest_gap(angles: &[f64]) -> f64 {
    let in_order = angles.windows(2).all(|pair| pair[0] <= pair[1]);
    match (in_order, angles.first(), angles.last()) {
        (true, Some(first), Some(last)) if last - first <= TAU => largest_step(angles, first + TAU - last),
        (_, None, _) | (_, _, None) => TAU,
        _ => {
            let mut sorted: Vec<f64> = angles.iter().map(|angle| angle.rem_euclid(TAU)).collect();
            sorted.sort_by(f64::total_cmp);
            let round_the_turn = sorted[0] + TAU - sorted[sorted.len() - 1];
            largest_step(&sorted, round_the_turn)
        }
    }
}

fn largest_step(sorted: &[f64], round_the_turn: f64) -> f64 {
    sorted.windows(2).map(|pair| pair[1] - pair[0]).fold(round_the_turn, f64::max)
}

/// The largest gap a fit up to harmonic `highest` tolerates, rad: half a period of that harmonic.
///
/// Project, no source: within half a period the least eigenvalue of the normal equations stays above a tenth of the
/// mean one, so that no combination of harmonics is left to the noise.
pub(crate) fn allowed_gap(highest: usize) -> f64 {
    PI / highest.max(1) as f64 * (1.0 + 1e-9)
}

/// The highest harmonic, at most `wanted`, that `angles` support; 0 where they support none.
///
/// Two rules, both of this project: no gap longer than half a period of the highest harmonic, and three points for
/// each of its 2 K + 1 unknowns.
///
/// # Example
/// ```
/// use std::f64::consts::TAU;
/// use tornus::math::fourier::supported_highest;
/// let angles: Vec<f64> = (0..90).map(|j| TAU * f64::from(j) / 90.0).collect();
/// assert_eq!(supported_highest(&angles, 50), 14); // 3 (2 x 14 + 1) = 87 <= 90
/// ```
#[must_use]
pub fn supported_highest(angles: &[f64], wanted: usize) -> usize {
    let by_count = (angles.len() / POINTS_PER_UNKNOWN).saturating_sub(1) / 2;
    let bound = wanted.min(by_count);
    if bound == 0 {
        return 0;
    }
    let gap = largest_gap(angles);
    let by_gap = (PI / gap * (1.0 + 1e-9)).floor() as usize;
    bound.min(by_gap)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_and_turns_do_not_matter() {
        let angles = [0.1, 1.0, 2.5, 4.0, 6.0];
        let jumbled = [4.0 - TAU, 6.0 + TAU, 0.1, 2.5, 1.0];
        assert!((largest_gap(&angles) - 2.0).abs() < 1e-12);
        assert!((largest_gap(&jumbled) - 2.0).abs() < 1e-12);
    }

    #[test]
    fn one_angle_leaves_a_whole_turn() {
        assert!((largest_gap(&[1.0]) - TAU).abs() < 1e-15);
        assert!((largest_gap(&[]) - TAU).abs() < 1e-15);
    }

    #[test]
    fn a_missing_third_supports_one_harmonic() {
        let angles: Vec<f64> = (0..4000).map(|j| TAU * 2.0 / 3.0 * f64::from(j) / 4000.0).collect();
        assert_eq!(supported_highest(&angles, 150), 1);
        assert_eq!(supported_highest(&angles[..2], 150), 0);
    }
}
