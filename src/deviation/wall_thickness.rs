//! Thickness of the wall along the outer wall's normal.

use super::diameters::{highest, lowest};
use super::error::{DeviationError, enough};
use super::measured::Measured;
use super::wall_curve::WallCurve;
use crate::math::robust;
use crate::quantity::Source;

/// Points of the inner curve between two stations; four leave less than 0.1 um of sagitta at 0.75 mm spacing.
const SUBDIVISION: usize = 4;
/// Where the walls lean against each other by more than 45 degrees (this cosine), as a foot's flank and the floor do, the
/// way across is no thickness.
const FACING: f64 = 0.707;

/// Places between two heights: four leave a hundredth of what the wall's curve between them adds to the mean of both.
const PLACES: usize = 4;
/// Heights further apart than so many of the usual steps have a missing one between them.
const MISSING: f64 = 1.5;

/// Wall thickness over the body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WallThickness {
    /// Mean over the heights.
    pub mean: Measured,
    /// Least.
    pub least: Measured,
    /// Greatest.
    pub greatest: Measured,
}

/// Wall thickness: distance from the outer meridian along its normal to the inner, over what lies between neighbouring heights
/// of the outer wall; left out where the normal meets no inner wall that faces it within 45 degrees, and where heights are
/// missing.
///
/// The meridians are means over the azimuth, so this is the mean wall at each height; what varies around the vessel is
/// [`wall_unevenness`](super::wall_unevenness()).
///
/// # Units
/// mm.
///
/// # Uncertainty
/// Of both walls, independent of each other, correlated along the wall over the length the curves state; the mean's with what
/// it would be if the body began or ended elsewhere, each end for itself: `u_ends_mm`, low and high, along the height. The
/// least and the greatest of many noisy values lie too far out by up to about twice their uncertainty, which is not corrected.
///
/// # Errors
/// `TooFew` if fewer than three of the heights see the inner wall.
///
/// # Example
/// Radii 11 and 10 mm: the wall is 1 mm.
/// ```
/// use tornus::deviation::{WallCurve, wall_thickness};
/// let (s, down) = ([0.0, 10.0, 20.0, 30.0], [30.0, 20.0, 10.0, 0.0]);
/// let outer = WallCurve::new(&s, &s, &[11.0; 4], &[0.003; 4])?;
/// let inner = WallCurve::new(&s, &down, &[10.0; 4], &[0.004; 4])?;
/// let wall = wall_thickness(&outer, &inner, &[5.0, 15.0, 25.0], [0.0; 2])?;
/// assert_eq!(wall.mean.estimate.value(), 1.0);
/// assert!((wall.mean.estimate.standard_uncertainty() - 0.005).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn wall_thickness(
    outer: &WallCurve<'_>,
    inner: &WallCurve<'_>,
    heights_mm: &[f64],
    u_ends_mm: [f64; 2],
) -> Result<WallThickness, DeviationError> {
    let points = polyline(inner);
    // The usual step: the first and the last may end at a place of their own.
    let steps = heights_mm.windows(2).map(|pair| pair[1] - pair[0]);
    let step = robust::median(&mut steps.collect::<Vec<_>>()).unwrap_or(0.0);
    let found: Vec<Thickness> =
        between(heights_mm, step).filter_map(|height| thickness_at(outer, arc_at(outer, height)?, &points)).collect();
    enough("heights with both walls", found.len(), 3)?;
    let n = found.len() as f64;
    let mean_of = |of: fn(&Thickness) -> f64| found.iter().map(of).sum::<f64>() / n;
    let mean = mean_of(|t| t.thickness);
    let length = (found[found.len() - 1].arc - found[0].arc).abs() * n / (n - 1.0);
    // An end further out takes in so much more of the wall there.
    let tall = step * n / PLACES as f64;
    let u_end = |end: usize, u_mm: f64| (found[end].thickness - mean) * u_mm / tall;
    let u_ends = [u_end(0, u_ends_mm[0]), u_end(found.len() - 1, u_ends_mm[1])];
    let pieces = length / outer.alike().max(inner.alike());
    let u_mean = mean_of(|t| t.u).min((mean_of(|t| t.u * t.u) / pieces).sqrt());
    let by_thickness = |a: &&Thickness, b: &&Thickness| a.thickness.total_cmp(&b.thickness);
    let of_one = |one: Option<&Thickness>| {
        let one = one.unwrap_or(&found[0]);
        Ok::<_, DeviationError>(Measured::size(one.thickness, one.u)?.and(Source::Sampling, one.u_common))
    };
    Ok(WallThickness {
        mean: Measured::size(mean, u_mean)?
            .and(Source::Sampling, u_ends[0].hypot(u_ends[1]))
            .and(Source::Sampling, mean_of(|t| t.u_common)),
        least: of_one(found.iter().min_by(by_thickness))?,
        greatest: of_one(found.iter().max_by(by_thickness))?,
    })
}

/// Heights in between neighbours that are one step apart.
fn between(heights: &[f64], step: f64) -> impl Iterator<Item = f64> {
    let neighbours = heights.windows(2).filter(move |pair| pair[1] - pair[0] < MISSING * step);
    neighbours
        .flat_map(|pair| (0..PLACES).map(|place| pair[0] + (pair[1] - pair[0]) * (place as f64 + 0.5) / PLACES as f64))
}

/// The wall at one height of the outside.
#[derive(Clone, Copy, Debug)]
struct Thickness {
    /// Arc length along the outer wall, mm.
    arc: f64,
    thickness: f64,
    /// Standard uncertainty by both stations' own errors, mm, and by what is common to the stations of a wall.
    u: f64,
    u_common: f64,
}

