//! Proportions in simulated corpora: how often chance is taken for a design, and a design for chance.
//!
//! `TORNUS_FULL=1 cargo test --release --test it -- analysis::proportion` tries sixty claims in each of 1,000 corpora.

use rand::Rng;
use rand_distr::StandardNormal;
use rayon::prelude::*;
use tornus::Seed;
use tornus::analysis::proportion::{
    Claim, Claims, Constant, Lengths, NamedLength, Proportions, Source, Statements, Value, judge_lengths,
};
use tornus::quantity::Estimate;

const VESSELS: usize = 60;

/// Relative standard uncertainty of every length.
const U: f64 = 0.0005;

fn full() -> bool {
    std::env::var_os("TORNUS_FULL").is_some()
}

fn claims(lengths: usize, constants: &[Value], pairs: &[Claim]) -> Claims {
    let length =
        |k: usize| NamedLength { name: format!("length {k}"), source: Source::Measure(String::new()), times: 1.0 };
    let constant = |(k, value): (usize, &Value)| Constant { name: format!("constant {k}"), value: *value, tried: 1 };
    Claims {
        fixed_before_looking: true,
        coverage_factor: 2.0,
        tolerance: 0.001,
        reach: 0.05,
        size: "size".to_owned(),
        lengths: (0..lengths).map(length).collect(),
        constants: constants.iter().enumerate().map(constant).collect(),
        claims: pairs.to_vec(),
        series: Vec::new(),
        designs: Vec::new(),
    }
}

/// Lengths that scatter by 15 % about their own means, and vessels by 25 % in size; the first `held` vessels have
/// length 0 at 1.618 times length 1, to 0.1 %.
fn corpus(lengths: usize, held: usize, seed: u64) -> Lengths {
    let mut rng = Seed::new(seed).rng();
    let mut values = vec![Vec::new(); lengths];
    let mut sizes = Vec::new();
    for vessel in 0..VESSELS {
        let mut normal = || rng.sample::<f64, _>(StandardNormal);
        let size = 40.0 * (0.25 * normal()).exp();
        let mut own: Vec<f64> = (0..lengths).map(|k| size * (0.15 * normal() - 0.2 * k as f64).exp()).collect();
        if vessel < held {
            own[0] = own[1] * 1.618 * (0.001 * normal()).exp();
        }
        for (column, value) in values.iter_mut().zip(&own) {
            let seen = value * (U * normal()).exp();
            column.push(Estimate::new(seen, U * seen).ok());
        }
        sizes.push(Some(size));
    }
    Lengths { vessels: (0..VESSELS).map(|v| format!("{v:02}")).collect(), groups: vec![None; VESSELS], sizes, values }
}

fn judged(lengths: &Lengths, claims: Claims, seed: u64) -> Proportions {
    judge_lengths(lengths, &Statements::new(claims).expect("claims in range"), Seed::new(seed))
}

fn fixed() -> [Value; 3] {
    [Value::Fixed(1.618), Value::Fixed(1.25), Value::Fixed(2.0_f64.sqrt())]
}

#[test]
fn without_an_effect_one_corpus_in_twenty_seems_to_have_one() {
    // Lengths 0 and 1 are in the ratio 1.22 on average, spread 21 %: both constants lie within the corpus.
    let two = [Claim { of: 0, over: 1, constant: 0 }, Claim { of: 0, over: 1, constant: 1 }];
    let (lengths, pairs) = if full() { (5, &[][..]) } else { (2, &two[..]) };
    let found: Vec<(f64, f64, bool)> = (0..1_000_u64)
        .into_par_iter()
        .map(|seed| {
            let found = judged(&corpus(lengths, 0, seed), claims(lengths, &fixed(), pairs), seed);
            let one = found.verdicts[0].p.expect("a ratio within reach");
            let all = found.together.as_ref().expect("claims that can be judged").p;
            (one, all, found.verdicts.iter().any(|verdict| verdict.accepted))
        })
        .collect();
    let share = |holds: &dyn Fn(&(f64, f64, bool)) -> bool| found.iter().filter(|one| holds(one)).count() as f64 / 1e3;
    let (one, all, accepted) = (share(&|f| f.0 < 0.05), share(&|f| f.1 < 0.05), share(&|f| f.2));
    println!("p < 0.05 of one claim: {one}; of all together: {all}; something accepted: {accepted}");
    // The standard error of a share of 5 % of 1,000 is 0.7 %; the bound asked for is 1.5 %.
    assert!((one - 0.05).abs() <= 0.015 && (all - 0.05).abs() <= 0.015, "{one} {all}");
    // Found on one half and confirmed on the other: far below 5 %.
    assert!(accepted <= 0.01, "{accepted}");
}

