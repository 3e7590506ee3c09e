//! The sentence behind a ratio, from its numbers.

use super::population::{Populations, Subject};
use crate::analysis::outlier::figures;
use crate::analysis::precision::LogReading;
use crate::table::measure_words;

/// Measures named in a sentence.
const NAMED: usize = 2;

/// Half-width of the range called usual, in standard deviations: 95 %.
const REACH: f64 = 1.96;

/// The measures that move a vessel's ratio most, each with what is usual in either population.
///
/// A measure's weight is what the score would lose without it, the others kept.
pub(super) fn sentence(measures: &[&'static str], populations: &Populations, subject: &Subject) -> String {
    let whole = populations.score(subject);
    let mut weights: Vec<(usize, f64)> = (0..measures.len())
        .filter(|&k| subject.readings[k] != LogReading::Missing)
        .map(|k| {
            let mut without = subject.clone();
            without.readings[k] = LogReading::Missing;
            (k, whole - populations.score(&without))
        })
        .collect();
    weights.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let clause = |(index, _): &(usize, f64)| {
        let usual = populations.both.each_ref().map(|population| {
            let (mean, spread) =
                (population.mean(&subject.regressors)[*index], population.spread(&subject.regressors)[*index]);
            let [low, middle, high] = [-REACH, 0.0, REACH].map(|reach| figures((mean + reach * spread).exp()));
            format!("{middle} mm ({low}..{high})")
        });
        let value = match subject.readings[*index] {
            LogReading::Known { value, .. } => figures(value.exp()),
            LogReading::Below { limit } => format!("below {}", figures(limit.exp())),
            LogReading::Missing => String::new(), // filtered out above
        };
        let [modern, old] = usual;
        format!(
            "{} {value} mm, usual among modern references {modern}, among old {old}",
            measure_words::spoken(measures[*index])
        )
    };
    weights.iter().take(NAMED).map(clause).collect::<Vec<_>>().join("; ")
}

/// What a reader must know beside the measures, as further clauses.
pub(super) fn cautions(unlike_both: bool, at_bound: bool, outside: &[&str]) -> Vec<String> {
    let mut clauses = Vec::new();
    if unlike_both {
        clauses.push("unlike both populations, so that the ratio compares two poor fits".to_owned());
    }
    if at_bound {
        clauses.push("at the greatest ratio so few references can back".to_owned());
    }
    if !outside.is_empty() {
        clauses.push(format!("{} outside the references\u{2019} range", outside.join(" and ")));
    }
    clauses
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_caution_is_a_clause() {
        assert_eq!(cautions(false, true, &["size"]).len(), 2);
    }
}
