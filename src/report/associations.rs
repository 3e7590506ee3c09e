//! What form goes with: precision, size.

use super::corpus::{Corpus, SpaceName};
use super::html::{Cell, Heading, left_out, paragraph, part, table};
use super::maps::{Shown, deviations, point_of};
use super::number::{percent, plain};
use super::tables::RowIndex;
use super::{ReportError, cells};
use crate::figure::score_map::{AxisForm, ScoreMap, ScorePoint, score_map};
use crate::table::Table;

/// Above this adjusted p nothing is claimed.
const LEVEL: f64 = 0.05;

/// Instruments told apart by their marks at most; of more the marks say nothing.
const MOST_INSTRUMENTS: usize = 6;

/// Measures named in the sentence on a direction.
const MEASURES_NAMED: usize = 3;

/// The part on form against precision and against size.
pub(super) fn associations(corpus: &Corpus<'_>) -> Result<Shown, ReportError> {
    let mut shown = Shown::nothing();
    let words = "Whether vessels of one form were made more truly than those of another, and whether large vessels have another \
                 form than small ones, judged by rearranging the vessels: p is the share of arrangements that go together \
                 as much. What goes together need not be cause and effect.";
    shown.markup.push_str(&paragraph(words));
    match corpus.tables.get("associations").filter(|table| table.rows() > 0) {
        Some(source) => {
            for row in 0..source.rows() {
                one(corpus, &mut shown, source, row)?;
            }
            let rows: Vec<Vec<Cell>> = (0..source.rows()).map(|row| cells_of(source, row)).collect();
            shown.markup.push_str(&table(CAPTION, &HEADINGS, &rows, false));
        }
        None => shown.markup.push_str(&left_out("Nothing was compared: that needs ten vessels with a form.")),
    }
    shown.markup = part("associations", "Form against precision and size", &shown.markup);
    Ok(shown)
}

const CAPTION: &str = "Effect: of precision the RV coefficient, 0 to 1; of size the share of the variance of form that goes with \
                       it. By chance: the mean over all rearrangements, which in a small corpus is far from 0. Correlation: of \
                       the scores drawn. q: p adjusted for both tests.";

const HEADINGS: [Heading; 8] = [
    Heading("Form against", false),
    Heading("Vessels", true),
    Heading("Effect", true),
    Heading("By chance", true),
    Heading("Correlation", true),
    Heading("p", true),
    Heading("q", true),
    Heading("To be borne in mind", false),
];

fn cells_of(source: &Table, row: usize) -> Vec<Cell> {
    let number = |name: &str, spoken: fn(f64) -> String| {
        let value = cells::number(source, name, row);
        Cell::number(value.map(spoken), value)
    };
    vec![
        Cell::words(if is_size(source, row) { "size" } else { "precision" }),
        number("n", |n| format!("{n:.0}")),
        number("effect", |effect| plain(effect, 2)),
        number("by_chance", |effect| plain(effect, 2)),
        number("correlation", |r| plain(r, 2)),
        number("p", |p| plain(p, 2)),
        number("q", |q| plain(q, 2)),
        Cell::words(cells::text(source, "note", row).unwrap_or("")),
    ]
}

fn is_size(source: &Table, row: usize) -> bool {
    cells::text(source, "association", row) == Some("form_size")
}

/// One association: a heading, what can be said, the figure.
fn one(corpus: &Corpus<'_>, shown: &mut Shown, source: &Table, row: usize) -> Result<(), ReportError> {
    let size = is_size(source, row);
    let heading = if size { "Form against size" } else { "Form against precision" };
    shown.markup.push_str(&format!("<h3>{heading}</h3>\n"));
    shown.markup.push_str(&paragraph(&said(corpus, source, row)));
    let Some(scores) = corpus.tables.get("association_scores") else { return Ok(()) };
    let word = cells::text(source, "association", row).unwrap_or("");
    let (points, instruments) = points(corpus, scores, word)?;
    if points.is_empty() {
        return Ok(());
    }
    let (x_label, y_label, caption, file) = if size {
        let mean = geometric_mean_size(corpus).map_or_else(String::new, |mean| format!(" ({} mm)", plain(mean, 3)));
        (
            format!("logarithm of the size over its geometric mean{mean}"),
            "form, along its change with size",
            "Each vessel by its size and by its form along the direction in which form changes with size. Below: the form \
             predicted for a small and a large vessel, to one size.",
            "form_size.svg",
        )
    } else {
        (
            "form, along the direction that goes with precision".to_owned(),
            "precision, on the whole greater is coarser",
            "Each vessel by form and precision along the pair of directions that vary together most. Values below their \
             detection limits are bounds, and what vessels of one instrument share is taken off. Below: the form at either end.",
            "form_precision.svg",
        )
    };
    let names_instruments = !instruments.is_empty();
    let map = ScoreMap {
        label: heading.to_owned(),
        x_label,
        y_label: y_label.to_owned(),
        points: points.into_iter().map(|point| if size { turned(point) } else { point }).collect(),
        groups: instruments,
        ungrouped: if names_instruments { "not stated" } else { "a vessel" },
        forms: forms(corpus, word)?,
    };
    let (svg, _) = score_map(&map)?;
    let marks = if map.groups.is_empty() { "" } else { " Marks differ by instrument." };
    let caption = format!(
        "{caption}{marks} Bars reach two standard uncertainties to each side where that is more than the mark."
    );
    shown.add(file, svg, &caption);
    Ok(())
}

