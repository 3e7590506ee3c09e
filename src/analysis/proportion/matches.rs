//! Matches of one ratio with one constant, and how many chance would bring.

use rayon::prelude::*;

use super::super::statistics::{poisson_binomial, uniform_sum_above};
use crate::math::robust::{mad, median};

/// Decoys reach at most this part of the spread of the corpus's own ratios to each side, so that within their reach the
/// ratios are as good as evenly spread: about the middle of a normal the mean density over half a standard deviation to
/// each side is 4 % below its top, and p of 0.05 becomes 0.052. Twice as far: 16 % and 0.058.
const SPREAD_SHARE: f64 = 0.5;

/// Decoys must reach so many half-widths of a match, or chance matches cannot be told from held ones.
const LEAST_REACH: f64 = 4.0;

/// A ratio of two lengths of one vessel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ratio {
    /// Place of the vessel.
    pub(super) vessel: usize,
    /// Natural logarithm of the ratio.
    pub(super) log: f64,
    /// Half-width of a match: how far from the constant's logarithm it still counts.
    pub(super) width: f64,
}

/// What is counted about one constant.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Count {
    /// Vessels that match, as places among the vessels.
    pub(super) matching: Vec<usize>,
    /// How closely, together: 1 for each that meets the constant, 0 for one at the edge.
    pub(super) closeness: f64,
    /// Chance of a match of each vessel within reach of the decoys.
    pub(super) chances: Vec<(usize, f64)>,
}

impl Count {
    /// Matches expected of a decoy constant.
    pub(super) fn expected(&self) -> f64 {
        self.chances.iter().map(|(_, chance)| chance).sum()
    }

    /// Probability that a decoy constant would be matched as often and as closely.
    ///
    /// A vessel within reach of the decoys matches a decoy set down anywhere in that reach with the chance of its own
    /// width; given that it matches, how closely is even. Both follow from ratios that are evenly spread, or fall off
    /// steadily, over the reach: what falls to one side of the constant rises to the other.
    pub(super) fn p(&self) -> f64 {
        let chances: Vec<f64> = self.chances.iter().map(|(_, chance)| *chance).collect();
        let (above, equal) = poisson_binomial(&chances, self.matching.len());
        (above + equal * uniform_sum_above(self.matching.len(), self.closeness)).min(1.0)
    }
}

/// How far decoys of this ratio reach, as a difference of logarithms; `None` where the ratios are too few, or spread too
/// little beside the width of a match.
pub(super) fn reach(ratios: &[Ratio], most: f64) -> Option<f64> {
    let (_, spread) = mad(&mut ratios.iter().map(|ratio| ratio.log).collect::<Vec<_>>())?;
    let width = median(&mut ratios.iter().map(|ratio| ratio.width).collect::<Vec<_>>())?;
    Some(most.min(SPREAD_SHARE * spread)).filter(|reach| *reach >= LEAST_REACH * width)
}

/// Counts the ratios that match the constant with this logarithm.
pub(super) fn count(ratios: &[Ratio], log_constant: f64, reach: f64) -> Count {
    let mut found = Count::default();
    for ratio in ratios {
        let apart = (ratio.log - log_constant).abs();
        if apart > reach {
            continue;
        }
        let width = ratio.width.min(reach);
        found.chances.push((ratio.vessel, width / reach));
        if apart <= width {
            found.matching.push(ratio.vessel);
            found.closeness += 1.0 - apart / width;
        }
    }
    found
}

/// Ratios in order, among which those near a constant stand together.
pub(super) struct Sorted {
    /// Logarithm and half-width of each.
    ratios: Vec<(f64, f64)>,
    /// The greatest half-width.
    widest: f64,
}

impl Sorted {
    /// Ratios none of which matches from further off than `reach`.
    pub(super) fn new(ratios: &[Ratio], reach: f64) -> Self {
        let mut ratios: Vec<(f64, f64)> = ratios.iter().map(|ratio| (ratio.log, ratio.width.min(reach))).collect();
        ratios.sort_by(|a, b| a.0.total_cmp(&b.0));
        let widest = ratios.iter().map(|(_, width)| *width).fold(0.0, f64::max);
        Self { ratios, widest }
    }

