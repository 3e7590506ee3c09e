//! Do intervals of 95 % hold the truth? Simulated vessels of every form, scanned with noise, damage and gaps.
//!
//! `TORNUS_FULL=1` simulates 1,000 vessels in place of 24; both print their table.

mod trial;

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use rayon::prelude::*;
use tornus::Seed;
use tornus::synthetic::Noise;

use trial::{Conditions, Found, centres_of_a_bent_jar, noise_found, trial};

/// Coverage factor of 95 % for a normal distribution.
const TWO_SIDED_95: f64 = 1.96;

/// What is aimed at is 93 to 97 % of each. These are the shares below which something has broken, with 24 vessels: a few per
/// cent under what many gave for the values of sections, of which a vessel has dozens that share its datum and its noise; the
/// others have one value a vessel, of which 24 may by chance hold 17 where 90 % do (one time in a hundred).
const LEAST_PERCENT: [(&str, f64); 12] = [
    ("radius", 90.0),
    ("centre", 88.0),
    ("harmonic", 90.0),
    ("RONt", 88.0),
    ("axis_straightness_outer", 70.0),
    ("roundness_outer", 70.0),
    ("roundness_inner", 70.0),
    ("coaxiality_inner", 70.0),
    ("wall_unevenness", 75.0),
    ("wall_mean", 75.0),
    ("capacity", 70.0),
    ("height", 70.0),
];

/// With 1,000 vessels, where the binomial standard deviation of a share of 95 % is 0.7 % (sections of one vessel go together, so
/// that their thousands are no more): for radius, centre, harmonics and RONt what is aimed at; for the others what the last
/// 1,000 gave, with three standard deviations. Straightness holds the truth in 93.2 %; the mean wall (97.2 %) owns half a section
/// at an unclear end, coaxiality (97.7 %) what a smoothed scan may hide, a capacity (97.4 %) a bracket of the rim's top, wide on
/// coarse scans.
const FULL_PERCENT: [(&str, RangeInclusive<f64>); 12] = [
    ("radius", 93.0..=97.0),
    ("centre", 93.0..=97.0),
    ("harmonic", 93.0..=97.0),
    ("RONt", 93.0..=97.0),
    ("axis_straightness_outer", 90.7..=97.0),
    ("capacity", 93.0..=98.5),
    ("coaxiality_inner", 93.0..=99.2),
    ("wall_mean", 93.0..=98.8),
    ("roundness_outer", 90.0..=97.0),
    ("roundness_inner", 90.0..=97.0),
    ("height", 93.0..=98.5),
    ("rim_diameter", 93.0..=99.0),
];

#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    all: usize,
    within: usize,
    /// Values below the detection limit: they are bounds, which hold if the truth does not exceed the interval.
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

    fn percent(&self) -> f64 {
        100.0 * self.within as f64 / self.all.max(1) as f64
    }
}

/// The classes a trial counts in.
fn classes(conditions: &Conditions) -> [String; 3] {
    let kind = if conditions.noise.correlated_mm > 0.0 { "correlated" } else { "white" };
    let seen = |yes: bool, what: &'static str| if yes { what } else { "" };
    let parts = [seen(conditions.damaged, " damage"), seen(conditions.gap_rad > 0.0, " gap")].concat();
    let parts = if parts.is_empty() { " whole".to_owned() } else { parts };
    ["all".to_owned(), format!("{kind} noise"), format!("scan:{parts}")]
}

#[test]
fn intervals_of_95_percent_hold_the_truth() {
    let full = std::env::var("TORNUS_FULL").is_ok();
    let count = if full { 1000 } else { 24 };
    let trials: Vec<(Conditions, Option<Vec<Found>>)> =
        (0..count).into_par_iter().map(|index| trial(Seed::new(1000 + index))).collect();
    let mut tallies: BTreeMap<(String, &'static str), Tally> = BTreeMap::new();
    let mut refused = 0;
    for (conditions, found) in &trials {
        let Some(found) = found else {
            refused += 1;
            continue;
        };
        for class in classes(conditions) {
            for one in found {
                tallies.entry((class.clone(), one.quantity)).or_default().enter(one);
            }
        }
    }
    println!("{refused} of {count} scans were refused; within 1.96 u:");
    for ((class, quantity), tally) in &tallies {
        let (percent, all) = (tally.percent(), tally.all);
        println!(
            "{class:18} {quantity:24} {percent:5.1} % of {all:5}; bounds hold {} of {}",
            tally.bounds_hold, tally.bounds
        );
    }
    assert!(refused * 20 <= count, "{refused} of {count} sound scans were refused");
    let percent = |quantity| tallies[&("all".to_owned(), quantity)].percent();
    for (quantity, least) in LEAST_PERCENT {
        assert!(percent(quantity) >= least, "{quantity}: {:.1} % within 1.96 u, at least {least} %", percent(quantity));
    }
    let beyond = FULL_PERCENT.into_iter().filter(|(quantity, range)| full && !range.contains(&percent(quantity)));
    let beyond: Vec<String> =
        beyond.map(|(quantity, range)| format!("{quantity}: {:.1} %, not in {range:?}", percent(quantity))).collect();
    assert!(beyond.is_empty(), "{beyond:#?}");
}

#[test]
fn noise_that_errs_alike_is_told_from_the_points_own() {
    // Some hundred independent patches of noise tell its power to a tenth; its length goes with the root of that.
    let both = Noise { white_mm: 0.02, correlated_mm: 0.02, length_mm: 2.5 };
    let [white, correlated, length] = noise_found(both);
    assert!((white - 0.02).abs() < 0.002, "own part {white}");
    assert!((correlated - 0.02).abs() < 0.006, "shared part {correlated}");
    assert!((length - 2.5).abs() < 1.0, "length {length}");
    let [white, correlated, _] = noise_found(Noise::white(0.02));
    assert!((white - 0.02).abs() < 0.002, "own part {white}");
    assert!(correlated < 0.004, "shared part {correlated} of noise without one");
}

/// A scan's rings lie across the vessel's own axis: a meridian told from single rings must not take their centres for its slope.
#[test]
fn a_bent_axis_is_not_straightened_by_sparse_rings() {
    for seed in [5, 6, 7] {
        let centres = centres_of_a_bent_jar(Seed::new(seed));
        let sum = |of: fn(&[f64; 2]) -> f64| centres.iter().map(of).sum::<f64>();
        let share = sum(|[found, planned]| found * planned) / sum(|[_, planned]| planned * planned);
        println!("seed {seed}: {share:.3} of the bend is found");
        // Before sections were measured about a polished meridian, 0.88 for seed 5; without noise nothing else is lost.
        assert!((share - 1.0).abs() < 0.06, "seed {seed}: {share}");
    }
}
