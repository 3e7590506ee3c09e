//! The vessels in two halves: one to find claims on, one to test them.

use rand::seq::SliceRandom;

use super::lengths::Lengths;
use crate::quantity::Seed;

/// Whether each vessel is of the first half, on which claims are found.
///
/// Drawn without looking at a length: within each group by form every other vessel of a shuffled row, so that both halves
/// hold forms alike.
pub(super) fn first_half(lengths: &Lengths, seed: Seed) -> Vec<bool> {
    let mut order: Vec<usize> = (0..lengths.vessels.len()).collect();
    order.shuffle(&mut seed.rng());
    order.sort_by_key(|&vessel| lengths.groups[vessel]); // stable: shuffled within a group
    let mut first = vec![false; order.len()];
    order.into_iter().step_by(2).for_each(|vessel| first[vessel] = true);
    first
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_share_every_group_evenly() {
        let groups: Vec<Option<i64>> = (0..40).map(|v| Some(v % 4)).collect();
        let vessels = (0..40).map(|v| v.to_string()).collect();
        let lengths = Lengths { vessels, groups: groups.clone(), ..Lengths::default() };
        let first = first_half(&lengths, Seed::new(5));
        for group in 0..4 {
            assert_eq!((0..40).filter(|&v| first[v] && groups[v] == Some(group)).count(), 5);
        }
        assert_eq!(first, first_half(&lengths, Seed::new(5)));
        assert_ne!(first, first_half(&lengths, Seed::new(6)));
    }
}
