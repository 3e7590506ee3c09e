//! The smallest circle around points.

use nalgebra::{Point2, center, distance};

use super::{Circle, CircleError, check, circumcenter};

/// Exchanges after which the search gives up; each makes the circle larger, a dozen is usual.
const MOST_STEPS: usize = 1000;

/// A point counts as inside up to this share of the radius outside.
const SLACK: f64 = 1e-14;

/// The smallest circle that holds all `points`; unique for every set, of radius 0 for one spot.
///
/// The farthest point outside enters the two or three points that carry the circle, until none is outside. The carriers
/// prove the result: two at the ends of a diameter, or three of an acute triangle.
///
/// # Errors
/// [`CircleError`]: no points; a coordinate not finite.
///
/// # Example
/// ```
/// use nalgebra::Point2;
/// use tornus::math::circle::circumscribed;
/// let circle = circumscribed(&[Point2::new(0.0, 0.0), Point2::new(6.0, 0.0), Point2::new(3.0, 1.0)])?;
/// assert!((circle.radius - 3.0).abs() < 1e-14); // the third lies within the circle on the diameter of the others
/// # Ok::<(), tornus::math::circle::CircleError>(())
/// ```
///
/// # References
/// Welzl 1991, Smallest enclosing disks (balls and ellipsoids): the problem is LP-type with bases of three points.
pub fn circumscribed(points: &[Point2<f64>]) -> Result<Circle, CircleError> {
    check(points, 1)?;
    let start = points[farthest(points, points[0]).0];
    let mut carriers = vec![start];
    let mut circle = Circle { center: start, radius: 0.0 };
    for _ in 0..MOST_STEPS {
        let (index, reach) = farthest(points, circle.center);
        if reach <= circle.radius * (1.0 + SLACK) {
            return Ok(circle);
        }
        let (next, carried) = smallest_through(points[index], &carriers);
        if next.radius <= circle.radius {
            return Ok(circle); // the last exchange is within rounding
        }
        (circle, carriers) = (next, carried);
    }
    Err(CircleError::NotConverged { iterations: MOST_STEPS, last: circle })
}

fn farthest(points: &[Point2<f64>], from: Point2<f64>) -> (usize, f64) {
    let mut best = (0, -1.0);
    for (index, point) in points.iter().enumerate() {
        let (dx, dy) = (point.x - from.x, point.y - from.y);
        let square = dx * dx + dy * dy;
        if square > best.1 {
            best = (index, square);
        }
    }
    (best.0, best.1.max(0.0).sqrt())
}

/// The smallest circle around `entering` and `others` (at most three), which has `entering` on it.
fn smallest_through(entering: Point2<f64>, others: &[Point2<f64>]) -> (Circle, Vec<Point2<f64>>) {
    let pairs = others.iter().map(|&a| (on_diameter(entering, a), vec![entering, a]));
    let triples = others.iter().enumerate().flat_map(|(i, &a)| {
        others[i + 1..].iter().filter_map(move |&b| {
            let center = circumcenter(entering, a, b)?;
            let radius = [entering, a, b].iter().map(|p| distance(p, &center)).fold(0.0, f64::max);
            Some((Circle { center, radius }, vec![entering, a, b]))
        })
    });
    pairs
        .chain(triples)
        .filter(|(circle, _)| others.iter().all(|p| distance(p, &circle.center) <= circle.radius * (1.0 + 1e-12)))
        .min_by(|a, b| a.0.radius.total_cmp(&b.0.radius))
        .unwrap_or_else(|| {
            // Three carriers on a line to within rounding: the widest pair carries.
            let far = others.iter().copied().max_by(|a, b| distance(a, &entering).total_cmp(&distance(b, &entering)));
            let far = far.unwrap_or(entering);
            (on_diameter(entering, far), vec![entering, far])
        })
}

fn on_diameter(a: Point2<f64>, b: Point2<f64>) -> Circle {
    Circle { center: center(&a, &b), radius: 0.5 * distance(&a, &b) }
}
