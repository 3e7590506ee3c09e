//! Which part of a section's turn was seen, from the unrolled wall about its height.

use std::f64::consts::TAU;

use super::section_choice::ChosenSection;
use crate::figure::unrolled::Unrolled;

/// Rows further from the section than this share of the map's height say nothing of it; common practice, no source.
const REACH: f64 = 0.05;
/// A section seen to this share or more counts as wholly seen.
const WHOLLY: f64 = 0.995;

/// Whether each of `angles` equal steps of the turn was seen and not set aside.
///
/// A cell of the map is smaller than the band of a section and may hold no point where the section does: rows are taken, the
/// nearest first, until they show as much of the turn as the section is known to have.
pub(super) fn seen_angles(map: Option<&Unrolled>, section: &ChosenSection, angles: usize) -> Vec<bool> {
    let used = section.coverage.map(|seen| seen.min(1.0 - section.masked.unwrap_or(0.0)));
    let Some(map) = map.filter(|m| m.azimuths_rad.len() > 1 && used.is_none_or(|share| share < WHOLLY)) else {
        return vec![true; angles];
    };
    let columns = seen_columns(map, section.height, used.unwrap_or(1.0));
    if !columns.contains(&true) {
        return vec![true; angles];
    }
    let column = |index: usize| {
        let turned = (TAU * index as f64 / angles as f64 - map.azimuths_rad[0]).rem_euclid(TAU);
        (turned / TAU * columns.len() as f64).round() as usize % columns.len()
    };
    (0..angles).map(|index| columns[column(index)]).collect()
}

fn seen_columns(map: &Unrolled, height: f64, wanted: f64) -> Vec<bool> {
    let columns = map.azimuths_rad.len();
    let distance = |row: usize| (map.heights_mm[row] - height).abs();
    let range = map.heights_mm.iter().fold(0.0, |most: f64, h| most.max((h - map.heights_mm[0]).abs()));
    let mut rows: Vec<usize> = (0..map.heights_mm.len()).filter(|row| distance(*row) <= REACH * range).collect();
    rows.sort_by(|a, b| distance(*a).total_cmp(&distance(*b)));
    let mut seen = vec![false; columns];
    for row in rows {
        let share = seen.iter().filter(|s| **s).count() as f64 / columns as f64;
        if share >= wanted {
            break;
        }
        for (column, seen) in seen.iter_mut().enumerate() {
            let cell = row * columns + column;
            *seen |= map.deviation_mm[cell].is_some() && map.set_aside[cell].is_none();
        }
    }
    seen
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four columns; of the row at 50 mm nothing was seen, of the next all but the third column.
    fn map() -> Unrolled {
        let row = |seen: [bool; 4]| seen.map(|s| s.then_some(0.0));
        Unrolled {
            label: String::new(),
            id: String::new(),
            heights_mm: vec![0.0, 50.0, 51.0, 100.0],
            azimuths_rad: (0..4).map(|i| TAU / 4.0 * f64::from(i)).collect(),
            deviation_mm: [row([true; 4]), row([false; 4]), row([true, true, false, true]), row([true; 4])].concat(),
            set_aside: vec![None; 16],
        }
    }

    fn section(coverage: f64) -> ChosenSection {
        let (height, radius) = (50.0, 40.0);
        ChosenSection { height, radius, ront: None, limit: None, coverage: Some(coverage), masked: Some(0.0) }
    }

    #[test]
    fn empty_cells_of_a_whole_section_are_no_gap() {
        assert_eq!(seen_angles(Some(&map()), &section(1.0), 4), [true; 4]);
    }

    #[test]
    fn gap_is_where_the_neighbouring_row_has_it() {
        assert_eq!(seen_angles(Some(&map()), &section(0.75), 4), [true, true, false, true]);
    }
}
