//! Vessels three times as true as their peers: how many are found, and how many others are named.
//!
//! In CI a few corpora; `TORNUS_FULL=1 cargo test --release --test it -- precision_outliers --nocapture` draws 200 of each
//! design and prints the power reached, the power that is possible, and the false discoveries.

use rayon::prelude::*;
use tornus::Seed;
use tornus::analysis::outlier::Direction;
use tornus::math::density::{normal_cdf, normal_quantile};

use super::planted::{Design, IN_COMMON, MEASURES, Planted, TRUER_TIMES, Truth, corpora, may_be_bad};

const ONE: &[(f64, f64)] = &[(0.15, 3.5)];
const THREE: &[(f64, f64)] = &[(0.05, 7.0), (0.15, 4.0), (0.40, 2.0)];

/// Corpora in CI, false discoveries as stated, and the power wanted where it is possible.
const QUICK: u64 = 12;
const RATE: f64 = 0.05;
const POWER: f64 = 0.95;

/// Where the p-values of usual vessels are held against their share.
const TAILS: [f64; 2] = [0.01, 0.05];

/// What a mean over corpora may lie off, in its own standard errors: once in 700 by chance.
const ALLOWED_ERRORS: f64 = 3.0;

/// Sixty vessels from one workshop, good scans, three vessels truer. A measure spreads by a quarter: with what measures have in
/// common a vessel's level spreads by 0.17, so that three times as true is 6.4 standard deviations.
const PLAIN: Design = Design { vessels: 60, groups: ONE, scatter: 0.25, poor: false, smoothed: false, truer: 3 };

/// What came of the corpora of one design.
#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    corpora: f64,
    /// Truer vessels whose scan allows their finding, those found, and the sum of the probabilities to find them at best.
    allowed: f64,
    found: f64,
    possible: f64,
    /// Corpora in which a wrong one is named.
    any_wrong: f64,
    /// Share of wrong ones among the named, by corpus.
    wrong: Moments,
    /// Share of usual vessels with p of at most each of [`TAILS`], by corpus.
    tails: [Moments; 2],
}

/// Sums over corpora, which are independent where the vessels of one corpus are not: all are held against one spread.
#[derive(Clone, Copy, Debug, Default)]
struct Moments {
    count: f64,
    sum: f64,
    squares: f64,
}

impl Moments {
    const fn of(value: f64) -> Self {
        Self { count: 1.0, sum: value, squares: value * value }
    }

    fn plus(self, other: Self) -> Self {
        Self { count: self.count + other.count, sum: self.sum + other.sum, squares: self.squares + other.squares }
    }

    fn mean(self) -> f64 {
        self.sum / self.count
    }

    /// Of the mean.
    fn standard_error(self) -> f64 {
        ((self.squares / self.count - self.mean() * self.mean()).max(0.0) / (self.count - 1.0)).sqrt()
    }
}

impl Tally {
    fn of(design: &Design, seed: u64) -> Self {
        let corpus = Planted::draw(design, Seed::new(1_000 + seed));
        let found = corpus.compared(Seed::new(seed)).precision_outliers;
        let mut tally = Self { corpora: 1.0, ..Self::default() };
        let (mut named, mut wrong, mut usual, mut small) = (0.0, 0.0, 0.0, [0.0; 2]);
        for (truth, outlier) in corpus.truth.iter().zip(&found) {
            let is_named = outlier.q.is_some_and(|q| q <= RATE);
            let right = is_named && truth.truer && outlier.direction == Some(Direction::Finer);
            named += one_if(is_named);
            wrong += one_if(is_named && !right);
            if truth.truer && truth.allowed {
                tally.allowed += 1.0;
                tally.found += one_if(right);
                tally.possible += possible_power(design, truth);
            }
            if !truth.truer {
                usual += 1.0;
                let p = outlier.p.unwrap_or(1.0);
                small.iter_mut().zip(TAILS).for_each(|(count, tail)| *count += one_if(p <= tail));
            }
        }
        tally.any_wrong = one_if(wrong > 0.0);
        tally.wrong = Moments::of(if named > 0.0 { wrong / named } else { 0.0 });
        tally.tails = small.map(|count| Moments::of(count / usual));
        tally
    }

    fn plus(self, other: Self) -> Self {
        Self {
            corpora: self.corpora + other.corpora,
            allowed: self.allowed + other.allowed,
            found: self.found + other.found,
            possible: self.possible + other.possible,
            any_wrong: self.any_wrong + other.any_wrong,
            wrong: self.wrong.plus(other.wrong),
            tails: [0, 1].map(|k| self.tails[k].plus(other.tails[k])),
        }
    }
}

