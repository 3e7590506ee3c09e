//! The size that is taken away from a meridian before forms are compared.

use super::landmark::MeridianPoint;

/// Root mean square distance, mm, of a meridian's points from the point of the axis at their mean height; 0 of no points.
///
/// That point is the centroid of the meridian together with its turned copies, so this is the centroid size of the
/// vessel's outline as a figure of revolution, divided by the root of the number of points.
///
/// # Example
/// ```
/// use tornus::analysis::form::{MeridianPoint, axial_centroid_size};
/// let points = [0.0, 8.0].map(|height_mm| MeridianPoint { radius_mm: 3.0, height_mm, u_radius_mm: 0.0 });
/// assert_eq!(axial_centroid_size(&points), 5.0); // each point is 3 from the axis and 4 from the mean height
/// ```
///
/// # References
/// Bookstein 1991, Morphometric tools for landmark data (centroid size).
#[must_use]
pub fn axial_centroid_size(points: &[MeridianPoint]) -> f64 {
    if points.is_empty() {
        return 0.0;
    }
    let count = points.len() as f64;
    let mean = points.iter().map(|p| p.height_mm).sum::<f64>() / count;
    let square = |p: &MeridianPoint| p.radius_mm * p.radius_mm + (p.height_mm - mean) * (p.height_mm - mean);
    (points.iter().map(square).sum::<f64>() / count).sqrt()
}
