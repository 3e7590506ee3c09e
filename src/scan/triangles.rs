//! Vertices with checked triangles, or points alone.

use nalgebra::Point3;

use super::ScanError;

/// One scan in the scanner's frame: millimetres, every coordinate finite, every index in range.
///
/// Triangles that name one vertex twice are dropped and counted; triangles of zero area between three different vertices
/// stay (they carry no weight).
#[derive(Clone, Debug, PartialEq)]
pub struct Scan {
    vertices: Vec<Point3<f64>>,
    triangles: Vec<[u32; 3]>,
    degenerate: usize,
}

impl Scan {
    /// A scan of points alone.
    ///
    /// # Errors
    /// [`ScanError::Empty`] without points, [`ScanError::NotFinite`] if a coordinate is NaN or infinite.
    pub fn from_points(points: Vec<Point3<f64>>) -> Result<Self, ScanError> {
        Self::from_mesh(points, Vec::new())
    }

    /// A scan of vertices (mm) and triangles (indices into them, counter-clockwise seen from outside).
    ///
    /// # Errors
    /// [`ScanError::Empty`] without vertices, [`ScanError::NotFinite`] if a coordinate is NaN or infinite,
    /// [`ScanError::IndexOutOfRange`] if a triangle names a vertex that does not exist.
    pub fn from_mesh(vertices: Vec<Point3<f64>>, mut triangles: Vec<[u32; 3]>) -> Result<Self, ScanError> {
        if vertices.is_empty() {
            return Err(ScanError::Empty);
        }
        if let Some(vertex) = vertices.iter().position(|p| !(p.x.is_finite() && p.y.is_finite() && p.z.is_finite())) {
            return Err(ScanError::NotFinite { vertex });
        }
        let count = vertices.len();
        for (triangle, corners) in triangles.iter().enumerate() {
            if let Some(&index) = corners.iter().find(|&&index| index as usize >= count) {
                return Err(ScanError::IndexOutOfRange { triangle, index, vertices: count });
            }
        }
        let before = triangles.len();
        triangles.retain(|[a, b, c]| a != b && b != c && a != c);
        let degenerate = before - triangles.len();
        Ok(Self { vertices, triangles, degenerate })
    }

    /// The vertices, or the points, in mm.
    #[must_use]
    pub fn vertices(&self) -> &[Point3<f64>] {
        &self.vertices
    }

    /// The triangles; empty for points alone.
    #[must_use]
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// How many triangles named one vertex twice and were dropped.
    #[must_use]
    pub const fn degenerate_triangles(&self) -> usize {
        self.degenerate
    }
}
