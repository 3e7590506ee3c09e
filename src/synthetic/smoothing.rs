//! The smoothing that scanners' software applies to a mesh.

use nalgebra::{Point3, Vector3};

/// Step towards the neighbours' mean, and the step back that keeps the mesh from shrinking.
///
/// # References
/// Taubin 1995, A signal processing approach to fair surface design (lambda and mu of this size, from memory).
const STEPS: [f64; 2] = [0.5, -0.53];

/// Moves every vertex towards the mean of its neighbours and back, `rounds` times.
pub(super) fn smooth(vertices: &mut [Point3<f64>], triangles: &[[u32; 3]], rounds: u32) {
    for _ in 0..rounds {
        for step in STEPS {
            let mut sums = vec![(Vector3::zeros(), 0_u32); vertices.len()];
            for corners in triangles {
                for turn in 0..3 {
                    let [a, b] = [corners[turn] as usize, corners[(turn + 1) % 3] as usize];
                    sums[a].0 += vertices[b].coords;
                    sums[b].0 += vertices[a].coords;
                    sums[a].1 += 1;
                    sums[b].1 += 1;
                }
            }
            for (vertex, (sum, count)) in vertices.iter_mut().zip(sums) {
                if count > 0 {
                    *vertex += step * (sum / f64::from(count) - vertex.coords);
                }
            }
        }
    }
}
