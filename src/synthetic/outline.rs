//! Outlines from corners: a polygon whose corners are rounded by tangent arcs.

use super::meridian::{Marks, Meridian, Piece};

/// A corner of the polygon about a vessel's outer half-section, rounded by an arc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Radius of the rounding arc, mm; shrunk where two roundings would not fit on one edge.
    pub rounding_mm: f64,
}

impl Corner {
    /// A corner at (`radius_mm`, `height_mm`) rounded with `rounding_mm`.
    #[must_use]
    pub const fn new(radius_mm: f64, height_mm: f64, rounding_mm: f64) -> Self {
        Self { radius_mm, height_mm, rounding_mm }
    }

    fn place(&self) -> [f64; 2] {
        [self.radius_mm, self.height_mm]
    }
}

/// Why corners make no vessel.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OutlineError {
    /// Too few corners for a wall.
    #[error("an outer wall needs at least 2 corners: {0}")]
    TooFewCorners(usize),
    /// The outer wall must climb from corner to corner.
    #[error("outer wall falls after corner {0}")]
    Falling(usize),
    /// The wall is too thick for the outline, or not positive.
    #[error("wall thickness does not fit the outline, mm: {0}")]
    Thickness(f64),
    /// A planned chain does not end level towards the axis.
    #[error("chain of lines and arcs does not close; it has turned by, rad: {turned_rad}")]
    Open {
        /// Turn from beginning to end, rad.
        turned_rad: f64,
    },
    /// The foot's ring does not fit under the vessel.
    #[error("recess of the underside does not fit within the foot, mm: {0}")]
    Recess(f64),
}

/// Share of an edge that the two roundings at its ends may take together.
const EDGE_SHARE: f64 = 0.999;

impl Meridian {
    /// A vessel of wall thickness `wall_mm` and floor thickness `floor_mm` from the corners of its outer wall, foot corner
    /// (height 0) to rim corner; the inner wall follows the outer from corner `follow` on. The lip is fully rounded; the
    /// underside is flat, or recessed by `recess_mm` within a rounded foot ring as wide as the wall.
    ///
    /// # Errors
    /// [`OutlineError`] if the corners do not climb or the wall does not fit.
    ///
    /// # Example
    /// A cup of 40 mm radius, 80 mm height, 5 mm wall and floor holds pi x 35^2 x 75 mm3 but for its roundings.
    /// ```
    /// use tornus::synthetic::{Corner, Meridian};
    /// let corners = [Corner::new(40.0, 0.0, 0.5), Corner::new(40.0, 80.0, 0.0)];
    /// let cup = Meridian::from_corners(&corners, 0, 5.0, 5.0, 0.0)?;
    /// assert!((cup.at(cup.foot_arc()).radius_mm - 39.5).abs() < 1e-9); // the flat ends where the rounding starts
    /// assert!((cup.height_mm() - 80.0).abs() < 1e-9);
    /// # Ok::<(), tornus::synthetic::OutlineError>(())
    /// ```
    pub fn from_corners(
        outer: &[Corner],
        follow: usize,
        wall_mm: f64,
        floor_mm: f64,
        recess_mm: f64,
    ) -> Result<Self, OutlineError> {
        if outer.len() < 2 || follow + 2 > outer.len() {
            return Err(OutlineError::TooFewCorners(outer.len()));
        }
        for (index, pair) in outer.windows(2).enumerate() {
            let climbs = pair[1].height_mm > pair[0].height_mm;
            if !climbs {
                return Err(OutlineError::Falling(index));
            }
        }
        let inner = inner_corners(&outer[follow..], wall_mm, floor_mm)?;
        let mut corners = underside(outer[0], wall_mm, recess_mm)?;
        let ring_top = (follow > 0).then_some(corners.len() + follow);
        corners.extend_from_slice(outer);
        let rim = corners.len() - 1;
        corners.extend_from_slice(&inner);
        corners.push(Corner::new(0.0, floor_mm, 0.0));
        if recess_mm > 0.0 {
            round_fully(&mut corners, 2);
        }
        round_fully(&mut corners, rim);
        Ok(assemble(&corners, rim, ring_top))
    }
}

