//! Two sides to one meridian: the outline is folded about the line that mirrors it best.

use nalgebra::{Matrix2, Matrix3, SymmetricEigen, Vector2, Vector3};

use super::OutlineError;
use super::curve::CurvePoint;
use super::path::{Point, begun_at, distance, equal_steps, extent, is_closed};

/// Stations along the whole outline ("project"): finer than any digitised outline at hand, whose 45 points lie 10 mm apart.
const STATIONS: usize = 401;

/// Points of an outline in space may lie this share of its extent off their plane ("project").
const OFF_PLANE: f64 = 0.02;

/// The sides may differ, root mean square, by this share of the greatest radius ("project"): of 39 hand-made museum vessels the
/// least regular reaches 4.7 %, one side of a jar mistaken for two exceeds it.
const UNLIKE_SHARE: f64 = 0.1;

/// A folded outline.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Folded {
    /// From the middle of the foot to the rim: mean radius and height of both sides.
    pub(super) side: Vec<Point>,
    /// Standard uncertainty of a radius, from half the difference of the sides.
    pub(super) u_radius_mm: f64,
    /// Angle between the line and the direction up that was given.
    pub(super) tilt_rad: f64,
}

/// Folds an outline in its plane, whose second coordinate is up as far as known, about the line that mirrors it best.
///
/// Points at equal shares of the length from either end belong together, because a vessel's two sides are equally long. The
/// line is the least-squares one over all such pairs, in closed form: with p and q the two sides about their mean, its
/// normal is the eigenvector to the least eigenvalue of the symmetric part of the sum of p q^T. Radius and height are means
/// of the two sides. If the sides deviate from the vessel's mean outline independently, half their difference is the
/// standard uncertainty of that mean; its root mean square over all stations is given for every station.
pub(super) fn fold(points: &[Point], up_known: bool) -> Result<Folded, OutlineError> {
    let open = if is_closed(points) { cut_at_the_top(points) } else { points.to_vec() };
    let p = centred(&equal_steps(&open, STATIONS));
    let q: Vec<Vector2<f64>> = p.iter().rev().copied().collect();
    let product: Matrix2<f64> = p.iter().zip(&q).map(|(p, q)| p * q.transpose()).sum();
    let eigen = SymmetricEigen::new(0.5 * (product + product.transpose()));
    let normal = eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned();
    let mut axis = Vector2::new(-normal.y, normal.x);
    let middle = STATIONS / 2;
    // The ends of an outline are at its rim, unless up is known better.
    let upwards = if up_known { Vector2::y() } else { p[0] + q[0] - 2.0 * p[middle] };
    if axis.dot(&upwards) < 0.0 {
        axis = -axis;
    }
    let pairs = || p.iter().zip(&q).skip(middle);
    let mut side: Vec<Point> = pairs().map(|(p, q)| [0.5 * (p - q).dot(&normal), 0.5 * (p + q).dot(&axis)]).collect();
    if side.iter().map(|point| point[0]).sum::<f64>() < 0.0 {
        side.iter_mut().for_each(|point| point[0] = -point[0]);
    }
    let half: f64 = pairs().map(|(p, q)| (0.5 * (p + q).dot(&normal)).powi(2)).sum();
    let u_radius_mm = (half / side.len() as f64).sqrt();
    let widest = side.iter().map(|point| point[0]).fold(0.0, f64::max);
    let (apart_mm, allowed_mm) = (2.0 * u_radius_mm, UNLIKE_SHARE * widest);
    let alike = apart_mm <= allowed_mm;
    if !alike {
        return Err(OutlineError::UnlikeSides { apart_mm, allowed_mm });
    }
    // Where sides cross at the middle of the foot, the mean radius is 0 there but for rounding.
    side.iter_mut().for_each(|point| point[0] = point[0].max(0.0));
    Ok(Folded { side, u_radius_mm, tilt_rad: axis.x.abs().atan2(axis.y.abs()) })
}

fn centred(points: &[Point]) -> Vec<Vector2<f64>> {
    let all = || points.iter().map(|point| Vector2::from(*point));
    let mean = all().sum::<Vector2<f64>>() / points.len() as f64;
    all().map(|point| point - mean).collect()
}

/// A closed outline, opened where its upper edge crosses the middle.
fn cut_at_the_top(points: &[Point]) -> Vec<Point> {
    let all = if points.first() == points.last() { &points[..points.len() - 1] } else { points };
    let Some((least, greatest)) = extent(all, 0) else { return points.to_vec() };
    let middle = 0.5 * (least + greatest);
    let crossing = |i: usize| {
        let (a, b) = (all[i], all[(i + 1) % all.len()]);
        let share = (middle - a[0]) / (b[0] - a[0]);
        let crosses = (a[0] <= middle) != (b[0] <= middle);
        crosses.then(|| (i, [middle, a[1] + share * (b[1] - a[1])]))
    };
    let top = (0..all.len()).filter_map(crossing).max_by(|a, b| a.1[1].total_cmp(&b.1[1]));
    let Some((before, top)) = top else { return points.to_vec() };
    let mut opened = begun_at(all, (before + 1) % all.len());
    opened.pop(); // begun_at comes back to where it began
    opened.insert(0, top);
    opened.push(top);
    opened
}

