//! The same corpus compared by each description of form.

use tornus::Seed;
use tornus::analysis::form::FormChoice;
use tornus::analysis::statistics::adjusted_rand;
use tornus::analysis::{CompareParams, Comparison, Groups, compare};

use super::corpus::{Corpus, SIXTY};

fn compared(corpus: &Corpus, choice: FormChoice) -> Comparison {
    let params = CompareParams::new(Groups::Auto).with_resamples(0).with_form(choice);
    compare(&corpus.input(), &params, Seed::new(1)).unwrap()
}

/// Whether the six forms come out as the groups; vessels without a place in the space aside.
fn agreement(corpus: &Corpus, found: &Comparison) -> f64 {
    let sorted = corpus.sorted();
    let placed = sorted.iter().filter(|piece| found.form.vessels.contains(&piece.id));
    let truth: Vec<usize> = placed.map(|piece| piece.form).collect();
    adjusted_rand(&truth, &found.form_groups.labels)
}

#[test]
fn six_forms_come_out_by_every_description() {
    let corpus = Corpus::draw(&SIXTY, 4).with_interiors();
    for choice in FormChoice::ALL {
        let found = compared(&corpus, choice);
        let by_interior = matches!(choice, FormChoice::Inner | FormChoice::HalfSection);
        let left_out: Vec<(&str, &str)> = found.form.left_out.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        let mut wanted = if by_interior {
            let id = |row: usize| corpus.pieces[row].id.as_str();
            vec![(id(0), "its interior is not seen"), (id(1), "its interior is not seen down to the floor")]
        } else {
            Vec::new()
        };
        wanted.sort_unstable();
        assert_eq!(left_out, wanted, "{choice:?}");
        assert_eq!(found.form.vessels.len(), 60 - wanted.len());
        // As for the outer meridian alone: a vessel or two may stray.
        let agreement = agreement(&corpus, &found);
        println!("{choice:?}: {} groups, agreement {agreement:.3}", found.form_groups.groups);
        assert!(agreement >= 0.95, "{choice:?}: {} groups, {agreement}", found.form_groups.groups);
        // 0.01 mm of noise, and ends known to a third of the millimetres between stations, are a small part of what the first
        // components show: forms differ by tenths of their size.
        let small = |k: usize| {
            let spread = found.form.components.variances[k].sqrt();
            found.form.u_scores.column(k).iter().all(|u| *u > 0.0 && *u < 0.2 * spread)
        };
        assert!(small(0) && small(1), "{choice:?}");
        let tables = found.tables().unwrap();
        let clusters = tables.iter().find(|table| table.name() == "clusters").unwrap();
        let told = clusters.texts("form_left_out").unwrap().iter().flatten().count();
        assert_eq!(told, wanted.len(), "a vessel that is left out is told with its reason");
    }
}

#[test]
fn interiors_change_nothing_about_the_outer_meridian() {
    let corpus = Corpus::draw(&SIXTY, 5);
    let without = compared(&corpus, FormChoice::Outer);
    let with = compared(&corpus.with_interiors(), FormChoice::Outer);
    assert_eq!(without.form, with.form);
}

#[test]
fn a_corpus_without_interiors_has_no_half_sections_and_is_still_compared() {
    let found = compared(&Corpus::draw(&SIXTY, 6), FormChoice::HalfSection);
    assert_eq!((found.form.vessels.len(), found.form.left_out.len()), (0, 60));
    assert!(found.precision.vessels.len() == 60 && found.tables().is_ok());
}
