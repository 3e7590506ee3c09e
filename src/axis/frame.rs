//! The vessel's frame: z along the axis, azimuth zero fixed by the scanner's frame.

use nalgebra::{Matrix3, Point3, Vector3};

/// A direction within this sine of the axis gives no azimuth zero.
const PARALLEL: f64 = 1e-6;

/// An axis with an origin on it: `local = rotation * (scanner - origin)`.
///
/// Azimuth zero is the scanner's x axis projected onto the plane across the axis, its z axis where x is parallel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    origin: Point3<f64>,
    rotation: Matrix3<f64>,
}

impl Frame {
    /// The frame of the axis through `origin` along `direction`; `None` if `direction` has no length.
    #[must_use]
    pub fn new(origin: Point3<f64>, direction: Vector3<f64>) -> Option<Self> {
        let z = direction.try_normalize(0.0)?;
        let across = |v: Vector3<f64>| (v - z * z.dot(&v)).try_normalize(PARALLEL);
        let x = across(Vector3::x()).or_else(|| across(Vector3::z()))?;
        let y = z.cross(&x);
        Some(Self { origin, rotation: Matrix3::from_rows(&[x.transpose(), y.transpose(), z.transpose()]) })
    }

    /// A point of the axis, mm, in the scanner's frame.
    #[must_use]
    pub const fn origin(&self) -> Point3<f64> {
        self.origin
    }

    /// The axis's unit direction in the scanner's frame.
    #[must_use]
    pub fn direction(&self) -> Vector3<f64> {
        self.rotation.row(2).transpose()
    }

    /// The rows are the local x, y and z axes in the scanner's frame.
    #[must_use]
    pub const fn rotation(&self) -> &Matrix3<f64> {
        &self.rotation
    }

    /// A point of the scanner's frame in this one.
    #[must_use]
    pub fn to_local(&self, point: &Point3<f64>) -> Point3<f64> {
        Point3::from(self.rotation * (point - self.origin))
    }

    /// A local vector in the scanner's frame.
    #[must_use]
    pub fn to_scanner(&self, local: &Vector3<f64>) -> Vector3<f64> {
        self.rotation.transpose() * local
    }

    /// The same axis with its origin moved along it by `rise` mm.
    #[must_use]
    pub fn raised(&self, rise: f64) -> Self {
        Self { origin: self.origin + self.direction() * rise, ..*self }
    }

    /// The axis the other way up; `None` cannot happen for a frame that was built.
    #[must_use]
    pub fn reversed(&self) -> Option<Self> {
        Self::new(self.origin, -self.direction())
    }

    /// The axis through the local point (x, y, 0) tilted by the small rotation (tilt_x, tilt_y, 0), rad.
    #[must_use]
    pub fn moved(&self, [x, y, tilt_x, tilt_y]: [f64; 4]) -> Option<Self> {
        let origin = self.origin + self.to_scanner(&Vector3::new(x, y, 0.0));
        // A rotation of the axis by w turns its direction z into z + w x z = (w_y, -w_x, 1).
        Self::new(origin, self.to_scanner(&Vector3::new(tilt_y, -tilt_x, 1.0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn azimuth_zero_is_the_projected_x_axis() {
        let frame = Frame::new(Point3::new(1.0, 2.0, 3.0), Vector3::new(0.0, 0.0, -2.0)).unwrap();
        let local = frame.to_local(&Point3::new(2.0, 2.0, 3.0));
        assert!((local - Point3::new(1.0, 0.0, 0.0)).norm() < 1e-15);
        let down = frame.to_local(&Point3::new(1.0, 2.0, 1.0));
        assert!((down - Point3::new(0.0, 0.0, 2.0)).norm() < 1e-15);
    }

    #[test]
    fn an_axis_along_x_takes_z_as_azimuth_zero() {
        let frame = Frame::new(Point3::origin(), Vector3::x()).unwrap();
        assert!((frame.to_local(&Point3::new(0.0, 0.0, 1.0)) - Point3::new(1.0, 0.0, 0.0)).norm() < 1e-15);
    }

    #[test]
    fn a_moved_axis_runs_through_the_named_point_and_leans_as_named() {
        let frame = Frame::new(Point3::origin(), Vector3::z()).unwrap();
        let moved = frame.moved([0.5, -0.25, 1e-3, 2e-3]).unwrap();
        assert!((moved.origin() - Point3::new(0.5, -0.25, 0.0)).norm() < 1e-15);
        assert!((moved.direction() - Vector3::new(2e-3, -1e-3, 1.0).normalize()).norm() < 1e-15);
    }
}
