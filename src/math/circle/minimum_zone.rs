//! The two concentric circles of least radial distance that hold all points between them.

use nalgebra::{Matrix4, Point2, Vector2, Vector4};

use super::ray::Ray;
use super::working_set::{self, Annulus};
use super::{Circle, CircleError, check, least_squares};

/// Steps of the linearised problem; round profiles need 2 or 3.
const MOST_STEPS: usize = 100;

/// Exchanges within a step; a dozen is usual.
const MOST_EXCHANGES: usize = 500;

/// Rounding allowed, as a share of the radius.
const SLACK: f64 = 2e-15;

/// Two concentric circles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Zone {
    /// Their centre.
    pub center: Point2<f64>,
    /// Radius of the outer one.
    pub outer: f64,
    /// Radius of the inner one.
    pub inner: f64,
}

impl Zone {
    /// The radial distance of the two.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.outer - self.inner
    }

    fn about(center: Point2<f64>, points: &[Point2<f64>]) -> Self {
        let (mut greatest, mut least) = (0.0, f64::INFINITY);
        for point in points {
            let (dx, dy) = (point.x - center.x, point.y - center.y);
            let square: f64 = dx * dx + dy * dy;
            if square > greatest {
                greatest = square;
            }
            if square < least {
                least = square;
            }
        }
        Self { center, outer: greatest.sqrt(), inner: least.sqrt() }
    }
}

/// The zone of least width, reached downhill from the least-squares centre.
///
/// Each step solves the problem linearised in the centre by exchange: a linear Chebyshev approximation of the distances
/// by 1, cos, sin of the direction, whose reference is four points that alternate outside, inside round the centre. At
/// the end the centre is where the perpendicular bisectors of the outer pair and of the inner pair meet.
///
/// # Errors
/// [`CircleError`]: as of [`least_squares`]; fewer than 4 points; no convergence.
///
/// # Example
/// ```
/// use nalgebra::Point2;
/// use tornus::math::circle::minimum_zone;
/// let points = [Point2::new(3.1, 0.0), Point2::new(1.0, 1.9), Point2::new(-1.1, 0.0), Point2::new(1.0, -1.9)];
/// assert!((minimum_zone(&points)?.width() - 0.2).abs() < 1e-14); // 2.1 - 1.9 about (1, 0)
/// # Ok::<(), tornus::math::circle::CircleError>(())
/// ```
///
/// # References
/// ISO 12181-1 (minimum zone reference circles). The alternation of two and two points: Rivlin 1979, Approximation by
/// circles, Computing 21, 93 (from memory).
pub fn minimum_zone(points: &[Point2<f64>]) -> Result<Zone, CircleError> {
    check(points, 4)?;
    minimum_zone_from(points, least_squares(points)?.circle.center)
}

/// As [`minimum_zone`], downhill from `start`.
///
/// # Errors
/// As [`minimum_zone`].
pub fn minimum_zone_from(points: &[Point2<f64>], start: Point2<f64>) -> Result<Zone, CircleError> {
    check(points, 4)?;
    let annulus = working_set::solve(points, start, |few, start| {
        let center = downhill(few, start)?.center;
        let squares = few.iter().map(|point| working_set::square(*point, center));
        let (inner_square, outer_square) = squares.fold((f64::INFINITY, 0.0), |(low, high), square| {
            (if square < low { square } else { low }, if square > high { square } else { high })
        });
        Ok(Annulus { center, inner_square, outer_square })
    })?;
    Ok(Zone { center: annulus.center, outer: annulus.outer_square.sqrt(), inner: annulus.inner_square.sqrt() })
}

/// The minimum zone of a few points.
fn downhill(points: &[Point2<f64>], start: Point2<f64>) -> Result<Zone, CircleError> {
    let mut zone = Zone::about(start, points);
    let mut rays = Vec::with_capacity(points.len());
    let mut reference: Option<Reference> = None;
    for _ in 0..MOST_STEPS {
        rays.clear();
        rays.extend(points.iter().map(|point| Ray::from(zone.center, *point)));
        let begin = match reference.take() {
            Some(reference) => reference,
            None => Reference::first(&rays).ok_or(CircleError::Degenerate)?,
        };
        let (step, solved) = begin.level(&rays).ok_or(CircleError::Degenerate)?;
        let next = descend(points, zone, step);
        if step.norm() <= 1e-9 * zone.outer || next.width() >= zone.width() {
            return Ok(finish(points, next, &solved));
        }
        (zone, reference) = (next, Some(solved));
    }
    let last = Circle { center: zone.center, radius: 0.5 * (zone.outer + zone.inner) };
    Err(CircleError::NotConverged { iterations: MOST_STEPS, last })
}

/// The step, halved until the zone becomes narrower.
fn descend(points: &[Point2<f64>], zone: Zone, step: Vector2<f64>) -> Zone {
    let mut length = 1.0;
    for _ in 0..40 {
        let next = Zone::about(zone.center + length * step, points);
        if next.width() < zone.width() {
            return next;
        }
        length *= 0.5;
    }
    zone
}

