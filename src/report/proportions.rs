//! Claimed proportions against what chance would bring.

use super::ReportError;
use super::cells;
use super::corpus::Corpus;
use super::html::{Cell, Heading, left_out, paragraph, part, table};
use super::maps::Shown;
use super::number::{count, percent, plain, quantile};
use crate::figure::deviation_rows::{DeviationRow, deviation_rows};
use crate::figure::match_bars::{MatchBars, Matched, match_bars};
use crate::table::Table;

/// Claims drawn and listed at most; the rest is in the table.
const LISTED: usize = 40;

/// The part on proportions.
pub(super) fn proportions(corpus: &Corpus<'_>) -> Result<Shown, ReportError> {
    let mut shown = Shown::nothing();
    match corpus.tables.get("proportions") {
        Some(claims) => {
            shown.markup.push_str(&paragraph(
                "Among many pairs of lengths and many constants some always meet. Each claim is therefore set against decoy \
                 constants nearby, against lengths of different vessels put together, and, where half of the vessels speaks for \
                 it, against the other half, which was held out. Only what the held-out half confirms, every claim tried being \
                 counted, is accepted; a constant chosen after looking at the same vessels is not, whatever its p.",
            ));
            shown.markup.push_str(&paragraph(&verdict(claims)));
            add_bars(&mut shown, corpus, claims)?;
            shown.markup.push_str(&listed(claims));
        }
        None => shown.markup.push_str(&left_out("The study names no statements file, so no proportion was tested.")),
    }
    if let Some(series) = corpus.tables.get("proportion_series") {
        shown.markup.push_str(&series_table(series));
    }
    if let Some(designs) = corpus.tables.get("proportion_designs") {
        shown.markup.push_str(&design_table(designs));
        add_deviations(&mut shown, corpus)?;
    }
    shown.markup = part("proportions", "Proportions", &shown.markup);
    Ok(shown)
}

/// Whether a row speaks of one claim, not of all together.
fn single(claims: &Table, row: usize) -> bool {
    claims.flags("accepted").is_ok_and(|flags| flags.get(row).copied().flatten().is_some())
}

fn verdict(claims: &Table) -> String {
    let rows: Vec<usize> = (0..claims.rows()).filter(|row| single(claims, *row)).collect();
    let number = |flag: &str| rows.iter().filter(|row| cells::flag(claims, flag, **row)).count();
    let together = (0..claims.rows()).find(|row| !single(claims, *row));
    let mut words = format!(
        "Of {}, half of the vessels speaks for {} and the held-out half confirms <strong>{}</strong>.",
        count(rows.len(), "claim", "claims"),
        number("found"),
        number("accepted")
    );
    if let Some(row) = together {
        let value = |name: &str| cells::number(claims, name, row).unwrap_or(0.0);
        words += &format!(
            " All stated constants together are met {} where decoys are met {} times (p = {}).",
            count(value("matches") as usize, "time", "times"),
            plain(value("expected"), 2),
            plain(value("p"), 2)
        );
    }
    words
}

fn add_bars(shown: &mut Shown, corpus: &Corpus<'_>, claims: &Table) -> Result<(), ReportError> {
    let matched = |row: usize| Matched {
        name: cells::text(claims, "statement", row).unwrap_or("").to_owned(),
        matches: cells::number(claims, "matches", row).unwrap_or(0.0),
        expected: cells::number(claims, "expected", row).unwrap_or(0.0),
        accepted: cells::flag(claims, "accepted", row),
    };
    let mut rows: Vec<usize> = (0..claims.rows()).filter(|row| single(claims, *row)).collect();
    let p = |row: usize| cells::number(claims, "p", row).unwrap_or(0.0);
    rows.sort_by(|a, b| p(*a).total_cmp(&p(*b)));
    let decoys = corpus.tables.get("proportion_decoys");
    let pair = |table: &Table, row: usize| {
        Some((cells::number(table, "matches", row)?, cells::number(table, "decoy_sets", row)?))
    };
    let together = (0..claims.rows()).find(|row| !single(claims, *row));
    let figure = MatchBars {
        claims: rows.into_iter().take(LISTED).map(matched).collect(),
        decoys: decoys.map_or_else(Vec::new, |table| (0..table.rows()).filter_map(|row| pair(table, row)).collect()),
        together: together.and_then(|row| cells::number(claims, "matches", row)),
    };
    if figure.claims.is_empty() {
        return Ok(());
    }
    let caption = "Above: vessels that meet each claim (disc) beside what decoy constants would bring (bar). Below: how often \
                   sets of decoy constants are met in all, and how often the stated constants are.";
    shown.add("proportions.svg", match_bars("Matches of claimed proportions and of decoys", &figure)?, caption);
    Ok(())
}

