//! What is found of each claim, of all together, and of each vessel.

use rand::Rng;
use rayon::prelude::*;

use super::super::statistics::{benjamini_hochberg, poisson_binomial};
use super::lengths::Lengths;
use super::matches::{Count, Ratio, Sorted, count, fitted, reach};
use super::pairing::{p_of_pairing, ratios, score};
use super::statement::{Claim, Claims, Statements, Value};
use crate::quantity::Seed;

/// A claim is found, and a found claim accepted, at this probability of error: the usual 5 %.
const LEVEL: f64 = 0.05;

/// Sets of decoy constants behind the p of all claims together: the least p is 0.001.
const DECOY_SETS: u64 = 999;

/// What is found of one claim.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Verdict {
    /// The claim in words: length / length = constant.
    pub statement: String,
    /// The constant; `None` if none could be fitted.
    pub value: Option<f64>,
    /// Vessels with both lengths.
    pub vessels: usize,
    /// Vessels that match; of a fitted constant, of the held-out half.
    pub matches: usize,
    /// Matches expected of a decoy constant.
    pub expected: f64,
    /// Probability that a decoy constant would be matched as well; of a fitted constant missing, since the vessels it was
    /// found on speak for it.
    pub p: Option<f64>,
    /// The same, adjusted for every claim tried.
    pub q: Option<f64>,
    /// Probability of matching as well if lengths of different vessels were put together.
    pub p_pairing: Option<f64>,
    /// Whether the first half of the vessels speaks for it.
    pub found: bool,
    /// Probability that a decoy constant would be matched as well by the half of the vessels that was held out; of a found
    /// claim only.
    pub held_out: Option<f64>,
    /// Whether the held-out half confirms it.
    pub accepted: bool,
    /// Why it could not be judged.
    pub note: Option<&'static str>,
}

/// What is found of all claims together.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// Matches of all claims with stated constants.
    pub matches: usize,
    /// Matches expected of decoy constants.
    pub expected: f64,
    /// Probability that a set of decoy constants would be matched as well.
    pub p: f64,
    /// Matches of each set of decoys, rising.
    pub decoys: Vec<usize>,
}

/// What is found of one vessel.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct VesselMatches {
    /// Claims it matches.
    pub matches: usize,
    /// Claims whose decoys it lies in reach of.
    pub tried: usize,
    /// Matches expected of decoy constants.
    pub expected: f64,
    /// Probability of so many matches, the claims taken as independent.
    pub p: Option<f64>,
    /// The same, adjusted over the vessels.
    pub q: Option<f64>,
}

/// One claim with its ratios.
struct Case {
    claim: Claim,
    ratios: Vec<Ratio>,
    reach: Option<f64>,
    /// Logarithm of the constant.
    log: Option<f64>,
    fitted: bool,
}

impl Case {
    fn new(lengths: &Lengths, claims: &Claims, claim: Claim, first: &[bool]) -> Self {
        let ratios = ratios(lengths, claims, claim);
        let reach = reach(&ratios, claims.reach.ln_1p());
        let (log, fitted) = match claims.constants[claim.constant].value {
            Value::Fixed(value) => (Some(value.ln()), false),
            Value::Fitted { from, to } => {
                (reach.and_then(|reach| fitted(&half(&ratios, first, true), from, to, reach)), true)
            }
        };
        Self { claim, ratios, reach, log, fitted }
    }

    /// Constant and reach, where the claim can be judged.
    fn aim(&self) -> Option<(f64, f64)> {
        self.log.zip(self.reach)
    }

    fn count(&self, first: &[bool], of_first: bool) -> Option<Count> {
        self.aim().map(|(log, reach)| count(&half(&self.ratios, first, of_first), log, reach))
    }
}

fn half(ratios: &[Ratio], first: &[bool], of_first: bool) -> Vec<Ratio> {
    ratios.iter().filter(|ratio| first[ratio.vessel] == of_first).copied().collect()
}