    /// How many match this constant, and how closely, together.
    pub(super) fn near(&self, log_constant: f64) -> (usize, f64) {
        let first = self.ratios.partition_point(|(log, _)| *log < log_constant - self.widest);
        let mut found = (0, 0.0);
        for (log, width) in self.ratios[first..].iter().take_while(|(log, _)| *log <= log_constant + self.widest) {
            let apart = (log - log_constant).abs();
            if apart <= *width {
                found.0 += 1;
                found.1 += 1.0 - apart / width;
            }
        }
        found
    }
}

/// The logarithm, among the ratios themselves, that most others match; of equals, the most closely matched.
pub(super) fn fitted(ratios: &[Ratio], from: f64, to: f64, reach: f64) -> Option<f64> {
    let sorted = Sorted::new(ratios, reach);
    let candidates: Vec<f64> =
        ratios.iter().map(|ratio| ratio.log).filter(|log| (from.ln()..=to.ln()).contains(log)).collect();
    let scored = candidates.into_par_iter().map(|log| {
        let (matches, closeness) = sorted.near(log);
        (matches as f64 + closeness, log)
    });
    scored.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1))).map(|(_, log)| log)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Seed;
    use rand::Rng;

    fn at(logs: &[f64]) -> Vec<Ratio> {
        logs.iter().enumerate().map(|(vessel, log)| Ratio { vessel, log: *log, width: 0.01 }).collect()
    }

    #[test]
    fn one_match_of_two_in_reach_by_hand() {
        // reach 0.05: two in reach, chance 0.2 each; one matches, half as close as can be
        let found = count(&at(&[0.005, 0.03, 0.2]), 0.0, 0.05);
        assert_eq!((found.matching.as_slice(), found.chances.len()), ([0_usize].as_slice(), 2));
        assert!((found.expected() - 0.4).abs() < 1e-12);
        // both 0.04, or just one (0.32) at least half as close (1/2)
        assert!((found.p() - (0.04 + 0.32 * 0.5)).abs() < 1e-12);
    }

    #[test]
    fn ratios_in_order_are_counted_as_all_are() {
        let mut rng = Seed::new(9).rng();
        let width = |vessel: usize| [0.002, 0.02, 0.2][vessel % 3];
        let ratios: Vec<Ratio> =
            (0..300).map(|vessel| Ratio { vessel, log: rng.gen_range(-0.4..0.4), width: width(vessel) }).collect();
        let sorted = Sorted::new(&ratios, 0.05);
        for log in [-0.41, -0.1, 0.0, 0.013, 0.39] {
            let (all, (matches, closeness)) = (count(&ratios, log, 0.05), sorted.near(log));
            assert_eq!(matches, all.matching.len());
            assert!((closeness - all.closeness).abs() < 1e-9);
        }
    }

    #[test]
    fn nothing_in_reach_says_nothing() {
        let found = count(&at(&[0.2]), 0.0, 0.05);
        assert_eq!((found.expected(), found.p()), (0.0, 1.0));
        assert_eq!(reach(&[], 0.05), None);
        assert_eq!(reach(&at(&[0.0, 0.001, 0.002]), 0.05), None); // spread less than the width of a match
    }

    #[test]
    fn chance_matches_are_called_so_at_the_stated_rate() {
        // 4,000 corpora: standard error of a share of 5 % is 0.35 %
        let mut rng = Seed::new(3).rng();
        let mut small = 0;
        for _ in 0..4_000 {
            let logs: Vec<f64> = (0..60).map(|_| rng.gen_range(-0.2..0.2)).collect();
            small += usize::from(count(&at(&logs), 0.013, 0.05).p() < 0.05);
        }
        let share = small as f64 / 4_000.0;
        assert!((share - 0.05).abs() < 0.0105, "{share}"); // 3 standard errors
    }

    #[test]
    fn the_best_constant_is_found_among_the_ratios() {
        let ratios = at(&[0.0, 0.3, 0.304, 0.306, 0.9]);
        assert_eq!(fitted(&ratios, 1.0, 2.0, 0.1), Some(0.304));
        assert_eq!(fitted(&ratios, 5.0, 6.0, 0.1), None);
    }
}
