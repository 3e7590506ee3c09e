//! The corpus at a glance: what was found, in sentences with numbers, and what to look at first.

use super::cells;
use super::corpus::{Corpus, Reading, SpaceName, Vessel};
use super::html::{Cell, Heading, escape, left_out, list, paragraph, part, table};
use super::number::{count, percent, plain, quantile};
use super::outliers::{grounds, least_q};

/// Vessels named under 'look at first'.
const MOST_FIRST: usize = 6;
/// Vessels named for little seen or much set aside.
const MOST_SCARCE: usize = 3;
/// Below this share seen, a wall's values rest on little; common practice, no source.
const LITTLE_SEEN: f64 = 0.7;
/// Above this share set aside, a wall's values rest on little; common practice, no source.
const MUCH_ASIDE: f64 = 0.2;

/// The first part of the report.
///
/// `doubtful` are the vessels whose walls contradict each other.
pub(super) fn glance(corpus: &Corpus<'_>, doubtful: &[&Vessel<'_>]) -> String {
    let mut inner = paragraph(&counts(corpus));
    for space in [SpaceName::Form, SpaceName::Precision] {
        inner.push_str(&groups(corpus, space));
    }
    inner.push_str(&standing_out(corpus));
    inner.push_str("<h3>Look at first</h3>\n");
    let first: Vec<String> = doubts(doubtful).into_iter().chain(first(corpus)).collect();
    inner.push_str(&if first.is_empty() {
        paragraph("Nothing in the tables asks for attention before the rest.")
    } else {
        list(&first)
    });
    part("glance", "The corpus at a glance", &inner)
}

fn counts(corpus: &Corpus<'_>) -> String {
    let rows = corpus.scans.rows();
    let reduced = (0..rows).filter(|row| corpus.reduced(*row)).count();
    let vessels = corpus.measured().count();
    let rejected = match rows - reduced {
        0 => "none was rejected".to_owned(),
        n => format!("<a href=\"#rejected\">{} rejected</a>", count(n, "was", "were")),
    };
    let noise: Vec<f64> =
        (0..rows).filter(|r| corpus.reduced(*r)).filter_map(|r| cells::number(corpus.scans, "noise_mm", r)).collect();
    let noise = match (noise.iter().copied().min_by(f64::total_cmp), noise.iter().copied().max_by(f64::total_cmp)) {
        (Some(low), Some(high)) => format!(
            " The scanners\u{2019} noise, estimated from each scan itself, lies between {} mm and {} mm.",
            plain(low, 2),
            plain(high, 2)
        ),
        _ => String::new(),
    };
    format!(
        "<strong>{}</strong> {} measured. Of {}, {rejected}.{noise}",
        count(vessels, "vessel", "vessels"),
        if vessels == 1 { "was" } else { "were" },
        count(rows, "scan", "scans")
    )
}

/// What the groups of one comparison are, with a table of them.
fn groups(corpus: &Corpus<'_>, space: SpaceName) -> String {
    let grouping = corpus.grouping(space);
    let word = space.word();
    let ungrouped = corpus.measured().filter(|v| !grouping.of.contains_key(v.id)).count();
    let rest = if ungrouped > 0 {
        format!("; {} in none", count(ungrouped, "vessel is", "vessels are"))
    } else {
        String::new()
    };
    match grouping.names.len() {
        0 => {
            return left_out(&format!(
                "The tables hold no groups by {word}: the vessels were not compared, or are too few."
            ));
        }
        1 => {
            let words = format!(
                "<strong>By {word}</strong> the {} form one group: nothing speaks for dividing them{rest}.",
                count(grouping.size(0), "vessel", "vessels")
            );
            return paragraph(&words) + &group_table(corpus, space);
        }
        _ => {}
    }
    let sizes: Vec<String> = (0..grouping.names.len()).map(|i| grouping.size(i).to_string()).collect();
    let stable = grouping.stability.iter().copied().flatten().min_by(f64::total_cmp);
    let stable = stable.map_or_else(String::new, |least| {
        let verdict = if least >= 0.75 {
            "all are stable"
        } else if least >= 0.6 {
            "the least stable is a pattern rather than a group"
        } else {
            "the least stable should not be relied on"
        };
        format!(" Under resampling {verdict} (least mean Jaccard similarity {least:.2}).")
    });
    let words = format!(
        "<strong>By {word}</strong> the vessels fall into {} groups of {}{rest}.{stable}",
        grouping.names.len(),
        enumerated(&sizes)
    );
    paragraph(&words) + &group_table(corpus, space)
}

