//! Screening for modern work: the ratios, how far they can be trusted, and what they are not.

use super::ReportError;
use super::cells;
use super::corpus::Corpus;
use super::html::{Cell, Heading, escape, folded, left_out, list, paragraph, part, table};
use super::maps::Shown;
use super::number::{count, percent, plain};
use crate::figure::tippett::{Ratios, tippett};
use crate::table::{Table, measure_words};

/// What must be read before any number of this part.
const CAUTIONS: [&str; 4] = [
    "A screening value compares a vessel\u{2019}s measures with those of the documented references in this corpus, and with \
     nothing else. It says which pieces deserve a closer look, and in which order.",
    "It is not a statement on what a piece is. A ratio of 10 means that such measures are ten times more probable among the \
     modern references than among the old ones, not that the piece is modern with ten chances to one: that depends on all \
     else that is known of it.",
    "Old work can be very true and modern work uneven; a later repair or regrinding changes the measures. Provenance, \
     petrography and the study of tool marks by specialists decide.",
    "A high value is no accusation against maker, owner or seller, and a low one is no certificate.",
];

/// The part on screening.
pub(super) fn screening(corpus: &Corpus<'_>) -> Result<Shown, ReportError> {
    let mut shown = Shown::nothing();
    match corpus.tables.get("screening") {
        None => shown.markup = left_out("The vessels were not screened against documented references."),
        Some(source) => {
            shown.markup = list(&CAUTIONS.map(escape));
            match corpus.tables.get("screening_validation") {
                None => shown.markup.push_str(&refusal(source)),
                Some(validation) => judged(corpus, source, validation, &mut shown)?,
            }
        }
    }
    shown.markup = part("screening", "Screening for modern work", &shown.markup);
    Ok(shown)
}

fn refusal(source: &Table) -> String {
    let reason = (0..source.rows()).find_map(|row| cells::text(source, "refused", row));
    left_out(&format!("No vessel was screened: {}.", reason.unwrap_or("the references do not allow it")))
}

fn judged(corpus: &Corpus<'_>, source: &Table, validation: &Table, shown: &mut Shown) -> Result<(), ReportError> {
    let documented = (0..source.rows()).filter(|row| cells::text(source, "reference", *row).is_some()).count();
    shown.markup.push_str(&paragraph(&basis(validation, documented)));
    shown.markup.push_str(&vessels(corpus, source));
    shown.markup.push_str("<h3>How far the ratios can be trusted</h3>\n");
    shown.markup.push_str(&paragraph(&trust(validation)));
    if let Some(references) = corpus.tables.get("screening_references") {
        let caption = "Tippett plot: share of the documented references whose likelihood ratio is at least the value on the \
                       axis, each reference judged by a model that has not seen it. Ratios right of the line at 0 speak for \
                       modern make. Dashed curves: the same with all references of one kind and source left out together. \
                       Dotted lines: the greatest ratios so few references can back.";
        let bounds = match ["least_log10_lr", "greatest_log10_lr"].map(|name| cells::number(validation, name, 0)) {
            [Some(least), Some(greatest)] => Some([least, greatest]),
            _ => None,
        };
        let figure = tippett("Likelihood ratios of the documented references", &curves(references), bounds)?;
        shown.add("screening_tippett.svg", figure, caption);
    }
    shown.markup.push_str(&corpus.tables.get("screening_reliability").map_or_else(String::new, reliability));
    shown.markup.push_str(&corpus.tables.get("screening_measures").map_or_else(String::new, measures));
    shown
        .markup
        .push_str(&corpus.tables.get("screening_references").map_or_else(String::new, |t| references(corpus, t)));
    Ok(())
}

/// What the ratios rest on, in a corpus of so many documented pieces.
fn basis(validation: &Table, documented: usize) -> String {
    let number = |name: &str| cells::number(validation, name, 0).unwrap_or(0.0) as usize;
    let adjusted = match cells::text(validation, "adjusted_for", 0) {
        Some(words) => format!(" Measures are compared at equal {}.", escape(&words.replace(", ", " and "))),
        None => String::new(),
    };
    let greatest = cells::number(validation, "greatest_log10_lr", 0).unwrap_or(0.0);
    let used = number("references_modern") + number("references_old");
    let drawn = if used < documented {
        format!(
            " They were drawn at random from {documented}; the others are judged as vessels without documentation are."
        )
    } else {
        String::new()
    };
    format!(
        "The references are {} from {} and {} from {}.{drawn}{adjusted} So few references cannot back a ratio above {}; greater ones \
         are held there.",
        count(number("references_modern"), "documented modern piece", "documented modern pieces"),
        count(number("sources_modern"), "source", "sources"),
        count(number("references_old"), "documented old piece", "documented old pieces"),
        count(number("sources_old"), "source", "sources"),
        plain(10_f64.powf(greatest), 2),
    )
}

