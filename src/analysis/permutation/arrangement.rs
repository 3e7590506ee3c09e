//! What may be exchanged with what, and how many ways there are.

use rand::seq::SliceRandom;

use crate::quantity::Seed;

/// Tokens on places; places of one stratum may exchange their tokens, equal tokens are the same.
///
/// A factor's test has its levels as tokens; a test of association between two series has the numbers 0, 1, 2 ... of one
/// of them. Strata hold what must not be exchanged, such as vessels measured by different instruments.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arrangements {
    tokens: Vec<usize>,
    strata: Vec<Vec<usize>>,
}

impl Arrangements {
    /// Tokens that may all be exchanged.
    #[must_use]
    pub fn new(tokens: Vec<usize>) -> Self {
        let all = (0..tokens.len()).collect();
        Self { tokens, strata: vec![all] }
    }

    /// The orders of so many items.
    #[must_use]
    pub fn orders(items: usize) -> Self {
        Self::new((0..items).collect())
    }

    /// Tokens exchanged only between places whose stratum is equal; `None` if there is not one stratum per token.
    #[must_use]
    pub fn within(tokens: Vec<usize>, strata: &[usize]) -> Option<Self> {
        if tokens.len() != strata.len() {
            return None;
        }
        let mut places: Vec<usize> = (0..strata.len()).collect();
        places.sort_by_key(|&place| (strata[place], place));
        let strata = places.chunk_by(|&a, &b| strata[a] == strata[b]).map(<[usize]>::to_vec).collect();
        Some(Self { tokens, strata })
    }

    /// The tokens as they stand.
    #[must_use]
    pub fn tokens(&self) -> &[usize] {
        &self.tokens
    }

    /// How many distinct arrangements there are, this one included; infinite where a real number cannot hold it.
    ///
    /// # Example
    /// ```
    /// use tornus::analysis::permutation::Arrangements;
    /// assert_eq!(Arrangements::new(vec![0, 0, 1, 1]).count(), 6.0); // 4! / (2! 2!)
    /// let pairs = Arrangements::within(vec![0, 1, 0, 1], &[0, 0, 1, 1]).unwrap();
    /// assert_eq!(pairs.count(), 4.0); // either pair one way or the other
    /// ```
    #[must_use]
    pub fn count(&self) -> f64 {
        self.strata.iter().map(|places| distinct(&self.sorted(places))).product()
    }

    fn sorted(&self, places: &[usize]) -> Vec<usize> {
        let mut tokens: Vec<usize> = places.iter().map(|&place| self.tokens[place]).collect();
        tokens.sort_unstable();
        tokens
    }

    /// One arrangement drawn at random, every one as likely as any other.
    pub(super) fn draw(&self, seed: Seed) -> Vec<usize> {
        let mut rng = seed.rng();
        let mut drawn = self.tokens.clone();
        if let [_] = self.strata.as_slice() {
            drawn.shuffle(&mut rng);
            return drawn;
        }
        for places in &self.strata {
            let mut tokens: Vec<usize> = places.iter().map(|&place| self.tokens[place]).collect();
            tokens.shuffle(&mut rng);
            places.iter().zip(tokens).for_each(|(&place, token)| drawn[place] = token);
        }
        drawn
    }

    /// Every distinct arrangement, by its number from 0; only where [`Self::count`] is small.
    pub(super) fn all(&self) -> Every<'_> {
        let each = self.strata.iter().map(|places| lexicographic(self.sorted(places))).collect();
        Every { arrangements: self, each }
    }
}

/// Every distinct arrangement: one list per stratum.
pub(super) struct Every<'a> {
    arrangements: &'a Arrangements,
    each: Vec<Vec<Vec<usize>>>,
}

impl Every<'_> {
    pub(super) fn count(&self) -> usize {
        self.each.iter().map(Vec::len).product()
    }

    /// The arrangement of this number, its digits being the arrangements within the strata.
    pub(super) fn arrangement(&self, mut number: usize) -> Vec<usize> {
        let mut found = self.arrangements.tokens.clone();
        for (places, list) in self.arrangements.strata.iter().zip(&self.each) {
            let chosen = &list[number % list.len()];
            number /= list.len();
            places.iter().zip(chosen).for_each(|(&place, &token)| found[place] = token);
        }
        found
    }
}

/// Distinct arrangements of sorted tokens: the multinomial coefficient, as a product of binomials that stay whole.
fn distinct(sorted: &[usize]) -> f64 {
    let (mut count, mut placed) = (1.0_f64, 0.0_f64);
    for run in sorted.chunk_by(|a, b| a == b) {
        for nth in 1..=run.len() {
            placed += 1.0;
            count = count * placed / nth as f64;
        }
    }
    count.round()
}

/// Every distinct arrangement of sorted tokens in the order of a dictionary.
fn lexicographic(sorted: Vec<usize>) -> Vec<Vec<usize>> {
    let mut current = sorted;
    let mut all = vec![current.clone()];
    while let Some(pivot) = current.windows(2).rposition(|pair| pair[0] < pair[1]) {
        let Some(next) = current.iter().rposition(|&token| token > current[pivot]) else { break };
        current.swap(pivot, next);
        current[pivot + 1..].reverse();
        all.push(current.clone());
    }
    all
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_arrangement_is_there_once() {
        for (tokens, strata) in [
            (vec![0, 1, 2, 3], vec![0; 4]),
            (vec![1, 0, 1, 0, 2], vec![0; 5]),
            (vec![0, 1, 0, 1, 1, 2], vec![3, 1, 3, 1, 1, 3]),
            (vec![], vec![]),
        ] {
            let arrangements = Arrangements::within(tokens, &strata).unwrap();
            let all = arrangements.all();
            let found: BTreeSet<Vec<usize>> = (0..all.count()).map(|number| all.arrangement(number)).collect();
            assert_eq!((found.len() as f64, all.count()), (arrangements.count(), found.len()));
            assert!(found.contains(arrangements.tokens()), "the one that was seen is among them");
        }
    }

    #[test]
    fn draws_stay_within_strata_and_are_alike_likely() {
        let arrangements = Arrangements::within(vec![0, 1, 7, 8], &[0, 0, 1, 1]).unwrap();
        let mut first = 0;
        for draw in 0..4000 {
            let found = arrangements.draw(Seed::new(5).derive(draw));
            assert!(found[0] < 2 && found[1] < 2 && found[2] > 6 && found[3] > 6);
            first += found[0];
        }
        assert!((first as f64 - 2000.0).abs() < 4.0 * 1000.0_f64.sqrt(), "{first}"); // four standard deviations
        assert_eq!(Arrangements::within(vec![0], &[]), None);
    }

    #[test]
    fn counts_too_large_for_whole_numbers_are_still_counts() {
        assert!(Arrangements::orders(300).count().is_infinite());
        assert!((Arrangements::orders(5).count() - 120.0).abs() < 0.5);
    }
}