/// Words as a sentence lists them: "8, 14 and 3".
fn enumerated(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

fn group_table(corpus: &Corpus<'_>, space: SpaceName) -> String {
    let grouping = corpus.grouping(space);
    let measures: &[(&str, &'static str)] = match space {
        SpaceName::Form => &[("height", "Height, mm"), ("max_diameter", "Greatest diameter, mm")],
        SpaceName::Precision => &[
            ("roundness_outer", "Roundness of the outer wall, mm"),
            ("coaxiality_inner", "Coaxiality of the inner wall, mm"),
        ],
    };
    let rows: Vec<Vec<Cell>> = (0..grouping.names.len())
        .map(|index| {
            let members: Vec<&Vessel<'_>> =
                corpus.vessels.iter().filter(|v| grouping.of.get(v.id) == Some(&index)).collect();
            let mut row = vec![Cell::words(&grouping.title(index)), Cell::words(&members.len().to_string())];
            for (measure, _) in measures {
                let readings: Vec<Reading> = members.iter().filter_map(|v| corpus.reading(v.id, measure)).collect();
                row.push(Cell::number(spread(&readings), None));
            }
            row
        })
        .collect();
    let mut headings = vec![Heading("Group", false), Heading("Vessels", true)];
    headings.extend(measures.iter().map(|(_, name)| Heading(name, true)));
    let caption = format!(
        "Groups by {}: median, in brackets the range of the middle half of the vessels and the median standard uncertainty u of one value",
        space.word()
    );
    table(&caption, &headings, &rows, false)
}

/// Median, middle half and typical uncertainty; values below their detection limit count as bounds.
fn spread(readings: &[Reading]) -> Option<String> {
    let mut bounds: Vec<f64> = readings.iter().map(Reading::bound).collect();
    let mut us: Vec<f64> = readings.iter().filter(|r| !r.below).map(|r| r.u).collect();
    let (low, middle, high) = (quantile(&mut bounds, 0.25)?, quantile(&mut bounds, 0.5)?, quantile(&mut bounds, 0.75)?);
    let below = readings.iter().filter(|r| r.below).count();
    let sign = if 2 * below >= readings.len() { "< " } else { "" };
    let u = quantile(&mut us, 0.5).map_or_else(String::new, |u| format!("; u {}", plain(u, 2)));
    let bounded = if below > 0 { format!("; {below} below the limit") } else { String::new() };
    Some(format!("{sign}{} ({} to {}{u}{bounded})", plain(middle, 3), plain(low, 3), plain(high, 3)))
}

fn standing_out(corpus: &Corpus<'_>) -> String {
    let Some(source) = corpus.tables.get("outliers") else {
        return left_out("Outliers were not looked for: that needs the comparison of several vessels.");
    };
    let standing: Vec<&Vessel<'_>> = corpus.vessels.iter().filter(|v| v.stands_out).collect();
    if standing.is_empty() {
        return paragraph("<strong>No vessel stands out</strong> from its peers at the stated false discovery rate.");
    }
    let toward = |direction: &str| {
        let says =
            |v: &&&Vessel<'_>| v.outlier_row.and_then(|row| cells::text(source, "direction", row)) == Some(direction);
        standing.iter().filter(says).count()
    };
    let (finer, coarser) = (toward("finer"), toward("coarser"));
    let by_form = |v: &&&Vessel<'_>| v.outlier_row.is_some_and(|row| cells::flag(source, "form_outlier", row));
    let others = standing.iter().filter(by_form).count();
    let ways =
        [(finer, "made finer than expected"), (coarser, "made coarser than expected"), (others, "of unusual form")];
    let twice = if finer + coarser + others > standing.len() { "; some on both grounds" } else { "" };
    let ways: Vec<String> = ways.iter().filter(|(n, _)| *n > 0).map(|(n, way)| format!("{n} {way}")).collect();
    paragraph(&format!(
        "<strong>{} out</strong> from {} peers: {}{twice}. <a href=\"#outliers\">Grounds</a>.",
        count(standing.len(), "vessel stands", "vessels stand"),
        if standing.len() == 1 { "its" } else { "their" },
        ways.join(", ")
    ))
}

/// The vessels whose walls contradict each other, in a sentence.
pub(super) fn doubts(doubtful: &[&Vessel<'_>]) -> Option<String> {
    let links: Vec<String> = doubtful.iter().map(|v| v.link()).collect();
    (!links.is_empty()).then(|| {
        format!(
            "<strong>To be checked:</strong> {}. The inner wall as told apart by the program lies outside the outer one, which no \
             vessel does; what rests on either wall, an unusual form included, is not to be relied on.",
            enumerated(&links)
        )
    })
}

/// Vessels and scans that ask for attention, most pressing first.
fn first(corpus: &Corpus<'_>) -> Vec<String> {
    let mut items = Vec::new();
    let mut standing: Vec<&Vessel<'_>> = corpus.vessels.iter().filter(|v| v.stands_out).collect();
    standing.sort_by(|a, b| least_q(corpus, a.outlier_row).total_cmp(&least_q(corpus, b.outlier_row)));
    for vessel in standing.iter().take(MOST_FIRST) {
        let why = vessel.outlier_row.map_or_else(String::new, |row| grounds(corpus, row));
        items.push(format!("{}: {}", vessel.link(), escape(&why)));
    }
    if standing.len() > MOST_FIRST {
        items.push(format!("<a href=\"#outliers\">{} more that stand out</a>", standing.len() - MOST_FIRST));
    }
    let lost: Vec<&Vessel<'_>> = corpus.vessels.iter().filter(|v| v.drawn.is_none() && !v.scans.is_empty()).collect();
    if !lost.is_empty() {
        let links: Vec<String> = lost.iter().take(MOST_FIRST).map(|v| v.link()).collect();
        let more = if lost.len() > MOST_FIRST { " and others" } else { "" };
        items.push(format!("Not measured, every scan having been rejected: {}{more}", links.join(", ")));
    }
    let scarce: Vec<String> = corpus.measured().filter_map(|v| scarcity(corpus, v)).take(MOST_SCARCE).collect();
    items.extend(scarce);
    items
}

/// Why a vessel's values rest on little, if they do.
fn scarcity(corpus: &Corpus<'_>, vessel: &Vessel<'_>) -> Option<String> {
    let row = *vessel.scans.iter().find(|row| cells::text(corpus.scans, "scan_id", **row) == vessel.drawn)?;
    let seen = cells::number(corpus.scans, "coverage_outer", row).unwrap_or(1.0);
    let aside = cells::number(corpus.scans, "masked_outer", row).unwrap_or(0.0);
    if seen < LITTLE_SEEN {
        return Some(format!("{}: only {} of the outer wall was seen", vessel.link(), percent(seen)));
    }
    (aside > MUCH_ASIDE)
        .then(|| format!("{}: {} of the outer wall was set aside as handle or damage", vessel.link(), percent(aside)))
}
