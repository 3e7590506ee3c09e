//! From decisions to a ranked list and a chosen set.

use rand::seq::SliceRandom;
use rayon::prelude::*;

use super::super::AnalysisError;
use super::decide::{Decision, decisions};
use super::feasible::{Feasibility, feasibility};
use super::input::{Piece, ShortlistInput, pieces};
use super::knapsack::{Choice, Item, knapsack, next_better};
use super::params::ShortlistParams;
use crate::quantity::Seed;

/// Budgets at which the value of the best choice is shown: tenths of the budget, up to twice it.
const BUDGET_STEPS: u32 = 20;

/// Random orders behind the value of choosing at random.
const RANDOM_ORDERS: u64 = 200;

/// One vessel of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The vessel.
    pub vessel: String,
    /// Its decisions.
    pub decisions: Vec<Decision>,
    /// Decisions that a tomography is expected to put right, each with its weight.
    pub value: f64,
    /// What it costs; `None` where the catalogue does not say.
    pub cost: Option<f64>,
    /// Whether it can be done.
    pub feasibility: Feasibility,
    /// Its group by form.
    pub form_group: Option<i64>,
    /// Whether it is of the chosen set.
    pub chosen: bool,
    /// Why it stands where it stands, in a sentence.
    pub grounds: String,
}

/// The best choice at one budget, and what simpler ways of choosing would bring.
#[derive(Clone, Debug, PartialEq)]
pub struct AtBudget {
    /// The budget.
    pub budget: f64,
    /// `now`: the budget asked for; `next`: the least budget that buys more; `other`: for comparison.
    pub kind: &'static str,
    /// What the choice costs.
    pub cost: f64,
    /// What it is worth.
    pub value: f64,
    /// The vessels chosen.
    pub vessels: Vec<String>,
    /// Worth of taking the vessels in the order of their least certain decision while they fit.
    pub value_least_certain: f64,
    /// Mean worth of taking them in random order while they fit.
    pub value_random: f64,
    /// Whether no better choice exists.
    pub proven: bool,
}

/// The vessels in the order of their worth, the chosen set, and what other budgets would buy.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shortlist {
    /// Feasible vessels by value per unit of cost, then the others.
    pub candidates: Vec<Candidate>,
    /// By rising budget.
    pub budgets: Vec<AtBudget>,
}

/// Chooses vessels for computed tomography.
///
/// The value of a tomography is the number of decisions it is expected to put right: those which an exact measurement
/// would take otherwise than they are taken now, and a measurement of the stated uncertainty would mend (preposterior
/// analysis). Within the budget the set of greatest value is found exactly.
///
/// # Errors
/// [`AnalysisError`] if a table or column that is needed is missing.
pub fn shortlist(input: &ShortlistInput<'_>, params: &ShortlistParams, seed: Seed) -> Result<Shortlist, AnalysisError> {
    let pieces = pieces(input)?;
    let terms = params.terms();
    let mut candidates: Vec<Candidate> = pieces
        .par_iter()
        .zip(decisions(&pieces, terms))
        .map(|(piece, decisions)| candidate(piece, decisions, params))
        .collect();
    let per_cost = |c: &Candidate| c.cost.map_or(0.0, |cost| c.value / cost);
    let open = |c: &Candidate| c.feasibility.feasible == Some(true) && c.cost.is_some();
    candidates
        .sort_by(|a, b| open(b).cmp(&open(a)).then(per_cost(b).total_cmp(&per_cost(a))).then(a.vessel.cmp(&b.vessel)));
    let items: Vec<Item> = candidates.iter().filter(|c| open(c)).map(item).collect();
    let best = knapsack(&items, terms.budget, params.per_group());
    best.chosen.iter().for_each(|&place| candidates[place].chosen = true);
    let budgets = budgets(&candidates, &items, best, params, seed);
    Ok(Shortlist { candidates, budgets })
}

/// Groups are numbered from 1; the vessels of none share 0, and a limit per group holds for them together too.
fn item(candidate: &Candidate) -> Item {
    let group = candidate.form_group.and_then(|group| usize::try_from(group).ok()).unwrap_or(0);
    Item { value: candidate.value, cost: candidate.cost.unwrap_or(f64::INFINITY), group }
}

