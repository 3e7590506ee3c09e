//! A line or arc as a place, a direction and a curvature, and its fit to stations.

use nalgebra::{Matrix3, Vector3};

use super::ArcStation;

/// Steps of a fit; it has converged after three or four.
const STEPS: usize = 12;

/// A step that moves no station by more than this is the last, mm.
const LAST_STEP_MM: f64 = 1e-9;

/// A line (curvature 0) or arc. Around `place` it is described by its normal offset, direction and curvature, which stay
/// finite where an arc becomes a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve {
    /// A point of it (radius, height), mm, about the middle of its stations.
    pub place: [f64; 2],
    /// Unit direction there, in the order of the stations.
    pub direction: [f64; 2],
    /// Signed curvature, 1/mm: positive where the curve turns to the left of its direction.
    pub curvature: f64,
    /// Covariance of normal offset (mm), direction (rad) and curvature (1/mm) at the place.
    pub covariance: Matrix3<f64>,
}

impl Curve {
    /// The line between two points.
    pub(super) fn between(from: [f64; 2], to: [f64; 2]) -> Self {
        let way = [to[0] - from[0], to[1] - from[1]];
        let length = way[0].hypot(way[1]).max(f64::MIN_POSITIVE);
        Self {
            place: [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])],
            direction: [way[0] / length, way[1] / length],
            curvature: 0.0,
            covariance: Matrix3::zeros(),
        }
    }

    /// The normal at the place: to the left of the direction.
    #[must_use]
    pub const fn normal(&self) -> [f64; 2] {
        [-self.direction[1], self.direction[0]]
    }

    /// Coordinates of a point along direction and normal.
    fn local(&self, point: [f64; 2]) -> (f64, f64) {
        let (dr, dz) = (point[0] - self.place[0], point[1] - self.place[1]);
        let [t_r, t_z] = self.direction;
        (dr * t_r + dz * t_z, dz * t_r - dr * t_z)
    }

    /// Distance of a point from the curve, mm, positive to its left.
    #[must_use]
    pub fn distance(&self, point: [f64; 2]) -> f64 {
        let (x, y) = self.local(point);
        let algebraic = y - 0.5 * self.curvature * (x * x + y * y);
        2.0 * algebraic / (1.0 + (1.0 - 2.0 * self.curvature * algebraic).max(0.0).sqrt())
    }

    /// Arc length from the place to the foot of a point on the curve, mm.
    #[must_use]
    pub fn along(&self, point: [f64; 2]) -> f64 {
        let (x, y) = self.local(point);
        let angle = (self.curvature * x).atan2(1.0 - self.curvature * y);
        // A line, or an arc so flat that the angle's digits are lost.
        if angle.abs() < 1e-9 { x / (1.0 - self.curvature * y) } else { angle / self.curvature }
    }

    /// The point at arc length `along` from the place.
    #[must_use]
    pub fn at(&self, along: f64) -> [f64; 2] {
        let half = 0.5 * along * self.curvature;
        // Chord of the arc: its length, and half the turn from the direction.
        let chord = if half.abs() < 1e-9 { along } else { along * half.sin() / half };
        let (sine, cosine) = half.sin_cos();
        let [t_r, t_z] = self.direction;
        [self.place[0] + chord * (t_r * cosine - t_z * sine), self.place[1] + chord * (t_z * cosine + t_r * sine)]
    }

    /// Angle of the direction at arc length `along` from the radial direction, rad.
    #[must_use]
    pub fn heading(&self, along: f64) -> f64 {
        self.direction[1].atan2(self.direction[0]) + self.curvature * along
    }

    /// Standard uncertainty of the direction at arc length `along`, rad.
    #[must_use]
    pub fn u_heading(&self, along: f64) -> f64 {
        let c = &self.covariance;
        (c[(1, 1)] + 2.0 * along * c[(1, 2)] + along * along * c[(2, 2)]).max(0.0).sqrt()
    }

    /// Standard uncertainty of the normal offset at arc length `along`, mm, for a curve that turns by little.
    #[must_use]
    pub fn u_offset(&self, along: f64) -> f64 {
        let basis = Vector3::new(1.0, along, 0.5 * along * along);
        (basis.transpose() * self.covariance * basis)[(0, 0)].max(0.0).sqrt()
    }

    /// Centre (radius, height), mm, with standard uncertainties; `None` of a line.
    #[must_use]
    pub fn center(&self) -> Option<[[f64; 2]; 2]> {
        if self.curvature.abs() < f64::MIN_POSITIVE {
            return None;
        }
        let radius = 1.0 / self.curvature;
        let center = |axis: usize| {
            let (normal, direction) = (self.normal()[axis], self.direction[axis]);
            let gradient = Vector3::new(normal, -direction * radius, -normal * radius * radius);
            let variance = (gradient.transpose() * self.covariance * gradient)[(0, 0)];
            [self.place[axis] + normal * radius, variance.max(0.0).sqrt()]
        };
        Some([center(0), center(1)])
    }

    /// The curve of least weighted squared distances; a line if not `bent`. `None` where the stations hold none.
    pub(super) fn fit(stations: &[ArcStation], weights: &[f64], bent: bool) -> Option<Self> {
        let (first, last) = (stations.first()?, stations.last()?);
        let mut curve = Self::between(first.place(), last.place());
        curve.place = stations[stations.len() / 2].place();
        for _ in 0..STEPS {
            let (cofactor, step, reach) = curve.step(stations, weights, bent)?;
            curve.move_by(&step);
            curve.covariance = cofactor;
            let moved = step[0].abs() + reach * step[1].abs() + reach * reach * step[2].abs();
            if moved < LAST_STEP_MM {
                break;
            }
        }
        let finite = curve.place.iter().chain(&curve.direction).all(|v| v.is_finite()) && curve.curvature.is_finite();
        finite.then_some(curve)
    }

    /// Cofactor matrix and step of Gauss and Newton in (offset, direction, curvature), and the stations' reach, mm.
    fn step(&self, stations: &[ArcStation], weights: &[f64], bent: bool) -> Option<(Matrix3<f64>, Vector3<f64>, f64)> {
        let (mut square, mut right) = (Matrix3::zeros(), Vector3::zeros());
        let mut reach = 0.0_f64;
        for (station, weight) in stations.iter().zip(weights) {
            let (x, y) = self.local(station.place());
            let far = x * x + y * y;
            let algebraic = y - 0.5 * self.curvature * far;
            let root = (1.0 - 2.0 * self.curvature * algebraic).max(0.0).sqrt();
            if root <= 0.0 {
                return None;
            }
            let distance = 2.0 * algebraic / (1.0 + root);
            let rise = Vector3::new(
                1.0 - self.curvature * y,
                x,
                if bent { 0.5 * far - 0.5 * distance * distance } else { 0.0 },
            );
            let rise = rise / root;
            square += rise * rise.transpose() * *weight;
            right += rise * (weight * distance);
            reach = reach.max(far);
        }
        if !bent {
            square[(2, 2)] = 1.0;
        }
        let mut inverse = square.cholesky()?.inverse();
        let step = inverse * right;
        if !bent {
            inverse[(2, 2)] = 0.0;
        }
        step.iter().all(|v| v.is_finite()).then_some((inverse, step, reach.sqrt()))
    }

    fn move_by(&mut self, step: &Vector3<f64>) {
        let normal = self.normal();
        self.place = [self.place[0] + step[0] * normal[0], self.place[1] + step[0] * normal[1]];
        let (sine, cosine) = step[1].sin_cos();
        let [t_r, t_z] = self.direction;
        self.direction = [t_r * cosine - t_z * sine, t_z * cosine + t_r * sine];
        self.curvature += step[2];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circle(center: [f64; 2], radius: f64, angles: &[f64]) -> Vec<ArcStation> {
        let place = |a: &f64| ArcStation {
            radius_mm: center[0] + radius * a.cos(),
            height_mm: center[1] + radius * a.sin(),
            u_mm: 0.01,
        };
        angles.iter().map(place).collect()
    }

    #[test]
    fn an_arc_of_more_than_half_a_turn_is_found() {
        let angles: Vec<f64> = (0..40).map(|i| -1.0 + 0.1 * f64::from(i)).collect();
        let stations = circle([30.0, 12.0], 4.0, &angles);
        let curve = Curve::fit(&stations, &[1.0; 40], true).unwrap();
        let [r, z] = curve.center().unwrap();
        assert!((r[0] - 30.0).abs() < 1e-9 && (z[0] - 12.0).abs() < 1e-9 && (curve.curvature - 0.25).abs() < 1e-9);
        // Arc length 4 mm is one radian.
        let end = curve.at(curve.along(stations[0].place()));
        assert!((end[0] - stations[0].radius_mm).hypot(end[1] - stations[0].height_mm) < 1e-9);
    }

    #[test]
    fn a_line_has_no_centre_and_the_variance_of_a_mean() {
        let stations: Vec<ArcStation> =
            (0..9).map(|i| ArcStation { radius_mm: 10.0, height_mm: f64::from(i), u_mm: 0.1 }).collect();
        let curve = Curve::fit(&stations, &[100.0; 9], false).unwrap();
        assert_eq!(curve.center(), None);
        assert!((curve.u_offset(0.0) - 0.1 / 3.0).abs() < 1e-12);
        assert!((curve.distance([9.0, 3.0]) - 1.0).abs() < 1e-12); // upwards, left is towards the axis
    }

    #[test]
    fn the_far_side_of_a_circle_is_a_diameter_away() {
        let curve = Curve { curvature: 0.5, ..Curve::between([0.0, 0.0], [1.0, 0.0]) };
        assert!((curve.distance([0.5, 1.0]) - 1.0).abs() < 1e-12);
        assert!((curve.distance([0.5, 2.0]) - 2.0).abs() < 1e-12); // the centre: one radius, 2 mm
    }
}