#[test]
fn a_proportion_held_by_ten_of_sixty_is_found_and_accepted() {
    let corpora = if full() { 1_000 } else { 60_u64 };
    let found: Vec<(bool, bool)> = (0..corpora)
        .into_par_iter()
        .map(|seed| {
            let found = judged(&corpus(4, 10, 7_000 + seed), claims(4, &fixed(), &[]), seed);
            let planted = &found.verdicts[0];
            assert_eq!(planted.statement, "length 0 / length 1 = constant 0");
            (planted.q.is_some_and(|q| q <= 0.05), planted.accepted)
        })
        .collect();
    let share =
        |holds: fn(&(bool, bool)) -> bool| found.iter().filter(|one| holds(one)).count() as f64 / corpora as f64;
    let (seen, accepted) = (share(|one| one.0), share(|one| one.1));
    println!("36 claims tried, q <= 0.05: {seen}; accepted by the held-out half: {accepted}");
    // Of 60 corpora and a power of 0.95 all but 1 % have 0.87 or more; the target of 0.9 holds for what is found.
    assert!(seen >= 0.9, "{seen}");
    assert!(accepted >= if full() { 0.9 } else { 0.85 }, "{accepted}");
}

#[test]
fn a_claim_tuned_on_the_vessels_it_is_tested_on_is_not_accepted() {
    let corpora = if full() { 1_000 } else { 300_u64 };
    let pair = [Claim { of: 0, over: 1, constant: 0 }];
    let found: Vec<(bool, bool, bool)> = (0..corpora)
        .into_par_iter()
        .map(|seed| {
            let lengths = corpus(2, 0, 20_000 + seed);
            let open = Value::Fitted { from: 0.9, to: 1.6 };
            let tuned = judged(&lengths, claims(2, &[open], &pair), seed);
            // The constant that most vessels match, stated as if it had been known, but not declared so.
            let best = best_constant(&lengths);
            let stated = claims(2, &[Value::Fixed(best)], &pair);
            let undeclared = judged(&lengths, Claims { fixed_before_looking: false, ..stated }, seed);
            let seems = undeclared.verdicts[0].p.is_some_and(|p| p < 0.05);
            (tuned.verdicts[0].accepted, undeclared.verdicts[0].accepted, seems)
        })
        .collect();
    let share =
        |holds: fn(&(bool, bool, bool)) -> bool| found.iter().filter(|one| holds(one)).count() as f64 / corpora as f64;
    let (tuned, undeclared, seems) = (share(|one| one.0), share(|one| one.1), share(|one| one.2));
    println!("tuned constants accepted: {tuned}; p < 0.05 on the vessels they were tuned on: {seems}");
    // 5 % of 300 with a standard error of 1.3 %: three of them.
    assert!(tuned <= 0.09 && undeclared < 1e-9, "{tuned} {undeclared}");
    assert!(seems > 0.9, "tuning must be tempting for the test to mean something: {seems}");
}

fn best_constant(lengths: &Lengths) -> f64 {
    let value = |column: usize, vessel: usize| lengths.values[column][vessel].map_or(1.0, |e| e.value());
    let ratios: Vec<f64> = (0..VESSELS).map(|v| value(0, v) / value(1, v)).collect();
    let near = |constant: f64| ratios.iter().filter(|ratio| (*ratio / constant).ln().abs() < 0.0024).count();
    let inner = ratios.iter().copied().filter(|ratio| (0.9..1.6).contains(ratio));
    inner.max_by_key(|ratio| near(*ratio)).expect("ratios within the range")
}
