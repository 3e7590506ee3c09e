//! One factor: all its levels against chance, and each pair of them.

use ndarray::{Array2, Axis};

use super::super::permutation::{
    Draws, PermutationTest, Placement, Term, TermTest, VarianceByTerms, variance_by_terms,
};
use super::super::statistics::{benjamini_hochberg, cramers_v};
use super::dispersion::equal_scatter;
use super::factor::Factor;
use super::samples::Samples;
use crate::quantity::Seed;

/// Above this association of levels and instruments a reader is told ("common practice, no source": 0.5 is a strong one).
const STRONG: f64 = 0.5;

/// What is compared between levels.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Aspect {
    /// The outline, size left aside.
    Form,
    /// The centroid size.
    Size,
    /// How truly the vessels were made.
    Precision,
}

impl Aspect {
    /// The word for it in tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Form => "form",
            Self::Size => "size",
            Self::Precision => "precision",
        }
    }
}

/// One test of a difference between levels of a factor.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// The catalogue column.
    pub factor: String,
    /// What is compared.
    pub of: Aspect,
    /// The two levels compared; `None`: all of them.
    pub pair: Option<(String, String)>,
    /// Mean square between levels over mean square within them.
    pub f: Option<f64>,
    /// Share of the variance that goes with the levels (within instruments, where these were held apart).
    pub r2: Option<f64>,
    /// The permutation test of that ratio; `None` where there is nothing to test.
    pub test: Option<PermutationTest>,
    /// Its p adjusted over all whole factors in the same aspect, or over the pairs of one factor and aspect: whether forms
    /// differ and whether sizes do are two questions, and one's answer does not hang on the other having been asked.
    pub q: Option<f64>,
    /// P-value of the test that the levels scatter alike about their own means: where they do not, a small p may mean that.
    /// `None` of fewer than ten vessels.
    pub dispersion_p: Option<f64>,
    /// Vessels compared.
    pub vessels: usize,
    /// Geometric mean of size, or of the precision measures, of the second level over the first.
    pub ratio: Option<f64>,
    /// Association of the levels with the instruments, Cramer's V; `None` with one instrument.
    pub instrument_v: Option<f64>,
    /// What a reader must know.
    pub note: Option<String>,
}

/// Tests every factor in every aspect; sorted as the factors and aspects are given, the whole before its pairs.
///
/// # References
/// Anderson 2001 (the test of location), Anderson 2006 (that of dispersion); Efron 2008, Simultaneous inference: when should
/// hypothesis testing problems be combined? (false discovery rates held within each question hold over all).
pub(in crate::analysis) fn differences(
    factors: &[Factor],
    samples: &[(Aspect, Samples)],
    seed: Seed,
) -> Vec<Difference> {
    let mut found = Vec::new();
    for (number, factor) in factors.iter().enumerate() {
        for (aspect, samples) in samples {
            let seed = seed.derive(number as u64).derive(*aspect as u64);
            found.extend(of_factor(factor, *aspect, samples, seed));
        }
    }
    for (aspect, _) in samples {
        adjust(&mut found, |difference| difference.of == *aspect && difference.pair.is_none());
    }
    found
}

fn of_factor(factor: &Factor, aspect: Aspect, samples: &Samples, seed: Seed) -> Vec<Difference> {
    let levels = samples.levels(factor);
    if levels.len() < 2 {
        return Vec::new();
    }
    let one = |levels: &[usize], seed: Seed| test_levels(factor, aspect, samples, levels, seed);
    let mut pairs = Vec::new();
    for (place, &first) in levels.iter().enumerate() {
        for &second in &levels[place + 1..] {
            let pair = Some((factor.levels[first].clone(), factor.levels[second].clone()));
            pairs.push(Difference { pair, ..one(&[first, second], seed.derive(1 + pairs.len() as u64)) });
        }
    }
    let whole = match pairs.as_slice() {
        [only] => only.clone(),
        _ => one(&levels, seed.derive(0)),
    };
    let whole = Difference { pair: None, ratio: None, ..whole };
    adjust(&mut pairs, |_| true);
    std::iter::once(whole).chain(pairs).collect()
}

