//! One statistic against its rearrangements.

use rayon::prelude::*;

use super::arrangement::Arrangements;
use crate::quantity::Seed;

/// Every arrangement is tried where there are at most this many ("project": 15 pairs have 32,768, two groups of nine 48,620);
/// above, the exact p-value would cost more than its digits are worth.
const MOST_EXACT: f64 = 50_000.0;

/// Statistics that differ by less than this share are ties: sums in another order differ in the last digits, and the
/// arrangement that was seen must not be lost among its equals.
const TIE: f64 = 1e-9;

/// How many arrangements are drawn where there are too many to try all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Draws(u32);

impl Draws {
    /// Draws for the published tables of a small corpus: a p-value of 0.05 is then known to 0.002 (its standard deviation).
    pub const MOST: Self = Self(9_999);

    /// This many, at least 1; together with the arrangement that was seen 100, 1,000, 10,000 make round p-values.
    #[must_use]
    pub fn new(draws: u32) -> Self {
        Self(draws.max(1))
    }

    /// As many as keep draws times `items` near five million, from 999 to 9,999: a test of 5,000 items then takes a fraction
    /// of a second, and a p-value of 0.05 is known to 0.007.
    #[must_use]
    pub fn affordable(items: usize) -> Self {
        const WORK: usize = 5_000_000;
        let round = (WORK / items.max(1)).clamp(1_000, 10_000);
        Self(u32::try_from(round - 1).unwrap_or(Self::MOST.0))
    }

    /// The number.
    #[must_use]
    pub const fn get(self) -> u32 {
        self.0
    }
}

/// What rearrangement says of a statistic.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PermutationTest {
    /// The statistic as it was seen.
    pub observed: f64,
    /// Arrangements whose statistic is at least as large, the one that was seen included.
    pub as_large: usize,
    /// Arrangements tried, the one that was seen included.
    pub arrangements: usize,
    /// Whether these were all there are.
    pub exact: bool,
}

impl PermutationTest {
    /// The share of arrangements at least as large; the one that was seen counts, so it is never 0.
    ///
    /// # References
    /// Phipson & Smyth 2010, Permutation p-values should never be zero, doi:10.2202/1544-6115.1585.
    #[must_use]
    pub fn p(&self) -> f64 {
        self.as_large as f64 / self.arrangements as f64
    }
}

/// Compares `statistic` of the tokens as they stand with that of their rearrangements; large values speak against chance.
///
/// Every distinct arrangement is tried where there are at most 50,000, otherwise `draws` are drawn at random.
/// Draw k starts from a seed of its own and only counts are added up, so that the number of threads changes nothing. A
/// two-sided test takes the absolute value as its statistic.
///
/// # Uncertainty
/// An exact p has none; one from m draws has the standard deviation sqrt(p (1 - p) / m).
///
/// # Example
/// Three against three, perfectly parted: of 6! / (3! 3!) = 20 arrangements only the one that was seen has so large a sum.
/// ```
/// use tornus::Seed;
/// use tornus::analysis::permutation::{Arrangements, Draws, permutation_test};
/// let values = [1.0, 2.0, 3.0, 7.0, 8.0, 9.0];
/// let sum = |labels: &[usize]| labels.iter().zip(values).filter(|(label, _)| **label == 1).map(|(_, v)| v).sum();
/// let labels = Arrangements::new(vec![0, 0, 0, 1, 1, 1]);
/// let found = permutation_test(&labels, Draws::new(999), Seed::new(1), sum);
/// assert_eq!((found.p(), found.exact), (0.05, true));
/// ```
///
/// # References
/// Fisher 1935, The design of experiments; Good 2005, Permutation, parametric and bootstrap tests of hypotheses, 3rd edition.
pub fn permutation_test<S>(arrangements: &Arrangements, draws: Draws, seed: Seed, statistic: S) -> PermutationTest
where
    S: Fn(&[usize]) -> f64 + Sync,
{
    let observed = statistic(arrangements.tokens());
    let least = observed - TIE * observed.abs();
    let exact = arrangements.count() <= MOST_EXACT;
    let (as_large, tried) = if exact {
        let all = arrangements.all();
        let large = |number: &usize| statistic(&all.arrangement(*number)) >= least;
        ((0..all.count()).into_par_iter().filter(large).count(), all.count())
    } else {
        let large = |draw: &u32| statistic(&arrangements.draw(seed.derive(u64::from(*draw)))) >= least;
        ((0..draws.get()).into_par_iter().filter(large).count() + 1, draws.get() as usize + 1)
    };
    PermutationTest { observed, as_large, arrangements: tried, exact }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Fisher 1935, The design of experiments, section 21: Darwin's 15 pairs of plants, cross-fertilised less
    /// self-fertilised, eighths of an inch: sum 314, 863 of 32,768 arrangements at least as large, twice that for both sides.
    #[test]
    fn pairs_of_plants() {
        let differences: [f64; 15] =
            [49.0, -67.0, 8.0, 16.0, 6.0, 23.0, 28.0, 41.0, 14.0, 29.0, 56.0, 24.0, 75.0, 60.0, -48.0];
        assert!((differences.iter().sum::<f64>() - 314.0).abs() < 1e-12);
        let strata: Vec<usize> = (0..30).map(|place| place / 2).collect();
        let pairs = Arrangements::within((0..30).map(|place| place % 2).collect(), &strata).unwrap();
        let sum = |tokens: &[usize]| -> f64 {
            let sign = |pair: usize| if tokens[2 * pair] == 0 { 1.0 } else { -1.0 };
            (0..15).map(|pair| sign(pair) * differences[pair]).sum()
        };
        let one_sided = permutation_test(&pairs, Draws::new(1), Seed::new(1), sum);
        assert_eq!((one_sided.as_large, one_sided.arrangements, one_sided.exact), (863, 32_768, true));
        let two_sided = permutation_test(&pairs, Draws::new(1), Seed::new(1), |tokens| sum(tokens).abs());
        assert_eq!(two_sided.as_large, 1726);
    }

    #[test]
    fn drawn_and_exact_agree() {
        let values: Vec<f64> = (0..22).map(|i| f64::from(i * i % 17)).collect();
        let labels = Arrangements::new((0..22).map(|i| usize::from(i < 6)).collect()); // 74,613 arrangements
        let sum = |tokens: &[usize]| tokens.iter().zip(&values).map(|(t, v)| *t as f64 * v).sum::<f64>();
        let drawn = permutation_test(&labels, Draws::MOST, Seed::new(3), sum);
        assert!(!drawn.exact);
        let all = labels.all();
        let large = (0..all.count()).filter(|n| sum(&all.arrangement(*n)) >= drawn.observed - 1e-9).count();
        let exact = large as f64 / all.count() as f64;
        assert!((drawn.p() - exact).abs() < 4.0 * (exact * (1.0 - exact) / 9999.0).sqrt(), "{} {exact}", drawn.p());
        assert_eq!(drawn, permutation_test(&labels, Draws::MOST, Seed::new(3), sum));
    }

    #[test]
    fn work_bounds_the_draws() {
        let draws = [1, 1_000, 4_000, 1_000_000].map(|items| Draws::affordable(items).get());
        assert_eq!(draws, [9_999, 4_999, 1_249, 999]);
        assert_eq!(Draws::new(0).get(), 1);
    }

    #[test]
    fn what_cannot_be_rearranged_is_its_own_equal() {
        let alone = permutation_test(&Arrangements::new(vec![4; 5]), Draws::MOST, Seed::new(1), |_| 2.0);
        assert_eq!((alone.as_large, alone.arrangements, alone.exact), (1, 1, true));
    }
}
