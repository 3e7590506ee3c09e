//! The cells of the half-plane in the order in which the meridian runs through them.

use crate::axis::{Cell, Cells};

/// A cell that is seen over less than this share of the typical closure is a handle, a spout or a loose part (project;
/// a handle covers a tenth of the azimuth, a wall with a third missing still two thirds).
const LEAST_CLOSURE: f64 = 0.45;

/// Azimuth sectors a cell must be seen in, of 32: fewer cannot be told from a loose part.
const LEAST_SECTORS: u32 = 5;

/// A cell fit to begin with has this share of the typical closure, and no more sectors in a row empty than a missing third.
const WHOLE: f64 = 0.8;
const WHOLE_GAP: u32 = 13;

/// Sectors in a row, of 32, that may be empty: a third of the azimuth may be missing and chance may empty some more; a handle
/// leaves nine tenths empty.
const LONGEST_GAP: u32 = 22;

/// Steps shorter than this many cells are made along a cell's neighbours, longer ones where rows of points lie far apart,
/// the longest across a gap in the wall.
const NEAR: usize = 3;
const SPARSE: usize = 6;
const GAP: usize = 14;

/// Least cosine between the way so far and the next step; a gap is crossed only straight on.
const LEAST_COSINE: f64 = 0.2;
const LEAST_SPARSE_COSINE: f64 = 0.5;
const LEAST_GAP_COSINE: f64 = 0.75;

/// Cells within this many cells of the way belong to the wall it runs along.
const BESIDE: f64 = 1.2;

/// The meridian ends where it comes this near to the axis, in cells.
const AT_AXIS: f64 = 1.5;

/// A wall's other face lies within this many cells where the meridian turns back at a sharp rim.
const TURN: usize = 5;

/// Nearer to the axis than this share of the greatest radius is no rim: the meridian ends there.
const LEAST_TURN_RADIUS: f64 = 0.12;

/// Parts of a way that are turned round at most, so that it does not cross itself.
const MOST_TURNS: usize = 2;

/// A step is at least this share of a cell long, so that neighbours side by side are not visited in turn.
const LEAST_STEP: f64 = 0.6;

/// A place on the meridian: smoothed position, unit tangent of unknown sign, unit normal (zero where unknown).
#[derive(Clone, Copy, Debug)]
struct Node {
    at: [f64; 2],
    tangent: [f64; 2],
    normal: [f64; 2],
    sound: bool,
    /// Seen as far round as the vessel was scanned: fit to begin with.
    whole: bool,
}

/// Points (radius, height) along the meridian, mm, in one run; and in another the inside, where it does not join the outside
/// because the rim is not in the scan.
///
/// The order is such that the outermost point faces outwards to the right of the way: up the outer wall, over the rim and
/// down the inner wall. Cells that are seen over a small part of the azimuth only are passed by.
#[must_use]
pub fn trace(cells: &Cells) -> [Vec<[f64; 2]>; 2] {
    let nodes = nodes(cells);
    let Some(start) = outermost(&nodes, cells.size) else { return Default::default() };
    let mut visited = vec![false; nodes.len()];
    let main = run(cells, &nodes, &mut visited, start);
    let inside = inside(&nodes, &visited).map(|start| run(cells, &nodes, &mut visited, start));
    [main, inside.unwrap_or_default()]
}

/// The run of the meridian through a node.
fn run(cells: &Cells, nodes: &[Node], visited: &mut [bool], start: usize) -> Vec<[f64; 2]> {
    let up = onward(&nodes[start]);
    visited[start] = true;
    let walk = Walk { cells, nodes, least_turn: LEAST_TURN_RADIUS * nodes[start].at[0] };
    let mut ends = [(up, 1.0), (up.map(|c| -c), -1.0)].map(|(way, side)| {
        let mut end = End { path: vec![start], way, side };
        walk.follow(visited, &mut end, false);
        end
    });
    // A sharp rim is crossed last, and first by the end that has more beyond it: where the wall's foot is cut off, its edge
    // has the inner wall across the material too.
    for _ in 0..ends.len() {
        let further = [0, 1].map(|index| {
            let mut end = ends[index].clone();
            walk.follow(&mut visited.to_vec(), &mut end, true);
            end.path.len() - ends[index].path.len()
        });
        let index = usize::from(further[1] > further[0]);
        walk.follow(visited, &mut ends[index], true);
    }
    let [forward, backward] = ends.map(|end| end.path);
    let ids: Vec<usize> = backward.into_iter().skip(1).rev().chain(forward).collect();
    let path = ids.iter().map(|&id| nodes[id].at).collect();
    // Normals keep a way on its own wall; where they are known and it still crosses itself, the surface is no sheet.
    if ids.iter().any(|&id| known(nodes[id].normal)) { path } else { uncrossed(path) }
}

