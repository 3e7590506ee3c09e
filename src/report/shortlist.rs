//! Which vessels a tomography would tell most about.

use super::ReportError;
use super::cells;
use super::corpus::Corpus;
use super::html::{Cell, Heading, escape, left_out, paragraph, part, table};
use super::maps::Shown;
use super::number::{count, given, percent, plain};
use crate::figure::value_curve::{Way, value_curve};
use crate::table::Table;

/// Vessels listed; the rest is in the table.
const LISTED: usize = 20;

/// The part on choosing for computed tomography.
pub(super) fn shortlist(corpus: &Corpus<'_>) -> Result<Shown, ReportError> {
    let mut shown = Shown::nothing();
    match (corpus.tables.get("shortlist"), corpus.tables.get("shortlist_budget")) {
        (Some(list), Some(budgets)) => {
            shown.markup.push_str(&paragraph(
                "A computed tomography sees every wall at one uncertainty. Its value for a vessel is the number of decisions \
                 it is expected to put right: whether the vessel is unusually true or untrue, which groups it belongs to, what \
                 its screening value says, what an unseen interior shows. The chosen set is the most valuable within the budget, \
                 found exactly.",
            ));
            shown.markup.push_str(&paragraph(&chosen(budgets)));
            add_curve(&mut shown, budgets)?;
            shown.markup.push_str(&ranked(corpus, list));
            shown.markup.push_str(&paragraph(
                "<strong>Cautions.</strong> X-ray work belongs to licensed operators under local rules; whether a vessel may be \
                 moved, mounted and turned is the conservator\u{2019}s decision. Path and mass are reckoned from the scan and the \
                 catalogue\u{2019}s density, the attenuation from the leading minerals of the named material (NIST Standard \
                 Reference Database 126): the operator\u{2019}s own judgement goes before them.",
            ));
        }
        _ => shown.markup.push_str(&left_out("No shortlist was made: that needs the comparison of several vessels.")),
    }
    shown.markup = part("shortlist", "Choosing vessels for computed tomography", &shown.markup);
    Ok(shown)
}

/// The chosen set, and what the budget's next unit would buy.
fn chosen(budgets: &Table) -> String {
    let row = |kind: &str| (0..budgets.rows()).find(|row| cells::text(budgets, "kind", *row) == Some(kind));
    let number = |name: &str, row: usize| cells::number(budgets, name, row).unwrap_or(0.0);
    let Some(now) = row("now") else { return String::new() };
    let (budget, value) = (number("budget", now), number("value", now));
    let vessels = cells::text(budgets, "vessels", now).unwrap_or("");
    let mut words = if vessels.is_empty() {
        format!("Within {} no vessel is chosen.", given(budget, 4))
    } else {
        format!(
            "Within {}: <strong>{}</strong>, for {} and {} decisions expected to be put right.",
            given(budget, 4),
            escape(vessels),
            given(number("cost", now), 4),
            plain(value, 2)
        )
    };
    match row("next") {
        Some(next) => {
            words += &format!(
                " The least budget that buys more is {}: {} for {} decisions.",
                given(number("budget", next), 4),
                escape(cells::text(budgets, "vessels", next).unwrap_or("")),
                plain(number("value", next), 2)
            )
        }
        None => words += " No further unit of budget would buy more.",
    }
    words
}

fn add_curve(shown: &mut Shown, budgets: &Table) -> Result<(), ReportError> {
    let ways = [
        ("the chosen set", "value"),
        ("least certain first", "value_least_certain"),
        ("at random, mean", "value_random"),
    ];
    let way = |(name, column): (&str, &str)| {
        let point = |row: usize| Some((cells::number(budgets, "budget", row)?, cells::number(budgets, column, row)?));
        Way { name: name.to_owned(), points: (0..budgets.rows()).filter_map(point).collect() }
    };
    let ways = ways.map(way);
    let now = (0..budgets.rows()).find(|row| cells::text(budgets, "kind", *row) == Some("now"));
    let now = now.and_then(|row| cells::number(budgets, "budget", row)).unwrap_or(0.0);
    if ways[0].points.len() < 2 || ways[0].points.iter().all(|(_, value)| *value <= 0.0) {
        shown.markup.push_str(&left_out("At no budget up to twice this one would a tomography put a decision right."));
        return Ok(());
    }
    let caption = "Decisions expected to be put right against the budget: by the chosen set, by taking the least certain \
                   vessels first, and by taking them at random.";
    shown.add("shortlist.svg", value_curve("Value of tomographies against their cost", &ways, now)?, caption);
    Ok(())
}

fn ranked(corpus: &Corpus<'_>, list: &Table) -> String {
    let row = |row: usize| {
        let number = |name: &str, digits: i32| {
            let value = cells::number(list, name, row);
            Cell::number(value.map(|v| given(v, digits)), value)
        };
        let vessel = cells::text(list, "vessel_id", row).unwrap_or("");
        let name = corpus.vessel(vessel).map_or_else(|| Cell::words(vessel), |found| Cell::markup(found.link()));
        let known = list.flags("feasible").ok().and_then(|flags| flags.get(row).copied().flatten());
        let feasible = match known {
            Some(true) => "yes",
            Some(false) => "no",
            None => "not known",
        };
        vec![
            number("rank", 3),
            name,
            number("value_of_scan", 2),
            number("cost", 4),
            Cell::words(feasible),
            Cell::words(if cells::flag(list, "chosen", row) { "yes" } else { "" }),
            number("path_mm", 3),
            Cell::number(
                cells::number(list, "transmission", row).map(percent),
                cells::number(list, "transmission", row),
            ),
            Cell::words(cells::text(list, "grounds", row).unwrap_or("")),
        ]
    };
    let rows: Vec<Vec<Cell>> = (0..list.rows()).take(LISTED).map(row).collect();
    let headings = [
        Heading("Rank", true),
        Heading("Vessel", false),
        Heading("Value", true),
        Heading("Cost", true),
        Heading("Feasible", false),
        Heading("Chosen", false),
        Heading("Path, mm", true),
        Heading("Rays passed", true),
        Heading("Grounds", false),
    ];
    let more = list.rows().saturating_sub(LISTED);
    let rest =
        if more > 0 { format!(" {} more in the table.", count(more, "vessel", "vessels")) } else { String::new() };
    let caption = format!(
        "Vessels by value per unit of cost, those that cannot be scanned last. Value: decisions a tomography is expected to \
         put right. Path: the longest way of a ray through the material.{rest}"
    );
    table(&caption, &headings, &rows, true)
}
