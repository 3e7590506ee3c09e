//! Reference circles, and the deviations from them.

use nalgebra::Point2;

use super::{FilteredProfile, RoundnessError};
use crate::math::circle::{Circle, circumscribed, inscribed, least_squares, minimum_zone};

/// Which circle stands for the section (ISO 12181-1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReferenceCircle {
    /// Least squares.
    Lsci,
    /// Minimum zone: the mean circle of the narrowest pair of concentric circles.
    Mzci,
    /// Minimum circumscribed.
    Mcci,
    /// Maximum inscribed.
    Mici,
}

/// A reference circle and the deviations from it, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AssociatedCircle {
    /// Centre, in the frame of the profile, mm.
    pub center_mm: Point2<f64>,
    /// Radius of the reference circle, mm.
    pub radius_mm: f64,
    /// Peak-to-valley roundness deviation RONt, mm.
    pub ront_mm: f64,
    /// Peak-to-reference roundness deviation RONp, mm.
    pub ronp_mm: f64,
    /// Reference-to-valley roundness deviation RONv, mm.
    pub ronv_mm: f64,
    /// Root mean square roundness deviation RONq, mm.
    pub ronq_mm: f64,
}

/// The reference circle of a filtered profile, and the deviations from it.
///
/// Deviations are distances of the profile's points from the centre less the radius, so that a circle off the profile's
/// own centre has none. RONp, RONv and RONq are those of ISO 12181-1 about the least-squares circle; about the others
/// they are given by the same formulas.
///
/// # Errors
/// [`RoundnessError::Circle`] if the points determine no such circle.
///
/// # Example
/// Three-lobed wave of amplitude 0.1 mm about 50 mm: RONt = 2 x 0.1 mm about the minimum zone circles.
/// ```
/// use std::f64::consts::TAU;
/// use tornus::roundness::{FilteredProfile, ReferenceCircle, associate};
/// let radii = (0..360).map(|j| 50.0 + 0.1 * (3.0 * TAU * f64::from(j) / 360.0).cos()).collect();
/// let zone = associate(&FilteredProfile::new(radii)?, ReferenceCircle::Mzci)?;
/// assert!((zone.ront_mm - 0.2).abs() < 1e-12);
/// # Ok::<(), tornus::roundness::RoundnessError>(())
/// ```
///
/// # References
/// ISO 12181-1:2011, terms RONt, RONp, RONv, RONq and reference circles; clauses not checked.
pub fn associate(profile: &FilteredProfile, reference: ReferenceCircle) -> Result<AssociatedCircle, RoundnessError> {
    associate_points(&profile.points(), reference)
}

/// As [`associate`], of points of the plane, mm.
///
/// # Errors
/// As [`associate`].
pub fn associate_points(
    points: &[Point2<f64>],
    reference: ReferenceCircle,
) -> Result<AssociatedCircle, RoundnessError> {
    let circle = match reference {
        ReferenceCircle::Lsci => least_squares(points)?.circle,
        ReferenceCircle::Mzci => {
            let zone = minimum_zone(points)?;
            Circle { center: zone.center, radius: 0.5 * (zone.outer + zone.inner) }
        }
        ReferenceCircle::Mcci => circumscribed(points)?,
        ReferenceCircle::Mici => inscribed(points)?,
    };
    Ok(deviations(points, circle))
}

fn deviations(points: &[Point2<f64>], circle: Circle) -> AssociatedCircle {
    let (mut highest, mut lowest, mut squares) = (f64::NEG_INFINITY, f64::INFINITY, 0.0);
    for point in points {
        let deviation = (point - circle.center).norm() - circle.radius;
        highest = if deviation > highest { deviation } else { highest };
        lowest = if deviation < lowest { deviation } else { lowest };
        squares += deviation * deviation;
    }
    AssociatedCircle {
        center_mm: circle.center,
        radius_mm: circle.radius,
        ront_mm: highest - lowest,
        ronp_mm: highest,
        ronv_mm: -lowest,
        ronq_mm: (squares / points.len() as f64).sqrt(),
    }
}
