//! The edge of the foot: where its rounding begins.

use super::extreme::Extreme;
use super::wall_curve::WallCurve;

/// Rises above the ground, in standard uncertainties of a station, that are surely no noise.
const RISE_U: f64 = 6.0;
/// Least such rise, as a share of the curve's height.
const RISE_SHARE: f64 = 1e-4;
/// A rise to this share of the curve's height belongs to the wall or its rounding, not to an uneven ground.
const WALL_SHARE: f64 = 0.02;
/// Greatest slope of the rounding that is used, the sine of 35 degrees: the root of the rise is straight to a hundredth.
const STEEPEST: f64 = 0.57;
/// What that bends the line by, as a share of the way it is followed: a standard uncertainty.
const SHAPE_U: f64 = 0.01;
/// Standard uncertainties by which a line over the lower half may differ before the whole one is given up.
const AGREES: f64 = 1.5;
/// Neighbouring stations share points: their noise counts as that of a third as many.
const SHARED: f64 = 3.0;
/// A foot whose radius is less than this share of its rounding's width is a point.
const POINT: f64 = 0.15;

/// Arc length of the foot's edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct FootEdge {
    /// Arc length, mm.
    pub(super) arc: f64,
    /// Its standard uncertainty, mm.
    pub(super) u_arc: f64,
}

/// The edge outwards of the lowest station; `None` for a round bottom.
pub(super) fn foot_edge(outer: &WallCurve<'_>, ground: &Extreme, lowest: usize) -> Option<FootEdge> {
    let (arcs, heights) = (outer.arcs(), outer.heights());
    let tall = heights.iter().copied().fold(0.0, f64::max) - ground.value;
    let rise = |i: usize| heights[i] - ground.value;
    let noise = |i: usize| outer.u_radii()[i].hypot(ground.u_value());
    let clear = |i: usize| rise(i) > (RISE_U * noise(i)).max(RISE_SHARE * tall);
    let wall = (lowest..outer.len()).find(|&i| clear(i) && rise(i) > WALL_SHARE * tall)?;
    let first = (lowest..=wall).rev().take_while(|&i| clear(i)).last()?;
    let slope = |i: usize| outer.at(arcs[i]).height_slope;
    let rounding = (first..outer.len()).take_while(|&i| clear(i) && slope(i) < STEEPEST);
    let spacing = arcs[first] - arcs[first.saturating_sub(1)];
    let root = |i: usize| Root { arc: arcs[i], root: rise(i).sqrt(), u: noise(i) / (2.0 * rise(i).sqrt()) };
    let roots: Vec<Root> = rounding.map(root).collect();
    let bracket = bracket(outer, first, rise, noise);
    let edge = begin(&roots).filter(|edge| bracket.is_none_or(|bracket| bracket.holds(edge.arc)));
    // Sharper than the stations show: the edge lies between the last station on the ground and the first above it.
    let between = FootEdge { arc: arcs[first] - 0.5 * spacing, u_arc: 0.5 * spacing };
    let edge = edge.filter(|edge| edge.arc < arcs[first]);
    let edge = edge.or_else(|| bracket.map(|bracket| bracket.edge(spacing))).unwrap_or(between);
    let edge = FootEdge { arc: edge.arc.max(arcs[0]), ..edge };
    let radius = outer.at(edge.arc).radius;
    let width = outer.at(arcs[wall]).radius - radius;
    (radius > (POINT * width).max(spacing).max(2.0 * edge.u_arc)).then_some(edge)
}

/// Where the edge can be, by the first stations that are clear of the ground.
#[derive(Clone, Copy, Debug)]
struct Bracket {
    /// Arc length of the middle, half the width, and what noise leaves open of either, mm.
    middle: f64,
    half: f64,
    u: f64,
}

impl Bracket {
    /// Whether a place is as likely as those between the ends.
    fn holds(&self, arc: f64) -> bool {
        (arc - self.middle).abs() <= self.half + self.u
    }

    fn edge(&self, spacing: f64) -> FootEdge {
        // Either end is as likely as the middle, and an edge between two stations is nowhere better known.
        FootEdge { arc: self.middle, u_arc: self.half.hypot(self.u).max(0.5 * spacing) }
    }
}

/// A rise `h` with slope `t` began 2 h / t before if a rounding made it (of a circle's angle a: 2 tan(a / 2) for a), and
/// h / t before if all of it is a straight flank; `None` at the end of the curve or without a slope.
fn bracket(
    outer: &WallCurve<'_>,
    first: usize,
    rise: impl Fn(usize) -> f64,
    noise: impl Fn(usize) -> f64,
) -> Option<Bracket> {
    let after = first + 2;
    if after >= outer.len() {
        return None;
    }
    let (way, middle) = (outer.arcs()[after] - outer.arcs()[first], outer.arcs()[first + 1]);
    let (slope, height) = ((rise(after) - rise(first)) / way, (rise(first) + rise(first + 1) + rise(after)) / 3.0);
    let (u_slope, u_height) = (noise(first).hypot(noise(after)) / way, noise(first + 1) / SHARED.sqrt());
    let back = height / slope;
    let u = back * (u_slope / slope).hypot(u_height / height);
    (slope > 0.0 && back.is_finite()).then_some(Bracket { middle: middle - 1.5 * back, half: 0.5 * back, u })
}

/// Where the rounding begins: a line through as many roots as it holds for, from the lowest on.
///
/// What follows a rounding, a straight flank, rises less and less as the square.
fn begin(roots: &[Root]) -> Option<FootEdge> {
    let mut count = roots.len();
    loop {
        let whole = line(&roots[..count])?;
        let Some(lower) = line(&roots[..count.div_ceil(2)]) else {
            let spacing = roots[1].arc - roots[0].arc;
            return Some(FootEdge { u_arc: whole.u_arc.hypot(0.5 * spacing), ..whole });
        };
        let apart = (whole.arc - lower.arc).abs();
        if apart <= AGREES * lower.u_arc {
            let shape = SHAPE_U * (roots[count - 1].arc - whole.arc);
            return Some(FootEdge { arc: whole.arc, u_arc: whole.u_arc.hypot(0.5 * apart).hypot(shape) });
        }
        count = (count * 3).div_ceil(4).min(count - 1);
    }
}

/// The root of a rise.
struct Root {
    arc: f64,
    root: f64,
    u: f64,
}

/// Where the weighted least-squares line through the roots meets zero; `None` with fewer than three or no rise.
fn line(roots: &[Root]) -> Option<FootEdge> {
    if roots.len() < 3 {
        return None;
    }
    let (mut w, mut s, mut y) = (0.0, 0.0, 0.0);
    for root in roots {
        let weight = root.u.max(1e-12).powi(-2);
        (w, s, y) = (w + weight, s + weight * root.arc, y + weight * root.root);
    }
    let (s, y) = (s / w, y / w);
    let (mut ss, mut sy) = (0.0, 0.0);
    for root in roots {
        let weight = root.u.max(1e-12).powi(-2);
        ss += weight * (root.arc - s).powi(2);
        sy += weight * (root.arc - s) * (root.root - y);
    }
    let slope = sy / ss;
    if slope.is_nan() || slope <= 0.0 {
        return None;
    }
    let arc = s - y / slope;
    let variance = 1.0 / w + (arc - s).powi(2) / ss;
    Some(FootEdge { arc, u_arc: (SHARED * variance).sqrt() / slope })
}
