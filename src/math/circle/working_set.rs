//! Few points decide a circle: solve for some, check all, add those that object, repeat.

use nalgebra::Point2;

use super::CircleError;

/// Stretches of points (in their given order) of which the nearest and the farthest are looked at first.
const STRETCHES: usize = 40;

/// A point objects from this share of the square of the radius on.
const SLACK: f64 = 1e-15;

/// Two concentric circles; the outer of infinite, or the inner of no radius where only one matters.
#[derive(Clone, Copy)]
pub(super) struct Annulus {
    pub(super) center: Point2<f64>,
    pub(super) inner_square: f64,
    pub(super) outer_square: f64,
}

/// The annulus of all `points` by `solve`, which finds the annulus of a few from a start.
///
/// An optimum for some points that holds for all is an optimum for all, so the answer is that of `solve` for all.
pub(super) fn solve(
    points: &[Point2<f64>],
    start: Point2<f64>,
    mut solve: impl FnMut(&[Point2<f64>], Point2<f64>) -> Result<Annulus, CircleError>,
) -> Result<Annulus, CircleError> {
    let stretch = points.len().div_ceil(STRETCHES);
    if stretch < 4 {
        return solve(points, start);
    }
    let first = Annulus { center: start, inner_square: f64::INFINITY, outer_square: 0.0 };
    let mut few: Vec<Point2<f64>> = Vec::with_capacity(3 * STRETCHES);
    for part in points.chunks(stretch) {
        few.extend(objections(part, first).into_iter().flatten());
    }
    let mut center = start;
    loop {
        let annulus = solve(&few, center)?;
        center = annulus.center;
        let before = few.len();
        for part in points.chunks(stretch) {
            few.extend(objections(part, annulus).into_iter().flatten());
        }
        if few.len() == before {
            return Ok(annulus);
        }
    }
}

/// The point farthest inside the inner circle, and the one farthest outside the outer.
fn objections(points: &[Point2<f64>], annulus: Annulus) -> [Option<Point2<f64>>; 2] {
    let (mut nearest, mut farthest) = ((f64::INFINITY, 0), (-1.0, 0));
    for (index, point) in points.iter().enumerate() {
        let square = square(*point, annulus.center);
        if square < nearest.0 {
            nearest = (square, index);
        }
        if square > farthest.0 {
            farthest = (square, index);
        }
    }
    let inside = nearest.0 < annulus.inner_square * (1.0 - SLACK);
    let outside = farthest.0 > annulus.outer_square * (1.0 + SLACK);
    [inside.then(|| points[nearest.1]), outside.then(|| points[farthest.1])]
}

/// Square of the distance of two points.
pub(super) fn square(point: Point2<f64>, center: Point2<f64>) -> f64 {
    let (dx, dy) = (point.x - center.x, point.y - center.y);
    dx * dx + dy * dy
}