/// The way without crossings: where it changes from one wall to the other and back, as it may where a thin neck is seen by
/// few points, what lies between is run through the other way round.
///
/// A way that still crosses itself after a few such turns runs to and fro over a surface that is no sheet, and stays as it is.
fn uncrossed(path: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let mut turned = path.clone();
    for _ in 0..MOST_TURNS {
        let Some((from, to)) = crossing(&turned) else { return turned };
        turned[from + 1..=to].reverse();
    }
    if crossing(&turned).is_none() { turned } else { path }
}

/// The first two steps of a way that cross, by where they begin.
fn crossing(path: &[[f64; 2]]) -> Option<(usize, usize)> {
    let left = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    let apart = |a: [f64; 2], b: [f64; 2], c: [f64; 2], d: [f64; 2]| left(a, b, c) * left(a, b, d) < 0.0;
    let steps = path.len().saturating_sub(1);
    let cross = |i: usize, j: usize| {
        let [a, b, c, d] = [path[i], path[i + 1], path[j], path[j + 1]];
        apart(a, b, c, d) && apart(c, d, a, b)
    };
    (0..steps).find_map(|i| (i + 2..steps).find(|&j| cross(i, j)).map(|j| (i, j)))
}

/// The outermost place that faces the axis and was not come by.
fn inside(nodes: &[Node], visited: &[bool]) -> Option<usize> {
    let faces_axis = |id: &usize| !visited[*id] && nodes[*id].sound && nodes[*id].whole && nodes[*id].normal[0] < 0.0;
    (0..nodes.len()).filter(faces_axis).max_by(|&a, &b| nodes[a].at[0].total_cmp(&nodes[b].at[0]))
}

/// The steepest place near the greatest radius: there the outside is to the right of the way up.
fn outermost(nodes: &[Node], size: f64) -> Option<usize> {
    /// How near, as a share of the greatest radius.
    const NEAR_WIDEST: f64 = 0.9;
    let sound = || (0..nodes.len()).filter(|&id| nodes[id].sound && nodes[id].whole);
    let widest = sound().map(|id| nodes[id].at[0]).fold(0.0, f64::max);
    // An inner wall has the outer one beyond it at the same height.
    let beyond = |id: usize, other: usize| {
        let ([r, z], [other_r, other_z]) = (nodes[id].at, nodes[other].at);
        (other_z - z).abs() <= size && other_r > r + 1.5 * size
    };
    sound()
        .filter(|&id| nodes[id].at[0] >= NEAR_WIDEST * widest && nodes[id].normal[0] >= 0.0)
        .filter(|&id| !sound().any(|other| beyond(id, other)))
        .max_by(|&a, &b| nodes[a].tangent[1].abs().total_cmp(&nodes[b].tangent[1].abs()))
}

/// The way that has the outside to its right: by the points' normals, or up the outermost wall.
fn onward(node: &Node) -> [f64; 2] {
    let [r, z] = node.normal;
    if known(node.normal) {
        return [-z, r];
    }
    if node.tangent[1] >= 0.0 { node.tangent } else { node.tangent.map(|c| -c) }
}

/// Typical closure: the median over the cells with points enough to tell.
fn typical_closure(cells: &Cells) -> f64 {
    let mut closures: Vec<f64> = cells.cells.iter().filter(|c| c.count >= 8).map(Cell::closure).collect();
    if closures.is_empty() {
        return 1.0;
    }
    let middle = closures.len() / 2;
    *closures.select_nth_unstable_by(middle, f64::total_cmp).1
}

fn nodes(cells: &Cells) -> Vec<Node> {
    let least = LEAST_CLOSURE * typical_closure(cells);
    let sound: Vec<bool> = cells
        .cells
        .iter()
        .map(|cell| {
            let needed = LEAST_SECTORS.min(cell.count);
            let all_round = cell.sectors.count_ones() >= needed && cell.longest_gap() <= LONGEST_GAP;
            cell.closure() >= least && all_round && cell.count >= 3
        })
        .collect();
    let whole = |id: usize| {
        let cell = &cells.cells[id];
        cell.closure() >= WHOLE * least / LEAST_CLOSURE && cell.longest_gap() <= WHOLE_GAP
    };
    (0..cells.cells.len()).map(|id| Node { whole: whole(id), ..smoothed(cells, &sound, id) }).collect()
}