/// Adjusts the p-values of the chosen tests together.
fn adjust(differences: &mut [Difference], chosen: impl Fn(&Difference) -> bool) {
    let p = |difference: &Difference| difference.test.filter(|_| chosen(difference)).map(|test| test.p());
    let adjusted = benjamini_hochberg(&differences.iter().map(p).collect::<Vec<_>>());
    for (difference, q) in differences.iter_mut().zip(adjusted).filter(|(_, q)| q.is_some()) {
        difference.q = q;
    }
}

fn test_levels(factor: &Factor, aspect: Aspect, samples: &Samples, levels: &[usize], seed: Seed) -> Difference {
    let (rows, of) = samples.rows(factor, levels, seed.derive(0));
    let values = samples.values.select(Axis(0), &rows);
    let instruments: Option<Vec<usize>> =
        samples.instruments.as_ref().map(|all| rows.iter().map(|&row| all[row]).collect());
    let strata = instruments.as_deref().filter(|_| samples.within_instruments).filter(|all| several(all));
    let located = part(&values, &of, strata, seed.derive(1));
    let instrument_v = instruments.as_deref().and_then(|instruments| cramers_v(&of, instruments));
    let (last, left) = match &located {
        Some(parted) => (parted.terms.last().copied(), left_to_levels(parted)),
        None => (None, 0.0),
    };
    let share = |last: &TermTest| (left > 0.0 && last.freedom > 0).then(|| last.sum_of_squares / left);
    Difference {
        factor: factor.name.clone(),
        of: aspect,
        pair: None,
        f: last.and_then(|last| last.f),
        r2: last.as_ref().and_then(share),
        test: last.and_then(|last| last.test),
        q: None,
        dispersion_p: equal_scatter(&values, &of, strata, seed.derive(2)).map(|test| test.p()),
        vessels: rows.len(),
        ratio: samples.logarithms.as_ref().and_then(|all| ratio(&all.select(Axis(0), &rows), &of)),
        note: note(last, instrument_v, strata.is_some()),
        instrument_v,
    }
}

fn several(numbers: &[usize]) -> bool {
    numbers.windows(2).any(|pair| pair[0] != pair[1])
}

/// The variance parted between instruments, where they are held apart, and levels.
fn part(values: &Array2<f64>, of: &[usize], strata: Option<&[usize]>, seed: Seed) -> Option<VarianceByTerms> {
    let mut terms: Vec<Term> = strata.map(Term::factor).into_iter().collect();
    terms.push(Term::factor(of));
    variance_by_terms(&Placement::of_variables(values)?, &terms, strata, Draws::affordable(of.len()), seed)
}

/// What the terms before the levels leave of the sum of squares.
fn left_to_levels(parted: &VarianceByTerms) -> f64 {
    let before = parted.terms.len().saturating_sub(1);
    parted.total - parted.terms[..before].iter().map(|term| term.sum_of_squares).sum::<f64>()
}

/// Geometric mean of the greater of two levels' numbers over the lesser's; `None` without a column.
fn ratio(logarithms: &Array2<f64>, of: &[usize]) -> Option<f64> {
    let (first, second) = (*of.iter().min()?, *of.iter().max()?);
    let mean = |level: usize| {
        let rows: Vec<usize> = (0..of.len()).filter(|&row| of[row] == level).collect();
        logarithms.select(Axis(0), &rows).mean()
    };
    Some((mean(second)? - mean(first)?).exp())
}

fn note(last: Option<TermTest>, instrument_v: Option<f64>, held_apart: bool) -> Option<String> {
    let mut words = Vec::new();
    if last.is_none_or(|last| last.freedom == 0) && held_apart {
        words.push("every level has instruments of its own: levels and instruments cannot be told apart".to_owned());
    } else if let Some(v) = instrument_v.filter(|v| *v >= STRONG) {
        words.push(format!("levels go with instruments (Cramer's V {v:.2}): part of a difference may be theirs"));
    }
    if held_apart {
        words.push("tested within instruments".to_owned());
    }
    (!words.is_empty()).then(|| words.join("; "))
}

#[cfg(test)]
mod tests {
    use ndarray::array;
    use rand::Rng;
    use rand_distr::StandardNormal;

    use super::*;

    fn factor(of: &[usize]) -> Factor {
        let levels = of.iter().max().map_or(0, |most| most + 1);
        Factor {
            name: "donor".to_owned(),
            levels: (0..levels).map(|level| format!("level {level}")).collect(),
            of: of.iter().enumerate().map(|(row, level)| (id(row), *level)).collect(),
        }
    }

