//! Circles through points of the plane: which circle stands for a set of measured points?
//!
//! - [`least_squares`]: least sum of the squared distances (LSCI)
//! - [`minimum_zone`]: two concentric circles of least distance that hold all points (MZCI)
//! - [`circumscribed`]: the smallest circle around all points (MCCI)
//! - [`inscribed`]: the largest circle among the points, about their least-squares centre (MICI)
//!
//! Each answer is exact but for rounding: the last three end with the points that prove it.

mod circumscribed;
mod inscribed;
mod least_squares;
mod minimum_zone;
mod ray;
mod working_set;

use nalgebra::Point2;

pub use circumscribed::circumscribed;
pub use inscribed::{inscribed, inscribed_from};
pub use least_squares::{LeastSquaresCircle, least_squares};
pub use minimum_zone::{Zone, minimum_zone, minimum_zone_from};

/// A circle in the plane, in the unit of its points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Its centre.
    pub center: Point2<f64>,
    /// Its radius.
    pub radius: f64,
}

/// Why points have no such circle.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CircleError {
    /// Too few points.
    #[error("at least {needed} points are needed, there are {count}")]
    TooFew {
        /// How many there are.
        count: usize,
        /// How many it takes.
        needed: usize,
    },
    /// A coordinate is not finite.
    #[error("coordinate is not finite at point {index}")]
    NotFinite {
        /// Index of the point.
        index: usize,
    },
    /// The points lie on a line, or on one spot, or all to one side: no circle of finite radius is best.
    #[error("the points do not determine a circle")]
    Degenerate,
    /// The steps ran out.
    #[error("no convergence after {iterations} steps, last centre ({x}, {y})", x = last.center.x, y = last.center.y)]
    NotConverged {
        /// How many steps were made.
        iterations: usize,
        /// Where they ended.
        last: Circle,
    },
}

fn check(points: &[Point2<f64>], needed: usize) -> Result<(), CircleError> {
    if points.len() < needed {
        return Err(CircleError::TooFew { count: points.len(), needed });
    }
    match points.iter().position(|point| !(point.x.is_finite() && point.y.is_finite())) {
        Some(index) => Err(CircleError::NotFinite { index }),
        None => Ok(()),
    }
}

/// The centre at equal distance from three points; `None` if they lie on a line to within rounding.
fn circumcenter(a: Point2<f64>, b: Point2<f64>, c: Point2<f64>) -> Option<Point2<f64>> {
    let (ab, ac) = (b - a, c - a);
    let cross = ab.x * ac.y - ab.y * ac.x;
    let (square_b, square_c) = (ab.norm_squared(), ac.norm_squared());
    if cross.abs() <= 1e-14 * (square_b * square_c).sqrt() {
        return None;
    }
    let x = (square_b * ac.y - square_c * ab.y) / (2.0 * cross);
    let y = (square_c * ab.x - square_b * ac.x) / (2.0 * cross);
    Some(Point2::new(a.x + x, a.y + y))
}
