//! Surface samples.

use nalgebra::{Point3, Vector3};

use super::Scan;

/// One vertex or point with the area it stands for and, on a mesh, its unit outward normal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceSample {
    /// Position, mm.
    pub position: Point3<f64>,
    /// Unit normal; `None` where no triangle gives one.
    pub normal: Option<Vector3<f64>>,
    /// Area, mm2 (1 for a point of a bare cloud).
    pub area: f64,
}

/// Surface samples of a scan.
#[must_use]
pub fn surface_samples(_scan: &Scan) -> Vec<SurfaceSample> { Vec::new() }
