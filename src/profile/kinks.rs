//! A way that runs to and fro across a thick band of points, straightened.

use std::f64::consts::PI;

/// Turns in a row that are looked at together: a step of the form lies further apart than that, or is below the resolution.
const TURNS: usize = 4;

/// What such turns may cancel each other by, rad (project; noise of a twentieth of the stations' distance stays under half of
/// it, a way that runs to and fro cancels a half turn).
const MOST_CANCELLED: f64 = PI / 3.0;

/// Rounds at most; each takes a way that turns at every point straight, and one with three points a turn by a quarter.
const ROUNDS: usize = 60;

/// The points of a way with those drawn between their neighbours where it turns left and right by turns.
///
/// A corner, a rounding and a narrow rim turn one way only and keep their points.
///
/// # Units and shapes
/// Radius and height of each point, mm; as many points as there were.
#[must_use]
pub(super) fn unkinked(path: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut path = path.to_vec();
    for _ in 0..ROUNDS {
        let kinked = kinked(&path);
        if !kinked.contains(&true) {
            break;
        }
        let before = path.clone();
        for (index, window) in before.windows(3).enumerate() {
            if kinked[index + 1] {
                path[index + 1] = [0, 1].map(|i| 0.25 * (window[0][i] + 2.0 * window[1][i] + window[2][i]));
            }
        }
    }
    path
}

/// Which points take part in a to and fro.
fn kinked(path: &[[f64; 2]]) -> Vec<bool> {
    let turns: Vec<f64> = path.windows(3).map(|p| turn(p[0], p[1], p[2])).collect();
    let mut kinked = vec![false; path.len()];
    for (first, some) in turns.windows(TURNS).enumerate() {
        let total: f64 = some.iter().sum();
        if some.iter().map(|turn| turn.abs()).sum::<f64>() - total.abs() > MOST_CANCELLED {
            kinked[first + 1..=first + TURNS].fill(true);
        }
    }
    kinked
}

/// Angle by which the way turns at `b`, rad, left positive.
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
    (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_zigzag_becomes_straight_and_corners_stay() {
        let zigzag: Vec<[f64; 2]> = (0..40).map(|i| [20.0 + 0.6 * f64::from(i % 2), 0.5 * f64::from(i)]).collect();
        let straight = unkinked(&zigzag);
        // The ends have no neighbours to be drawn between.
        assert!(straight[4..36].iter().all(|p| (p[0] - 20.3).abs() < 0.1), "{straight:?}");

        let corner: Vec<[f64; 2]> =
            (0..10).map(|i| [20.0, f64::from(i)]).chain((0..10).map(|i| [19.0 - f64::from(i), 9.0])).collect();
        assert_eq!(unkinked(&corner), corner);
        let rim: Vec<[f64; 2]> = (0..13).map(f64::from).map(|i| 0.25 * i).map(|a| [a.cos(), a.sin()]).collect();
        assert_eq!(unkinked(&rim), rim);
    }

    #[test]
    fn a_step_of_the_form_stays() {
        // Out by five stations and up again.
        let step: Vec<[f64; 2]> = (0..10)
            .map(|i| [20.0, f64::from(i)])
            .chain((1..6).map(|i| [20.0 + f64::from(i), 9.0]))
            .chain((1..10).map(|i| [25.0, 9.0 + f64::from(i)]))
            .collect();
        assert_eq!(unkinked(&step), step);
    }
}
