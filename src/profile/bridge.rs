//! Short runs of a way that nothing is known of, bridged by what lies on both sides.

use nalgebra::Vector2;

/// Points of a run at most (project): beyond, the sides say little of what lies between them.
const LONGEST: usize = 8;

/// Cosine of the turn between both sides at most, 120 degrees: a sharper one is no arc.
const SHARPEST: f64 = -0.5;

/// The points of a way with short runs of those not `known` put onto a smooth bridge between their known neighbours, and how
/// far the bridge runs from the chord there; 0 elsewhere.
///
/// The bridge leaves each side in the direction of the circle through the last known points, and is that circle, to a
/// thousandth of its height, where both sides lie on one. A wall that turns one way lies between the chord and where the
/// two directions meet, which is about as far behind the bridge: with nothing else known it may lie anywhere there.
///
/// # Units and shapes
/// Radius and height of each point, mm; as many points as there were.
#[must_use]
pub(super) fn bridged(path: &[[f64; 2]], known: &[bool]) -> (Vec<[f64; 2]>, Vec<f64>) {
    let (mut out, mut sagitta) = (path.to_vec(), vec![0.0; path.len()]);
    let sure: Vec<usize> = (0..path.len()).filter(|&index| known[index]).collect();
    let at = |index: usize| Vector2::from(path[index]);
    for (number, pair) in sure.windows(2).enumerate() {
        let (from, to) = (pair[0], pair[1]);
        if !(2..=LONGEST + 1).contains(&(to - from)) {
            continue;
        }
        let before = number.checked_sub(1).map(|before| at(sure[before]));
        let after = sure.get(number + 2).map(|after| at(*after));
        let bridge = Bridge::new(before, [at(from), at(to)], after);
        for index in from + 1..to {
            let (point, off) = bridge.at((index - from) as f64 / (to - from) as f64);
            out[index] = [point.x.max(0.0), point.y];
            sagitta[index] = off;
        }
    }
    (out, sagitta)
}

/// A cubic between two points with given directions there.
struct Bridge {
    ends: [Vector2<f64>; 2],
    slopes: [Vector2<f64>; 2],
}

impl Bridge {
    fn new(before: Option<Vector2<f64>>, ends: [Vector2<f64>; 2], after: Option<Vector2<f64>>) -> Self {
        let chord = ends[1] - ends[0];
        let start = before.and_then(|before| direction(before, ends[0], ends[1]));
        let end = after.and_then(|after| direction(ends[0], ends[1], after));
        let slopes = match (start, end) {
            (Some(start), Some(end)) if start.dot(&end) > SHARPEST => {
                // The length of slope with which a cubic follows an arc: chord / cos2 of a quarter of the turn.
                let quarter = start.dot(&end).clamp(-1.0, 1.0).acos() / 4.0;
                let length = chord.norm() / quarter.cos().powi(2);
                [start * length, end * length]
            }
            _ => [chord, chord],
        };
        Self { ends, slopes }
    }

    /// The point a part `t` (0 to 1) of the way, and its distance from the chord.
    fn at(&self, t: f64) -> (Vector2<f64>, f64) {
        let s = 1.0 - t;
        let [a, b] = self.ends;
        let straight = a * s + b * t;
        let [p, q] = [self.slopes[0] - (b - a), (b - a) - self.slopes[1]];
        let point = straight + (p * s + q * t) * (s * t);
        let chord = b - a;
        let across = (point - a).perp(&chord).abs() / chord.norm().max(f64::MIN_POSITIVE);
        (point, across)
    }
}

/// Direction at `b` of the circle through three points in order; `None` where two of them are one.
fn direction(a: Vector2<f64>, b: Vector2<f64>, c: Vector2<f64>) -> Option<Vector2<f64>> {
    let (u, v) = (b - a, c - b);
    let (before, after) = (u.norm(), v.norm());
    // The bisector theorem of the inscribed angle: each chord's direction weighs as the other's length.
    let direction = u / before * after + v / after * before;
    direction.try_normalize(f64::MIN_POSITIVE).filter(|d| d.iter().all(|x| x.is_finite()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arc_with_holes_is_an_arc() {
        let path: Vec<[f64; 2]> =
            (0..40).map(|i| 0.08 * f64::from(i)).map(|a| [40.0 + 2.0 * a.cos(), 2.0 * a.sin()]).collect();
        let known: Vec<bool> = (0..40).map(|i| i % 7 < 3).collect();
        // Where nothing is known the way cuts the corner.
        let cut: Vec<[f64; 2]> = path
            .iter()
            .zip(&known)
            .map(|(p, known)| if *known { *p } else { [40.0 + 0.9 * (p[0] - 40.0), 0.9 * p[1]] })
            .collect();
        let (bridged, off) = bridged(&cut, &known);
        for (index, point) in bridged.iter().enumerate().take(38) {
            assert!(((point[0] - 40.0).hypot(point[1]) - 2.0).abs() < 1e-3, "{index} {point:?}");
        }
        // Five steps of 0.08 rad between known points: sagitta 2 (1 - cos 0.2) = 0.04 mm, a little less beside the middle.
        assert!(off[4] > 0.035 && off[4] < 0.04, "{off:?}");
        assert!(off[0].abs() < f64::EPSILON);
    }

    #[test]
    fn a_straight_wall_stays_and_long_runs_are_left() {
        let path: Vec<[f64; 2]> = (0..40).map(|i| [20.0, 0.5 * f64::from(i)]).collect();
        let known: Vec<bool> = (0..40).map(|i| i < 5 || (9..12).contains(&i) || i > 30).collect();
        let (found, off) = bridged(&path, &known);
        for (a, b) in path.iter().zip(&found) {
            assert!((a[0] - b[0]).hypot(a[1] - b[1]) < 1e-9);
        }
        assert!(off.iter().all(|off| off.abs() < 1e-9));
    }
}