/// A cell moved along its normal onto the line through the sound cells of its own sheet around it.
fn smoothed(cells: &Cells, sound: &[bool], id: usize) -> Node {
    let cell = &cells.cells[id];
    let (mut weight, mut sums, mut squares) = (0.0, [0.0; 2], [0.0; 3]);
    for near in cells.near(cell.radius, cell.height, 2) {
        let other = &cells.cells[near as usize];
        let facing = cell.normal[0] * other.normal[0] + cell.normal[1] * other.normal[1];
        let known = known(cell.normal) && known(other.normal);
        if !sound[near as usize] || (known && facing < 0.5) {
            continue;
        }
        let (r, z) = (other.radius - cell.radius, other.height - cell.height);
        let w = f64::from(other.count) * (-(r * r + z * z) / (cells.size * cells.size)).exp();
        weight += w;
        sums = [sums[0] + w * r, sums[1] + w * z];
        squares = [squares[0] + w * r * r, squares[1] + w * r * z, squares[2] + w * z * z];
    }
    let own = [cell.radius, cell.height];
    if weight <= 0.0 {
        return Node { at: own, tangent: [0.0, 1.0], normal: cell.normal, sound: false, whole: false };
    }
    let [r, z] = sums.map(|s| s / weight);
    let (rr, rz, zz) = (squares[0] / weight - r * r, squares[1] / weight - r * z, squares[2] / weight - z * z);
    let along = 0.5 * (2.0 * rz).atan2(rr - zz);
    // The points' own normals know the tangent better than the cells' spread does.
    let tangent = if known(cell.normal) { [-cell.normal[1], cell.normal[0]] } else { [along.cos(), along.sin()] };
    let across = [tangent[1], -tangent[0]];
    let shift = r * across[0] + z * across[1];
    let at = [own[0] + shift * across[0], own[1] + shift * across[1]];
    Node { at, tangent, normal: cell.normal, sound: sound[id], whole: false }
}

/// One end of the way so far: the nodes up to it, where it heads, and on which side outward normals lie, 1 to the right.
#[derive(Clone, Debug)]
struct End {
    path: Vec<usize>,
    way: [f64; 2],
    side: f64,
}

/// What is walked through.
struct Walk<'a> {
    cells: &'a Cells,
    nodes: &'a [Node],
    /// Nearer to the axis than this, mm, no rim is crossed.
    least_turn: f64,
}

impl Walk<'_> {
    /// Walks on from an end, over sharp rims if it `turns`; else it stops before them.
    fn follow(&self, visited: &mut [bool], end: &mut End, turns: bool) {
        let (cells, nodes, side) = (self.cells, self.nodes, end.side);
        while let Some(&here) = end.path.last().filter(|&&here| nodes[here].at[0] >= AT_AXIS * cells.size) {
            let way = end.way;
            let found = next(cells, nodes, visited, here, way, side, NEAR, LEAST_COSINE)
                .or_else(|| next(cells, nodes, visited, here, way, side, SPARSE, LEAST_SPARSE_COSINE));
            let found = found.or_else(|| {
                let is_wide = nodes[here].at[0] > self.least_turn;
                match is_wide.then(|| turn(cells, nodes, visited, here, way, side)).flatten() {
                    Some(turned) => turns.then_some(turned),
                    None => next(cells, nodes, visited, here, way, side, GAP, LEAST_GAP_COSINE),
                }
            });
            let Some((id, step)) = found else { return };
            let tangent = nodes[id].tangent;
            let sign = if tangent[0] * step[0] + tangent[1] * step[1] < 0.0 { -1.0 } else { 1.0 };
            end.way = unit([step[0] + sign * tangent[0], step[1] + sign * tangent[1]]);
            pass(cells, nodes, visited, here, id);
            end.path.push(id);
        }
    }
}

