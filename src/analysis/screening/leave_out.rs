//! Scores of the references, each from a model that has not seen it.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::model::{Bounds, fit_rows};
use super::population::{Distance, Populations, Subject};

/// Up to so many references each is left out alone; more are left out in so many parts, which costs the model little.
const MOST_FOLDS: usize = 64;

/// Parts of [`many`] references: a sixteenth less makes what is known of a population 3 % less sure.
const FOLDS_OF_MANY: usize = 16;

/// So many references of either kind are many.
const MANY: usize = 200;

/// Whether there are so many references that the folds may be fewer.
fn many(references: &[Vec<usize>; 2]) -> bool {
    references.iter().all(|rows| rows.len() > MANY)
}

/// Which references are left out together: a fold for every reference.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Folds(BTreeMap<usize, usize>);

impl Folds {
    /// Every reference alone, or in parts where there are many.
    pub(super) fn one_by_one(references: &[Vec<usize>; 2]) -> Self {
        let most = if many(references) { FOLDS_OF_MANY } else { MOST_FOLDS };
        Self(references.iter().flatten().enumerate().map(|(index, row)| (*row, index % most)).collect())
    }

    /// All references of one kind from one source together.
    pub(super) fn by_source<'a>(references: &[Vec<usize>; 2], source: impl Fn(usize) -> &'a str) -> Self {
        let mut numbers: BTreeMap<(usize, &str), usize> = BTreeMap::new();
        let keys = references.iter().enumerate().flat_map(|(kind, rows)| rows.iter().map(move |row| (kind, *row)));
        let folds = keys.map(|(kind, row)| {
            let next = numbers.len();
            (row, *numbers.entry((kind, source(row))).or_insert(next))
        });
        Self(folds.collect())
    }

    /// The fold a reference is left out with.
    pub(super) fn of(&self, row: usize) -> Option<usize> {
        self.0.get(&row).copied()
    }

    pub(super) fn number(&self) -> usize {
        self.0.values().map(|fold| fold + 1).max().unwrap_or(0)
    }
}

/// What a reference gets from a model that has not seen it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LeftOut {
    /// The score, held within the bounds.
    pub(super) score: f64,
    /// Distances from the modern and the old population.
    pub(super) distances: [Option<Distance>; 2],
}

/// What every reference gets from a model fitted without its fold, by row; `None` if a model cannot be fitted.
pub(super) fn leave_out(
    subjects: &[Subject],
    references: &[Vec<usize>; 2],
    folds: &Folds,
    bounds: Bounds,
) -> Option<BTreeMap<usize, LeftOut>> {
    let parts: Option<Vec<Vec<(usize, LeftOut)>>> = (0..folds.number())
        .into_par_iter()
        .map(|fold| {
            let kept = references
                .each_ref()
                .map(|rows| rows.iter().copied().filter(|row| folds.of(*row) != Some(fold)).collect::<Vec<usize>>());
            let populations = fit_rows(subjects, [&kept[0], &kept[1]], None)?;
            let left = folds.0.iter().filter(|(_, of)| **of == fold);
            Some(left.map(|(&row, _)| (row, judge(&populations, &subjects[row], bounds))).collect())
        })
        .collect();
    Some(parts?.into_iter().flatten().collect())
}

/// Score and distances of one vessel.
pub(super) fn judge(populations: &Populations, subject: &Subject, bounds: Bounds) -> LeftOut {
    LeftOut { score: bounds.hold(populations.score(subject)), distances: populations.distances(subject) }
}

#[cfg(test)]
mod tests {
    use super::Folds;

    #[test]
    fn a_source_is_left_out_whole_and_each_kind_has_its_own() {
        let source = |row: usize| ["a", "b", "a", "a"][row];
        let folds = Folds::by_source(&[vec![0, 1], vec![2, 3]], source);
        assert_eq!([0, 1, 2, 3].map(|row| folds.of(row)), [Some(0), Some(1), Some(2), Some(2)]);
        assert_eq!(Folds::one_by_one(&[vec![5], vec![2, 3]]).of(3), Some(2));
    }
}
