//! Polylines in the plane of a meridian: (across, along the axis), mm.

/// A point in the plane of a meridian: distance across, height along.
pub(super) type Point = [f64; 2];

/// Distance of two points.
pub(super) fn distance(a: Point, b: Point) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Least and greatest of one coordinate; `None` without points.
pub(super) fn extent(points: &[Point], coordinate: usize) -> Option<(f64, f64)> {
    let values = || points.iter().map(|point| point[coordinate]);
    Some((values().min_by(f64::total_cmp)?, values().max_by(f64::total_cmp)?))
}

/// `count` points at equal steps of arc length, both ends among them; needs two points and a count of two.
pub(super) fn equal_steps(points: &[Point], count: usize) -> Vec<Point> {
    let mut arcs = vec![0.0];
    for pair in points.windows(2) {
        arcs.push(arcs[arcs.len() - 1] + distance(pair[0], pair[1]));
    }
    let whole = arcs[arcs.len() - 1];
    let at = |arc: f64| {
        let after = arcs.partition_point(|&a| a < arc).clamp(1, points.len() - 1);
        let (from, to) = (points[after - 1], points[after]);
        let length = arcs[after] - arcs[after - 1];
        let share = if length > 0.0 { ((arc - arcs[after - 1]) / length).clamp(0.0, 1.0) } else { 0.0 };
        [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])]
    };
    (0..count).map(|step| at(whole * step as f64 / (count - 1) as f64)).collect()
}

/// Mean of the distance across, weighted by arc length; 0 of fewer than two points.
pub(super) fn mean_across(points: &[Point]) -> f64 {
    let (mut sum, mut whole) = (0.0, 0.0);
    for pair in points.windows(2) {
        let length = distance(pair[0], pair[1]);
        sum += length * 0.5 * (pair[0][0] + pair[1][0]);
        whole += length;
    }
    if whole > 0.0 { sum / whole } else { 0.0 }
}

/// Whether a curve ends where it begins: nearer than this share of its extent ("project").
const CLOSED_SHARE: f64 = 0.01;

/// Whether the last point lies at the first, within a hundredth of the curve's greater extent.
pub(super) fn is_closed(points: &[Point]) -> bool {
    let span = |coordinate| extent(points, coordinate).map_or(0.0, |(least, greatest)| greatest - least);
    match (points.first(), points.last()) {
        (Some(first), Some(last)) => points.len() > 3 && distance(*first, *last) <= CLOSED_SHARE * span(0).max(span(1)),
        _ => false,
    }
}

/// The closed curve begun at another of its points; ends there too.
pub(super) fn begun_at(points: &[Point], start: usize) -> Vec<Point> {
    let (before, after) = points.split_at(start);
    after.iter().chain(before).chain(after.first()).copied().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_equal_and_keep_the_ends() {
        let bent = [[0.0, 0.0], [3.0, 4.0], [3.0, 4.0], [3.0, 9.0]];
        let found = equal_steps(&bent, 5);
        assert_eq!((found[0], found[4]), (bent[0], bent[3]));
        assert!(distance(found[2], [3.0, 4.0]) < 1e-12, "half of 10 lies at the bend");
        assert_eq!(equal_steps(&[[1.0, 1.0]; 2], 3), [[1.0, 1.0]; 3]);
    }

    #[test]
    fn mean_across_weighs_by_length() {
        assert!((mean_across(&[[0.0, 0.0], [2.0, 0.0], [2.0, 2.0]]) - 1.5).abs() < 1e-12); // 1 over 2, then 2 over 2
        assert!(mean_across(&[[5.0, 5.0]]).abs() < 1e-12);
    }

    #[test]
    fn a_closed_curve_can_begin_anywhere() {
        let square = [[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0], [0.0, 0.01]];
        assert!(is_closed(&square) && !is_closed(&square[..4]));
        assert_eq!(begun_at(&square[..4], 2), [[9.0, 9.0], [0.0, 9.0], [0.0, 0.0], [9.0, 0.0], [9.0, 9.0]]);
    }
}
