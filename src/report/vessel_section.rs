//! One vessel's own part of the page.

use super::ReportError;
use super::budget;
use super::cells;
use super::corpus::{Corpus, ONE_SIDED_95, Reading, SpaceName, Vessel};
use super::defects::{self, MARK, defects};
use super::html::{Cell, Heading, escape, figure, left_out, list, paragraph, table};
use super::look_alikes::look_alikes;
use super::number::{count, measured, percent, plain, reading_unit};
use super::order::by_list;
use super::outliers::grounds;
use super::patches::set_aside;
use super::peers::peers;
use super::section_choice::ChosenSection;
use super::vessel_figures::VesselFigures;
use super::vessel_pieces;
use crate::table::{Measure, MeasureKind, Table, measure_words};

/// The inside of one vessel's part: facts, figures, measures, scans.
pub(super) fn vessel_section(
    corpus: &Corpus<'_>,
    vessel: &Vessel<'_>,
    figures: Option<&VesselFigures>,
) -> Result<String, ReportError> {
    let mut inner = facts(corpus, vessel);
    inner.push_str(&defects(corpus, vessel));
    match figures {
        Some(figures) => inner.push_str(&drawings(corpus, vessel, figures)),
        None => {
            inner.push_str(&left_out("No scan of this vessel was reduced, so there is nothing to draw or to measure."))
        }
    }
    inner.push_str(&set_aside(corpus, vessel));
    inner.push_str(&measures(corpus, vessel));
    inner.push_str(&peers(corpus.tables.get("precision_residuals"), &corpus.residuals, vessel.id));
    inner.push_str(&look_alikes(corpus, vessel.id)?);
    inner.push_str(&scans(corpus, vessel));
    Ok(inner)
}

/// What the catalogue says, the groups, and why the vessel stands out if it does.
fn facts(corpus: &Corpus<'_>, vessel: &Vessel<'_>) -> String {
    let mut items = Vec::new();
    for space in [SpaceName::Form, SpaceName::Precision] {
        let grouping = corpus.grouping(space);
        if let Some(index) = grouping.of.get(vessel.id) {
            items.push(format!("By {}: {}", space.word(), escape(&grouping.title(*index))));
        }
    }
    if let Some(row) = vessel.outlier_row.filter(|_| vessel.stands_out) {
        items.push(format!("<strong>Stands out:</strong> {}", escape(&grounds(corpus, row))));
    }
    if let Some(table) = corpus.tables.get("vessels") {
        let row =
            table.texts("vessel_id").ok().and_then(|ids| ids.iter().position(|id| id.as_deref() == Some(vessel.id)));
        for column in table.columns().iter().filter(|c| c.name != "vessel_id" && !is_measure(&c.name)) {
            if let Some(words) = row.and_then(|row| cells::words(&column.data, row)) {
                items.push(format!("{}: {}", escape(&catalogue_words(&column.name)), escape(&words)));
            }
        }
    }
    if items.is_empty() { String::new() } else { list(&items) }
}

/// A column of the catalogue as a reader sees it.
fn catalogue_words(column: &str) -> String {
    match column {
        "mohs" => "Hardness, Mohs scale".to_owned(),
        "density_g_cm3" => "Density, g/cm\u{b3}".to_owned(),
        "ct_cost" => "Cost of a computed tomography".to_owned(),
        "n_scans" => "Scans in the catalogue".to_owned(),
        "n_reduced" => "Scans reduced".to_owned(),
        "bent" => "Bent, by scans that agree".to_owned(),
        "reference" => "Documented reference piece".to_owned(),
        other => capitalised(&other.replace('_', " ")),
    }
}

/// Whether a column of `vessels` is a measure or belongs to one.
fn is_measure(column: &str) -> bool {
    let base = column.strip_prefix("u_").unwrap_or(column);
    let base = ["_detection_limit", "_below_limit"].iter().find_map(|end| base.strip_suffix(end)).unwrap_or(base);
    Measure::named(base).is_some()
}