/// Marks what lies beside a step as visited, so that the way back does not run through the same wall.
fn pass(cells: &Cells, nodes: &[Node], visited: &mut [bool], from: usize, to: usize) {
    let (a, b) = (nodes[from].at, nodes[to].at);
    let way = [b[0] - a[0], b[1] - a[1]];
    let length = way[0].hypot(way[1]);
    visited[to] = true;
    if length <= 0.0 || length > GAP as f64 * cells.size {
        return;
    }
    let reach = (length / cells.size) as usize + 2;
    for id in cells.near(a[0], a[1], reach).map(|id| id as usize) {
        let offset = [nodes[id].at[0] - a[0], nodes[id].at[1] - a[1]];
        let along = (offset[0] * way[0] + offset[1] * way[1]) / length;
        let across = (offset[0] * way[1] - offset[1] * way[0]).abs() / length;
        let facing = nodes[id].normal[0] * nodes[to].normal[0] + nodes[id].normal[1] * nodes[to].normal[1];
        let same_face = facing > 0.3 || !known(nodes[id].normal);
        if (0.0..=length).contains(&along) && across <= BESIDE * cells.size && same_face {
            visited[id] = true;
        }
    }
}

#[expect(clippy::too_many_arguments, reason = "the state of one walk; a struct of it would be used once")]
fn next(
    cells: &Cells,
    nodes: &[Node],
    visited: &[bool],
    here: usize,
    way: [f64; 2],
    side: f64,
    reach: usize,
    least_cosine: f64,
) -> Option<(usize, [f64; 2])> {
    let from = &nodes[here];
    let mut best: Option<(f64, usize, [f64; 2])> = None;
    for id in cells.near(from.at[0], from.at[1], reach).map(|id| id as usize) {
        let node = &nodes[id];
        if !node.sound || visited[id] {
            continue;
        }
        let offset = [node.at[0] - from.at[0], node.at[1] - from.at[1]];
        let length = offset[0].hypot(offset[1]);
        if length < LEAST_STEP * cells.size {
            continue;
        }
        let step = offset.map(|c| c / length);
        let cosine = step[0] * way[0] + step[1] * way[1];
        // The outward normal lies to the right of the way: (z, -r) of the step.
        let facing = side * (node.normal[0] * step[1] - node.normal[1] * step[0]);
        if cosine < least_cosine || (known(node.normal) && facing < -0.1) {
            continue;
        }
        let cost = length * (1.0 + 1.5 * (1.0 - cosine));
        if best.is_none_or(|(least, ..)| cost < least) {
            best = Some((cost, id, step));
        }
    }
    best.map(|(_, id, step)| (id, step))
}

/// The nearest place on the wall's other face, where the meridian runs back: across the material, not across the air.
fn turn(
    cells: &Cells,
    nodes: &[Node],
    visited: &[bool],
    here: usize,
    way: [f64; 2],
    side: f64,
) -> Option<(usize, [f64; 2])> {
    let from = &nodes[here];
    let distance = |id: usize| (nodes[id].at[0] - from.at[0]).hypot(nodes[id].at[1] - from.at[1]);
    let back = |id: &usize| {
        let node = &nodes[*id];
        let offset = [node.at[0] - from.at[0], node.at[1] - from.at[1]];
        // Material lies to the left of the way: (-z, r) of it.
        let into = side * (offset[1] * way[0] - offset[0] * way[1]);
        let along = -side * node.normal[1] * way[0] + side * node.normal[0] * way[1];
        node.sound && !visited[*id] && into >= 0.0 && (!known(node.normal) || along < 0.0)
    };
    let ids = cells.near(from.at[0], from.at[1], TURN).map(|id| id as usize);
    let id = ids.filter(back).min_by(|&a, &b| distance(a).total_cmp(&distance(b)))?;
    Some((id, way.map(|c| -c)))
}

/// Whether a cell has a normal: a bare cloud's cells have none.
fn known([r, z]: [f64; 2]) -> bool {
    r.abs() + z.abs() > 0.0
}

fn unit([r, z]: [f64; 2]) -> [f64; 2] {
    let length = r.hypot(z);
    if length > 0.0 { [r / length, z / length] } else { [0.0, 1.0] }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_way_that_changes_walls_and_back_is_put_right() {
        // Up the outer wall at 3 mm and down the inner at 2 mm; half way up it changes walls, and back on the way down.
        let outer = |z: i32| [3.0, f64::from(z)];
        let inner = |z: i32| [2.0, f64::from(z)];
        let rim = [2.5, 10.0];
        let up = (0..5).map(outer).chain((5..10).map(inner)).chain([rim]);
        let found = uncrossed(up.chain((5..10).rev().map(outer)).chain((0..5).rev().map(inner)).collect());
        let wanted: Vec<[f64; 2]> = (0..10).map(outer).chain([rim]).chain((0..10).rev().map(inner)).collect();
        assert_eq!(found, wanted);
    }
}
