//! Against the corpus: lengths of different vessels, put together at random.

use rand::seq::SliceRandom;

use super::lengths::Lengths;
use super::matches::Ratio;
use super::statement::{Claim, Claims};
use crate::quantity::{Estimate, Seed};

/// Random pairings tried; the least p is one more than this, inverted: 0.001.
const PAIRINGS: usize = 999;

/// Ratios of two lengths over the vessels that have both.
pub(super) fn ratios(lengths: &Lengths, claims: &Claims, claim: Claim) -> Vec<Ratio> {
    let pairs = lengths.values[claim.of].iter().zip(&lengths.values[claim.over]).enumerate();
    pairs.filter_map(|(vessel, (of, over))| Some(ratio(vessel, (*of)?, (*over)?, claims))).collect()
}

/// The logarithm of a ratio less `size`, and the half-width of its match: the uncertainties of both lengths, taken as
/// independent, and the maker's tolerance.
fn ratio(vessel: usize, of: Estimate, over: Estimate, claims: &Claims) -> Ratio {
    let relative = |length: Estimate| length.standard_uncertainty() / length.value();
    let spread = (relative(of).powi(2) + relative(over).powi(2) + claims.tolerance.powi(2)).sqrt();
    Ratio { vessel, log: (of.value() / over.value()).ln(), width: claims.coverage_factor * spread }
}

/// What one vessel brings to any pair, both lengths divided by its size.
struct Paired {
    /// Logarithms.
    of: f64,
    over: f64,
    /// Squared relative uncertainties.
    of_square: f64,
    over_square: f64,
}

impl Paired {
    fn of(lengths: &Lengths, claim: Claim, vessel: usize) -> Option<Self> {
        let size = lengths.sizes[vessel]?.ln();
        let square = |length: Estimate| (length.standard_uncertainty() / length.value()).powi(2);
        let (of, over) = (lengths.values[claim.of][vessel]?, lengths.values[claim.over][vessel]?);
        Some(Self {
            of: of.value().ln() - size,
            over: over.value().ln() - size,
            of_square: square(of),
            over_square: square(over),
        })
    }
}

/// Probability of so many and so close matches if each vessel's lower length came from another vessel of its form group,
/// scaled to its size; `None` where fewer than three vessels have both lengths and a size, or where the width of a match
/// leaves nothing to compare.
pub(super) fn p_of_pairing(
    lengths: &Lengths,
    claims: &Claims,
    claim: Claim,
    (log_constant, reach): (f64, f64),
    seed: Seed,
) -> Option<f64> {
    let (of, over) = (&lengths.values[claim.of], &lengths.values[claim.over]);
    let whole: Vec<usize> = (0..lengths.vessels.len())
        .filter(|&vessel| of[vessel].is_some() && over[vessel].is_some() && lengths.sizes[vessel].is_some())
        .collect();
    if whole.len() < 3 {
        return None;
    }
    let parts: Option<Vec<Paired>> = whole.iter().map(|&vessel| Paired::of(lengths, claim, vessel)).collect();
    let parts = parts?;
    let matched = |partner: &[usize]| -> f64 {
        let mut found = (0, 0.0);
        for (own, &other) in parts.iter().zip(partner) {
            // of / (over x own size / the other's size)
            let apart = (own.of - parts[other].over - log_constant).abs();
            if apart > reach {
                continue;
            }
            let squares = own.of_square + parts[other].over_square + claims.tolerance.powi(2);
            let width = (claims.coverage_factor * squares.sqrt()).min(reach);
            if apart <= width {
                found.0 += 1;
                found.1 += 1.0 - apart / width;
            }
        }
        score(found)
    };
    let mut partner: Vec<usize> = (0..whole.len()).collect();
    let seen = matched(&partner);
    let mut rng = seed.rng();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for group in whole.iter().map(|&vessel| lengths.groups[vessel]).collect::<std::collections::BTreeSet<_>>() {
        groups.push((0..whole.len()).filter(|&place| lengths.groups[whole[place]] == group).collect());
    }
    let mut as_good = 1;
    let mut shuffled = Vec::new();
    for _ in 0..PAIRINGS {
        for places in &groups {
            shuffled.clone_from(places);
            shuffled.shuffle(&mut rng);
            places.iter().zip(&shuffled).for_each(|(&place, &other)| partner[place] = other);
        }
        as_good += usize::from(matched(&partner) >= seen);
    }
    Some(as_good as f64 / (PAIRINGS + 1) as f64)
}

/// Matches first, closeness among equals.
pub(super) fn score((matches, closeness): (usize, f64)) -> f64 {
    matches as f64 + closeness / (matches as f64 + 1.0)
}

#[cfg(test)]
mod tests {
    use super::super::statement::tests::on;
    use super::super::statement::{Statements, Value};
    use super::*;
    use rand::Rng;

    #[test]
    fn widths_add_in_squares() {
        let claims = on(&["a", "b"], &[("two", Value::Fixed(2.0))]);
        let estimate = |value: f64, relative: f64| Estimate::new(value, relative * value).unwrap();
        let found = ratio(0, estimate(20.0, 0.002), estimate(10.0, 0.002), &claims);
        assert!((found.log - 2.0_f64.ln()).abs() < 1e-12);
        // 2 x sqrt(0.002^2 + 0.002^2 + 0.001^2) = 2 x 0.003
        assert!((found.width - 0.006).abs() < 1e-12);
    }

    #[test]
    fn held_pairs_fall_apart_when_paired_at_random() {
        let statements = Statements::new(on(&["a", "b"], &[("two", Value::Fixed(2.0))])).unwrap();
        let mut rng = Seed::new(8).rng();
        let over: Vec<f64> = (0..40).map(|_| 10.0 * rng.gen_range(0.7..1.4)).collect();
        let held: Vec<f64> = over.iter().map(|b| 2.0 * b).collect();
        let free: Vec<f64> = over.iter().map(|_| 20.0 * rng.gen_range(0.7..1.4)).collect();
        let p = |of: &[f64]| {
            let estimates =
                |values: &[f64]| values.iter().map(|v| Estimate::new(*v, 0.001 * v).ok()).collect::<Vec<_>>();
            let lengths = Lengths {
                vessels: (0..40).map(|v| v.to_string()).collect(),
                groups: vec![None; 40],
                sizes: vec![Some(1.0); 40],
                values: vec![estimates(of), estimates(&over)],
            };
            let claim = statements.claims().claims[0];
            p_of_pairing(&lengths, statements.claims(), claim, (2.0_f64.ln(), 0.05), Seed::new(1)).unwrap()
        };
        assert!(p(&held) <= 0.001 + 1e-12); // the least there is
        assert!(p(&free) > 0.01);
    }
}