fn drawings(corpus: &Corpus<'_>, vessel: &Vessel<'_>, figures: &VesselFigures) -> String {
    let mut out = String::from("<div class=\"figures\">\n");
    match &figures.profile {
        Some(drawn) => out.push_str(&figure(&drawn.svg, &profile_caption(corpus, vessel, figures))),
        None => out.push_str(&left_out("No meridian of this vessel is in the tables, so its section is not drawn.")),
    }
    if let Some(drawn) = &figures.pieces {
        out.push_str(&figure(&drawn.svg, &vessel_pieces::caption(drawn.stated as usize, vessel.drawn)));
    }
    match (&figures.roundness, &figures.sections.chosen) {
        (Some(drawn), Some(section)) => {
            let caption = roundness_caption(section, figures, drawn.stated) + &defects::drawn_from(corpus, vessel);
            out.push_str(&figure(&drawn.svg, &caption))
        }
        _ => out.push_str(&left_out("No section of the body has harmonics, so its roundness is not drawn.")),
    }
    if let (Some(drawn), Some(section)) = (&figures.spectrum, &figures.sections.chosen) {
        let caption = format!(
            "Harmonics of the section at z = {:.1} mm. Blue: above what the scanner\u{2019}s noise alone would stay below in 95 % of cases; grey: not. 1 UPR is the \
             section's eccentricity about the datum axis, 2 UPR ovality, 3 UPR three-lobed form.",
            section.height
        );
        out.push_str(&figure(&drawn.svg, &caption));
    }
    for (wall, drawn) in &figures.walls {
        let caption = format!(
            "The {wall} wall unrolled, seen from outside with azimuth counter-clockwise from above: deviation along the normal from \
             the wall\u{2019}s mean surface of revolution about the datum axis, positive away from the axis. The colours end at \
             \u{b1}{} mm.",
            plain(drawn.stated, 1)
        );
        out.push_str(&figure(&drawn.svg, &caption));
    }
    if figures.walls.is_empty() {
        out.push_str(&left_out("No unrolled wall of this vessel is in the tables."));
    }
    out.push_str("</div>\n");
    out
}

