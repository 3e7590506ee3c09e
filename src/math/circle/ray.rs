//! A point as seen from a centre.

use nalgebra::{Point2, Vector2};

/// Unit direction and distance of a point from a centre; a point on the centre lies along x.
#[derive(Clone, Copy)]
pub(super) struct Ray {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) distance: f64,
}

impl Ray {
    pub(super) fn from(center: Point2<f64>, point: Point2<f64>) -> Self {
        let (dx, dy) = (point.x - center.x, point.y - center.y);
        let distance = (dx * dx + dy * dy).sqrt();
        if distance > 0.0 {
            Self { x: dx / distance, y: dy / distance, distance }
        } else {
            Self { x: 1.0, y: 0.0, distance }
        }
    }

    /// The distance after the centre has made a small `step`, to first order.
    pub(super) fn after(&self, step: Vector2<f64>) -> f64 {
        self.distance - self.x * step.x - self.y * step.y
    }

    pub(super) fn angle(&self) -> f64 {
        self.y.atan2(self.x)
    }
}
