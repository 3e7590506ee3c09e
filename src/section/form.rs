//! Patches that are form after all: what goes round the vessel, what stands round it at regular distances, broad dents.

use std::f64::consts::TAU;

use super::UnrolledSurface;
use super::patches::{Patch, rows_of};

/// What spans more than this share of the turn goes round the vessel: a groove, a spiral of tool marks, a moulding belong
/// to the turned surface (project).
const ROUND: f64 = 0.75;

/// What spans more than this angle, rad (60 degrees), and leaves the smooth surface by less than this share of the radius,
/// is out-of-roundness of the clay and no damage (project): warped plates show 1.2 times the angle and 0.8 % of the radius, a
/// dented tin 6 %.
const BROAD_RAD: f64 = TAU / 6.0;
const SHALLOW: f64 = 0.01;

/// Patches this many times as long as high run along the turning direction (project). They are pieces of one mark if what
/// parts them is no longer than they are and no more rows than these.
const LONG: usize = 3;
/// Together they then cover more than this share of the turn, if the mark goes round.
const BROKEN_ROUND: f64 = 0.5;
const ROWS_APART: usize = 2;

/// So many patches of one kind, alike in size and at one height, may be flutes, facets or lobes (project) ...
const LEAST_REGULAR: usize = 6;
/// ... and are, if chance would place them as regularly in no more than this share of cases (Rayleigh's test of their
/// azimuths multiplied by their number: exp(-n R^2)): six chips at random would be taken for flutes one time in a hundred.
const BY_CHANCE: f64 = 0.01;
/// A regular pattern may lack this share of its members.
const MISSING_MEMBERS: f64 = 0.25;
/// Alike in size: areas within this factor, and this share of both patches' rows in common.
const ALIKE_AREA: f64 = 3.0;
const ALIKE_ROWS: f64 = 0.5;

/// The patches without those that are form.
pub(super) fn without_form(surface: &UnrolledSurface, mut found: Vec<Patch>) -> Vec<Patch> {
    found.retain(|patch| surface.span(&patch.cells).1 <= ROUND * TAU && !is_broad(surface, patch));
    let marks = marks(surface, &found);
    let form: Vec<bool> = (0..found.len())
        .map(|index| {
            let of_mark = |mark: &Vec<usize>| mark.contains(&index) && mark_goes_round(surface, &found, mark);
            marks.iter().any(of_mark) || is_regular(surface, &found, index)
        })
        .collect();
    found.into_iter().zip(form).filter_map(|(patch, form)| (!form).then_some(patch)).collect()
}

/// Broad and shallow; what nothing near is known of is neither, nor is what the vessel stands on: a worn place of a wide foot is
/// both, and a foot that is warped has the warp for its scatter.
fn is_broad(surface: &UnrolledSurface, patch: &Patch) -> bool {
    let ground = patch.cells.iter().filter(|cell| surface.ground[**cell / surface.columns]).count();
    if 2 * ground > patch.cells.len() {
        return false;
    }
    let radius = patch.cells.iter().map(|cell| surface.radii[cell / surface.columns]).fold(0.0, f64::max);
    let depth = patch.furthest_mm.abs();
    surface.span(&patch.cells).1 > BROAD_RAD && depth > 0.0 && depth < SHALLOW * radius
}

/// A patch along the turning direction.
struct Piece {
    patch: usize,
    middle: f64,
    width: f64,
    rows: (usize, usize),
}

/// Pieces of marks along the turning direction, each list one mark.
fn marks(surface: &UnrolledSurface, found: &[Patch]) -> Vec<Vec<usize>> {
    let piece = |(patch, of): (usize, &Patch)| {
        let (middle, width) = surface.span(&of.cells);
        let rows = rows_of(surface, &of.cells);
        let columns = (width / TAU * surface.columns as f64).round() as usize;
        (columns >= LONG * (rows.1 - rows.0)).then_some(Piece { patch, middle, width, rows })
    };
    let mut left: Vec<Piece> = found.iter().enumerate().filter_map(piece).collect();
    let belong = |a: &Piece, b: &Piece| {
        let apart = ((a.middle - b.middle + 1.5 * TAU).rem_euclid(TAU) - 0.5 * TAU).abs() - 0.5 * (a.width + b.width);
        found[a.patch].kind == found[b.patch].kind
            && apart <= 0.5 * (a.width + b.width)
            && a.rows.0.max(b.rows.0) < a.rows.1.min(b.rows.1) + ROWS_APART
    };
    let mut marks = Vec::new();
    while let Some(first) = left.pop() {
        let mut mark = vec![first];
        let mut next = 0;
        while next < mark.len() {
            let (beside, others): (Vec<Piece>, Vec<Piece>) = left.into_iter().partition(|b| belong(&mark[next], b));
            mark.extend(beside);
            left = others;
            next += 1;
        }
        marks.push(mark.into_iter().map(|piece| piece.patch).collect());
    }
    marks
}

/// Whether the pieces of a mark cover enough of the turn together.
fn mark_goes_round(surface: &UnrolledSurface, found: &[Patch], mark: &[usize]) -> bool {
    let cells: Vec<usize> = mark.iter().flat_map(|&patch| found[patch].cells.iter().copied()).collect();
    surface.span(&cells).1 > BROKEN_ROUND * TAU
}

/// Whether a patch is one of many alike at regular distances round the vessel.
fn is_regular(surface: &UnrolledSurface, found: &[Patch], index: usize) -> bool {
    let one = &found[index];
    let (low, high) = rows_of(surface, &one.cells);
    let alike = |other: &&Patch| {
        let (from, to) = rows_of(surface, &other.cells);
        let common = high.min(to).saturating_sub(low.max(from)) as f64;
        let areas = one.cells.len() as f64 / other.cells.len() as f64;
        other.kind == one.kind
            && common >= ALIKE_ROWS * (high - low).max(to - from) as f64
            && (1.0 / ALIKE_AREA..=ALIKE_AREA).contains(&areas)
    };
    let azimuths: Vec<f64> = found.iter().filter(alike).map(|patch| surface.span(&patch.cells).0).collect();
    let count = azimuths.len();
    let resultant = |n: usize| {
        let parts = azimuths.iter().map(|azimuth| (n as f64 * azimuth).sin_cos());
        let (sine, cosine) = parts.fold((0.0, 0.0), |total, (s, c)| (total.0 + s, total.1 + c));
        f64::hypot(sine, cosine) / count as f64
    };
    let most = count + (MISSING_MEMBERS * count as f64) as usize;
    let chance = |n: usize| (-(count as f64) * resultant(n).powi(2)).exp();
    count >= LEAST_REGULAR && (count..=most).any(|n| chance(n) <= BY_CHANCE)
}
