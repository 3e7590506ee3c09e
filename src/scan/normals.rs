//! Unit normals of a mesh's vertices.

use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

use super::Scan;

/// Triangles are summed in this many shares, whatever the number of threads, so that the sum is always the same.
const SHARES: usize = 2;

/// Area-weighted unit normals of the vertices; the zero vector where no triangle gives one.
///
/// `None` for points alone.
///
/// # Units and shapes
/// One vector per vertex, without unit; it points to the side from which the triangles run counter-clockwise.
///
/// # Example
/// One triangle in the plane z = 0, counter-clockwise seen from above: every normal is (0, 0, 1).
/// ```
/// use nalgebra::{Point3, Vector3};
/// use tornus::Scan;
/// let corners = vec![Point3::new(0.0, 0.0, 0.0), Point3::new(1.0, 0.0, 0.0), Point3::new(0.0, 1.0, 0.0)];
/// let scan = Scan::from_mesh(corners, vec![[0, 1, 2]])?;
/// assert_eq!(tornus::scan::vertex_normals(&scan), Some(vec![Vector3::new(0.0, 0.0, 1.0); 3]));
/// # Ok::<(), tornus::scan::ScanError>(())
/// ```
#[must_use]
pub fn vertex_normals(scan: &Scan) -> Option<Vec<Vector3<f32>>> {
    let triangles = scan.triangles();
    if triangles.is_empty() {
        return None;
    }
    let vertices = scan.vertices();
    let share = triangles.len().div_ceil(SHARES);
    let mut sums: Vec<Vec<Vector3<f32>>> =
        triangles.par_chunks(share).map(|triangles| sum_of_normals(vertices, triangles)).collect();
    let mut total = sums.pop().unwrap_or_default();
    for sum in &sums {
        total.par_iter_mut().zip(sum).for_each(|(total, sum)| *total += sum);
    }
    total.par_iter_mut().for_each(|normal| *normal = normal.try_normalize(0.0).unwrap_or_else(Vector3::zeros));
    Some(total)
}

fn sum_of_normals(vertices: &[Point3<f64>], triangles: &[[u32; 3]]) -> Vec<Vector3<f32>> {
    let mut sums = vec![Vector3::zeros(); vertices.len()];
    for corners in triangles {
        let [a, b, c] = corners.map(|index| vertices[index as usize]);
        let normal = (b - a).cross(&(c - a)).cast::<f32>();
        for &index in corners {
            sums[index as usize] += normal;
        }
    }
    sums
}
