//! The smoothing that scanners' software applies to a mesh.

use nalgebra::{Point3, Vector3};

/// Step towards the neighbours' mean, and the step back that keeps the mesh from shrinking.
///
/// # References
/// Taubin 1995, A signal processing approach to fair surface design (lambda and mu of this size, from memory).
const STEPS: [f64; 2] = [0.5, -0.53];

/// Greatest step towards the neighbours' mean that is stable at every wavelength.
const GREATEST_STEP: f64 = 0.5;

/// Moves every vertex towards the mean of its neighbours and back, `rounds` times.
pub(super) fn smooth(vertices: &mut [Point3<f64>], triangles: &[[u32; 3]], rounds: u32) {
    for _ in 0..rounds {
        for step in STEPS {
            step_to_neighbours(vertices, triangles, step);
        }
    }
}

/// Smooths with a kernel close to a Gaussian of standard deviation `length_mm` along the surface.
///
/// A step of share s towards neighbours at distance d in random directions adds s d^2 / 2 to the kernel's variance along
/// each direction.
pub(super) fn smooth_by(vertices: &mut [Point3<f64>], triangles: &[[u32; 3]], length_mm: f64) {
    let sides = |t: &[u32; 3]| [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]];
    let square = |[a, b]: [u32; 2]| (vertices[a as usize] - vertices[b as usize]).norm_squared();
    let total: f64 = triangles.iter().flat_map(sides).map(square).sum();
    let mean_square = total / (3 * triangles.len()).max(1) as f64;
    let shares = 2.0 * length_mm * length_mm / mean_square;
    let rounds = (shares / GREATEST_STEP).ceil();
    for _ in 0..rounds as u32 {
        step_to_neighbours(vertices, triangles, shares / rounds);
    }
}

fn step_to_neighbours(vertices: &mut [Point3<f64>], triangles: &[[u32; 3]], step: f64) {
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