/// Every vessel that is no reference, highest ratio first.
fn vessels(corpus: &Corpus<'_>, source: &Table) -> String {
    let value = |row: usize| cells::number(source, "log10_lr_modern", row);
    let mut rows: Vec<usize> =
        (0..source.rows()).filter(|row| cells::text(source, "reference", *row).is_none()).collect();
    rows.sort_by(|a, b| {
        let key = |row: usize| value(row).unwrap_or(f64::NEG_INFINITY);
        key(*b).total_cmp(&key(*a))
    });
    let above = rows.iter().filter(|row| value(**row).is_some_and(|v| v > 0.0)).count();
    let refused = rows.iter().filter(|row| value(**row).is_none()).count();
    let words = format!(
        "Of {} without documentation, the measures of {above} are more probable among the modern references; {} \
         not be judged.",
        count(rows.len(), "vessel", "vessels"),
        match refused {
            0 => "none could".to_owned(),
            n => format!("{n} could"),
        },
    );
    let (named, rest): (Vec<usize>, Vec<usize>) = rows
        .into_iter()
        .partition(|row| value(*row).is_none_or(|ratio| ratio > 0.0) || cells::flag(source, "unlike_both", *row));
    let caption = "Vessels without documentation whose measures are more probable among the modern references, are unlike both, or \
                   could not be judged. LR: likelihood ratio of the measures, modern over old references; its interval from \
                   references resampled and the vessel measured anew. In words: the verbal scale of the ENFSI guideline of \
                   2015 (from memory), no support where the interval holds 1 : 1 or the vessel is unlike both. \
                   p: how often a piece of that population would lie as far from it.";
    let first = if named.is_empty() { String::new() } else { vessel_table(corpus, source, caption, &named) };
    let others = if rest.is_empty() {
        String::new()
    } else {
        folded(
            "Vessels without documentation whose measures are more probable among the old references",
            &vessel_table(corpus, source, "The same of the other vessels without documentation.", &rest),
        )
    };
    paragraph(&words) + &first + &others
}

fn vessel_table(corpus: &Corpus<'_>, source: &Table, caption: &str, rows: &[usize]) -> String {
    let cells: Vec<Vec<Cell>> = rows.iter().map(|row| vessel_row(corpus, source, *row)).collect();
    let headings = [
        Heading("Vessel", false),
        Heading("log10 LR, modern over old", true),
        Heading("95 % interval", true),
        Heading("In words", false),
        Heading("p, modern", true),
        Heading("p, old", true),
        Heading("Grounds", false),
    ];
    table(caption, &headings, &cells, true)
}

fn vessel_row(corpus: &Corpus<'_>, source: &Table, row: usize) -> Vec<Cell> {
    let number = |name: &str| cells::number(source, name, row);
    let small = |name: &str| Cell::number(number(name).map(|v| plain(v, 2)), number(name));
    let ratio = number("log10_lr_modern");
    let interval = number("log10_lr_low").zip(number("log10_lr_high"));
    let interval = interval.map(|(low, high)| format!("{} to {}", decimal(low), decimal(high)));
    let words = cells::text(source, "support", row).unwrap_or("\u{2013}");
    let words =
        if cells::flag(source, "unlike_both", row) { format!("unlike both; {words}") } else { words.to_owned() };
    vec![
        link(corpus, cells::text(source, "vessel_id", row).unwrap_or("")),
        Cell::number(ratio.map(decimal), ratio),
        Cell::number(interval, number("log10_lr_low")),
        Cell::words(&words),
        small("p_modern"),
        small("p_old"),
        Cell::words(cells::text(source, "grounds", row).or(cells::text(source, "refused", row)).unwrap_or("\u{2013}")),
    ]
}

fn link(corpus: &Corpus<'_>, id: &str) -> Cell {
    corpus.vessel(id).map_or_else(|| Cell::name(id), |vessel| Cell::markup(vessel.link()))
}

/// A logarithm to two decimals with a true minus sign.
fn decimal(value: f64) -> String {
    format!("{value:.2}").replace('-', "\u{2212}")
}