/// Size across, form upwards.
fn turned(point: ScorePoint) -> ScorePoint {
    ScorePoint { x: point.y, y: point.x, u_x: point.u_y, u_y: point.u_x, ..point }
}

/// What can be said of one association, in plain words.
fn said(corpus: &Corpus<'_>, source: &Table, row: usize) -> String {
    let number = |name: &str| cells::number(source, name, row).unwrap_or(1.0);
    let size = is_size(source, row);
    let (p, q, effect, by_chance) = (number("p"), number("q"), number("effect"), number("by_chance"));
    let numbers = if size {
        format!(
            "{} of the variance of form goes with size, where chance brings {}",
            percent(effect),
            percent(by_chance)
        )
    } else {
        format!("RV coefficient {}, where chance brings {}", plain(effect, 2), plain(by_chance, 2))
    };
    if q > LEVEL {
        let what = if size { "form and size" } else { "form and precision" };
        return format!(
            "Nothing can be said: by chance alone {what} go together as much in {} of all arrangements ({numbers}).",
            percent(p)
        );
    }
    if size {
        return format!("Form changes with size: {numbers} (p = {}, adjusted {}).", plain(p, 2), plain(q, 2));
    }
    let named = coarser_measures(corpus);
    let by = if named.is_empty() { String::new() } else { format!(", mostly by {named}") };
    format!(
        "Form and precision go together: {numbers} (p = {}, adjusted {}). Vessels drawn higher were made less truly{by}.",
        plain(p, 2),
        plain(q, 2)
    )
}

/// The measures with the greatest weights, as words.
fn coarser_measures(corpus: &Corpus<'_>) -> String {
    let Some(table) = corpus.tables.get("association_weights") else { return String::new() };
    let of_precision = |row: &usize| cells::text(table, "block", *row) == Some("precision");
    let weight = |row: usize| cells::number(table, "weight", row).unwrap_or(0.0);
    let mut rows: Vec<usize> = (0..table.rows()).filter(of_precision).filter(|row| weight(*row) > 0.0).collect();
    rows.sort_by(|a, b| weight(*b).total_cmp(&weight(*a)));
    let words = |row: &usize| cells::text(table, "variable", *row).map(|name| name.replace('_', " "));
    rows.iter().take(MEASURES_NAMED).filter_map(words).collect::<Vec<_>>().join(", ")
}

fn geometric_mean_size(corpus: &Corpus<'_>) -> Option<f64> {
    let table = corpus.tables.get("form_scores")?;
    let sizes: Vec<f64> =
        (0..table.rows()).filter_map(|row| cells::number(table, "centroid_size_mm", row)).map(f64::ln).collect();
    (!sizes.is_empty()).then(|| (sizes.iter().sum::<f64>() / sizes.len() as f64).exp())
}

/// The vessels of one association, form across, grouped by instrument, with the instruments' names.
fn points(corpus: &Corpus<'_>, scores: &Table, word: &str) -> Result<(Vec<ScorePoint>, Vec<String>), ReportError> {
    let rows = RowIndex::new(Some(scores), "association")?;
    let instrument = |vessel: &super::corpus::Vessel<'_>| {
        vessel.scans.iter().find_map(|row| cells::text(corpus.scans, "instrument", *row).map(str::to_owned))
    };
    let mut names: Vec<String> = corpus.measured().filter_map(instrument).collect();
    names.sort_unstable();
    names.dedup();
    if names.len() > MOST_INSTRUMENTS {
        names.clear();
    }
    let point = |row: usize| {
        let vessel = corpus.vessel(cells::text(scores, "vessel_id", row)?)?;
        let group = instrument(vessel).and_then(|name| names.iter().position(|known| *known == name));
        Some(ScorePoint {
            x: cells::number(scores, "form_score", row)?,
            y: cells::number(scores, "partner_score", row)?,
            u_x: cells::number(scores, "u_form_score", row),
            u_y: cells::number(scores, "u_partner_score", row),
            group,
            ..point_of(corpus, vessel, SpaceName::Form)
        })
    };
    let points = rows.rows(word).filter_map(point).collect();
    Ok((points, names))
}

/// The forms at either end of one association.
fn forms(corpus: &Corpus<'_>, word: &str) -> Result<Vec<AxisForm>, ReportError> {
    let Some(table) = corpus.tables.get("association_forms") else { return Ok(Vec::new()) };
    let (radii, heights) = (table.floats("radius_rel")?, table.floats("height_rel")?);
    let mut found: Vec<AxisForm> = Vec::new();
    for row in RowIndex::new(Some(table), "association")?.rows(word) {
        let (Some(radius), Some(height)) = (radii[row], heights[row]) else { continue };
        let side = cells::number(table, "deviations", row);
        let caption = match (side, cells::number(table, "size_mm", row)) {
            (Some(side), _) => deviations(side),
            (None, Some(size)) => format!("at {} mm", plain(size, 2)),
            (None, None) => continue,
        };
        match found.last_mut().filter(|last| last.caption == caption) {
            Some(last) => last.outline.push((radius, height)),
            None => {
                // Of two sizes the first is the small one.
                let side = side.unwrap_or(if found.is_empty() { -1.0 } else { 1.0 });
                found.push(AxisForm { axis: 0, side, caption, outline: vec![(radius, height)] });
            }
        }
    }
    Ok(found)
}
