//! The largest circle among points, about their least-squares centre.

use nalgebra::{Matrix3, Point2, Vector2, Vector3, distance};

use super::ray::Ray;
use super::working_set::{self, Annulus};
use super::{Circle, CircleError, check, circumcenter, least_squares};

/// Steps of the linearised problem; round profiles need 2 or 3.
const MOST_STEPS: usize = 100;

/// Exchanges within a step.
const MOST_EXCHANGES: usize = 1000;

/// Rounding allowed, as a share of the radius.
const SLACK: f64 = 1e-14;

/// The largest circle with no point inside whose centre is reached uphill from the least-squares centre.
///
/// The circle is a local maximum (the plane outside the points holds larger ones); three points of an acute triangle on
/// it prove that. Each step solves the problem linearised in the centre, exactly, by exchange; because distances are
/// convex in the centre, no step can make the circle smaller.
///
/// # Errors
/// [`CircleError`]: as of [`least_squares`]; the points lie to one side of the centre, so the circle grows without end.
///
/// # Example
/// ```
/// use nalgebra::Point2;
/// use tornus::math::circle::inscribed;
/// // the midpoints of the sides of a square of side 2, and its corners
/// let points = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)];
/// let circle = inscribed(&points.map(|(x, y)| Point2::new(f64::from(x), f64::from(y))))?;
/// assert!((circle.radius - 1.0).abs() < 1e-14);
/// # Ok::<(), tornus::math::circle::CircleError>(())
/// ```
pub fn inscribed(points: &[Point2<f64>]) -> Result<Circle, CircleError> {
    inscribed_from(points, least_squares(points)?.circle.center)
}

/// As [`inscribed`], uphill from `start`.
///
/// # Errors
/// As [`inscribed`].
pub fn inscribed_from(points: &[Point2<f64>], start: Point2<f64>) -> Result<Circle, CircleError> {
    check(points, 3)?;
    let annulus = working_set::solve(points, start, |few, start| {
        let circle = uphill(few, start)?;
        let inner_square =
            few.iter().map(|point| working_set::square(*point, circle.center)).fold(f64::INFINITY, f64::min);
        Ok(Annulus { center: circle.center, inner_square, outer_square: f64::INFINITY })
    })?;
    Ok(Circle { center: annulus.center, radius: annulus.inner_square.sqrt() })
}

/// The inscribed circle of a few points.
fn uphill(points: &[Point2<f64>], start: Point2<f64>) -> Result<Circle, CircleError> {
    let mut center = start;
    let mut basis = first_basis(points, center).ok_or(CircleError::Degenerate)?;
    let mut rays = Vec::with_capacity(points.len());
    for _ in 0..MOST_STEPS {
        rays.clear();
        rays.extend(points.iter().map(|point| Ray::from(center, *point)));
        let (step, radius) = grow(&rays, &mut basis).ok_or(CircleError::Degenerate)?;
        center += step;
        if step.norm() <= SLACK.sqrt() * radius {
            return Ok(finish(points, center, basis));
        }
    }
    Err(CircleError::NotConverged { iterations: MOST_STEPS, last: Circle { center, radius: nearest(points, center) } })
}

/// The circle through the carriers where rounding does not spoil it, the centre's nearest distance otherwise.
fn finish(points: &[Point2<f64>], center: Point2<f64>, basis: [usize; 3]) -> Circle {
    let here = Circle { center, radius: nearest(points, center) };
    match circumcenter(points[basis[0]], points[basis[1]], points[basis[2]]) {
        Some(exact) => {
            let radius = nearest(points, exact);
            if radius >= here.radius * (1.0 - SLACK) { Circle { center: exact, radius } } else { here }
        }
        None => here,
    }
}

fn nearest(points: &[Point2<f64>], center: Point2<f64>) -> f64 {
    points.iter().map(|point| distance(point, &center)).fold(f64::INFINITY, f64::min)
}

/// Three points whose directions hold the centre between them: the nearest, and from each half the one most opposite.
fn first_basis(points: &[Point2<f64>], center: Point2<f64>) -> Option<[usize; 3]> {
    let rays: Vec<Ray> = points.iter().map(|point| Ray::from(center, *point)).collect();
    let first = rays.iter().enumerate().min_by(|a, b| a.1.distance.total_cmp(&b.1.distance))?.0;
    let axis = rays[first];
    let third = |turn: f64| {
        let wanted = (-0.5 * axis.x - turn * axis.y, -0.5 * axis.y + turn * axis.x);
        let likeness = |ray: &Ray| ray.x * wanted.0 + ray.y * wanted.1;
        rays.iter().enumerate().max_by(|a, b| likeness(a.1).total_cmp(&likeness(b.1))).map(|(index, _)| index)
    };
    let half_root_three = 0.75_f64.sqrt();
    let basis = [first, third(half_root_three)?, third(-half_root_three)?];
    shares(&rays, basis).filter(|shares| shares.min() > -1e-9).map(|_| basis)
}

/// Shares >= 0 of the three directions that sum to 1 and cancel, if the centre lies between them.
fn shares(rays: &[Ray], basis: [usize; 3]) -> Option<Vector3<f64>> {
    let [a, b, c] = basis.map(|index| rays[index]);
    let matrix = Matrix3::new(1.0, 1.0, 1.0, a.x, b.x, c.x, a.y, b.y, c.y);
    matrix.lu().solve(&Vector3::new(1.0, 0.0, 0.0)).filter(|shares| shares.iter().all(|share| share.is_finite()))
}

/// The step of the centre, and the distance reached, that make the least linearised distance greatest.
fn grow(rays: &[Ray], basis: &mut [usize; 3]) -> Option<(Vector2<f64>, f64)> {
    for _ in 0..MOST_EXCHANGES {
        let [a, b, c] = basis.map(|index| rays[index]);
        let matrix = Matrix3::new(a.x, a.y, 1.0, b.x, b.y, 1.0, c.x, c.y, 1.0);
        let solved = matrix.lu().solve(&Vector3::new(a.distance, b.distance, c.distance))?;
        let (step, level) = (Vector2::new(solved.x, solved.y), solved.z);
        let mut least = (0, f64::INFINITY);
        for (index, ray) in rays.iter().enumerate() {
            let after = ray.after(step);
            if after < least.1 {
                least = (index, after);
            }
        }
        if least.1 >= level - SLACK * level.abs() || basis.contains(&least.0) {
            return Some((step, level));
        }
        let candidates = (0..3).map(|leaving| {
            let mut next = *basis;
            next[leaving] = least.0;
            (next, shares(rays, next).map_or(f64::NEG_INFINITY, |shares| shares.min()))
        });
        let best = candidates.max_by(|a, b| a.1.total_cmp(&b.1))?;
        if best.1 < -1e-9 {
            return None;
        }
        *basis = best.0;
    }
    None
}
