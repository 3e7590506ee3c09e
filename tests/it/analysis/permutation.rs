//! Tests by rearrangement: a published analysis, and what they say where there is nothing to see.

use std::path::PathBuf;

use ndarray::Array2;
use rand::Rng;
use tornus::Seed;
use tornus::analysis::permutation::{Draws, Placement, Term, TermTest, variance_by_terms};

/// The cells of a reference table; `None`, with a line that says so, where it is absent.
fn reference(name: &str) -> Option<Vec<csv::StringRecord>> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/reference/permutation").join(name);
    let Ok(mut reader) = csv::Reader::from_path(path) else {
        println!("left out: {name} is not there");
        return None;
    };
    Some(reader.records().map(Result::unwrap).collect())
}

/// Bray & Curtis 1957: the sum of differences over the sum of all.
fn bray_curtis(counts: &Array2<f64>) -> Array2<f64> {
    Array2::from_shape_fn((counts.nrows(), counts.nrows()), |(i, j)| {
        let (a, b) = (counts.row(i), counts.row(j));
        (&a - &b).mapv(f64::abs).sum() / (&a + &b).sum()
    })
}

/// Source: printed output in a public forum answer, data of a general ecology package (dune meadow vegetation): permutation
/// ANOVA on Bray-Curtis distances, Management * A1, terms in sequence; all printed digits.
#[test]
fn dune_meadows() {
    let (Some(counts), Some(meadows)) = (reference("dune.csv"), reference("dune_env.csv")) else { return };
    let counts = Array2::from_shape_fn((counts.len(), counts[0].len()), |(i, j)| counts[i][j].parse().unwrap());
    let words: Vec<&str> = meadows.iter().map(|row| &row[2]).collect();
    let levels: Vec<usize> = words.iter().map(|w| words.iter().position(|other| other == w).unwrap()).collect();
    let depth: Vec<f64> = meadows.iter().map(|row| row[0].parse().unwrap()).collect();
    let (management, a1) = (Term::factor(&levels), Term::covariate(&depth));
    let terms = [management.clone(), a1.clone(), management.interaction(&a1)];
    let placed = Placement::of_distances(&bray_curtis(&counts)).unwrap();
    let found = variance_by_terms(&placed, &terms, None, Draws::new(999), Seed::new(1)).unwrap();
    let close =
        |found: f64, wanted: f64, digit: f64| assert!((found - wanted).abs() <= 0.5 * digit, "{found} {wanted}");
    let printed = [(3, 1.4686, 0.34161, 3.2629), (1, 0.4409, 0.10256, 2.9387), (3, 0.5892, 0.13705, 1.3090)];
    for (term, (freedom, sum, share, f)) in found.terms.iter().zip(printed) {
        assert_eq!(term.freedom, freedom);
        close(term.sum_of_squares, sum, 1e-4);
        close(term.sum_of_squares / found.total, share, 1e-5);
        close(term.f.unwrap(), f, 1e-4);
    }
    close(found.residual, 1.8004, 1e-4);
    close(found.total, 4.2990, 1e-4);
    assert_eq!(found.residual_freedom, 12);
}

/// One test of two columns of chance between levels of unequal number, with an instrument that adds to both in some.
fn of_chance(seed: Seed, strata: Option<&[usize]>) -> TermTest {
    const VESSELS: usize = 24;
    let mut rng = seed.rng();
    let shift = |row: usize| strata.map_or(0.0, |strata| 3.0 * strata[row] as f64);
    let values = Array2::from_shape_fn((VESSELS, 2), |(row, _)| rng.r#gen::<f64>() + shift(row));
    let levels: Vec<usize> = (0..VESSELS).map(|row| row % 5 / 2).collect();
    let placed = Placement::of_variables(&values).unwrap();
    let mut terms: Vec<Term> = strata.map(Term::factor).into_iter().collect();
    terms.push(Term::factor(&levels));
    let found = variance_by_terms(&placed, &terms, strata, Draws::new(199), seed.derive(1)).unwrap();
    found.terms.last().copied().unwrap()
}

/// Where there is no difference every p is as likely as any other. `TORNUS_FULL=1` takes 4,000 corpora instead of 400.
#[test]
fn p_is_uniform_where_nothing_differs() {
    let corpora: u64 = if std::env::var_os("TORNUS_FULL").is_some() { 4000 } else { 400 };
    let instruments: Vec<usize> = (0..24).map(|row| usize::from(row > 14)).collect();
    for strata in [None, Some(instruments.as_slice())] {
        let p = |corpus: u64| of_chance(Seed::new(11).derive(corpus), strata).test.unwrap().p();
        let found: Vec<f64> = (0..corpora).map(p).collect();
        for level in [0.05, 0.25, 0.5, 0.75] {
            let below = found.iter().filter(|p| **p <= level).count() as f64 / corpora as f64;
            println!("p <= {level}: {below:.4} of {corpora} corpora, strata: {}", strata.is_some());
            // Four standard deviations of a share of so many corpora.
            let allowed = 4.0 * (level * (1.0 - level) / corpora as f64).sqrt();
            assert!((below - level).abs() < allowed, "p <= {level} in {below}");
        }
    }
}
