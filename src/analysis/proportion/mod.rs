//! Proportions: claims fixed before looking, and what chance would bring.
//!
//! Two lengths of a vessel stand in some ratio; among many pairs and constants some always meet. What is asked here is
//! whether more do than meet decoy constants, whether a half of the vessels that was held out says the same, and whether a
//! series or a design describes the vessels better than smooth curves that know nothing of it.
//!
//! - [`Claims`], [`Statements`], [`ClaimError`]: what is claimed; [`NamedLength`], [`Source`], [`ArcQuantity`],
//!   [`Constant`], [`Value`], [`Claim`], [`Series`], [`Design`]: its parts
//! - [`test_proportions`], [`ProportionInput`], [`Proportions`]: the whole test, tables in, tables out
//! - [`judge_lengths`], [`Lengths`]: the same from lengths already at hand, without designs
//! - [`Verdict`], [`Together`], [`VesselMatches`], [`SeriesVerdict`], [`Rebuilt`]: what is found

mod design;
mod halves;
mod lengths;
mod matches;
mod pairing;
mod series;
mod statement;
mod tables;
mod verdict;

pub use design::Rebuilt;
pub use lengths::{Lengths, ProportionInput};
pub use series::SeriesVerdict;
pub use statement::{
    ArcQuantity, Claim, ClaimError, Claims, Constant, Design, NamedLength, Series, Source, Statements, Value,
};
pub use tables::Proportions;
pub use verdict::{Together, Verdict, VesselMatches};

use rayon::prelude::*;

use super::AnalysisError;
use crate::quantity::Seed;
use design::FreeCurves;
use lengths::Shapes;

/// Tests statements on a corpus.
///
/// # Errors
/// [`AnalysisError`] if a table lacks a column.
pub fn test_proportions(
    input: &ProportionInput<'_>,
    statements: &Statements,
    seed: Seed,
) -> Result<Proportions, AnalysisError> {
    let shapes = Shapes::read(input, statements)?;
    let lengths = shapes.lengths(statements);
    let mut found = judge_lengths(&lengths, statements, seed);
    let curves = FreeCurves::new();
    let rebuilt = |vessel: &String| {
        if statements.claims().designs.is_empty() {
            return None;
        }
        let wall = shapes.wall(vessel, "outer")?;
        let height = shapes.height_mm(vessel)?;
        let one = |claimed: &Design| {
            Some((claimed.name.clone(), vessel.clone(), design::rebuild(&wall, height, claimed, &curves)?))
        };
        Some(statements.claims().designs.iter().filter_map(one).collect::<Vec<_>>())
    };
    let all: Vec<Vec<_>> = shapes.vessels.par_iter().filter_map(rebuilt).collect();
    found.designs = all.into_iter().flatten().collect();
    found.designs.sort_by(|a, b| (&a.0, &a.1).cmp(&(&b.0, &b.1)));
    Ok(found)
}

/// Tests the pairs and series of statements on lengths, each list of them in the order of the statements.
///
/// # Example
/// Sixty vessels whose belly is twice their neck to within a thousandth, while any other pair wanders by a third.
/// ```
/// use tornus::analysis::proportion::*;
/// use tornus::quantity::{Estimate, Seed};
/// let length = |name: &str| NamedLength { name: name.into(), source: Source::Measure(name.into()), times: 1.0 };
/// let claims = Claims {
///     fixed_before_looking: true, coverage_factor: 2.0, tolerance: 0.001, reach: 0.05, size: "height".into(),
///     lengths: vec![length("belly"), length("neck")],
///     constants: vec![Constant { name: "two".into(), value: Value::Fixed(2.0), tried: 1 }],
///     claims: vec![Claim { of: 0, over: 1, constant: 0 }], series: vec![], designs: vec![],
/// };
/// let statements = Statements::new(claims)?;
/// let neck: Vec<f64> = (0..60).map(|v| 20.0 + 0.3 * f64::from(v)).collect();
/// // every third vessel keeps the proportion; the others drift evenly from 1.6 to 2.4
/// let belly = neck.iter().enumerate().map(|(v, neck)| neck * if v % 3 == 0 { 2.0 } else { 1.6 + 0.8 * v as f64 / 59.0 });
/// let exact = |values: Vec<f64>| values.iter().map(|v| Estimate::new(*v, 0.0).ok()).collect::<Vec<_>>();
/// let lengths = Lengths {
///     vessels: (0..60).map(|v| v.to_string()).collect(), groups: vec![None; 60], sizes: vec![None; 60],
///     values: vec![exact(belly.collect()), exact(neck.clone())],
/// };
/// let found = judge_lengths(&lengths, &statements, Seed::new(1));
/// assert!(found.verdicts[0].matches >= 20 && found.verdicts[0].expected < 3.0);
/// assert!(found.verdicts[0].accepted);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn judge_lengths(lengths: &Lengths, statements: &Statements, seed: Seed) -> Proportions {
    let first = halves::first_half(lengths, seed.derive(0));
    let claims = statements.claims();
    let series_of = |claimed| series::judge(lengths, claims, claimed, &first, seed.derive(2));
    let ((verdicts, vessels, together), series) = rayon::join(
        || verdict::verdicts(lengths, statements, &first, seed),
        || claims.series.par_iter().map(series_of).collect(),
    );
    let names = lengths.vessels.iter().cloned();
    Proportions { vessels: names.zip(vessels).collect(), verdicts, together, series, designs: Vec::new() }
}
