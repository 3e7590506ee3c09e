//! Do intervals of 95 % hold the truth? Simulated vessels of every form, scanned with noise, damage and gaps.

mod trial;

use std::collections::BTreeMap;

use rayon::prelude::*;
use tornus::Seed;

use trial::{Conditions, Found, trial};

/// Coverage factor of 95 % for a normal distribution.
const TWO_SIDED_95: f64 = 1.96;

#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    all: usize,
    within: usize,
    /// Below the detection limit: the bound holds if the truth does not exceed it by more than the interval.
    bounds: usize,
    bounds_hold: usize,
}

impl Tally {
    fn enter(&mut self, found: &Found) {
        let (value, u) = (found.estimate.value(), found.estimate.standard_uncertainty());
        if found.detection_limit.is_some_and(|limit| value < limit) {
            self.bounds += 1;
            self.bounds_hold += usize::from(found.truth <= value + TWO_SIDED_95 * u);
        } else {
            self.all += 1;
            self.within += usize::from((value - found.truth).abs() <= TWO_SIDED_95 * u);
        }
    }

    fn share(&self) -> f64 {
        100.0 * self.within as f64 / self.all.max(1) as f64
    }
}

fn classes(conditions: &Conditions) -> Vec<String> {
    let noise = conditions.noise;
    let total = noise.white_mm.hypot(noise.correlated_mm);
    let size = |value: f64, edges: [f64; 2]| if value < edges[0] { "low" } else if value < edges[1] { "mid" } else { "high" };
    vec![
        "all".to_owned(),
        format!("form {:?}", conditions.form),
        format!("noise {} {}", if noise.correlated_mm > 0.0 { "correlated" } else { "white" }, size(total, [0.005, 0.03])),
        format!("triangles {}", size(conditions.triangles as f64, [7e4, 3e5])),
        format!("damage {} gap {}", conditions.damaged, conditions.gap_rad > 0.0),
    ]
}

#[test]
fn intervals_of_95_percent_hold_the_truth() {
    let count: u64 = std::env::var("TORNUS_TRIALS").ok().and_then(|n| n.parse().ok()).unwrap_or(24);
    let trials: Vec<(Conditions, Option<Vec<Found>>)> =
        (0..count).into_par_iter().map(|index| trial(Seed::new(1000 + index))).collect();
    let mut tallies: BTreeMap<(String, &'static str), Tally> = BTreeMap::new();
    let mut refused = 0;
    for (index, (conditions, found)) in trials.iter().enumerate() {
        let Some(found) = found else {
            refused += 1;
            println!("refused: {conditions:?}");
            continue;
        };
        for class in classes(conditions) {
            for one in found {
                tallies.entry((class.clone(), one.quantity)).or_default().enter(one);
            }
        }
        if std::env::var("TORNUS_DUMP").is_ok() {
            for one in found {
                let (v, u) = (one.estimate.value(), one.estimate.standard_uncertainty());
                println!("DUMP {index} {:?} {} {} {} {} {} {:.4} | {} {v} {u} {} {}", conditions.form, conditions.triangles, conditions.noise.white_mm, conditions.noise.correlated_mm, conditions.damaged, conditions.gap_rad, conditions.roundness_mm, one.quantity, one.truth, one.detection_limit.unwrap_or(0.0));
            }
        }
    }
    println!("{refused} of {count} refused");
    for ((class, quantity), tally) in &tallies {
        println!("{class:28} {quantity:26} {:6.1} % of {:5}; bounds hold {} of {}", tally.share(), tally.all, tally.bounds_hold, tally.bounds);
    }
}
