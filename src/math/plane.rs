//! The least-squares plane of points.

use nalgebra::{Matrix3, Point3, SymmetricEigen, Vector3};

/// A least-squares plane and the distances of its points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaneFit {
    /// The points' centroid, which lies on the plane.
    pub centroid: Point3<f64>,
    /// Unit normal; its greatest component is positive.
    pub normal: Vector3<f64>,
    /// Root mean square distance from the plane (over the count).
    pub rms: f64,
    /// Greatest distance above the plane less the greatest below: the flatness deviation about it.
    pub peak_to_valley: f64,
}

/// Why points have no plane.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlaneError {
    /// Fewer than three points.
    #[error("at least 3 points are needed, there are {count}")]
    TooFew {
        /// How many there are.
        count: usize,
    },
    /// A coordinate is not finite.
    #[error("coordinate is not finite at point {index}")]
    NotFinite {
        /// Index of the point.
        index: usize,
    },
    /// The points lie on a line or on one spot.
    #[error("the points lie on a line")]
    Degenerate,
}

/// The plane with the least sum of squared distances from `points`.
///
/// # Errors
/// [`PlaneError`]: fewer than 3 points; a coordinate not finite; all on a line.
///
/// # Example
/// ```
/// use nalgebra::Point3;
/// use tornus::math::plane::least_squares;
/// // corners of a square, in turn 0.1 above and below z = 2
/// let points = [(0.0, 0.0, 2.1), (1.0, 0.0, 1.9), (1.0, 1.0, 2.1), (0.0, 1.0, 1.9)].map(|(x, y, z)| Point3::new(x, y, z));
/// let plane = least_squares(&points)?;
/// assert!((plane.normal.z - 1.0).abs() < 1e-12 && (plane.peak_to_valley - 0.2).abs() < 1e-12);
/// # Ok::<(), tornus::math::plane::PlaneError>(())
/// ```
pub fn least_squares(points: &[Point3<f64>]) -> Result<PlaneFit, PlaneError> {
    if points.len() < 3 {
        return Err(PlaneError::TooFew { count: points.len() });
    }
    if let Some(index) = points.iter().position(|point| point.iter().any(|c| !c.is_finite())) {
        return Err(PlaneError::NotFinite { index });
    }
    let count = points.len() as f64;
    let origin = points[0];
    let mean = points.iter().map(|point| point - origin).sum::<Vector3<f64>>() / count;
    let centroid = origin + mean;
    let mut scatter = Matrix3::zeros();
    for point in points {
        let offset = point - centroid;
        scatter += offset * offset.transpose();
    }
    let eigen = SymmetricEigen::new(scatter);
    let mut order = [0, 1, 2];
    order.sort_by(|&i, &j| eigen.eigenvalues[i].total_cmp(&eigen.eigenvalues[j]));
    let spans_a_plane = eigen.eigenvalues[order[1]] > 1e-14 * eigen.eigenvalues[order[2]];
    if !spans_a_plane {
        return Err(PlaneError::Degenerate);
    }
    let mut normal: Vector3<f64> = eigen.eigenvectors.column(order[0]).into_owned();
    if normal[normal.iamax()] < 0.0 {
        normal = -normal;
    }
    let (mut high, mut low, mut squares) = (f64::NEG_INFINITY, f64::INFINITY, 0.0);
    for point in points {
        let distance = normal.dot(&(point - centroid));
        high = if distance > high { distance } else { high };
        low = if distance < low { distance } else { low };
        squares += distance * distance;
    }
    Ok(PlaneFit { centroid, normal, rms: (squares / count).sqrt(), peak_to_valley: high - low })
}