    fn id(row: usize) -> String {
        format!("v{row:03}")
    }

    fn samples(values: Array2<f64>, instruments: Option<&[usize]>) -> Samples {
        Samples {
            vessels: (0..values.nrows()).map(id).collect(),
            logarithms: Some(values.clone()),
            values,
            instruments: instruments.map(<[usize]>::to_vec),
            within_instruments: instruments.is_some(),
        }
    }

    fn found(values: Array2<f64>, of: &[usize], instruments: Option<&[usize]>) -> Vec<Difference> {
        differences(&[factor(of)], &[(Aspect::Size, samples(values, instruments))], Seed::new(1))
    }

    #[test]
    fn two_levels_are_one_test_said_twice() {
        // Means 1 and 11 about 6: 6 x 25 = 150 between them and 6 x 2/3 = 4 within; 4 degrees of freedom within.
        let found = found(array![[0.0], [1.0], [2.0], [10.0], [11.0], [12.0]], &[0, 0, 0, 1, 1, 1], None);
        assert_eq!(found.len(), 2);
        for one in &found {
            assert!((one.f.unwrap() - 150.0).abs() < 1e-9 && (one.r2.unwrap() - 150.0 / 154.0).abs() < 1e-12);
            // Of 20 arrangements two part them so; a single test is not adjusted.
            assert!((one.test.unwrap().p() - 0.1).abs() < 1e-12 && (one.q.unwrap() - 0.1).abs() < 1e-12);
            assert_eq!((one.vessels, one.note.as_ref(), one.instrument_v), (6, None, None));
        }
        assert_eq!((found[0].pair.as_ref(), found[0].ratio), (None, None));
        assert_eq!(found[1].pair, Some(("level 0".to_owned(), "level 1".to_owned())));
        assert!((found[1].ratio.unwrap() - 10.0_f64.exp()).abs() < 1e-6, "a difference of logarithms is a ratio");
        assert_eq!(found[1].dispersion_p, None, "six vessels are too few to compare how they scatter");
    }

    #[test]
    fn pairs_are_adjusted_among_themselves_and_small_levels_left_out() {
        let values = array![[0.0], [1.0], [2.0], [10.0], [11.0], [12.5], [0.2], [1.1], [2.3], [50.0], [51.0]];
        let found = found(values, &[0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3], None);
        let pairs: Vec<(&str, &str)> =
            found.iter().filter_map(|d| d.pair.as_ref()).map(|(a, b)| (a.as_str(), b.as_str())).collect();
        assert_eq!(pairs, [("level 0", "level 1"), ("level 0", "level 2"), ("level 1", "level 2")]);
        assert_eq!((found[0].vessels, found[1].vessels), (9, 6), "the level of two takes no part");
        // p of 0.1, about 1 and 0.1: adjusted 0.1 x 3 / 2 for the smaller ones.
        let q: Vec<f64> = found[1..].iter().map(|d| d.q.unwrap()).collect();
        assert!((q[0] - 0.15).abs() < 1e-12 && (q[2] - 0.15).abs() < 1e-12 && q[1] > 0.5, "{q:?}");
    }

    #[test]
    fn what_is_asked_of_form_is_not_adjusted_for_what_is_asked_of_size() {
        let apart = array![[0.0], [1.0], [2.0], [10.0], [11.0], [12.0]];
        let mixed = array![[0.0], [10.0], [2.0], [1.0], [11.0], [3.0]];
        let of = [0, 0, 0, 1, 1, 1];
        let aspects = [(Aspect::Form, samples(apart, None)), (Aspect::Size, samples(mixed, None))];
        let factors = [factor(&of), Factor { name: "setting".to_owned(), ..factor(&[0, 1, 0, 1, 0, 1]) }];
        let found = differences(&factors, &aspects, Seed::new(1));
        let whole = |aspect, factor: &str| {
            found.iter().find(|d| d.of == aspect && d.factor == factor && d.pair.is_none()).unwrap()
        };
        // Two factors: the lesser p of an aspect doubles, whatever the other aspect shows; 2 of 20 arrangements part so.
        assert!((whole(Aspect::Form, "donor").q.unwrap() - 0.2).abs() < 1e-12);
        let of_size = ["donor", "setting"].map(|factor| whole(Aspect::Size, factor));
        let least = of_size.iter().map(|d| d.test.unwrap().p()).fold(1.0, f64::min);
        assert!(of_size.iter().all(|d| d.q.unwrap() >= least && d.q.unwrap() <= 1.0) && least > 0.2);
    }