/// The corners before the foot corner, from the axis on.
fn underside(foot: Corner, wall_mm: f64, recess_mm: f64) -> Result<Vec<Corner>, OutlineError> {
    if recess_mm <= 0.0 {
        return Ok(vec![Corner::new(0.0, 0.0, 0.0)]);
    }
    let ring_inside = foot.radius_mm - wall_mm;
    // The ring's inner flank leans by as much as it is high, so that the recess can be scanned.
    let recess_edge = ring_inside - recess_mm;
    // Also false for a recess that is no number.
    let fits = recess_edge > 0.0;
    if !fits {
        return Err(OutlineError::Recess(recess_mm));
    }
    Ok(vec![
        Corner::new(0.0, recess_mm, 0.0),
        Corner::new(recess_edge, recess_mm, recess_mm),
        Corner::new(ring_inside, 0.0, 0.0),
    ])
}

/// Corners of the inner wall from the rim down to the floor: the outer edges moved inwards by the wall.
fn inner_corners(outer: &[Corner], wall_mm: f64, floor_mm: f64) -> Result<Vec<Corner>, OutlineError> {
    let misfit = OutlineError::Thickness(wall_mm);
    if !(wall_mm > 0.0 && floor_mm > 0.0) {
        return Err(misfit);
    }
    let edges: Vec<([f64; 2], [f64; 2])> = outer
        .windows(2)
        .map(|pair| {
            let direction = unit(pair[0].place(), pair[1].place());
            // Inwards is to the left of the way up.
            ([pair[0].radius_mm - wall_mm * direction[1], pair[0].height_mm + wall_mm * direction[0]], direction)
        })
        .collect();
    let at_height = |edge: &([f64; 2], [f64; 2]), height: f64| edge.0[0] + (height - edge.0[1]) / edge.1[1] * edge.1[0];
    let last = edges.len() - 1;
    let top = outer[outer.len() - 1].height_mm;
    let mut inner = vec![Corner::new(at_height(&edges[last], top), top, 0.0)];
    for index in (0..last).rev() {
        let (a, b) = (&edges[index], &edges[index + 1]);
        let turn = cross(a.1, b.1);
        let along = cross([b.0[0] - a.0[0], b.0[1] - a.0[1]], b.1) / turn;
        let height = a.0[1] + along * a.1[1];
        if height <= floor_mm {
            // The floor lies higher than this corner: the wall above it runs straight into the floor.
            break;
        }
        let rounding = outer[index + 1].rounding_mm;
        // A left turn of the outer wall is a bulge: its inside is tighter by the wall; a hollow is wider.
        let rounding = if turn > 0.0 { (rounding - wall_mm).max(0.5 * wall_mm) } else { rounding + wall_mm };
        inner.push(Corner::new(a.0[0] + along * a.1[0], height, rounding));
    }
    let lowest = edges.len() - inner.len();
    let floor_radius = at_height(&edges[lowest], floor_mm);
    let rounding = if lowest > 0 { outer[lowest].rounding_mm } else { outer[0].rounding_mm + 2.0 * wall_mm };
    inner.push(Corner::new(floor_radius, floor_mm, rounding.max(2.0 * wall_mm)));
    let falls = inner.windows(2).all(|pair| pair[1].height_mm < pair[0].height_mm);
    if falls && inner.iter().all(|corner| corner.radius_mm > 0.0) { Ok(inner) } else { Err(misfit) }
}

/// Rounds the edge from corner `index` to the next so that the two arcs meet in its middle and nothing flat is left.
fn round_fully(corners: &mut [Corner], index: usize) {
    let place = |i: usize| corners[i].place();
    let edge = unit(place(index), place(index + 1));
    let first = half_turn_tangent(unit(place(index - 1), place(index)), edge);
    let second = half_turn_tangent(edge, unit(place(index + 1), place(index + 2)));
    let length = distance(place(index), place(index + 1));
    let rounding = length / (first + second);
    corners[index].rounding_mm = rounding;
    corners[index + 1].rounding_mm = rounding;
}