/// What the references say of the ratios.
fn trust(validation: &Table) -> String {
    let number = |name: &str| cells::number(validation, name, 0);
    let said = |name: &str| number(name).map_or_else(|| "\u{2013}".to_owned(), decimal);
    let source_out = number("cllr_source_out").map_or_else(
        || " Whole sources could not be left out: too few references would be left.".to_owned(),
        |cost| format!(" With whole sources left out it is {}.", decimal(cost)),
    );
    format!(
        "Each reference is judged by a model and a calibration that have not seen it. The cost of their ratios (Cllr, 0: \
         perfect, 1: they say nothing) is {}, of which {} could be saved by a better calibration.{source_out} The highest \
         log10 LR of a documented old piece is {}, the lowest of a documented modern piece {}.",
        said("cllr"),
        said("calibration_loss"),
        said("highest_old"),
        said("lowest_modern"),
    )
}

/// Modern and old references, and both again with their sources left out.
fn curves(references: &Table) -> Vec<Ratios> {
    let set = |kind: &str, column: &str, name: &str, colour: usize| Ratios {
        name: name.to_owned(),
        log10: (0..references.rows())
            .filter(|row| cells::text(references, "reference", *row) == Some(kind))
            .filter_map(|row| cells::number(references, column, row))
            .collect(),
        dashed: column == "log10_lr_source_out",
        colour,
    };
    let all = [
        set("modern", "log10_lr_modern", "documented modern", 1),
        set("old", "log10_lr_modern", "documented old", 0),
        set("modern", "log10_lr_source_out", "documented modern, source left out", 1),
        set("old", "log10_lr_source_out", "documented old, source left out", 0),
    ];
    all.into_iter().filter(|set| !set.log10.is_empty()).collect()
}

fn reliability(source: &Table) -> String {
    let share = |name: &str, row: usize| {
        let value = cells::number(source, name, row);
        Cell::number(value.map(percent), value)
    };
    let range = |row: usize| {
        let ends = ["from_log10_lr", "to_log10_lr"].map(|name| cells::number(source, name, row).map(decimal));
        match ends {
            [Some(from), Some(to)] => format!("{from} to {to}"),
            [None, Some(to)] => format!("up to {to}"),
            [Some(from), None] => format!("above {from}"),
            [None, None] => "all".to_owned(),
        }
    };
    let rows: Vec<Vec<Cell>> = (0..source.rows())
        .map(|row| {
            let number = |name: &str| Cell::number(cells::named(source, name, row), cells::number(source, name, row));
            vec![
                Cell::words(&range(row)),
                number("modern"),
                number("old"),
                share("stated", row),
                share("observed", row),
            ]
        })
        .collect();
    let headings = [
        Heading("log10 LR", false),
        Heading("Modern references", true),
        Heading("Old references", true),
        Heading("Modern, as the ratios state", true),
        Heading("Modern, as observed", true),
    ];
    let caption = "Reliability: at even odds, the share of modern pieces the ratios of a range state, and the share there is, both \
                   kinds weighing the same. With few references the observed share is rough.";
    table(caption, &headings, &rows, false)
}

fn measures(source: &Table) -> String {
    let rows: Vec<Vec<Cell>> = (0..source.rows())
        .map(|row| {
            let number = |name: &str| {
                let value = cells::number(source, name, row);
                Cell::number(value.map(|v| plain(v, 2)), value)
            };
            vec![
                Cell::words(&measure_words::listed(cells::text(source, "measure", row).unwrap_or(""))),
                number("usual_modern_mm"),
                number("spread_modern"),
                number("usual_old_mm"),
                number("spread_old"),
            ]
        })
        .collect();
    let headings = [
        Heading("Measure", false),
        Heading("Usual, modern, mm", true),
        Heading("Spread of its logarithm", true),
        Heading("Usual, old, mm", true),
        Heading("Spread of its logarithm", true),
    ];
    let caption = "The measures the ratios are made of, at the mean size and hardness of each kind\u{2019}s references; the spread \
                   is from piece to piece, the scanners\u{2019} noise taken out.";
    table(caption, &headings, &rows, false)
}

fn references(corpus: &Corpus<'_>, source: &Table) -> String {
    let rows: Vec<Vec<Cell>> = (0..source.rows())
        .map(|row| {
            let number = |name: &str| {
                let value = cells::number(source, name, row);
                Cell::number(value.map(decimal), value)
            };
            vec![
                link(corpus, cells::text(source, "vessel_id", row).unwrap_or("")),
                Cell::words(cells::text(source, "reference", row).unwrap_or("")),
                Cell::words(cells::text(source, "source", row).unwrap_or("")),
                number("log10_lr_modern"),
                number("log10_lr_source_out"),
            ]
        })
        .collect();
    let headings = [
        Heading("Reference", false),
        Heading("Documented", false),
        Heading("Source", false),
        Heading("log10 LR, left out", true),
        Heading("log10 LR, source left out", true),
    ];
    let caption = "The documented references, each judged by a model that has not seen it.";
    folded("The documented references", &table(caption, &headings, &rows, true))
}
