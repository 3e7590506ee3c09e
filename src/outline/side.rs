//! One side of a vessel: its outer wall from the foot up, and the inner wall where it is drawn too.

use super::path::{Point, begun_at, extent, is_closed, mean_across};

/// Ends within this share of the height from the top are both at the rim, and the curve runs from rim to rim ("project").
const AT_RIM: f64 = 0.1;

/// What lies beyond the highest point is a wall of its own if it spans this share of the height ("project"); less is a lip.
const OWN_WALL: f64 = 0.1;

/// The lowest points: within this share of the height, as for the foot edge of a meridian.
const LOWEST: f64 = 0.005;

/// The walls of one side, heights as drawn.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Walls {
    /// From the foot to the rim.
    pub(super) outer: Vec<Point>,
    /// From the rim down; empty where it is not drawn.
    pub(super) inner: Vec<Point>,
}

/// Parts the curve of one side at its highest point; the outer wall is the one farther from the axis.
pub(super) fn walls(points: &[Point]) -> Walls {
    let Some((low, high)) = extent(points, 1) else { return Walls { outer: Vec::new(), inner: Vec::new() } };
    let height = high - low;
    let at_rim = |point: Option<&Point>| point.is_some_and(|point| point[1] >= high - AT_RIM * height);
    let from_rim_to_rim = at_rim(points.first()) && at_rim(points.last());
    let mut points = points.to_vec();
    if is_closed(&points) || from_rim_to_rim {
        let foot = lowest_nearest_axis(&points, low + LOWEST * height);
        points = begun_at(&points, foot);
        points.dedup();
        if points.len() > 1 {
            points.pop(); // back at the foot
        }
    }
    let highest = (0..points.len()).rev().max_by(|&a, &b| points[a][1].total_cmp(&points[b][1])).unwrap_or(0);
    let up = &points[..=highest];
    let down = &points[highest..];
    let spans = |part: &[Point]| extent(part, 1).map_or(0.0, |(least, greatest)| greatest - least) >= OWN_WALL * height;
    let reversed = |part: &[Point]| part.iter().rev().copied().collect::<Vec<_>>();
    match (spans(up), spans(down)) {
        (true, true) if mean_across(up) >= mean_across(down) => Walls { outer: up.to_vec(), inner: down.to_vec() },
        (true, true) => Walls { outer: reversed(down), inner: reversed(up) },
        (true, _) => Walls { outer: points, inner: Vec::new() },
        (false, _) => Walls { outer: reversed(&points), inner: Vec::new() },
    }
}

/// Of the lowest points the one nearest to the axis.
fn lowest_nearest_axis(points: &[Point], below: f64) -> usize {
    let low = (0..points.len()).filter(|&at| points[at][1] <= below);
    low.min_by(|&a, &b| points[a][0].total_cmp(&points[b][0])).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cup 20 mm high, outer radius 10, wall and floor 2 mm, from the middle of the foot to the middle of the floor.
    const CUP: [Point; 6] = [[0.0, 0.0], [10.0, 0.0], [10.0, 20.0], [8.0, 20.0], [8.0, 2.0], [0.0, 2.0]];

    fn check(points: &[Point]) {
        let found = walls(points);
        assert_eq!(found.outer.first(), Some(&[0.0, 0.0]), "{points:?}");
        assert_eq!(found.outer.last(), Some(&[10.0, 20.0]), "{points:?}");
        assert_eq!(found.inner.iter().map(|p| p[1]).min_by(f64::total_cmp), Some(2.0), "{points:?}");
        assert!(found.inner.iter().all(|p| p[0] <= 10.0) && found.inner.len() >= 3);
    }

    #[test]
    fn a_half_section_has_two_walls_from_either_end() {
        check(&CUP);
        let mut back = CUP;
        back.reverse();
        let found = walls(&back);
        assert_eq!((found.outer[0], found.inner.len()), ([0.0, 0.0], 3)); // the lip's flat goes with either
    }

    #[test]
    fn a_closed_half_section_may_begin_anywhere() {
        for start in 0..CUP.len() {
            check(&begun_at(&CUP, start));
        }
    }

    #[test]
    fn one_wall_runs_upwards_whichever_way_it_was_drawn() {
        let down = [[12.0, 30.0], [11.0, 15.0], [5.0, 0.0]];
        let found = walls(&down);
        assert_eq!((found.outer[0], found.outer[2]), ([5.0, 0.0], [12.0, 30.0]));
        assert!(found.inner.is_empty());
        let lip = [[5.0, 0.0], [11.0, 30.0], [12.0, 30.5], [13.0, 29.5]];
        assert_eq!(walls(&lip).outer.len(), 4, "a lip that hangs over is part of its wall");
    }
}
