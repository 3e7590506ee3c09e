//! Associations of form: what is said where there is nothing to see, and where there is something.

use ndarray::Array2;
use rand::Rng;
use rand_distr::StandardNormal;
use tornus::Seed;
use tornus::analysis::association::{Association, Partner, regression_on, two_block};
use tornus::analysis::permutation::Draws;
use tornus::analysis::{CompareParams, Groups, compare};

use super::corpus::{Corpus, Recipe, SIXTY};

const VESSELS: usize = 24;

/// Two blocks of chance, in which the second of two instruments draws all values together and shifts them; the first two
/// variables of both blocks correlate by `share`.
fn blocks(seed: Seed, strata: Option<&[usize]>, share: f64) -> (Array2<f64>, Array2<f64>) {
    let mut rng = seed.rng();
    let mut normal = || rng.sample::<f64, _>(StandardNormal);
    let x = Array2::from_shape_fn((VESSELS, 4), |_| normal());
    let mut y = Array2::from_shape_fn((VESSELS, 3), |_| normal());
    for row in 0..VESSELS {
        for k in 0..2 {
            y[[row, k]] = share * x[[row, k]] + (1.0 - share * share).sqrt() * y[[row, k]];
        }
        if strata.is_some_and(|strata| strata[row] == 1) {
            y.row_mut(row).mapv_inplace(|value| 0.3 * value + 2.0);
        }
    }
    (x, y)
}

fn full() -> bool {
    std::env::var_os("TORNUS_FULL").is_some()
}

/// Share of corpora with p at most each level; four standard deviations of a share of so many corpora are allowed.
fn check_uniform(what: &str, found: &[f64]) {
    for level in [0.05, 0.25, 0.5, 0.75] {
        let below = found.iter().filter(|p| **p <= level).count() as f64 / found.len() as f64;
        println!("{what}: p <= {level} in {below:.4} of {} corpora", found.len());
        let allowed = 4.0 * (level * (1.0 - level) / found.len() as f64).sqrt();
        assert!((below - level).abs() < allowed, "{what}: p <= {level} in {below}");
    }
}

/// `TORNUS_FULL=1` takes 4,000 corpora instead of 400.
#[test]
fn p_is_uniform_where_nothing_goes_together() {
    let corpora: u64 = if full() { 4000 } else { 400 };
    let instruments: Vec<usize> = (0..VESSELS).map(|row| usize::from(row > 14)).collect();
    for strata in [None, Some(instruments.as_slice())] {
        let p = |corpus: u64| {
            let (x, y) = blocks(Seed::new(21).derive(corpus), strata, 0.0);
            two_block(&x, &y, strata, Draws::new(199), Seed::new(2).derive(corpus)).unwrap().test.p()
        };
        check_uniform(if strata.is_some() { "within" } else { "free" }, &(0..corpora).map(p).collect::<Vec<_>>());
    }
    let p = |corpus: u64| {
        let (x, y) = blocks(Seed::new(22).derive(corpus), None, 0.0);
        regression_on(&x, &y.column(0).to_vec(), Draws::new(199), Seed::new(3).derive(corpus)).unwrap().test.p()
    };
    check_uniform("regression", &(0..corpora).map(p).collect::<Vec<_>>());
}

#[test]
fn what_goes_together_is_found() {
    let instruments: Vec<usize> = (0..VESSELS).map(|row| usize::from(row > 14)).collect();
    let (mut pairs, mut sizes, mut along) = (0, 0, 0.0);
    for corpus in 0..40 {
        let (x, y) = blocks(Seed::new(23).derive(corpus), Some(&instruments), 0.9);
        let found = two_block(&x, &y, Some(&instruments), Draws::new(199), Seed::new(2)).unwrap();
        pairs += usize::from(found.test.p() <= 0.05);
        along += found.x_weights[0].hypot(found.x_weights[1]) / 40.0;
        let (x, y) = blocks(Seed::new(24).derive(corpus), None, 0.9);
        let found = regression_on(&x, &y.column(0).to_vec(), Draws::new(199), Seed::new(2)).unwrap();
        sizes += usize::from(found.test.p() <= 0.05);
    }
    println!("planted: {pairs} and {sizes} of 40, weight of the planted {along:.2}");
    assert!(pairs >= 36 && sizes >= 36 && along > 0.8, "{pairs} {sizes} {along}");
}

fn of(corpus: &Corpus) -> Vec<Association> {
    compare(&corpus.input(), &CompareParams::new(Groups::Auto).with_resamples(0), Seed::new(1)).unwrap().associations
}

/// Forms are spread evenly over the workshops of these corpora; but at equal greatest radius tall ones are the larger.
#[test]
fn what_was_not_planted_is_not_claimed_and_what_follows_from_the_design_is() {
    for seed in 70..73 {
        let found = of(&Corpus::draw(&Recipe { truer: 0, ..SIXTY }, seed));
        assert_eq!(found.iter().map(|one| one.partner).collect::<Vec<_>>(), [Partner::Precision, Partner::Size]);
        for one in &found {
            println!(
                "{}: {:.3}, by chance {:.3}, p {:.3}",
                one.partner.word(),
                one.effect,
                one.by_chance,
                one.test.p()
            );
            // By chance p is at most 0.01 in three of a hundred runs of this test.
            let claimed = one.test.p() <= 0.01;
            assert_eq!(claimed, one.partner == Partner::Size, "seed {seed}: p {}", one.test.p());
            assert_eq!((one.vessels.len(), one.forms.len()), (60, 2));
        }
    }
}

#[test]
fn forms_that_were_made_less_truly_are_found_and_drawn() {
    let mut pieces = Corpus::draw(&Recipe { truer: 0, workshops: 1, ..SIXTY }, 74).pieces;
    // Beakers and bottles, the tall forms, three times as untrue as the rest.
    pieces.iter_mut().filter(|piece| [1, 3].contains(&piece.form)).for_each(|piece| piece.make_coarser(3.0));
    let corpus = Corpus::of(pieces);
    let found = of(&corpus).swap_remove(0);
    println!("effect {:.3}, by chance {:.3}, p {}", found.effect, found.by_chance, found.test.p());
    assert!(found.q.unwrap() <= 0.01 && found.effect > 3.0 * found.by_chance, "{:?}", found.test);
    // Greater is coarser, and the tall ones lie at that end of either score.
    let tall: Vec<bool> = corpus.sorted().iter().map(|piece| [1, 3].contains(&piece.form)).collect();
    let mean = |wanted: bool, score: &dyn Fn(usize) -> f64| {
        let rows: Vec<usize> = (0..60).filter(|&row| tall[row] == wanted).collect();
        rows.iter().map(|&row| score(row)).sum::<f64>() / rows.len() as f64
    };
    assert!(mean(true, &|row| found.form_scores[row].0) > mean(false, &|row| found.form_scores[row].0));
    assert!(mean(true, &|row| found.partner_scores[row].0) > mean(false, &|row| found.partner_scores[row].0) + 1.0);
    assert!(found.partner_scores.iter().all(|(_, u)| u.is_some_and(|u| u > 0.0)));
    // The form at the coarse end is the slender one: those are 2.3 and 2.7 radii high.
    let slender = |outline: &[(f64, f64)]| {
        let widest = outline.iter().map(|p| p.0).fold(0.0, f64::max);
        (outline[outline.len() - 1].1 - outline[0].1) / widest
    };
    assert!(slender(&found.forms[1].outline) > slender(&found.forms[0].outline));
}
