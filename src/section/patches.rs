//! Connected patches of cells that stand out from the smooth surface, grown to where they end.

use std::f64::consts::TAU;

use super::UnrolledSurface;
use super::aside::Aside;
use super::form::without_form;

/// Patches with fewer cells far off than this are noise, not damage (project).
const LEAST_CELLS: usize = 3;

/// Cells without points that a patch encloses or lies beside belong to it - behind a handle, out of a chip - unless they
/// reach over more than these shares of the turn and of the rows: that is surface the scan did not see.
const MOST_UNSEEN_TURN: f64 = 0.25;
const MOST_UNSEEN_ROWS: f64 = 0.5;

/// Cells beside this many of one patch are inside it.
const ENCLOSED: usize = 6;

/// One connected patch of cells.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// Raised or lost.
    pub kind: Aside,
    /// Its cells.
    pub cells: Vec<usize>,
    /// The distance from the smooth surface that is furthest in its direction, mm.
    pub furthest_mm: f64,
    /// Robust standard deviation of that row's cells about the smooth surface, mm.
    pub u_furthest_mm: f64,
}

/// What each cell says of itself: distance from the smooth surface in units of its row's far limit, and of its near limit.
pub(super) struct Judged {
    /// 1 raised and far, -1 lost and far, 0 neither.
    pub(super) far: Vec<i8>,
    /// The same for what a patch may grow over.
    pub(super) near: Vec<i8>,
    /// Distance from the smooth surface, mm.
    pub(super) distance: Vec<f64>,
    /// Robust standard deviation of each row's cells, mm.
    pub(super) scales: Vec<f64>,
    /// What a patch may grow over in each row, mm.
    pub(super) limits: Vec<f64>,
    /// Cells without points in rows that are seen nearly all the way round.
    pub(super) unseen: Vec<bool>,
}

/// The patches, without what goes round the vessel or stands round it at regular distances.
pub(super) fn patches(surface: &UnrolledSurface, judged: &Judged) -> Vec<Patch> {
    let mut owner: Vec<Option<u32>> = vec![None; judged.far.len()];
    let mut found = grown(surface, judged, &mut owner);
    enclose(surface, judged, &mut owner, &mut found);
    without_form(surface, found)
}

/// Connected cells off the surface to one side, of which enough are far off.
fn grown(surface: &UnrolledSurface, judged: &Judged, owner: &mut [Option<u32>]) -> Vec<Patch> {
    let mut found = Vec::new();
    let mut seen = vec![false; judged.near.len()];
    for start in 0..judged.far.len() {
        let sign = judged.far[start];
        if sign == 0 || seen[start] {
            continue;
        }
        let cells = connected(surface, start, |cell| judged.near[cell] == sign, &mut seen);
        if cells.iter().filter(|&&cell| judged.far[cell] == sign).count() < LEAST_CELLS {
            continue;
        }
        let towards = f64::from(sign);
        let distance = |cell: &usize| towards * judged.distance[*cell];
        let furthest = cells.iter().copied().max_by(|a, b| distance(a).total_cmp(&distance(b))).unwrap_or(start);
        let furthest_mm = judged.distance[furthest];
        let u_furthest_mm = judged.scales[furthest / surface.columns];
        cells.iter().for_each(|&cell| owner[cell] = Some(found.len() as u32));
        found.push(Patch {
            kind: if sign > 0 { Aside::Raised } else { Aside::Lost },
            cells,
            furthest_mm,
            u_furthest_mm,
        });
    }
    found
}

/// The cells connected with `start` that belong, `start` first.
fn connected(
    surface: &UnrolledSurface,
    start: usize,
    belongs: impl Fn(usize) -> bool,
    seen: &mut [bool],
) -> Vec<usize> {
    let mut cells = vec![start];
    seen[start] = true;
    let mut next = 0;
    while let Some(&cell) = cells.get(next) {
        next += 1;
        for other in surface.neighbours(cell) {
            if !seen[other] && belongs(other) {
                seen[other] = true;
                cells.push(other);
            }
        }
    }
    cells
}

/// Adds what a patch encloses, and the holes beside it.
fn enclose(surface: &UnrolledSurface, judged: &Judged, owner: &mut [Option<u32>], found: &mut [Patch]) {
    let mut seen = vec![false; owner.len()];
    for start in 0..owner.len() {
        if !judged.unseen[start] || seen[start] || owner[start].is_some() {
            continue;
        }
        let hole = connected(surface, start, |cell| judged.unseen[cell] && owner[cell].is_none(), &mut seen);
        let rows = rows_of(surface, &hole);
        let small = surface.span(&hole).1 <= MOST_UNSEEN_TURN * TAU
            && (rows.1 - rows.0) as f64 <= MOST_UNSEEN_ROWS * surface.rows.len() as f64;
        let beside = hole.iter().flat_map(|&cell| surface.neighbours(cell)).find_map(|other| owner[other]);
        if let Some(patch) = beside.filter(|_| small) {
            hole.iter().for_each(|&cell| owner[cell] = Some(patch));
            found[patch as usize].cells.extend(hole);
        }
    }
    let inside = |cell: usize, patch: u32| {
        surface.neighbours(cell).filter(|&other| owner[other] == Some(patch)).count() >= ENCLOSED
    };
    let filled: Vec<(usize, u32)> = (0..owner.len())
        .filter(|&cell| owner[cell].is_none())
        .filter_map(|cell| {
            let patch = surface.neighbours(cell).find_map(|other| owner[other])?;
            inside(cell, patch).then_some((cell, patch))
        })
        .collect();
    for (cell, patch) in filled {
        owner[cell] = Some(patch);
        found[patch as usize].cells.push(cell);
    }
}

/// First row and the row after the last.
pub(super) fn rows_of(surface: &UnrolledSurface, cells: &[usize]) -> (usize, usize) {
    let rows = || cells.iter().map(|cell| cell / surface.columns);
    (rows().min().unwrap_or(0), rows().max().map_or(0, |last| last + 1))
}