fn number(source: &Table, name: &str, row: usize, digits: i32) -> Cell {
    let value = cells::number(source, name, row);
    Cell::number(value.map(|v| plain(v, digits)), value)
}

fn yes(source: &Table, name: &str, row: usize) -> Cell {
    Cell::words(if cells::flag(source, name, row) { "yes" } else { "no" })
}

fn listed(claims: &Table) -> String {
    let row = |row: usize| {
        vec![
            Cell::words(cells::text(claims, "statement", row).unwrap_or("")),
            number(claims, "constant", row, 4),
            number(claims, "matches", row, 3),
            number(claims, "expected", row, 2),
            number(claims, "p", row, 2),
            number(claims, "q", row, 2),
            number(claims, "p_pairing", row, 2),
            number(claims, "held_out", row, 2),
            yes(claims, "accepted", row),
            Cell::words(cells::text(claims, "note", row).unwrap_or("")),
        ]
    };
    let mut places: Vec<usize> = (0..claims.rows()).filter(|place| single(claims, *place)).collect();
    let p = |row: usize| cells::number(claims, "p", row).unwrap_or(0.0);
    places.sort_by(|a, b| p(*a).total_cmp(&p(*b)));
    let rows: Vec<Vec<Cell>> = places.into_iter().take(LISTED).map(row).collect();
    let headings = [
        Heading("Claim", false),
        Heading("Constant", true),
        Heading("Matches", true),
        Heading("Expected", true),
        Heading("p", true),
        Heading("q", true),
        Heading("p, paired at random", true),
        Heading("p, held out", true),
        Heading("Accepted", false),
        Heading("Note", false),
    ];
    let caption = "p: how often a decoy constant nearby would be met by as many vessels as closely; q: adjusted for every claim \
                   tried. Paired at random: with lengths of different vessels of one form group put together. A fitted constant \
                   is found on half of the vessels and has no p but that of the other half.";
    table(caption, &headings, &rows, true)
}

fn series_table(series: &Table) -> String {
    let row = |row: usize| {
        vec![
            Cell::words(cells::text(series, "series", row).unwrap_or("")),
            number(series, "n_vessels", row, 3),
            number(series, "ratio", row, 4),
            number(series, "likeliest", row, 4),
            Cell::number(cells::number(series, "scatter", row).map(percent), cells::number(series, "scatter", row)),
            number(series, "bic_difference", row, 3),
            Cell::words(cells::text(series, "alternative", row).unwrap_or("\u{2013}")),
            number(series, "held_out", row, 2),
            yes(series, "accepted", row),
        ]
    };
    let rows: Vec<Vec<Cell>> = (0..series.rows()).map(row).collect();
    let headings = [
        Heading("Series", false),
        Heading("Vessels", true),
        Heading("Ratio", true),
        Heading("Likeliest ratio", true),
        Heading("Scatter", true),
        Heading("BIC less the best alternative\u{2019}s", true),
        Heading("Best alternative", false),
        Heading("p, held out", true),
        Heading("Accepted", false),
    ];
    let caption = "Geometric series against smooth alternatives: an arithmetic series, a power of the place, a parabola of the \
                   logarithms. Below 0 the Bayesian information criterion (BIC) prefers the series.";
    format!("<h3>Series</h3>\n{}", table(caption, &headings, &rows, false))
}

