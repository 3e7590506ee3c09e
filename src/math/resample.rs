//! Resampling: a polyline at equal arc length, and values between nodes.

use std::f64::consts::TAU;

use nalgebra::Point2;

/// Cumulative arc length of a polyline, from 0; as many as `points`.
#[must_use]
pub fn arc_lengths(points: &[Point2<f64>]) -> Vec<f64> {
    let mut total = 0.0;
    let mut before = points.first().copied();
    points
        .iter()
        .map(|&point| {
            total += before.map_or(0.0, |before| (point - before).norm());
            before = Some(point);
            total
        })
        .collect()
}

/// `count` points at equal arc length along a polyline, its ends included; empty of no points or a count of 0.
///
/// # Example
/// ```
/// use nalgebra::Point2;
/// use tornus::math::resample::equal_arc_length;
/// let corner = [Point2::new(0.0, 0.0), Point2::new(1.0, 0.0), Point2::new(1.0, 3.0)]; // length 4
/// assert_eq!(equal_arc_length(&corner, 3)[1], Point2::new(1.0, 1.0)); // 2 along: 1 after the corner
/// ```
#[must_use]
pub fn equal_arc_length(points: &[Point2<f64>], count: usize) -> Vec<Point2<f64>> {
    let lengths = arc_lengths(points);
    let Some(&total) = lengths.last() else { return Vec::new() };
    let steps = count.saturating_sub(1).max(1) as f64;
    (0..count)
        .map(|k| {
            let wanted = total * k as f64 / steps;
            let (left, share) = locate(&lengths, wanted);
            let right = (left + 1).min(points.len() - 1);
            points[left] + share * (points[right] - points[left])
        })
        .collect()
}

/// The interval of increasing `nodes` that holds `at`, and the share of it passed; clamped to the ends.
fn locate(nodes: &[f64], at: f64) -> (usize, f64) {
    let last = nodes.len() - 1;
    let right = nodes.partition_point(|node| *node <= at);
    if right == 0 {
        return (0, 0.0);
    }
    if right > last {
        return (last, 0.0);
    }
    let (low, high) = (nodes[right - 1], nodes[right]);
    (right - 1, if high > low { (at - low) / (high - low) } else { 0.0 })
}

/// Linear interpolation of `values` at strictly increasing `nodes`; the end values beyond the ends, `None` of no nodes.
#[must_use]
pub fn linear(nodes: &[f64], values: &[f64], at: f64) -> Option<f64> {
    if nodes.is_empty() || nodes.len() != values.len() {
        return None;
    }
    let (left, share) = locate(nodes, at);
    let right = (left + 1).min(values.len() - 1);
    Some(values[left] + share * (values[right] - values[left]))
}

/// Cubic Hermite interpolation of `values` at strictly increasing `nodes`, slopes by the parabola through each node and
/// its neighbours; the end values beyond the ends, `None` of no nodes.
///
/// Exact for parabolas.
///
/// # Example
/// ```
/// use tornus::math::resample::cubic;
/// // x^2 at 0, 1, 3
/// assert!((cubic(&[0.0, 1.0, 3.0], &[0.0, 1.0, 9.0], 2.0).unwrap() - 4.0).abs() < 1e-14);
/// ```
#[must_use]
pub fn cubic(nodes: &[f64], values: &[f64], at: f64) -> Option<f64> {
    if nodes.is_empty() || nodes.len() != values.len() {
        return None;
    }
    let (left, share) = locate(nodes, at);
    if left + 1 >= nodes.len() {
        return values.get(left).copied();
    }
    let width = nodes[left + 1] - nodes[left];
    let (slope_left, slope_right) = (slope_at(nodes, values, left), slope_at(nodes, values, left + 1));
    Some(hermite(values[left], values[left + 1], width * slope_left, width * slope_right, share))
}

/// The slope of the parabola through a node and its neighbours (at an end, through the end and the next two).
fn slope_at(nodes: &[f64], values: &[f64], node: usize) -> f64 {
    let last = nodes.len() - 1;
    let chord = |i: usize| (values[i + 1] - values[i]) / (nodes[i + 1] - nodes[i]);
    if last == 1 {
        return chord(0);
    }
    let middle = node.clamp(1, last - 1);
    let (before, after) = (nodes[middle] - nodes[middle - 1], nodes[middle + 1] - nodes[middle]);
    let curvature = (chord(middle) - chord(middle - 1)) / (before + after);
    chord(middle - 1) + curvature * (2.0 * nodes[node] - nodes[middle - 1] - nodes[middle])
}