fn profile_caption(corpus: &Corpus<'_>, vessel: &Vessel<'_>, figures: &VesselFigures) -> String {
    let size = |measure: &str, name: &str| {
        let reading = corpus.reading(vessel.id, measure)?;
        let (value, u) = measured(reading.value, reading.u);
        Some(format!("{name} {value} mm (u = {u} mm)"))
    };
    let sizes: Vec<String> =
        [("height", "height"), ("max_diameter", "greatest diameter"), ("rim_diameter", "rim diameter")]
            .into_iter()
            .filter_map(|(measure, name)| size(measure, name))
            .collect();
    let wall = match (figures.inner_seen, figures.walls_contradict) {
        (false, _) => "the inner wall was not seen",
        (true, false) => "wall filled as far as both sides were seen",
        (true, true) => "not filled",
    };
    let doubt = if figures.walls_contradict {
        " <strong>The inner wall as told apart by the program lies outside the outer one in places, which no vessel does: values \
         that rest on the inner wall, and on which wall is which, are not to be relied on.</strong>"
    } else {
        ""
    };
    let drawn = vessel.drawn.map_or_else(String::new, |scan| format!(" Drawn from scan {}.", escape(scan)));
    let sizes = if sizes.is_empty() { String::new() } else { format!(" {}.", capitalised(&sizes.join(", "))) };
    format!("Section (left; {wall}) and outside (right), to the scale of the bar.{sizes}{drawn}{doubt}")
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn roundness_caption(section: &ChosenSection, figures: &VesselFigures, magnification: f64) -> String {
    let ront = match (section.ront, section.limit) {
        (Some((value, _)), Some(limit)) if value < limit => {
            format!("RONt below the detection limit of {} mm", plain(limit, 2))
        }
        (Some((value, u)), _) => {
            let (value, u) = measured(value, u);
            format!("RONt = {value} mm (u = {u} mm, noise taken off)")
        }
        (None, _) => "RONt not measured here".to_owned(),
    };
    let zone = section.limit.map_or_else(String::new, |limit| {
        format!(
            " Grey zone: the {} mm peak-to-valley that the scanner\u{2019}s noise alone would stay below in 95 % of cases.",
            plain(limit, 2)
        )
    });
    let gaps = match (section.coverage, section.masked) {
        (Some(seen), Some(aside)) if seen < 0.995 || aside > 0.005 => {
            format!(
                " {} of the turn was seen, {} set aside; dashes bridge what is missing.",
                percent(seen),
                percent(aside)
            )
        }
        _ => String::new(),
    };
    format!(
        "Roundness of the outer wall at z = {:.1} mm, the body\u{2019}s section of median RONt among {}. Deviations, noise \
         included, are magnified {} : 1 over the circle of radius {:.1} mm. {ront}.{zone}{gaps}",
        section.height,
        figures.sections.measured,
        plain(magnification, 1),
        section.radius
    )
}

fn measures(corpus: &Corpus<'_>, vessel: &Vessel<'_>) -> String {
    let Some(source) = corpus.tables.get("measures") else {
        return left_out("The tables hold no measures of vessels.");
    };
    let mut of_vessel: Vec<usize> = corpus.measures.rows(vessel.id).collect();
    let named = |row: usize| cells::text(source, "measure", row).unwrap_or("");
    let flawed = defects::any(corpus, vessel);
    of_vessel.sort_by(|a, b| by_list(named(*a), named(*b)));
    let rows: Vec<Vec<Cell>> = of_vessel
        .iter()
        .filter_map(|&row| {
            let name = cells::text(source, "measure", row)?;
            let reading = Reading::of(source, row)?;
            let n_scans = cells::number(source, "n_scans", row).map(|n| format!("{n:.0}"));
            let mut cells = measure_row(name, &reading, n_scans, flawed);
            cells.insert(3, Cell::words(&budget::shares(source, row)));
            if let Some(found) = as_found(source, row) {
                cells[0].markup.push_str(&format!(" <small><strong>{}</strong></small>", escape(&found)));
            }
            Some(cells)
        })
        .collect();
    if rows.is_empty() {
        return left_out("No measure of this vessel is in the tables.");
    }
    let headings = [
        Heading("Measure", false),
        Heading("Value", true),
        Heading("u", true),
        Heading("u comes from", false),
        Heading("Unit", false),
        Heading("Detection limit", true),
        Heading("Scans", true),
    ];
    let mut caption =
        "Measures; u is the standard uncertainty, with its greatest parts as shares of its square. A value below \
                       its detection limit is given as a bound: the limit, or the value and 1.645 u where that is more."
            .to_owned();
    if flawed {
        caption.push_str(&format!(" {MARK}: a scan of this vessel has a defect, see above."));
    }
    table(&caption, &headings, &rows, false) + &budget::missing(source, &of_vessel)
}

/// What a measure is with handles and damage left in, where something was set aside.
fn as_found(measures: &Table, row: usize) -> Option<String> {
    let number = |name: &str| cells::number(measures, name, row);
    let (factor, unit) = reading_unit(cells::text(measures, "unit", row)?);
    let (value, u) = (factor * number("value_found")?, factor * number("u_value_found")?);
    if value < u {
        let bound = plain(value + ONE_SIDED_95 * u, 2);
        return Some(format!("as found, nothing set aside: below {bound} {unit}"));
    }
    let (value, u) = measured(value, u);
    Some(format!("as found, nothing set aside: {value} {unit} (u {u})"))
}

fn measure_row(name: &str, reading: &Reading, n_scans: Option<String>, flawed: bool) -> Vec<Cell> {
    let (factor, unit) = reading_unit(&reading.unit);
    let (value, u) = measured(factor * reading.value, factor * reading.u);
    let limit = reading.limit.map(|limit| plain(factor * limit, 2));
    let (value, u) = match (reading.limit, reading.below) {
        (Some(_), true) => (format!("< {}", plain(factor * reading.bound(), 2)), None),
        _ => (value, Some(u)),
    };
    let measure = Measure::named(name);
    let marked = flawed && measure.is_some_and(|m| m.kind == MeasureKind::Precision);
    let value = if marked { format!("{value} {MARK}") } else { value };
    let meaning = measure.map_or("", |m| m.meaning);
    let label = capitalised(&measure_words::listed(name));
    vec![
        Cell::markup(format!("{} <small>{}</small>", escape(&label), escape(meaning))),
        Cell::number(Some(value), Some(reading.value)),
        Cell::number(u, Some(reading.u)),
        Cell::words(unit),
        Cell::number(limit, reading.limit),
        Cell::number(n_scans, None),
    ]
}

/// One row per scan of the vessel, notes included.
fn scans(corpus: &Corpus<'_>, vessel: &Vessel<'_>) -> String {
    if vessel.scans.is_empty() {
        return left_out("The tables hold no scan of this vessel.");
    }
    let table_of = corpus.scans;
    let rows: Vec<Vec<Cell>> = vessel
        .scans
        .iter()
        .map(|row| {
            let words = |name: &str| cells::text(table_of, name, *row);
            let share = |name: &str| cells::number(table_of, name, *row).map(percent);
            let noise = cells::number(table_of, "noise_mm", *row);
            let status = match words("reason") {
                Some(reason) if !corpus.reduced(*row) => format!("rejected: {reason}"),
                _ => words("status").unwrap_or("").to_owned(),
            };
            let notes: Vec<&str> =
                words("quality").into_iter().chain(words("up_source").map(up_words)).chain(words("notes")).collect();
            vec![
                Cell::name(words("scan_id").unwrap_or("")),
                Cell::words(words("instrument").unwrap_or("\u{2013}")),
                Cell::words(&status),
                Cell::number(noise.map(|n| plain(n, 2)), noise),
                Cell::number(share("coverage_outer"), None),
                Cell::number(share("coverage_inner"), None),
                Cell::number(share("masked_outer"), None),
                Cell::words(&notes.join("; ")),
            ]
        })
        .collect();
    let headings = [
        Heading("Scan", false),
        Heading("Instrument", false),
        Heading("Status", false),
        Heading("Noise, mm", true),
        Heading("Outer wall seen", true),
        Heading("Inner wall seen", true),
        Heading("Outer wall set aside", true),
        Heading("Notes", false),
    ];
    let caption = count(vessel.scans.len(), "scan", "scans");
    table(&format!("{caption} of this vessel"), &headings, &rows, false)
}

/// How it was decided which end is up.
fn up_words(source: &str) -> &str {
    match source {
        "opening" => "the opening shows which end is up",
        "catalogue" => "the catalogue says which end is up",
        "assumed" => "which end is up was assumed from the outline",
        other => other,
    }
}

/// A vessel's part as a page of its own would say it: heading, part, way back.
pub(super) fn sheet_body(vessel: &Vessel<'_>, inner: &str) -> String {
    let back = paragraph(&format!("<a href=\"../report.html#{}\">The whole report</a>", vessel.anchor()));
    let inner = inner.replace(" href=\"#vessel-", " href=\"../report.html#vessel-"); // other vessels have sheets of their own
    format!("<main>\n<h1>{}</h1>\n{back}{inner}</main>\n", escape(vessel.id))
}

/// A vessel's part as it stands in the report, folded until it is asked for.
pub(super) fn folded(corpus: &Corpus<'_>, vessel: &Vessel<'_>, inner: &str) -> String {
    let mut marks = Vec::new();
    for space in [SpaceName::Form, SpaceName::Precision] {
        if let Some(index) = corpus.grouping(space).of.get(vessel.id) {
            marks.push(format!("{} {}", space.word(), corpus.grouping(space).title(*index)));
        }
    }
    if vessel.stands_out {
        marks.push("stands out".to_owned());
    }
    if vessel.drawn.is_none() {
        marks.push("not measured".to_owned());
    }
    format!(
        "<details class=\"vessel\">\n<summary>{} <small>{}</small></summary>\n<div id=\"{}\" class=\"vessel-body\" \
         tabindex=\"-1\">\n{inner}</div>\n</details>\n",
        escape(vessel.id),
        escape(&marks.join(" \u{b7} ")),
        vessel.anchor()
    )
}
