//! Where a patch ends: what of the surface beside it may still be off with it.

use super::UnrolledSurface;
use super::aside::Aside;
use super::patches::{Judged, Patch};
use crate::math::robust;

/// A patch that comes down from twice the limit to the limit on some way comes to nothing on the same way if it fades as a line
/// does, and on 1 / (sqrt 2 - 1) times that way if as a square.
const AS_SQUARE: f64 = std::f64::consts::SQRT_2 + 1.0;

/// What each cell of the surface is. A chip's or a lug's steep edge is passed within a cell; wear is shallow, and is lost in
/// what the surface is rough by before it ends.
pub(super) fn marked(surface: &UnrolledSurface, judged: &Judged, patches: &[Patch]) -> Vec<Aside> {
    let mut cells = vec![Aside::Kept; judged.far.len()];
    for patch in patches {
        for &cell in &patch.cells {
            surface.neighbours(cell).for_each(|other| cells[other] = Aside::Fringe);
        }
    }
    for patch in patches {
        patch.cells.iter().for_each(|&cell| cells[cell] = patch.kind);
    }
    let ways: Vec<f64> = patches.iter().map(|patch| way(surface, judged, patch, &cells)).collect();
    for (mark, times) in [(Aside::Fringe, 1.0), (Aside::Fading, AS_SQUARE)] {
        for (patch, way) in patches.iter().zip(&ways) {
            for cell in beside(surface, patch, times * way) {
                if cells[cell] == Aside::Kept {
                    cells[cell] = mark;
                }
            }
        }
    }
    cells
}

/// The way, mm along its rows, on which a patch comes down from twice the limit to the limit that it ends at: the median over
/// the ends of its rows.
fn way(surface: &UnrolledSurface, judged: &Judged, patch: &Patch, cells: &[Aside]) -> f64 {
    let mut ways = Vec::new();
    for &cell in &patch.cells {
        let row = cell / surface.columns;
        let twice = 2.0 * judged.limits[row];
        for inwards in [1, surface.columns - 1] {
            let at = |steps: usize| surface.along(cell, steps * inwards);
            if cells[at(surface.columns - 1)] == patch.kind {
                continue;
            }
            let mut inside = (0..surface.columns).take_while(|&steps| cells[at(steps)] == patch.kind);
            let deep = inside.find(|&steps| judged.distance[at(steps)].abs() >= twice);
            ways.extend(deep.map(|steps| steps as f64 * surface.column_mm(row)));
        }
    }
    robust::median(&mut ways).unwrap_or(0.0)
}

/// The cells of the same row within a distance, mm, of a patch's.
fn beside(surface: &UnrolledSurface, patch: &Patch, reach: f64) -> impl Iterator<Item = usize> {
    patch.cells.iter().flat_map(move |&cell| {
        let most = (reach / surface.column_mm(cell / surface.columns)) as usize;
        let most = most.min(surface.columns / 2);
        (1..=most).flat_map(move |steps| [steps, surface.columns - steps].map(|steps| surface.along(cell, steps)))
    })
}

#[cfg(test)]
mod tests {
    use super::super::set_aside;
    use super::*;

    const COLUMNS: usize = 180;
    /// The patch's middle, and the row that is looked at.
    const MIDDLE: usize = 90;
    const ROW: usize = 4;

    /// The marks of one row, from the middle of a patch outwards; `depth` is by how much it is off at so many columns away.
    fn outwards(depth: impl Fn(f64) -> f64) -> Vec<Aside> {
        let at = |row: usize, column: usize| {
            let worn = if row < 8 { depth(column.abs_diff(MIDDLE) as f64) } else { 0.0 };
            // A little scatter, or the scale of a smooth wall would be nothing; 31 and 17 are coprime to the grid.
            0.005 * ((column * 31 + row * 17) % 13) as f64 / 13.0 - worn
        };
        let mut surface = UnrolledSurface::of_distances(60, COLUMNS, 50.0, at);
        // What the vessel stands on: a curve of a wall would follow what is broad.
        (surface.ground, surface.normals) = (vec![true; 60], vec![[0.0, -1.0]; 60]);
        let found = set_aside(&surface, &vec![0.0; 60 * COLUMNS], &[0.0; 60]);
        (0..COLUMNS / 2).map(|away| found.cells[ROW * COLUMNS + MIDDLE + away]).collect()
    }

    fn last(marks: &[Aside], mark: Aside) -> Option<usize> {
        marks.iter().rposition(|other| *other == mark)
    }

    #[test]
    fn an_edge_that_drops_is_passed_within_a_cell() {
        let marks = outwards(|away| if away < 8.5 { 0.6 } else { 0.0 });
        assert_eq!(last(&marks, Aside::Lost), Some(8));
        assert_eq!(last(&marks, Aside::Fringe), Some(9));
        assert_eq!(last(&marks, Aside::Fading), None);
    }

    #[test]
    fn wear_that_fades_is_left_out_to_its_end() {
        // A plane cut: its ends lie 15 columns out. Two columns are what a limit's place may be off by, twice over.
        let marks = outwards(|away| 0.6 * (1.0 - away / 15.0).max(0.0));
        let line = last(&marks, Aside::Fringe).unwrap();
        assert!((13..=17).contains(&line), "as a line {line}");
        // One that runs out as the square ends 24 columns out.
        let marks = outwards(|away| 0.6 * (1.0 - away / 24.0).max(0.0).powi(2));
        let square = last(&marks, Aside::Fading).unwrap();
        assert!((20..=28).contains(&square), "as a square {square}");
        assert!(last(&marks, Aside::Fringe).unwrap() < square);
    }
}
