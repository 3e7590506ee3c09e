//! How large a set of points is.

use nalgebra::Point3;

/// The diagonal of the points' box, mm; 0 without points.
///
/// # Example
/// A box of 3 by 4 mm has a diagonal of 5 mm.
/// ```
/// use nalgebra::Point3;
/// assert_eq!(tornus::scan::extent(&[Point3::origin(), Point3::new(3.0, 4.0, 0.0)]), 5.0);
/// ```
#[must_use]
pub fn extent(points: &[Point3<f64>]) -> f64 {
    let Some(first) = points.first() else { return 0.0 };
    let (low, high) = points.iter().fold((*first, *first), |(low, high), p| (low.inf(p), high.sup(p)));
    (high - low).norm()
}
