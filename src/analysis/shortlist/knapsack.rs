//! Which pieces are worth most within a budget: exact.

/// One piece that may be chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Item {
    /// What it is worth; 0 or more.
    pub value: f64,
    /// What it costs; above 0.
    pub cost: f64,
    /// The group it counts towards.
    pub group: usize,
}

/// A choice of pieces.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Choice {
    /// Places of the chosen, rising.
    pub chosen: Vec<usize>,
    /// What they are worth together.
    pub value: f64,
    /// What they cost together.
    pub cost: f64,
    /// Whether no better choice exists; false only where the search was cut short.
    pub proven: bool,
}

/// States kept at most at once; beyond it the least promising are dropped and the choice is no longer proven.
const MOST_STATES: usize = 200_000;

/// Relative slack by which costs of decimal fractions may exceed a budget through rounding.
const SLACK: f64 = 1e-9;

/// A part of the search: what was spent, gained and taken of the current group, and the last decision that led here.
#[derive(Clone, Copy, Debug)]
struct State {
    cost: f64,
    value: f64,
    taken: usize,
    trail: usize,
}

/// The most valuable pieces within a budget, at most `per_group` of each group.
///
/// Piece by piece, only states that no other beats in cost and value are kept (dominance), and of those only the ones
/// whose best conceivable completion, the rest taken in parts, could still beat the best choice known. Of choices equal
/// in value the cheaper is taken. Pieces worth nothing are never chosen.
///
/// # Example
/// The two best by value per cost, 6/1 and 10/2, leave the budget of 5 half used; 10 + 12 is worth more.
/// ```
/// use tornus::analysis::shortlist::{Item, knapsack};
/// let items = [(6.0, 1.0), (10.0, 2.0), (12.0, 3.0)].map(|(value, cost)| Item { value, cost, group: 0 });
/// let best = knapsack(&items, 5.0, usize::MAX);
/// assert_eq!((best.chosen, best.value), (vec![1, 2], 22.0));
/// ```
///
/// # References
/// Nemhauser & Ullmann 1969, Discrete dynamic programming and capital allocation; Dantzig 1957 (the bound).
#[must_use]
pub fn knapsack(items: &[Item], budget: f64, per_group: usize) -> Choice {
    search(items, budget, per_group, None).into_iter().next_back().unwrap_or_default()
}

/// The cheapest choice within `most` that is worth more than the best within `budget`, if there is one.
#[must_use]
pub fn next_better(items: &[Item], budget: f64, most: f64, per_group: usize) -> Option<Choice> {
    let best = knapsack(items, budget, per_group);
    let gain = 1e-9 * best.value.max(1e-9);
    search(items, most, per_group, Some(best.value + gain)).into_iter().next()
}

/// Undominated choices within a budget, by rising cost and value; only those above `floor` where one is given, else only
/// the best.
fn search(items: &[Item], budget: f64, per_group: usize, floor: Option<f64>) -> Vec<Choice> {
    let budget = budget * (1.0 + SLACK);
    let mut order: Vec<usize> =
        (0..items.len()).filter(|&i| items[i].value > 0.0 && items[i].cost > 0.0 && items[i].cost <= budget).collect();
    let ratio = |i: usize| items[i].value / items[i].cost;
    let grouped = per_group < items.len();
    order.sort_by(|&a, &b| {
        let group = if grouped { items[a].group.cmp(&items[b].group) } else { std::cmp::Ordering::Equal };
        group.then(ratio(b).total_cmp(&ratio(a))).then(a.cmp(&b))
    });
    let bounds = Bounds::new(items, &order, grouped);
    let mut least = floor.unwrap_or_else(|| greedy(items, &order, budget, per_group));
    let mut trail: Vec<(usize, usize)> = vec![(usize::MAX, 0)];
    let mut states = vec![State { cost: 0.0, value: 0.0, taken: 0, trail: 0 }];
    let mut proven = true;
    for (place, &item) in order.iter().enumerate() {
        if grouped && (place == 0 || items[order[place - 1]].group != items[item].group) {
            states.iter_mut().for_each(|state| state.taken = 0);
            states = undominated(states);
        }
        let mut grown = Vec::with_capacity(states.len());
        for state in &states {
            if state.taken < per_group && state.cost + items[item].cost <= budget {
                trail.push((item, state.trail));
                grown.push(State {
                    cost: state.cost + items[item].cost,
                    value: state.value + items[item].value,
                    taken: state.taken + usize::from(grouped),
                    trail: trail.len() - 1,
                });
            }
        }
        states.extend(grown);
        if floor.is_none() {
            least = states.iter().fold(least, |least, state| least.max(state.value));
        }
        // A choice just as good as the best known must survive, whatever the order of the sums.
        let hopeful =
            |state: &State| state.value + bounds.rest(place + 1, budget - state.cost) >= least * (1.0 - SLACK);
        states.retain(hopeful);
        states = undominated(states);
        if states.len() > MOST_STATES {
            proven = false;
            states.sort_by(|a, b| (b.value / b.cost).total_cmp(&(a.value / a.cost)));
            states.truncate(MOST_STATES);
        }
    }
    states.iter_mut().for_each(|state| state.taken = 0);
    let ends = undominated(states);
    let wanted = ends.iter().filter(|state| floor.is_none_or(|floor| state.value > floor));
    wanted.map(|state| choice(state, &trail, proven)).collect()
}