/// Vessels in the map of one design at most; the rest is in the table.
const MOST_ROWS: usize = 60;

/// The map of each design's deviations.
fn add_deviations(shown: &mut Shown, corpus: &Corpus<'_>) -> Result<(), ReportError> {
    let Some(source) = corpus.tables.get("proportion_deviations") else { return Ok(()) };
    let (designs, vessels) = (source.texts("design")?, source.texts("vessel_id")?);
    let deviations = source.floats("deviation_mm")?;
    let mut maps: Vec<(&str, Vec<DeviationRow>)> = Vec::new();
    for row in 0..source.rows() {
        let (Some(design), Some(vessel), Some(deviation)) = (&designs[row], &vessels[row], deviations[row]) else {
            continue;
        };
        if maps.last().is_none_or(|(last, _)| last != design) {
            maps.push((design, Vec::new()));
        }
        let Some((_, rows)) = maps.last_mut() else { continue };
        if rows.last().is_none_or(|last| last.name != *vessel) {
            rows.push(DeviationRow { name: vessel.clone(), deviations_mm: Vec::new() });
        }
        rows.last_mut().into_iter().for_each(|last| last.deviations_mm.push(deviation));
    }
    for (number, (design, rows)) in (1..).zip(maps) {
        let kept = &rows[..rows.len().min(MOST_ROWS)];
        if kept.iter().all(|row| row.deviations_mm.iter().all(|deviation| deviation.abs() <= 0.0)) {
            continue;
        }
        let caption = format!(
            "Scan less the design \u{201c}{}\u{201d}, vessel by vessel, from foot (left) to rim (right).",
            super::html::escape(design)
        );
        shown.add(&format!("design_{number}.svg"), deviation_rows("Deviations from a design", kept)?, &caption);
    }
    Ok(())
}

/// Designs, a row each: medians over the vessels.
fn design_table(designs: &Table) -> String {
    let mut names: Vec<&str> = (0..designs.rows()).filter_map(|row| cells::text(designs, "design", row)).collect();
    names.dedup();
    let row = |name: &str| {
        let of: Vec<usize> =
            (0..designs.rows()).filter(|row| cells::text(designs, "design", *row) == Some(name)).collect();
        let median = |column: &str| {
            let mut values: Vec<f64> = of.iter().filter_map(|row| cells::number(designs, column, *row)).collect();
            quantile(&mut values, 0.5)
        };
        let share = |column: &str| Cell::number(median(column).map(percent), median(column));
        let better = of.iter().filter(|row| {
            let value = |column: &str| cells::number(designs, column, **row).unwrap_or(f64::NEG_INFINITY);
            value("share") > value("free_share")
        });
        let better = better.count();
        vec![
            Cell::words(name),
            Cell::words(&of.len().to_string()),
            Cell::number(median("parameters").map(|v| plain(v, 2)), None),
            share("share"),
            share("free_share"),
            Cell::words(&better.to_string()),
            Cell::number(median("free_parameters").map(|v| plain(v, 2)), None),
            Cell::number(median("rms_mm").map(|v| plain(v, 2)), None),
        ]
    };
    let rows: Vec<Vec<Cell>> = names.into_iter().map(row).collect();
    let headings = [
        Heading("Design", false),
        Heading("Vessels", true),
        Heading("Parameters", true),
        Heading("Share explained", true),
        Heading("By a free curve", true),
        Heading("Vessels it describes better", true),
        Heading("Free parameters as good", true),
        Heading("Deviation, mm", true),
    ];
    let caption = "Meridians rebuilt from a series, each fitted to the scan by its base radius (and its ratio where that was not \
                   stated): medians over the vessels. Share explained: of the variance of the scan\u{2019}s radii; by a free curve: by \
                   a cosine series of as many parameters, which knows nothing of vessels; free parameters as good: how many that \
                   curve needs to explain as much.";
    format!("<h3>Designs</h3>\n{}", table(caption, &headings, &rows, false))
}
