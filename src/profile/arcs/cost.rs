//! Chi-square of the best line and the best arc through a run of stations, from sums.

use nalgebra::{Matrix3, Vector3};

use super::ArcStation;

/// Weighted sums over a run of stations, in the frame of its first: x along the meridian there, y across.
///
/// The circle y = a + b x + c (x^2 + y^2) passes near the frame's origin, so that b and c stay finite for any arc; the
/// gradient of the equation is the same all around it, so that residuals over it are distances to first order.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sums {
    origin: [f64; 2],
    direction: [f64; 2],
    /// Of w (1, x, p)(1, x, p)^T with p = x^2 + y^2.
    square: Matrix3<f64>,
    /// Of w y (1, x, p).
    right: Vector3<f64>,
    y_square: f64,
}

impl Sums {
    pub(super) fn new(origin: [f64; 2], direction: [f64; 2]) -> Self {
        Self { origin, direction, square: Matrix3::zeros(), right: Vector3::zeros(), y_square: 0.0 }
    }

    pub(super) fn enter(&mut self, station: &ArcStation, weight: f64) {
        let (dr, dz) = (station.radius_mm - self.origin[0], station.height_mm - self.origin[1]);
        let [t_r, t_z] = self.direction;
        let (x, y) = (dr * t_r + dz * t_z, dz * t_r - dr * t_z);
        let basis = Vector3::new(1.0, x, x * x + y * y);
        self.square.syger(weight, &basis, &basis, 1.0);
        self.right += basis * (weight * y);
        self.y_square += weight * y * y;
    }

    /// Chi-square of the line: the lesser eigenvalue of the scatter about the mean.
    pub(super) fn line(&self) -> f64 {
        let weight = self.square[(0, 0)];
        let (x, y) = (self.square[(1, 0)] / weight, self.right[0] / weight);
        let xx = self.square[(1, 1)] - weight * x * x;
        let xy = self.right[1] - weight * x * y;
        let yy = self.y_square - weight * y * y;
        let half = 0.5 * (xx + yy);
        // The product of the eigenvalues over the greater: their difference would lose its digits.
        let greater = half + (0.25 * (xx - yy).powi(2) + xy * xy).sqrt();
        if greater > 0.0 { ((xx * yy - xy * xy) / greater).max(0.0) } else { 0.0 }
    }

    /// Chi-square of the arc; infinite where the stations hold none.
    pub(super) fn arc(&self) -> f64 {
        let mut square = self.square;
        square.fill_upper_triangle_with_lower_triangle();
        let Some(cholesky) = square.cholesky() else { return f64::INFINITY };
        let fit = cholesky.solve(&self.right);
        let gradient = fit[1] * fit[1] + 1.0 - 4.0 * fit[0] * fit[2];
        let left = self.y_square - fit.dot(&self.right);
        if gradient > 0.0 { (left / gradient).max(0.0) } else { f64::INFINITY }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn station(radius_mm: f64, height_mm: f64) -> ArcStation {
        ArcStation { radius_mm, height_mm, u_mm: 0.01 }
    }

    #[test]
    fn a_rectangle_lies_half_its_width_off_its_line() {
        let mut sums = Sums::new([0.0, 0.0], [0.0, 1.0]);
        for (r, z) in [(0.0, 0.0), (2.0, 0.0), (0.0, 9.0), (2.0, 9.0)] {
            sums.enter(&station(r, z), 1.0);
        }
        assert!((sums.line() - 4.0).abs() < 1e-12);
    }

    #[test]
    fn three_quarters_of_a_circle_lie_on_their_arc_alone() {
        let mut sums = Sums::new([5.0, 0.0], [0.0, 1.0]);
        for i in 0..48 {
            let angle = 0.1 * f64::from(i);
            let radius = if i % 2 == 0 { 5.001 } else { 4.999 };
            sums.enter(&station(radius * angle.cos(), radius * angle.sin()), 1e6);
        }
        assert!((sums.arc() - 48.0).abs() < 2.0); // three parameters fit almost nothing of the alternation
        assert!(sums.line() > 1e6);
    }
}
