//! What instruments differ by on the same vessels, beyond their stated uncertainties.

use super::mean::{ScanValue, means_by_instrument};

/// Fewest degrees of freedom, differences between instruments on the same vessels, that a component is looked for in.
const FEWEST: usize = 3;
/// Halvings of the bracket: to 1e-12 of its width.
const HALVINGS: usize = 40;

/// Standard deviation between instruments, from vessels that several have scanned; 0 where their differences are no greater
/// than the stated uncertainties make them in 95 of 100 corpora, or fewer than three can be compared.
///
/// The variance is that at which the weighted squares of the instruments' means about each vessel's mean are what they are
/// expected to be, the degrees of freedom (the method of Mandel and Paule, summed over the vessels).
///
/// # Units
/// Those of the measure; the component is one of the measure, alike for all vessels.
///
/// # Example
/// Three vessels, each 1.0 by one instrument and 1.2 by another, stated exactly but for 1e-6: every difference is 0.2, its variance twice
/// the component's, 0.02.
/// ```
/// use tornus::quantity::{Budget, Source};
/// use tornus::table::combine::{ScanValue, between_instruments};
/// let scan = |value, instrument| ScanValue {
///     value, budget: Budget::of(Source::Noise, 1e-6), detection_limit: None, instrument: Some(instrument),
/// };
/// let vessels = vec![vec![scan(1.0, "a"), scan(1.2, "b")]; 3];
/// assert!((between_instruments(&vessels) - 0.02_f64.sqrt()).abs() < 1e-6);
/// ```
///
/// # References
/// Paule & Mandel 1982, Consensus values and weighting factors, J. Res. NBS 87, 377, doi:10.6028/jres.087.022 (from memory).
#[must_use]
pub fn between_instruments(vessels: &[Vec<ScanValue<'_>>]) -> f64 {
    let compared: Vec<Vec<(f64, f64)>> =
        vessels.iter().map(|scans| means_by_instrument(scans)).filter(|means| means.len() > 1).collect();
    let freedom: usize = compared.iter().map(|means| means.len() - 1).sum();
    if freedom < FEWEST {
        return 0.0;
    }
    let expected = freedom as f64;
    // About the 95 % point of chi-square: its cube root is nearly normal (Wilson & Hilferty 1931).
    let spread = 2.0 / (9.0 * expected);
    let limit = expected * (1.0 - spread + 1.645 * spread.sqrt()).powi(3);
    if squares(&compared, 0.0) <= limit {
        return 0.0;
    }
    let farthest = compared.iter().flatten().map(|(mean, _)| mean.abs()).fold(0.0, f64::max);
    let (mut low, mut high) = (0.0, 4.0 * farthest * farthest);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if squares(&compared, middle) > expected {
            low = middle;
        } else {
            high = middle;
        }
    }
    (0.5 * (low + high)).sqrt()
}

/// Weighted squares about each vessel's weighted mean, `component` added to every variance; an exact mean without a component
/// counts as nothing, for it would take all the weight.
fn squares(compared: &[Vec<(f64, f64)>], component: f64) -> f64 {
    let of_vessel = |means: &Vec<(f64, f64)>| {
        let weight = |variance: f64| (variance + component).max(f64::MIN_POSITIVE.sqrt()).recip();
        let total: f64 = means.iter().map(|(_, variance)| weight(*variance)).sum();
        let mean = means.iter().map(|(mean, variance)| weight(*variance) * mean).sum::<f64>() / total;
        means.iter().map(|(value, variance)| weight(*variance) * (value - mean).powi(2)).sum::<f64>()
    };
    compared.iter().map(of_vessel).sum()
}

#[cfg(test)]
mod tests {
    use rand_distr::{Distribution, StandardNormal};

    use super::*;
    use crate::quantity::{Budget, Seed, Source};

    /// Vessels scanned by two or three instruments whose differences have standard deviation `between`.
    fn corpus(vessels: usize, between: f64, seed: u64) -> Vec<Vec<ScanValue<'static>>> {
        let mut rng = Seed::new(seed).rng();
        let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
        let mut vessel = |index: usize| {
            let names = if usize::is_multiple_of(index, 2) { &["a", "b"][..] } else { &["a", "b", "c"][..] };
            let one = |name: &&'static str| {
                let u = if *name == "a" { 0.01 } else { 0.03 };
                let value = 5.0 + index as f64 + between * normal() + u * normal();
                let budget = Budget::of(Source::Noise, u);
                ScanValue { value, budget, detection_limit: None, instrument: Some(name) }
            };
            names.iter().map(one).collect()
        };
        (0..vessels).map(&mut vessel).collect()
    }

    #[test]
    fn nothing_is_found_where_the_stated_uncertainties_hold() {
        let named = (0..400).filter(|seed| between_instruments(&corpus(8, 0.0, *seed)) > 0.0).count();
        assert!((8..=34).contains(&named), "{named} of 400"); // 20 expected, s.d. 4.4
    }

    #[test]
    fn a_planted_component_is_recovered() {
        let found: Vec<f64> = (0..200).map(|seed| between_instruments(&corpus(40, 0.1, seed)).powi(2)).collect();
        let mean = found.iter().sum::<f64>() / 200.0;
        assert!((mean.sqrt() - 0.1).abs() < 0.004, "{}", mean.sqrt()); // one corpus knows it to 10 %
    }

    #[test]
    fn two_differences_are_too_few() {
        assert!(between_instruments(&corpus(1, 5.0, 1)) <= 0.0);
    }
}