fn one_if(so: bool) -> f64 {
    f64::from(u8::from(so))
}

/// Power of the likeliest test (Neyman & Pearson) of one who knows every distribution, at the p that the last of the planted
/// vessels must reach: a level spreads by what measures have in common, by the mean of what they have alone, and by the
/// noise of its scan, which measures of one scan may share.
fn possible_power(design: &Design, truth: &Truth) -> f64 {
    let measures = MEASURES.len() as f64;
    let own = design.scatter * (IN_COMMON + (1.0 - IN_COMMON) / measures).sqrt();
    let noise = truth.relative.iter().sum::<f64>() / measures;
    let p = RATE * design.truer as f64 / design.vessels as f64;
    normal_cdf(TRUER_TIMES.ln() / own.hypot(noise) + normal_quantile(p / 2.0))
}

fn tally(design: &Design) -> Tally {
    let count = corpora(QUICK);
    let all: Vec<Tally> = (0..count).into_par_iter().map(|seed| Tally::of(design, seed)).collect();
    let sum = all.into_iter().fold(Tally::default(), Tally::plus);
    let share = |moments: Moments| format!("{:.4} +- {:.4}", moments.mean(), moments.standard_error());
    println!(
        "{design:?}: power {:.3} where {:.3} is possible ({} vessels); false discoveries {}, in {:.3} of corpora; p <= 1 % {}, p <= 5 % {}",
        sum.found / sum.allowed.max(1.0),
        sum.possible / sum.allowed.max(1.0),
        sum.allowed,
        share(sum.wrong),
        sum.any_wrong / sum.corpora,
        share(sum.tails[0]),
        share(sum.tails[1]),
    );
    sum
}

/// Where nothing is to be found one corpus in twenty may name a vessel, otherwise the share of wrong ones among the named is held
/// against the rate stated; small p of usual vessels may be no more frequent than they say.
///
/// Half poor and a fifth smoothed scans come near the bound (28 of 300 corpora without a truer vessel name one). Those named are
/// sharp scans, finer or coarser: the variances stated for the others are greater than what they scatter by, so that the spread
/// of true levels comes out too small, and fewer vessels tell of it than is counted.
fn check_false_discoveries(design: &Design, found: &Tally) {
    if design.truer == 0 {
        let allowed = may_be_bad(found.corpora as u64, RATE);
        assert!(found.any_wrong <= allowed as f64, "{design:?}: {} of {} corpora", found.any_wrong, found.corpora);
    }
    let at_most = |found: Moments, wanted: f64| {
        let allowed = wanted + ALLOWED_ERRORS * found.standard_error();
        assert!(found.mean() <= allowed, "{design:?}: {} where {wanted} is stated, {allowed} allowed", found.mean());
    };
    if design.truer > 0 {
        at_most(found.wrong, RATE);
    }
    found.tails.into_iter().zip(TAILS).for_each(|(share, tail)| at_most(share, tail));
}

fn check_power(design: &Design, found: &Tally) {
    let missed = found.allowed - found.found;
    let allowed = may_be_bad(found.allowed as u64, 1.0 - POWER);
    assert!(missed <= allowed as f64, "{design:?}: {missed} of {} missed", found.allowed);
}

#[test]
fn vessels_three_times_as_true_are_found_and_few_others() {
    for design in [PLAIN, Design { poor: true, ..PLAIN }, Design { poor: true, groups: THREE, ..PLAIN }] {
        let found = tally(&design);
        check_power(&design, &found);
        check_false_discoveries(&design, &found);
    }
}

#[test]
fn few_are_named_where_nothing_is_unusual() {
    for design in [PLAIN, Design { poor: true, smoothed: true, ..PLAIN }] {
        let design = Design { truer: 0, ..design };
        let found = tally(&design);
        check_false_discoveries(&design, &found);
    }
}

/// No bound on the power, which arithmetic holds below what is wanted: a measure that spreads by 0.35 makes three times as true
/// 4.6 standard deviations, and what smoothing may have taken widens them further.
#[test]
fn power_where_little_is_possible_is_printed() {
    let wide = Design { scatter: 0.35, ..PLAIN };
    let smoothed = Design { poor: true, smoothed: true, ..PLAIN };
    let many = Design { vessels: 300, ..wide };
    let designs = [wide, smoothed, many, Design { groups: THREE, ..wide }, Design { groups: THREE, ..many }];
    let quick = if corpora(QUICK) == QUICK { 2 } else { designs.len() };
    for design in &designs[..quick] {
        let found = tally(design);
        check_false_discoveries(design, &found);
    }
}