/// Points in space as points of their plane, whose second direction is `up` as far as it lies in the plane.
pub(super) fn in_plane(points: &[CurvePoint], up: Vector3<f64>) -> Result<Vec<Point>, OutlineError> {
    let positions: Vec<Vector3<f64>> = points.iter().map(|point| Vector3::from(point.position_mm)).collect();
    let mean = positions.iter().sum::<Vector3<f64>>() / positions.len() as f64;
    let scatter: Matrix3<f64> = positions.iter().map(|p| (p - mean) * (p - mean).transpose()).sum();
    let eigen = SymmetricEigen::new(scatter);
    let normal = eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned();
    let spread = (eigen.eigenvalues.max() / positions.len() as f64).sqrt();
    let off = positions.iter().zip(points).map(|(p, point)| ((p - mean).dot(&normal).abs(), point.line));
    if let Some((off_mm, line)) = off.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|(off, _)| *off > OFF_PLANE * spread) {
        return Err(OutlineError::NotPlanar { off_mm, line });
    }
    let along = up - normal * up.dot(&normal);
    // Up may be all but square to the plane if it was only assumed: any direction of the plane will do then.
    let along = along.try_normalize(0.1).unwrap_or_else(|| eigen.eigenvectors.column(eigen.eigenvalues.imax()).into());
    let across = along.cross(&normal);
    Ok(positions.iter().map(|p| [(p - mean).dot(&across), (p - mean).dot(&along)]).collect())
}

/// Height and width of the points, refused where either is nothing.
pub(super) fn check_extent(points: &[Point]) -> Result<(), OutlineError> {
    let span = |coordinate| extent(points, coordinate).map_or(0.0, |(least, greatest)| greatest - least);
    let (width_mm, height_mm) = (span(0), span(1));
    if width_mm > 0.0 && height_mm > 0.0 && points.windows(2).any(|pair| distance(pair[0], pair[1]) > 0.0) {
        return Ok(());
    }
    Err(OutlineError::NoExtent { height_mm, width_mm })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A goblet about the line through (5, -3) leaning by `tilt`.
    fn goblet(tilt: f64) -> Vec<Point> {
        let half = |i: i32| {
            let t = f64::from(i) / 100.0;
            [20.0 * (1.2 * t).sin() + 15.0 * t, 60.0 * t * t]
        };
        let (sin, cos) = tilt.sin_cos();
        let placed = |[x, y]: Point| [5.0 + x * cos + y * sin, -3.0 - x * sin + y * cos];
        let sides = (-100..=100).map(|i: i32| {
            let [r, z] = half(i.abs());
            if i < 0 { [-r, z] } else { [r, z] }
        });
        sides.map(placed).collect()
    }

    #[test]
    fn a_symmetric_outline_folds_onto_its_side_wherever_it_stands() {
        for tilt in [0.0, 0.2, -1.0] {
            let found = fold(&goblet(tilt), false).unwrap();
            assert!(found.u_radius_mm < 1e-9 && (found.tilt_rad - f64::abs(tilt)).abs() < 1e-9);
            let (rim, foot) = (found.side[200], found.side[0]);
            assert!((rim[0] - (20.0 * 1.2_f64.sin() + 15.0)).abs() < 1e-9);
            assert!(foot[0].abs() < 1e-9 && (rim[1] - foot[1] - 60.0).abs() < 1e-9);
        }
    }

    #[test]
    fn sides_that_differ_meet_halfway_and_say_by_how_much() {
        let mut points = goblet(0.0);
        points.iter_mut().enumerate().for_each(|(i, point)| point[0] += 0.3 * (i as f64 * 0.9).sin());
        let found = fold(&points, false).unwrap();
        // Deviations of amplitude 0.3 on either side: half their difference has root mean square 0.3 / 2 at most.
        assert!(found.u_radius_mm > 0.02 && found.u_radius_mm < 0.3, "{}", found.u_radius_mm);
        // One side of a jar taken for two.
        let side = [[0.0, 0.0], [20.0, 0.0], [35.0, 30.0], [20.0, 55.0], [18.0, 60.0], [22.0, 70.0]];
        assert!(matches!(fold(&side, false), Err(OutlineError::UnlikeSides { .. })));
    }

    #[test]
    fn a_closed_outline_is_opened_at_its_top() {
        let mut closed = goblet(0.0);
        let first = closed[0];
        closed.push(first); // straight across the mouth
        for start in [0, 50, 130] {
            let mut turned = begun_at(&closed[..201], start);
            turned.dedup();
            let found = fold(&turned, true).unwrap();
            let widest = found.side.iter().map(|p| p[0]).fold(0.0, f64::max);
            assert!((widest - (20.0 * 1.2_f64.sin() + 15.0)).abs() < 0.3, "{widest}"); // a step of the stations is 0.6 mm
            assert!(found.u_radius_mm < 0.05 && found.side[0][1] < found.side[100][1]);
        }
    }

    #[test]
    fn points_in_space_lie_in_a_plane_or_are_refused() {
        let place = |lift: f64| -> Vec<CurvePoint> {
            let all = goblet(0.0).into_iter().enumerate();
            all.map(|(i, [x, z])| CurvePoint {
                position_mm: [0.6 * x, 0.8 * x + if i == 7 { lift } else { 0.0 }, z],
                line: i as u64 + 2,
            })
            .collect()
        };
        let flat = in_plane(&place(0.0), Vector3::z()).unwrap();
        let (least, greatest) = extent(&flat, 1).unwrap();
        assert!((greatest - least - 60.0).abs() < 1e-9);
        assert!(matches!(in_plane(&place(9.0), Vector3::z()), Err(OutlineError::NotPlanar { line: 9, .. })));
    }
}