/// The states no other beats in cost, value and room left in the group, by rising cost.
fn undominated(mut states: Vec<State>) -> Vec<State> {
    states.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(b.value.total_cmp(&a.value)).then(a.taken.cmp(&b.taken)));
    // Best value so far by how many of the group were taken: what was taken fewer times dominates too.
    let mut best: Vec<f64> = Vec::new();
    states.retain(|state| {
        if best.len() <= state.taken {
            best.resize(state.taken + 1, f64::NEG_INFINITY);
        }
        let beaten = best[..=state.taken].iter().any(|value| *value >= state.value);
        if !beaten {
            best[state.taken] = state.value;
        }
        !beaten
    });
    states
}

fn choice(state: &State, trail: &[(usize, usize)], proven: bool) -> Choice {
    let mut chosen = Vec::new();
    let mut at = state.trail;
    while at != 0 {
        chosen.push(trail[at].0);
        at = trail[at].1;
    }
    chosen.sort_unstable();
    Choice { chosen, value: state.value, cost: state.cost, proven }
}

/// What the pieces in order are worth if each is taken that still fits: a choice to beat.
fn greedy(items: &[Item], order: &[usize], budget: f64, per_group: usize) -> f64 {
    let mut by_ratio = order.to_vec();
    by_ratio.sort_by(|&a, &b| {
        (items[b].value / items[b].cost).total_cmp(&(items[a].value / items[a].cost)).then(a.cmp(&b))
    });
    let mut taken: std::collections::BTreeMap<usize, usize> = std::collections::BTreeMap::new();
    let (mut cost, mut value) = (0.0, 0.0);
    for i in by_ratio {
        let count = taken.entry(items[i].group).or_default();
        if *count < per_group && cost + items[i].cost <= budget {
            *count += 1;
            cost += items[i].cost;
            value += items[i].value;
        }
    }
    value
}

/// Upper bounds on what the pieces still to come can add.
struct Bounds {
    /// For each run of pieces: first place, cumulative costs and values by falling value per cost, from 0.
    runs: Vec<(usize, Vec<f64>, Vec<f64>)>,
    /// Whether a run's own order is the search's, so that a place within it cuts it.
    ordered: bool,
}

impl Bounds {
    fn new(items: &[Item], order: &[usize], grouped: bool) -> Self {
        let starts: Vec<usize> = if grouped {
            (0..order.len()).filter(|&p| p == 0 || items[order[p - 1]].group != items[order[p]].group).collect()
        } else {
            vec![0]
        };
        let run = |start: usize| {
            let mut rest = order[start..].to_vec();
            rest.sort_by(|&a, &b| {
                (items[b].value / items[b].cost).total_cmp(&(items[a].value / items[a].cost)).then(a.cmp(&b))
            });
            let sums = |of: fn(&Item) -> f64| {
                let mut sum = 0.0;
                let mut all = vec![0.0];
                all.extend(rest.iter().map(|&i| {
                    sum += of(&items[i]);
                    sum
                }));
                all
            };
            (start, sums(|item| item.cost), sums(|item| item.value))
        };
        Self { runs: starts.into_iter().map(run).collect(), ordered: !grouped }
    }