    #[test]
    fn what_an_instrument_adds_is_no_difference() {
        let values = array![[0.0], [1.0], [2.0], [1.0], [11.0], [10.0], [12.0], [11.0]];
        let instruments = [0, 0, 0, 0, 1, 1, 1, 1];
        let mixed = &found(values.clone(), &[0, 0, 0, 1, 0, 1, 1, 1], Some(&instruments))[0];
        assert!(mixed.test.unwrap().p() > 0.5 && mixed.r2.unwrap() < 0.2, "{mixed:?}");
        // Three and one of either level with each instrument: chi-square 2 of 8 vessels, V = 1/2.
        assert!((mixed.instrument_v.unwrap() - 0.5).abs() < 1e-12);
        assert!(mixed.note.as_ref().unwrap().contains("V 0.50"));
        let apart = &found(values, &instruments, Some(&instruments))[0];
        assert_eq!((apart.test, apart.r2), (None, None));
        assert!(apart.note.as_ref().unwrap().contains("cannot be told apart"));
    }

    #[test]
    fn unequal_scatter_is_told_from_unequal_means() {
        let of: Vec<usize> = (0..24).map(|row| row % 2).collect();
        let values = Array2::from_shape_fn((24, 1), |(row, _)| {
            let step = (row / 2) as f64 - 5.5;
            if row % 2 == 0 { step } else { 0.02 * step }
        });
        let found = found(values, &of, None);
        assert!(found[0].dispersion_p.unwrap() < 0.01 && found[0].test.unwrap().p() > 0.9, "{found:?}");
    }

    /// Where nothing differs p is at most a level as often as the exact test allows, with and without instruments that
    /// shift. `TORNUS_FULL=1` takes 20,000 corpora instead of 1,000.
    #[test]
    fn false_alarms_are_as_many_as_stated() {
        let corpora: u64 = if std::env::var_os("TORNUS_FULL").is_some() { 20_000 } else { 1_000 };
        let instruments: Vec<usize> = (0..12).map(|row| row / 6).collect();
        // 4 against 6 vessels: 210 arrangements; 3 against 3 with each of two instruments: 20 x 20, in pairs that are mirror images.
        let free: Vec<usize> = (0..10).map(|row| usize::from(row > 3)).collect();
        let within: Vec<usize> = (0..12).map(|row| row % 2).collect();
        for (of, instruments, steps) in [(free, None, 210.0), (within, Some(instruments.as_slice()), 200.0)] {
            let one = |corpus: u64| {
                let mut rng = Seed::new(12).derive(corpus).rng();
                let shift = |row: usize| instruments.map_or(0.0, |all| 4.0 * all[row] as f64);
                let draw = |(row, _): (usize, usize)| rng.sample::<f64, _>(StandardNormal) + shift(row);
                found(Array2::from_shape_fn((of.len(), 2), draw), &of, instruments).swap_remove(0)
            };
            let all: Vec<Difference> = (0..corpora).map(one).collect();
            let share =
                |small: &dyn Fn(&Difference) -> bool| all.iter().filter(|d| small(d)).count() as f64 / corpora as f64;
            for level in [0.05, 0.25, 0.5] {
                let below = share(&|d| d.test.is_some_and(|test| test.p() <= level));
                let wanted = (level * steps + 1e-9).floor() / steps;
                // Four standard deviations of a share of so many corpora.
                let allowed = 4.0 * (level * (1.0 - level) / corpora as f64).sqrt();
                assert!((below - wanted).abs() < allowed, "p <= {level} in {below}, {wanted} wanted");
            }
            // Residuals are not wholly exchangeable in levels as small as these: independent numpy finds scatter unequal in up
            // to 7.3 % of 1,500 corpora of five and six. Four standard deviations of a share of 1,000 are 3.3 %.
            let scatter = share(&|d| d.dispersion_p.is_some_and(|p| p <= 0.05));
            assert!(scatter < 0.073 + 0.033, "{scatter}");
        }
    }
}