/// Tangent length per rounding radius at a corner: the tangent of half the turn.
fn half_turn_tangent(before: [f64; 2], after: [f64; 2]) -> f64 {
    let turn = cross(before, after).atan2(dot(before, after)).abs();
    (0.5 * turn).tan()
}

/// Lines and arcs from rounded corners; corner `rim` and the next bound the lip, above `ring_top` the body starts.
fn assemble(corners: &[Corner], rim: usize, ring_top: Option<usize>) -> Meridian {
    let count = corners.len();
    let direction: Vec<[f64; 2]> = corners.windows(2).map(|pair| unit(pair[0].place(), pair[1].place())).collect();
    let length: Vec<f64> = corners.windows(2).map(|pair| distance(pair[0].place(), pair[1].place())).collect();
    let tangent = tangent_lengths(corners, &direction, &length, rim);
    let mut pieces = Vec::new();
    let mut marks = Marks::default();
    for index in 0..count - 1 {
        let start = along(corners[index].place(), direction[index], tangent[index]);
        let straight = length[index] - tangent[index] - tangent[index + 1];
        // Shorter than a nanometre is no edge, only rounding.
        if straight > 1e-9 {
            pieces.push(Piece::Line { start, direction: direction[index], length: straight });
        }
        if index + 2 > count - 1 {
            break;
        }
        let (before, after) = (direction[index], direction[index + 1]);
        let turn = cross(before, after).atan2(dot(before, after));
        let radius = tangent[index + 1] / (0.5 * turn.abs()).tan();
        // A straight corner or one left sharp.
        if radius.is_nan() || radius <= 1e-9 {
            continue;
        }
        let from = along(corners[index + 1].place(), before, -tangent[index + 1]);
        let side = turn.signum();
        let centre = [from[0] - side * radius * before[1], from[1] + side * radius * before[0]];
        let angle = (from[1] - centre[1]).atan2(from[0] - centre[0]);
        for (mark, corner) in marks.lip.iter_mut().zip([rim, rim + 1]) {
            if index + 1 == corner {
                *mark = pieces.len();
            }
        }
        if Some(index + 1) == ring_top {
            marks.ring_top = Some(pieces.len());
        }
        pieces.push(Piece::Arc { centre, radius, angle, sweep: turn });
    }
    Meridian::from_pieces(pieces, &marks)
}

/// Tangent length at each corner, shrunk where an edge is too short for both of its ends.
fn tangent_lengths(corners: &[Corner], direction: &[[f64; 2]], length: &[f64], rim: usize) -> Vec<f64> {
    let count = corners.len();
    let mut tangent = vec![0.0; count];
    for index in 1..count - 1 {
        tangent[index] = corners[index].rounding_mm * half_turn_tangent(direction[index - 1], direction[index]);
    }
    let mut scale = vec![1.0_f64; count];
    for edge in 0..count - 1 {
        let together = tangent[edge] + tangent[edge + 1];
        // The lip and a rounded foot ring are meant to leave nothing straight.
        let share = if edge == rim || (edge > 0 && (together - length[edge]).abs() < 1e-9) { 1.0 } else { EDGE_SHARE };
        if together > share * length[edge] {
            let factor = share * length[edge] / together;
            scale[edge] = scale[edge].min(factor);
            scale[edge + 1] = scale[edge + 1].min(factor);
        }
    }
    tangent.iter().zip(&scale).map(|(tangent, scale)| tangent * scale).collect()
}

fn unit(from: [f64; 2], to: [f64; 2]) -> [f64; 2] {
    let length = distance(from, to);
    [(to[0] - from[0]) / length, (to[1] - from[1]) / length]
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

fn along(from: [f64; 2], direction: [f64; 2], length: f64) -> [f64; 2] {
    [from[0] + length * direction[0], from[1] + length * direction[1]]
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}