/// Judges the claims on ratios of two lengths, one by one, together, and vessel by vessel.
///
/// A claim is *found* where the first half of the vessels speaks for it, every claim tried being counted; a constant that
/// is fitted is fitted on that half and so always found. It is *accepted* where the half that was held out confirms it,
/// every found claim being counted, and only if it was fixed before looking, or fitted on the other half.
///
/// # References
/// Benjamini & Hochberg 1995 (q); Cox 1975, A note on data-splitting for the evaluation of significance levels.
pub(super) fn verdicts(
    lengths: &Lengths,
    statements: &Statements,
    first: &[bool],
    seed: Seed,
) -> (Vec<Verdict>, Vec<VesselMatches>, Option<Together>) {
    let claims = statements.claims();
    let cases: Vec<Case> = claims.claims.par_iter().map(|claim| Case::new(lengths, claims, *claim, first)).collect();
    let mut verdicts: Vec<Verdict> = cases
        .par_iter()
        .enumerate()
        .map(|(item, case)| verdict(lengths, claims, case, first, seed.derive(10 + item as u64)))
        .collect();
    let tried = |p: Option<f64>, case: &Case| {
        p.map(|p| (p * f64::from(claims.constants[case.claim.constant].tried.max(1))).min(1.0))
    };
    let p_first: Vec<Option<f64>> = cases
        .iter()
        .map(|case| tried(case.count(first, true).filter(|_| !case.fitted).map(|count| count.p()), case))
        .collect();
    let q_first = benjamini_hochberg(&p_first);
    let q_all = benjamini_hochberg(&verdicts.iter().zip(&cases).map(|(v, case)| tried(v.p, case)).collect::<Vec<_>>());
    for ((verdict, case), (q, q_first)) in verdicts.iter_mut().zip(&cases).zip(q_all.into_iter().zip(q_first)) {
        verdict.q = q;
        verdict.found = if case.fitted { case.log.is_some() } else { q_first.is_some_and(|q| q <= LEVEL) };
        let held_out = case.count(first, false).filter(|_| verdict.found);
        verdict.held_out = held_out.map(|count| count.p());
    }
    let found = verdicts.iter().filter(|verdict| verdict.found).count() as f64;
    for (verdict, case) in verdicts.iter_mut().zip(&cases) {
        let honest = claims.fixed_before_looking || case.fitted;
        verdict.accepted = honest && verdict.held_out.is_some_and(|p| p * found <= LEVEL);
    }
    let together = together(&cases, claims, seed.derive(1));
    (verdicts, vessel_matches(lengths.vessels.len(), &cases), together)
}

fn verdict(lengths: &Lengths, claims: &Claims, case: &Case, first: &[bool], seed: Seed) -> Verdict {
    let Claim { of, over, constant } = case.claim;
    let mut found = Verdict {
        statement: format!(
            "{} / {} = {}",
            claims.lengths[of].name, claims.lengths[over].name, claims.constants[constant].name
        ),
        value: case.log.map(f64::exp),
        vessels: case.ratios.len(),
        ..Verdict::default()
    };
    let Some((log, reach)) = case.aim() else {
        found.note = Some(if case.reach.is_none() {
            "too few vessels, or ratios too alike beside their uncertainty, to tell a held proportion from chance"
        } else {
            "no ratio lies within the bounds of the fitted constant"
        });
        return found;
    };
    let counted = if case.fitted {
        count(&half(&case.ratios, first, false), log, reach)
    } else {
        count(&case.ratios, log, reach)
    };
    found.matches = counted.matching.len();
    found.expected = counted.expected();
    found.p = Some(counted.p()).filter(|_| !case.fitted);
    if !case.fitted {
        found.p_pairing = p_of_pairing(lengths, claims, case.claim, (log, reach), seed);
    }
    found
}

/// All stated constants against sets of decoys, each constant moved by one step for all its claims.
fn together(cases: &[Case], claims: &Claims, seed: Seed) -> Option<Together> {
    let judged: Vec<(&Case, f64, f64, Sorted)> = cases
        .iter()
        .filter(|case| !case.fitted)
        .filter_map(|case| case.aim().map(|(log, reach)| (case, log, reach, Sorted::new(&case.ratios, reach))))
        .collect();
    if judged.is_empty() {
        return None;
    }
    let set = |steps: &[f64]| {
        let counts =
            judged.iter().map(|(case, log, reach, sorted)| sorted.near(log + steps[case.claim.constant] * reach));
        counts.fold((0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1))
    };
    let seen = set(&vec![0.0; claims.constants.len()]);
    let decoys: Vec<(usize, f64)> = (0..DECOY_SETS)
        .into_par_iter()
        .map(|item| {
            let mut rng = seed.derive(item).rng();
            set(&claims.constants.iter().map(|_| rng.gen_range(-1.0..1.0)).collect::<Vec<f64>>())
        })
        .collect();
    let as_good = decoys.iter().filter(|decoy| score(**decoy) >= score(seen)).count();
    let mut counts: Vec<usize> = decoys.iter().map(|decoy| decoy.0).collect();
    counts.sort_unstable();
    Some(Together {
        matches: seen.0,
        expected: counts.iter().sum::<usize>() as f64 / counts.len() as f64,
        p: (1 + as_good) as f64 / (1 + decoys.len()) as f64,
        decoys: counts,
    })
}

fn vessel_matches(vessels: usize, cases: &[Case]) -> Vec<VesselMatches> {
    let mut found = vec![VesselMatches::default(); vessels];
    let mut chances = vec![Vec::new(); vessels];
    for case in cases.iter().filter(|case| !case.fitted) {
        let Some((log, reach)) = case.aim() else { continue };
        let counted = count(&case.ratios, log, reach);
        counted.chances.iter().for_each(|&(vessel, chance)| chances[vessel].push(chance));
        counted.matching.iter().for_each(|&vessel| found[vessel].matches += 1);
    }
    for (vessel, chances) in found.iter_mut().zip(&chances) {
        vessel.tried = chances.len();
        vessel.expected = chances.iter().sum();
        let (above, equal) = poisson_binomial(chances, vessel.matches);
        vessel.p = (vessel.tried > 0).then_some((above + equal).min(1.0));
    }
    let adjusted = benjamini_hochberg(&found.iter().map(|vessel| vessel.p).collect::<Vec<_>>());
    found.iter_mut().zip(adjusted).for_each(|(vessel, q)| vessel.q = q);
    found
}
