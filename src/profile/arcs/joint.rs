//! Where two neighbouring pieces meet, and how.

use super::Curve;

/// Steps of Newton's search for the place where two curves meet.
const STEPS: usize = 8;

/// Curves whose gap is at most this many times its uncertainty where they run alike are taken to touch there.
const TOUCHING: f64 = 3.0;

/// The joint of two pieces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Where they meet, or come closest (radius, height), mm.
    pub place: [f64; 2],
    /// Standard uncertainty of that place along the meridian, mm.
    pub u_along_mm: f64,
    /// Whether one runs into the other without a kink, as far as the scan can tell.
    pub smooth: bool,
    /// Angle by which the meridian turns there to the left, rad; 0 at a smooth joint.
    pub turn_rad: f64,
    /// Its standard uncertainty, rad; at a smooth joint the kink that the curves' uncertainty could hide.
    pub u_turn_rad: f64,
}

/// Two curves, seen along the first.
struct Pair<'a> {
    before: &'a Curve,
    after: &'a Curve,
}

impl Pair<'_> {
    fn gap(&self, along: f64) -> f64 {
        self.after.distance(self.before.at(along))
    }

    fn u_gap(&self, along: f64) -> f64 {
        self.before.u_offset(along).hypot(self.after.u_offset(self.across(along)))
    }

    fn turn(&self, along: f64) -> f64 {
        wrapped(self.after.heading(self.across(along)) - self.before.heading(along))
    }

    fn u_turn(&self, along: f64) -> f64 {
        self.before.u_heading(along).hypot(self.after.u_heading(self.across(along)))
    }

    /// The same place along the second curve.
    fn across(&self, along: f64) -> f64 {
        self.after.along(self.before.at(along))
    }

    /// Where `step` leads within `reach` of `start`; `None` if it leads out.
    fn seek(&self, start: f64, reach: f64, step: impl Fn(f64) -> f64) -> Option<f64> {
        let mut along = start;
        for _ in 0..STEPS {
            along += step(along);
            let near = (along - start).abs() <= reach;
            if !near {
                return None;
            }
        }
        Some(along)
    }
}

impl Joint {
    /// The joint of two curves near a point; it lies within `reach` mm of it.
    pub(super) fn between(before: &Curve, after: &Curve, near: [f64; 2], reach: f64) -> Self {
        let pair = Pair { before, after };
        let start = before.along(near);
        let bend = after.curvature - before.curvature;
        let touch = pair
            .seek(start, reach, |along| -pair.turn(along) / bend)
            .filter(|along| pair.gap(*along).abs() <= TOUCHING * pair.u_gap(*along));
        if let Some(along) = touch {
            return Self {
                place: before.at(along),
                u_along_mm: (pair.u_turn(along) / bend.abs()).min(reach),
                smooth: true,
                turn_rad: 0.0,
                u_turn_rad: (2.0 * bend.abs() * pair.u_gap(along)).sqrt(),
            };
        }
        // Across the second curve, the first moves by minus the sine of the turn.
        let along = pair.seek(start, reach, |along| pair.gap(along) / pair.turn(along).sin()).unwrap_or(start);
        let (turn, there) = (pair.turn(along), pair.across(along));
        // The second curve's offset moves the crossing by 1 / sine of the turn along the first, the first's own by its cotangent.
        let (sine, cosine) = turn.sin_cos();
        let u_gap = after.u_offset(there).hypot(cosine * before.u_offset(along));
        Self {
            place: before.at(along),
            u_along_mm: (u_gap / sine.abs().max(f64::MIN_POSITIVE)).min(reach),
            smooth: false,
            turn_rad: turn,
            u_turn_rad: pair.u_turn(along),
        }
    }
}

/// An angle brought between minus pi and pi.
fn wrapped(angle: f64) -> f64 {
    let turns = (angle / std::f64::consts::TAU).round();
    angle - turns * std::f64::consts::TAU
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_cross_at_their_corner() {
        let (floor, wall) = (Curve::between([0.0, 0.0], [20.0, 0.0]), Curve::between([20.0, 0.0], [20.0, 50.0]));
        let joint = Joint::between(&floor, &wall, [19.5, 0.4], 3.0);
        assert!((joint.place[0] - 20.0).abs() < 1e-9 && joint.place[1].abs() < 1e-9);
        assert!((joint.turn_rad - std::f64::consts::FRAC_PI_2).abs() < 1e-12); // from outwards to upwards is to the left
    }

    #[test]
    fn a_line_touches_its_arc() {
        // Upright wall to height 30, then an arc of 10 mm about (10, 30).
        let wall = Curve::between([20.0, 0.0], [20.0, 30.0]);
        let arc = Curve { place: [10.0, 40.0], direction: [-1.0, 0.0], curvature: 0.1, ..wall };
        let joint = Joint::between(&wall, &arc, [19.99, 31.0], 3.0);
        assert!((joint.place[1] - 30.0).abs() < 1e-6 && joint.turn_rad.abs() < 1e-6, "{joint:?}");
    }
}