/// The zone about the meeting point of the bisectors, where rounding does not spoil it.
fn finish(points: &[Point2<f64>], zone: Zone, reference: &Reference) -> Zone {
    let [a, b, c, d] = reference.members.map(|member| points[member]);
    let (first, second) = (c - a, d - b);
    let determinant = first.x * second.y - first.y * second.x;
    if determinant.abs() <= 1e-12 * first.norm() * second.norm() {
        return zone;
    }
    // Relative to the zone's own centre, so that coordinates far from the origin lose no digits.
    let along = |from: Point2<f64>, to: Point2<f64>| {
        0.5 * ((to - zone.center).norm_squared() - (from - zone.center).norm_squared())
    };
    let (right_a, right_b) = (along(a, c), along(b, d));
    let shift = Vector2::new(
        (right_a * second.y - right_b * first.y) / determinant,
        (first.x * right_b - second.x * right_a) / determinant,
    );
    let exact = Zone::about(zone.center + shift, points);
    if exact.width() <= zone.width() + SLACK * zone.outer { exact } else { zone }
}

/// Four points in the order of their directions, the first and third on one circle, the others on the other.
#[derive(Clone, Copy)]
struct Reference {
    members: [usize; 4],
    /// +1 where the first and third lie on the outer circle, -1 where on the inner.
    sign: f64,
}

impl Reference {
    /// The farthest, nearest, farthest, nearest of the four quarters, or of four parts of equal count if one is empty.
    fn first(rays: &[Ray]) -> Option<Self> {
        let quarter = |ray: &Ray| match (ray.y >= 0.0, ray.x >= 0.0) {
            (true, true) => 0,
            (true, false) => 1,
            (false, false) => 2,
            (false, true) => 3,
        };
        let mut best: [Option<usize>; 4] = [None; 4];
        let farther = |index: usize, than: Option<usize>, part: usize| {
            let turn = if part.is_multiple_of(2) { 1.0 } else { -1.0 };
            than.is_none_or(|than| turn * rays[index].distance > turn * rays[than].distance)
        };
        for (index, ray) in rays.iter().enumerate() {
            let part = quarter(ray);
            if farther(index, best[part], part) {
                best[part] = Some(index);
            }
        }
        if let [Some(a), Some(b), Some(c), Some(d)] = best {
            return Some(Self { members: [a, b, c, d], sign: 1.0 });
        }
        let mut order: Vec<usize> = (0..rays.len()).collect();
        order.sort_by(|&a, &b| rays[a].angle().total_cmp(&rays[b].angle()));
        let members = [0, 1, 2, 3].map(|part| order[part * order.len() / 4]);
        (order.len() >= 4).then_some(Self { members, sign: 1.0 })
    }

    /// Exchanges members until no point lies farther out or in than the four: the step of the centre, and the four.
    fn level(mut self, rays: &[Ray]) -> Option<(Vector2<f64>, Self)> {
        for _ in 0..MOST_EXCHANGES {
            let (step, middle, height) = self.solve(rays)?;
            if height < 0.0 {
                self.sign = -self.sign;
            }
            let height = height.abs();
            let (mut high, mut low) = ((0, f64::NEG_INFINITY), (0, f64::INFINITY));
            for (index, ray) in rays.iter().enumerate() {
                let residual = ray.after(step);
                if residual > high.1 {
                    high = (index, residual);
                }
                if residual < low.1 {
                    low = (index, residual);
                }
            }
            let (over, under) = (high.1 - middle - height, middle - height - low.1);
            if over.max(under) <= SLACK * (middle.abs() + height) {
                return Some((step, self));
            }
            let (first, second) = if over >= under {
                ((high.0, 1.0), (low.0, -1.0, under))
            } else {
                ((low.0, -1.0), (high.0, 1.0, over))
            };
            if self.members.contains(&first.0) {
                return Some((step, self)); // rounding: the worst point is one of the four
            }
            self.enter(rays, first.0, first.1);
            if second.2 > 0.0 && !self.members.contains(&second.0) {
                self.enter(rays, second.0, second.1);
            }
        }
        None
    }

    /// Step, middle radius m and half width h with distance - u . step = m +- h in turn.
    fn solve(&self, rays: &[Ray]) -> Option<(Vector2<f64>, f64, f64)> {
        let [a, b, c, d] = self.members.map(|member| rays[member]);
        let s = self.sign;
        let matrix = Matrix4::new(
            a.x, a.y, 1.0, s, //
            b.x, b.y, 1.0, -s, //
            c.x, c.y, 1.0, s, //
            d.x, d.y, 1.0, -s,
        );
        let solved = matrix.lu().solve(&Vector4::new(a.distance, b.distance, c.distance, d.distance))?;
        Some((Vector2::new(solved.x, solved.y), solved.z, solved.w))
    }

    /// Puts `point` in the place of the neighbour by direction that is on the same side (`sign` +1: outer).
    fn enter(&mut self, rays: &[Ray], point: usize, sign: f64) {
        let angle = rays[point].angle();
        let after = self.members.iter().filter(|&&member| rays[member].angle() <= angle).count();
        // Members are in cyclic order, which need not start at the least angle.
        let least = (0..4)
            .min_by(|&i, &j| rays[self.members[i]].angle().total_cmp(&rays[self.members[j]].angle()))
            .unwrap_or(0);
        let (before, behind) = ((least + after + 3) % 4, (least + after) % 4);
        let same = |place: usize| (if place.is_multiple_of(2) { self.sign } else { -self.sign }) * sign > 0.0;
        let place = if same(before) { before } else { behind };
        self.members[place] = point;
    }
}