    /// What the pieces from `place` on can add within `left` if the last may be taken in part; of a group begun, the whole
    /// group is counted.
    fn rest(&self, place: usize, left: f64) -> f64 {
        let Some((start, costs, values)) = self.runs.iter().rev().find(|(start, ..)| *start <= place) else {
            return 0.0;
        };
        let from = if self.ordered { place - start } else { 0 };
        let (Some(spent), Some(gained)) = (costs.get(from), values.get(from)) else { return 0.0 };
        let fits = costs.partition_point(|cost| *cost <= spent + left) - 1;
        let whole = values[fits] - gained;
        match (costs.get(fits + 1), values.get(fits + 1)) {
            (Some(cost), Some(value)) => {
                whole + (value - values[fits]) * (spent + left - costs[fits]) / (cost - costs[fits])
            }
            _ => whole,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Seed;
    use rand::Rng;

    /// Value of every subset, within budget and group limit.
    fn brute(items: &[Item], budget: f64, per_group: usize) -> f64 {
        let worth = |set: u32| {
            let members = || items.iter().enumerate().filter(move |(i, _)| set >> i & 1 == 1).map(|(_, item)| item);
            let cost: f64 = members().map(|item| item.cost).sum();
            let crowded = (0..4).any(|group| members().filter(|item| item.group == group).count() > per_group);
            if cost > budget * (1.0 + SLACK) || crowded { 0.0 } else { members().map(|item| item.value).sum::<f64>() }
        };
        (0..1_u32 << items.len()).map(worth).fold(0.0, f64::max)
    }

    fn draw(seed: u64, count: usize, whole: bool) -> Vec<Item> {
        let mut rng = Seed::new(seed).rng();
        let mut number = || if whole { f64::from(rng.gen_range(1..12)) } else { rng.gen_range(0.05..1.0) };
        (0..count).map(|i| Item { value: number(), cost: number(), group: i % 4 }).collect()
    }

    #[test]
    fn the_choice_equals_that_of_trying_every_subset() {
        for seed in 0..300 {
            let items = draw(seed, 3 + seed as usize % 10, seed % 2 == 0);
            let all: f64 = items.iter().map(|item| item.cost).sum();
            for share in [0.0, 0.2, 0.5, 1.0] {
                for per_group in [usize::MAX, 1, 2] {
                    let found = knapsack(&items, share * all, per_group);
                    let wanted = brute(&items, share * all, per_group);
                    assert!(
                        (found.value - wanted).abs() < 1e-9,
                        "{seed} {share} {per_group}: {} {wanted}",
                        found.value
                    );
                    let sum = |of: fn(&Item) -> f64| found.chosen.iter().map(|&i| of(&items[i])).sum::<f64>();
                    assert!((sum(|item| item.value) - found.value).abs() < 1e-9);
                    assert!(sum(|item| item.cost) <= share * all + 1e-6 && found.proven);
                }
            }
        }
    }

    #[test]
    fn the_next_better_choice_is_the_cheapest_that_is_better() {
        for seed in 0..60 {
            let items = draw(seed, 8, true);
            let budget = 10.0;
            let now = brute(&items, budget, usize::MAX);
            let wanted = (11..60).map(f64::from).find(|more| brute(&items, *more, usize::MAX) > now + 1e-9);
            let found = next_better(&items, budget, 60.0, usize::MAX).map(|choice| choice.cost);
            assert_eq!(found, wanted, "{seed}");
        }
    }

    #[test]
    fn a_large_corpus_is_settled_exactly_and_fast() {
        let items = draw(1, 2_000, false);
        let found = knapsack(&items, 60.0, usize::MAX);
        assert!(found.proven && found.cost <= 60.0 * (1.0 + 1e-6));
        assert!(found.value >= greedy(&items, &(0..2_000).collect::<Vec<_>>(), 60.0, usize::MAX));
    }

    #[test]
    fn nothing_is_chosen_of_nothing() {
        assert_eq!(knapsack(&[], 5.0, usize::MAX).chosen, Vec::<usize>::new());
        let worthless = [Item { value: 0.0, cost: 1.0, group: 0 }];
        assert_eq!(knapsack(&worthless, 5.0, usize::MAX).chosen, Vec::<usize>::new());
        assert_eq!(next_better(&worthless, 0.0, 5.0, usize::MAX), None);
    }
}