/// Radius, height, own and common uncertainty along the curve, finer than its stations.
fn polyline(curve: &WallCurve<'_>) -> Vec<[f64; 4]> {
    let mut points = Vec::with_capacity(SUBDIVISION * curve.len());
    for i in 0..curve.len() - 1 {
        for part in 0..SUBDIVISION {
            let point = curve.between(i, part as f64 / SUBDIVISION as f64);
            points.push([point.radius, point.height, point.u_radius, point.u_common]);
        }
    }
    let end = curve.between(curve.len() - 2, 1.0);
    points.push([end.radius, end.height, end.u_radius, end.u_common]);
    points
}

/// Arc length between foot and rim at which the outer wall first reaches a height.
fn arc_at(outer: &WallCurve<'_>, height: f64) -> Option<f64> {
    let heights = outer.heights();
    let i = (lowest(outer)..highest(outer)).find(|&i| heights[i] <= height && heights[i + 1] > height)?;
    let share = (height - heights[i]) / (heights[i + 1] - heights[i]);
    Some(outer.arcs()[i] + share * (outer.arcs()[i + 1] - outer.arcs()[i]))
}

/// Thickness and its uncertainty at an arc length; `None` where the normal meets no inner wall that faces it.
fn thickness_at(outer: &WallCurve<'_>, arc: f64, inner: &[[f64; 4]]) -> Option<Thickness> {
    let point = outer.at(arc);
    let speed = point.radius_slope.hypot(point.height_slope);
    let inward = [-point.height_slope / speed, point.radius_slope / speed];
    let mut nearest: Option<(Thickness, f64)> = None;
    for pair in inner.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let side = |p: [f64; 4]| inward[0] * (p[1] - point.height) - inward[1] * (p[0] - point.radius);
        let (left, right) = (side(a), side(b));
        if (left > 0.0) == (right > 0.0) {
            continue;
        }
        let t = left / (left - right);
        let hit = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
        let distance = inward[0] * (hit[0] - point.radius) + inward[1] * (hit[1] - point.height);
        if distance > 0.0 && nearest.is_none_or(|(best, _)| distance < best.thickness) {
            let way = [b[0] - a[0], b[1] - a[1]];
            let facing = (way[1] * inward[0] - way[0] * inward[1]).abs() / way[0].hypot(way[1]);
            let [u, u_common] = [2, 3].map(|column| a[column] + t * (b[column] - a[column]));
            let (u, u_common) = (point.u_radius.hypot(u), point.u_common.hypot(u_common));
            nearest = Some((Thickness { arc, thickness: distance, u, u_common }, facing));
        }
    }
    nearest.filter(|(_, facing)| *facing >= FACING).map(|(found, _)| found)
}

#[cfg(test)]
mod tests {
    use super::super::wall_curve::tests::columns;
    use super::*;

    #[test]
    fn concentric_spheres_are_a_wall_of_even_thickness() {
        let quarter = std::f64::consts::FRAC_PI_2;
        let [a, h, r, u] = columns(400, |t| (43.0 * (quarter * t).sin(), 43.0 * (1.0 - (quarter * t).cos())));
        let [b, i, q, v] = columns(300, |t| (40.0 * (quarter * t).cos(), 43.0 - 40.0 * (quarter * t).sin()));
        let (outer, inner) = (WallCurve::new(&a, &h, &r, &u).unwrap(), WallCurve::new(&b, &i, &q, &v).unwrap());
        let wall = wall_thickness(&outer, &inner, &[5.0, 12.0, 19.0, 26.0, 33.0], [0.0; 2]).unwrap();
        for measured in [wall.mean, wall.least, wall.greatest] {
            assert!((measured.estimate.value() - 3.0).abs() < 2e-4, "{measured:?}");
        }
    }

    #[test]
    fn ends_that_are_not_known_count_by_what_the_wall_differs_there() {
        // A wall that grows by a thirtieth of its height: 1 + z / 30 mm.
        let (s, up, down) = ([0.0, 10.0, 20.0, 30.0], [0.0, 10.0, 20.0, 30.0], [30.0, 20.0, 10.0, 0.0]);
        let inner = down.map(|z| 11.0 - z / 30.0);
        let outer = WallCurve::new(&s, &up, &[12.0; 4], &[0.0; 4]).unwrap();
        let inner = WallCurve::new(&s, &down, &inner, &[0.0; 4]).unwrap();
        let u = |u_ends| {
            let wall = wall_thickness(&outer, &inner, &[5.0, 15.0, 25.0], u_ends).unwrap();
            wall.mean.estimate.standard_uncertainty()
        };
        assert!(u([0.0; 2]) < 1e-12);
        // The lowest of eight places, at 6.25 mm, lies 8.75 mm below the middle: 8.75 / 30 of 0.3 mm over 20 mm.
        assert!((u([0.3, 0.0]) - 8.75 / 30.0 * 0.3 / 20.0).abs() < 1e-12, "{}", u([0.3, 0.0]));
        assert!((u([0.3, 0.3]) / u([0.0, 0.3]) - 2.0_f64.sqrt()).abs() < 1e-9);
    }

    #[test]
    fn without_an_inner_wall_beside_the_body_there_is_no_thickness() {
        let (s, up, down) = ([0.0, 10.0, 20.0, 30.0], [0.0, 10.0, 20.0, 30.0], [90.0, 80.0, 70.0, 60.0]);
        let outer = WallCurve::new(&s, &up, &[11.0; 4], &[0.0; 4]).unwrap();
        let inner = WallCurve::new(&s, &down, &[10.0; 4], &[0.0; 4]).unwrap();
        assert!(wall_thickness(&outer, &inner, &[5.0, 15.0, 25.0], [0.0; 2]).is_err());
    }
}