fn candidate(piece: &Piece, decisions: Vec<Decision>, params: &ShortlistParams) -> Candidate {
    let feasibility = feasibility(&piece.whole(), params.terms());
    let value = decisions.iter().map(|decision| decision.weight * decision.gain.gain).sum();
    let grounds = grounds(&decisions, &feasibility, piece.cost);
    Candidate {
        vessel: piece.vessel.clone(),
        value,
        cost: piece.cost,
        form_group: piece.form_group,
        chosen: false,
        decisions,
        feasibility,
        grounds,
    }
}

/// Gains below this are not spoken of: one wrong decision in a thousand.
const SPOKEN_OF: f64 = 1e-3;

/// What a tomography would settle, and whether it can be done.
fn grounds(decisions: &[Decision], feasibility: &Feasibility, cost: Option<f64>) -> String {
    let mut told: Vec<&Decision> = decisions.iter().filter(|d| d.weight * d.gain.gain >= SPOKEN_OF).collect();
    told.sort_by(|a, b| (b.weight * b.gain.gain).total_cmp(&(a.weight * a.gain.gain)));
    let one = |decision: &&Decision| {
        let after = decision.gain.now + decision.gain.gain;
        let (now, after) = (100.0 * decision.gain.now, 100.0 * after);
        format!("{}: now {now:.1} % sure, {after:.1} % with a tomography", decision.question.words())
    };
    let gains = if told.is_empty() {
        "no decision in doubt that a tomography would settle".to_owned()
    } else {
        told.iter().map(one).collect::<Vec<_>>().join("; ")
    };
    let cost = if cost.is_none() { "; no cost in the catalogue" } else { "" };
    format!("{gains}. {}{cost}", feasibility.words)
}

fn budgets(
    candidates: &[Candidate],
    items: &[Item],
    best: Choice,
    params: &ShortlistParams,
    seed: Seed,
) -> Vec<AtBudget> {
    let (budget, per_group) = (params.terms().budget, params.per_group());
    let dearest = items.iter().filter(|item| item.value > 0.0).map(|item| item.cost).fold(0.0, f64::max);
    let next = next_better(items, budget, budget + dearest, per_group);
    let mut rows: Vec<(f64, &'static str, Choice)> = Vec::new();
    for step in 1..=BUDGET_STEPS {
        let other = budget * f64::from(step) / f64::from(BUDGET_STEPS / 2);
        let kind = if step == BUDGET_STEPS / 2 { "now" } else { "other" };
        let choice = if kind == "now" { best.clone() } else { knapsack(items, other, per_group) };
        rows.push((other, kind, choice));
    }
    rows.extend(next.map(|choice| (choice.cost, "next", choice)));
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let least_certain = by_doubt(candidates, items.len());
    let random: Vec<Vec<usize>> = (0..RANDOM_ORDERS)
        .map(|item| {
            let mut order: Vec<usize> = (0..items.len()).collect();
            order.shuffle(&mut seed.derive(item).rng());
            order
        })
        .collect();
    let at = |(budget, kind, choice): (f64, &'static str, Choice)| AtBudget {
        budget,
        kind,
        cost: choice.cost,
        value: choice.value,
        vessels: choice.chosen.iter().map(|&place| candidates[place].vessel.clone()).collect(),
        value_least_certain: taken_in_order(items, &least_certain, budget),
        value_random: random.iter().map(|order| taken_in_order(items, order, budget)).sum::<f64>()
            / RANDOM_ORDERS as f64,
        proven: choice.proven,
    };
    rows.into_iter().map(at).collect()
}

/// The first `count` candidates by their least certain decision.
fn by_doubt(candidates: &[Candidate], count: usize) -> Vec<usize> {
    let sure = |place: usize| candidates[place].decisions.iter().map(|d| d.gain.now).fold(1.0, f64::min);
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|&a, &b| sure(a).total_cmp(&sure(b)).then(a.cmp(&b)));
    order
}

fn taken_in_order(items: &[Item], order: &[usize], budget: f64) -> f64 {
    let (mut cost, mut value) = (0.0, 0.0);
    for &place in order {
        if cost + items[place].cost <= budget {
            cost += items[place].cost;
            value += items[place].value;
        }
    }
    value
}
