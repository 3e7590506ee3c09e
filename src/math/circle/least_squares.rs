//! The least-squares circle: least sum of squared distances from the points to the circle.

use nalgebra::{Matrix3, Point2, Vector3};

use super::{Circle, CircleError, check};

/// Steps after which the search gives up; round profiles need 2 or 3, six points on a third of a circle about 10.
const MOST_STEPS: usize = 200;

/// Newton's steps converge quadratically: after one of this share of the radius the rest is below the rounding.
const LAST_STEP: f64 = 1e-8;

/// The first damping where a step of Newton's leads uphill.
const LEAST_DAMPING: f64 = 1e-3;

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

/// The circle with the least sum of squared distances from `points`, found by damped Newton steps from an algebraic start.
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
        let Some(step) = system.step(damping) else {
            damping = (10.0 * damping).max(LEAST_DAMPING);
            continue;
        };
        let trial = Circle {
            center: Point2::new(circle.center.x + step.x, circle.center.y + step.y),
            radius: circle.radius + step.z,
        };
        let next = System::at(points, trial);
        if damping <= 0.0 && step.norm() <= LAST_STEP * circle.radius {
            return Ok(LeastSquaresCircle { circle: trial, sum_squares: next.sum_squares, iterations });
        }
        if next.sum_squares <= system.sum_squares {
            damping = if damping > LEAST_DAMPING { 0.1 * damping } else { 0.0 };
            (circle, system) = (trial, next);
        } else {
            damping = (10.0 * damping).max(LEAST_DAMPING);
        }
        if !(circle.radius.is_finite() && circle.radius > 0.0 && damping.is_finite()) {
            return Err(CircleError::Degenerate);
        }
    }
    Err(CircleError::NotConverged { iterations: MOST_STEPS, last: circle })
}

/// Gradient and second derivatives of half the sum of squares in (x, y, radius).
struct System {
    second: Matrix3<f64>,
    descent: Vector3<f64>,
    sum_squares: f64,
}

impl System {
    fn at(points: &[Point2<f64>], circle: Circle) -> Self {
        let (mut xx, mut xy, mut yy, mut x1, mut y1) = (0.0, 0.0, 0.0, 0.0, 0.0);
        let (mut xr, mut yr, mut r1, mut sum_squares) = (0.0, 0.0, 0.0, 0.0);
        for point in points {
            let (dx, dy) = (point.x - circle.center.x, point.y - circle.center.y);
            let distance = (dx * dx + dy * dy).sqrt();
            // A point on the centre pulls nowhere in particular.
            let inverse = if distance > 0.0 { 1.0 / distance } else { 0.0 };
            let (ux, uy, residual) = (dx * inverse, dy * inverse, distance - circle.radius);
            // Second derivative of a distance in the centre: (1 - u u') / distance.
            let bend = residual * inverse;
            xx += ux * ux + bend * uy * uy;
            xy += ux * uy * (1.0 - bend);
            yy += uy * uy + bend * ux * ux;
            x1 += ux;
            y1 += uy;
            xr += ux * residual;
            yr += uy * residual;
            r1 += residual;
            sum_squares += residual * residual;
        }
        let second = Matrix3::new(xx, xy, x1, xy, yy, y1, x1, y1, points.len() as f64);
        Self { second, descent: Vector3::new(xr, yr, r1), sum_squares }
    }

    /// Newton's step with `damping` times the number of points on the diagonal; `None` if that is not positive definite.
    fn step(&self, damping: f64) -> Option<Vector3<f64>> {
        let damped = self.second + Matrix3::from_diagonal_element(damping * self.second[(2, 2)]);
        Some(damped.cholesky()?.solve(&self.descent))
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
    let spans_the_plane = determinant > 1e-14 * spread * spread; // else on a line, or one spot
    if !spans_the_plane {
        return None;
    }
    let (x, y) = ((xs * yy - ys * xy) / (2.0 * determinant), (ys * xx - xs * xy) / (2.0 * determinant));
    let radius = (x * x + y * y + spread / count).sqrt();
    Some(Circle { center: Point2::new(middle.x + x, middle.y + y), radius })
}
