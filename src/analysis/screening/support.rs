//! A ratio in words.

/// The scale's steps: the least ratio of each, and its words.
const STEPS: [(f64, &str); 6] = [
    (1e6, "extremely strong"),
    (1e4, "very strong"),
    (1e3, "strong"),
    (1e2, "moderately strong"),
    (10.0, "moderate"),
    (2.0, "weak"),
];

/// A likelihood ratio modern : old in words, from its logarithm (base 10).
///
/// The words speak of the measures under two sets of references, never of what a piece is.
///
/// # Example
/// ```
/// use tornus::analysis::screening::support;
/// assert_eq!(support(1.2), "moderate support for modern make");
/// assert_eq!(support(-0.5), "weak support for old make"); // 3.2 : 1
/// assert_eq!(support(0.1), "no support either way");
/// ```
///
/// # References
/// ENFSI Guideline for Evaluative Reporting in Forensic Science, 2015, example of a verbal scale (from memory; the steps from 10
/// to 1,000 also at second hand).
#[must_use]
pub fn support(log10_ratio: f64) -> String {
    let ratio = 10_f64.powf(log10_ratio.abs());
    let make = if log10_ratio > 0.0 { "modern" } else { "old" };
    match STEPS.iter().find(|(least, _)| ratio >= *least) {
        Some((_, words)) => format!("{words} support for {make} make"),
        None => "no support either way".to_owned(),
    }
}
