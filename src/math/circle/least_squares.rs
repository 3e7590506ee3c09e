//! The least-squares circle: least sum of squared distances from the points to the circle.

use nalgebra::{Matrix3, Point2, Vector3};

use super::{Circle, CircleError, check};

/// Steps after which the search gives up; round profiles need 3 to 5, six points on a third of a circle about 20.
const MOST_STEPS: usize = 200;

/// A least-squares circle and how well it fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeastSquaresCircle {
    /// The circle.
    pub circle: Circle,
    /// Sum of the squared distances from the points to the circle.
    pub sum_squares: f64,
    /// Steps the search took.
    pub iterations: usize,
}

/// The circle with the least sum of squared distances from `points`, found by Levenberg-Marquardt from an algebraic start.
///
/// # Errors
/// [`CircleError`]: fewer than 3 points; a coordinate not finite; points on a line or spot; no convergence.
///
/// # Example
/// Four points at distance 2 + 0.1 and 2 - 0.1 in turn from (1, 0): centre (1, 0), radius 2, sum 4 x 0.01.
/// ```
/// use nalgebra::Point2;
/// use tornus::math::circle::least_squares;
/// let points = [Point2::new(3.1, 0.0), Point2::new(1.0, 1.9), Point2::new(-1.1, 0.0), Point2::new(1.0, -1.9)];
/// let fit = least_squares(&points)?;
/// assert!((fit.circle.radius - 2.0).abs() < 1e-12 && (fit.circle.center.x - 1.0).abs() < 1e-12);
/// assert!((fit.sum_squares - 0.04).abs() < 1e-12);
/// # Ok::<(), tornus::math::circle::CircleError>(())
/// ```
///
/// # References
/// Gander, Golub & Strebel 1994, Least-squares fitting of circles and ellipses, BIT 34, 558.
pub fn least_squares(points: &[Point2<f64>]) -> Result<LeastSquaresCircle, CircleError> {
    check(points, 3)?;
    let mut circle = algebraic(points).ok_or(CircleError::Degenerate)?;
    let mut system = System::at(points, circle);
    let mut damping = 0.0;
    for iterations in 1..=MOST_STEPS {
        let mut normal = system.normal;
        for k in 0..3 {
            normal[(k, k)] *= 1.0 + damping;
        }
        let step = normal.cholesky().ok_or(CircleError::Degenerate)?.solve(&system.right);
        let trial = Circle {
            center: Point2::new(circle.center.x + step.x, circle.center.y + step.y),
            radius: circle.radius + step.z,
        };
        let next = System::at(points, trial);
        let reached = step.norm() <= 1e-12 * circle.radius;
        if next.sum_squares <= system.sum_squares || reached {
            // The last step is quadratic: from 1e-12 it ends at the rounding.
            (circle, system, damping) = (trial, next, damping * 0.1);
            if damping < 1e-6 {
                damping = 0.0;
            }
        } else {
            damping = if damping > 0.0 { 10.0 * damping } else { 1e-3 };
        }
        if reached {
            return Ok(LeastSquaresCircle { circle, sum_squares: system.sum_squares, iterations });
        }
        if !(circle.radius.is_finite() && circle.radius > 0.0) {
            return Err(CircleError::Degenerate);
        }
    }
    Err(CircleError::NotConverged { iterations: MOST_STEPS, last: circle })
}

/// The normal equations of one step, linear in the change of (x, y, radius).
struct System {
    normal: Matrix3<f64>,
    right: Vector3<f64>,
    sum_squares: f64,
}

impl System {
    fn at(points: &[Point2<f64>], circle: Circle) -> Self {
        let (mut xx, mut xy, mut yy, mut x1, mut y1) = (0.0, 0.0, 0.0, 0.0, 0.0);
        let (mut xr, mut yr, mut r1, mut sum_squares) = (0.0, 0.0, 0.0, 0.0);
        for point in points {
            let (dx, dy) = (point.x - circle.center.x, point.y - circle.center.y);
            let distance = (dx * dx + dy * dy).sqrt();
            if distance <= 0.0 {
                // A point on the centre pulls nowhere in particular.
                (r1, sum_squares) = (r1 - circle.radius, sum_squares + circle.radius * circle.radius);
                continue;
            }
            let (ux, uy, residual) = (dx / distance, dy / distance, distance - circle.radius);
            xx += ux * ux;
            xy += ux * uy;
            yy += uy * uy;
            x1 += ux;
            y1 += uy;
            xr += ux * residual;
            yr += uy * residual;
            r1 += residual;
            sum_squares += residual * residual;
        }
        let normal = Matrix3::new(xx, xy, x1, xy, yy, y1, x1, y1, points.len() as f64);
        Self { normal, right: Vector3::new(xr, yr, r1), sum_squares }
    }
}

/// The circle x^2 + y^2 = a x + b y + c of linear least squares about the centroid: a start, biased on short arcs.
fn algebraic(points: &[Point2<f64>]) -> Option<Circle> {
    let count = points.len() as f64;
    let sum = points.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.x, sum.1 + p.y));
    let middle = Point2::new(sum.0 / count, sum.1 / count);
    let (mut xx, mut xy, mut yy, mut xs, mut ys) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for point in points {
        let d = point - middle;
        let square = d.norm_squared();
        xx += d.x * d.x;
        xy += d.x * d.y;
        yy += d.y * d.y;
        xs += d.x * square;
        ys += d.y * square;
    }
    let determinant = xx * yy - xy * xy;
    let spread = xx + yy;
    if !(determinant > 1e-14 * spread * spread) {
        return None; // on a line, or one spot
    }
    let (x, y) = ((xs * yy - ys * xy) / (2.0 * determinant), (ys * xx - xs * xy) / (2.0 * determinant));
    let radius = (x * x + y * y + spread / count).sqrt();
    Some(Circle { center: Point2::new(middle.x + x, middle.y + y), radius })
}
