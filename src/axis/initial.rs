//! A first axis: the line that the surface's normals meet.

use nalgebra::{Matrix3, Point3, SymmetricEigen, Vector3};

/// A point of the surface with its unit normal; the normal's sign does not matter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Oriented {
    /// Position, mm.
    pub position: Point3<f64>,
    /// Unit normal.
    pub normal: Vector3<f64>,
}

/// Reweighting steps: normals that miss the line by more than most (handles, chips) lose their say.
const REWEIGHTINGS: usize = 12;

/// Lines of a complex with an eigenvalue below this share of the largest are taken as free (a cylinder's shift along
/// itself, a sphere's every direction).
const FREE: f64 = 1e-9;

/// The line that the normals of a surface of revolution meet: a point of it and its unit direction.
///
/// A line of direction a through q meets the normal n at p where a . (p x n) + (q x a) . n = 0; the direction is the
/// eigenvector of the least eigenvalue with the moment q x a eliminated, reweighted by the distance at which lines miss.
///
/// # Units and shapes
/// mm; at least six points that are not all on one line.
///
/// # References
/// Pottmann & Wallner 2001, Computational Line Geometry, chapter 3 (linear complexes and surfaces of revolution; from memory).
#[must_use]
pub fn line_complex_axis(points: &[Oriented]) -> Option<(Point3<f64>, Vector3<f64>)> {
    if points.len() < 6 {
        return None;
    }
    let count = points.len() as f64;
    let centre = points.iter().map(|p| p.position.coords).sum::<Vector3<f64>>() / count;
    let scale = (points.iter().map(|p| (p.position.coords - centre).norm_squared()).sum::<f64>() / count).sqrt();
    if scale.is_nan() || scale <= 0.0 {
        return None;
    }
    let lines: Vec<[Vector3<f64>; 2]> =
        points.iter().map(|p| [((p.position.coords - centre) / scale).cross(&p.normal), p.normal]).collect();
    let mut weights = vec![1.0; lines.len()];
    let mut best = None;
    for _ in 0..REWEIGHTINGS {
        let (direction, moment) = least_complex(&lines, &weights)?;
        best = Some((direction, moment));
        reweight(&lines, direction, moment, &mut weights);
    }
    let (direction, moment) = best?;
    let point = Point3::from(centre + direction.cross(&moment) * scale);
    Some((point, direction))
}

/// Direction and moment of the line that the weighted normals miss least.
fn least_complex(lines: &[[Vector3<f64>; 2]], weights: &[f64]) -> Option<(Vector3<f64>, Vector3<f64>)> {
    let (mut aa, mut am, mut mm) = (Matrix3::zeros(), Matrix3::zeros(), Matrix3::zeros());
    for ([turn, normal], &weight) in lines.iter().zip(weights) {
        aa += turn * turn.transpose() * weight;
        am += turn * normal.transpose() * weight;
        mm += normal * normal.transpose() * weight;
    }
    let inverse = pseudo_inverse(mm);
    let reduced = aa - am * inverse * am.transpose();
    let eigen = SymmetricEigen::new(0.5 * (reduced + reduced.transpose()));
    let least = eigen.eigenvalues.imin();
    let direction: Vector3<f64> = eigen.eigenvectors.column(least).try_normalize(0.0)?;
    let moment = -(inverse * am.transpose() * direction);
    // The moment of a line is at right angles to its direction.
    Some((direction, moment - direction * direction.dot(&moment)))
}

/// Weights that fall with the distance at which each normal misses the line (Cauchy's, scale by the median).
fn reweight(lines: &[[Vector3<f64>; 2]], direction: Vector3<f64>, moment: Vector3<f64>, weights: &mut [f64]) {
    // Dividing by the sine of the angle between the lines turns the reciprocal product into a distance; normals along
    // the axis miss by no well-defined distance and keep a floor.
    const LEAST_SINE: f64 = 0.1;
    let misses: Vec<f64> = lines
        .iter()
        .map(|[turn, normal]| {
            let sine = direction.cross(normal).norm().max(LEAST_SINE);
            (direction.dot(turn) + moment.dot(normal)).abs() / sine
        })
        .collect();
    let mut sorted = misses.clone();
    let (_, median, _) = sorted.select_nth_unstable_by(misses.len() / 2, f64::total_cmp);
    let scale = 2.0 * *median + f64::MIN_POSITIVE;
    for (weight, miss) in weights.iter_mut().zip(misses) {
        *weight = 1.0 / (1.0 + (miss / scale).powi(2));
    }
}

fn pseudo_inverse(matrix: Matrix3<f64>) -> Matrix3<f64> {
    let eigen = SymmetricEigen::new(matrix);
    let largest = eigen.eigenvalues.amax();
    let mut inverse = Matrix3::zeros();
    for (value, vector) in eigen.eigenvalues.iter().zip(eigen.eigenvectors.column_iter()) {
        if *value > FREE * largest {
            inverse += vector * vector.transpose() / *value;
        }
    }
    inverse
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normals_of_a_cone_meet_its_axis() {
        // Cone r = 20 - z / 2 about the line through (3, -4, 0) along z; its normals are (cos, sin, 1/2).
        let points: Vec<Oriented> = (0..400)
            .map(|i| {
                let (angle, z) = (0.37 * f64::from(i), 0.05 * f64::from(i));
                let (sin, cos) = angle.sin_cos();
                let radius = 20.0 - 0.5 * z;
                Oriented {
                    position: Point3::new(3.0 + radius * cos, -4.0 + radius * sin, z),
                    normal: Vector3::new(cos, sin, 0.5).normalize(),
                }
            })
            .collect();
        let (point, direction) = line_complex_axis(&points).unwrap();
        assert!(direction.cross(&Vector3::z()).norm() < 1e-9, "{direction}");
        assert!((point - Point3::new(3.0, -4.0, point.z)).norm() < 1e-7, "{point}");
    }

    #[test]
    fn five_points_are_too_few() {
        let point = Oriented { position: Point3::origin(), normal: Vector3::z() };
        assert_eq!(line_complex_axis(&[point; 5]), None);
    }
}