fn hermite(left: f64, right: f64, slope_left: f64, slope_right: f64, t: f64) -> f64 {
    let rise = right - left;
    let (bend_left, bend_right) = (slope_left - rise, rise - slope_right);
    left + t * (rise + (1.0 - t) * (bend_left * (1.0 - t) + bend_right * t))
}

/// Linear interpolation of values on an even periodic grid over a turn, value j at angle 2 pi j / count; `None` of none.
#[must_use]
pub fn periodic_linear(values: &[f64], angle: f64) -> Option<f64> {
    let (node, share) = turn(values.len(), angle)?;
    let next = values[(node + 1) % values.len()];
    Some(values[node] + share * (next - values[node]))
}

/// Cubic Hermite interpolation on an even periodic grid over a turn, slopes by central differences; `None` of none.
///
/// # Example
/// ```
/// use std::f64::consts::TAU;
/// use tornus::math::resample::periodic_cubic;
/// let wave: Vec<f64> = (0..64).map(|j| (TAU * f64::from(j) / 64.0).sin()).collect();
/// // error h^3 / 24 of the central slopes, h = 2 pi / 64
/// assert!((periodic_cubic(&wave, 1.0).unwrap() - 1.0_f64.sin()).abs() < 4e-5);
/// ```
#[must_use]
pub fn periodic_cubic(values: &[f64], angle: f64) -> Option<f64> {
    let count = values.len();
    let (node, share) = turn(count, angle)?;
    let at = |offset: usize| values[(node + offset) % count];
    let (before, left, right, after) = (at(count - 1), at(0), at(1), at(2));
    Some(hermite(left, right, 0.5 * (right - before), 0.5 * (after - left), share))
}

/// The node before `angle`, and the share of the step passed.
fn turn(count: usize, angle: f64) -> Option<(usize, f64)> {
    if count == 0 || !angle.is_finite() {
        return None;
    }
    let position = (angle / TAU).rem_euclid(1.0) * count as f64;
    let node = position.floor();
    Some((node as usize % count, position - node))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: Option<f64>, wanted: f64) {
        let found = found.unwrap();
        assert!((found - wanted).abs() < 1e-13, "{found} is not {wanted}");
    }

    #[test]
    fn equal_steps_along_a_circle_stay_on_it() {
        let circle: Vec<Point2<f64>> =
            (0..=720).map(|j| (TAU * f64::from(j) / 720.0).sin_cos()).map(|(y, x)| Point2::new(x, y)).collect();
        let even = equal_arc_length(&circle, 13);
        let step = (even[1] - even[0]).norm();
        assert!(even.windows(2).all(|pair| ((pair[1] - pair[0]).norm() - step).abs() < 1e-4 * step));
        assert!((even[12] - even[0]).norm() < 1e-12);
        assert!(equal_arc_length(&[], 5).is_empty());
        assert_eq!(equal_arc_length(&[Point2::new(1.0, 2.0)], 2), vec![Point2::new(1.0, 2.0); 2]);
    }

    #[test]
    fn interpolation_meets_its_nodes_and_clamps() {
        let (nodes, values) = ([0.0, 1.0, 3.0, 4.0], [5.0, 7.0, -1.0, 2.0]);
        for (node, value) in nodes.iter().zip(values) {
            close(linear(&nodes, &values, *node), value);
            close(cubic(&nodes, &values, *node), value);
        }
        close(linear(&nodes, &values, 2.0), 3.0);
        close(linear(&nodes, &values, -9.0), 5.0);
        close(cubic(&nodes, &values, 9.0), 2.0);
        assert_eq!(linear(&[], &[], 1.0), None);
        close(cubic(&[1.0], &[4.0], 0.0), 4.0);
        close(cubic(&[1.0, 3.0], &[4.0, 8.0], 1.5), 5.0);
    }

    #[test]
    fn cubic_is_exact_for_parabolas_up_to_the_ends() {
        let nodes = [-1.0, 0.5, 1.0, 4.0, 4.5];
        let values = nodes.map(|x: f64| 2.0 - x + 3.0 * x * x);
        for at in [-0.9, 0.0, 0.7, 2.0, 4.4] {
            close(cubic(&nodes, &values, at), 2.0 - at + 3.0 * at * at);
        }
    }

    #[test]
    fn periodic_values_go_round() {
        let values = [1.0, 3.0, 5.0, 3.0];
        close(periodic_linear(&values, TAU * 7.0 / 8.0), 2.0);
        close(periodic_linear(&values, -TAU / 8.0), 2.0);
        close(periodic_cubic(&values, TAU / 2.0), 5.0);
        assert_eq!(periodic_cubic(&[], 1.0), None);
        assert_eq!(periodic_linear(&values, f64::NAN), None);
    }
}
