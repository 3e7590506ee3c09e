//! The maps of vessels by form and by precision, whose points lead to the vessels.

use std::collections::BTreeMap;

use super::cells;
use super::corpus::{Corpus, SpaceName, Vessel};
use super::html::{figure, left_out, paragraph, part};
use super::number::{count, measured, percent};
use super::tables::RowIndex;
use super::{ReportError, ReportFacts};
use crate::analysis::form::FormChoice;
use crate::figure::grades::{Grades, grades};
use crate::figure::score_map::{AxisForm, ScoreMap, ScorePoint, score_map};
use crate::table::{Table, TableError};

/// Figures that go to files of their own, with the markup that shows them.
pub(super) struct Shown {
    pub(super) markup: String,
    pub(super) files: Vec<(String, String)>,
}

impl Shown {
    pub(super) const fn nothing() -> Self {
        Self { markup: String::new(), files: Vec::new() }
    }

    /// Adds a figure; its links lead into the report, from the figure's own file too.
    pub(super) fn add(&mut self, file: &str, svg: String, caption: &str) {
        self.markup.push_str(&figure(&svg, caption));
        self.files.push((format!("figures/{file}"), svg.replace(" href=\"#vessel-", " href=\"../report.html#vessel-")));
    }
}

/// The part with both maps.
pub(super) fn maps(corpus: &Corpus<'_>, facts: &ReportFacts) -> Result<Shown, ReportError> {
    let mut shown = Shown::nothing();
    let choice = facts.word("compare.form").and_then(|word| word.parse::<FormChoice>().ok());
    for (space, file) in [(SpaceName::Form, "form_map.svg"), (SpaceName::Precision, "precision_map.svg")] {
        let heading = if space == SpaceName::Form { "Map of forms" } else { "Map of precision" };
        shown.markup.push_str(&format!("<h3>{heading}</h3>\n"));
        if let Some(choice) = choice.filter(|_| space == SpaceName::Form) {
            shown.markup.push_str(&paragraph(&format!("Forms are compared by this: {}.", choice.meaning())));
        }
        let name = format!("{}_scores", space.word());
        match corpus.tables.get(&name).map(|scores| score_points(corpus, scores, space)).transpose()? {
            Some(points) if !points.is_empty() => add_map(corpus, &mut shown, space, points, file)?,
            _ => shown.markup.push_str(&left_out(&format!(
                "The vessels were not compared by {}: that needs several measured vessels.",
                space.word()
            ))),
        }
    }
    add_grades(corpus, &mut shown)?;
    shown.markup = part("maps", "Maps of the vessels", &shown.markup);
    Ok(shown)
}

fn add_map(
    corpus: &Corpus<'_>,
    shown: &mut Shown,
    space: SpaceName,
    points: Vec<ScorePoint>,
    file: &str,
) -> Result<(), ReportError> {
    let shares = explained(corpus, space);
    let label = |component: usize| match shares.get(component) {
        Some(share) => format!("PC{} ({} of the variance)", component + 1, percent(*share)),
        None => format!("PC{}", component + 1),
    };
    let with_u = points.iter().any(|p| p.u_x.is_some());
    let map = ScoreMap {
        label: format!("Map of {} vessels by {}", points.len(), space.word()),
        x_label: label(0),
        y_label: label(1),
        points,
        groups: titles(corpus, space),
        ungrouped: "no group",
        forms: if space == SpaceName::Form { axis_forms(corpus)? } else { Vec::new() },
    };
    let (svg, one_scale) = score_map(&map)?;
    let scale = if one_scale { "Both axes have one scale." } else { "The axes are not to one scale." };
    let bars = if with_u {
        "Bars reach two standard uncertainties to each side; where none is seen, it is shorter than the mark. "
    } else {
        ""
    };
    let forms = if map.forms.is_empty() { "" } else { "The small forms are the mean form moved along an axis. " };
    let what = match space {
        SpaceName::Form => "Vessels near each other have like outlines, size left aside.",
        SpaceName::Precision => "Vessels near each other were made alike truly, by all measures of precision together.",
    };
    let missing = corpus.measured().count().saturating_sub(map.points.len());
    let missing = match missing {
        0 => String::new(),
        n => format!(" {} no place here: {}.", count(n, "vessel has", "vessels have"), reasons(corpus, space)),
    };
    let caption = format!(
        "{what} {forms}{bars}{scale}{missing} Groups differ in colour and shape; ringed points stand out, named where there is room. Point at a vessel for its name; \
         click, or press Enter, for its part of the report."
    );
    shown.add(file, svg, &caption);
    Ok(())
}

/// Why vessels have no place in a space, with the number of each reason.
fn reasons(corpus: &Corpus<'_>, space: SpaceName) -> String {
    let clusters = corpus.tables.get("clusters").filter(|table| space == SpaceName::Form && table.has("form_left_out"));
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for row in 0..clusters.map_or(0, Table::rows) {
        let reason = clusters.and_then(|table| cells::text(table, "form_left_out", row));
        reason.into_iter().for_each(|reason| *counts.entry(reason).or_default() += 1);
    }
    if counts.is_empty() {
        return "too little being measured".to_owned();
    }
    if let [(reason, _)] = Vec::from_iter(&counts)[..] {
        return (*reason).to_owned();
    }
    counts.into_iter().map(|(reason, n)| format!("{reason} ({n})")).collect::<Vec<_>>().join("; ")
}

/// Names of a comparison's groups as legends write them.
pub(super) fn titles(corpus: &Corpus<'_>, space: SpaceName) -> Vec<String> {
    let grouping = corpus.grouping(space);
    (0..grouping.names.len()).map(|i| grouping.title(i)).collect()
}

/// Shares of variance of a space's components, from `scree` or, for forms, from `form_axes`.
pub(super) fn explained(corpus: &Corpus<'_>, space: SpaceName) -> Vec<f64> {
    let mut shares: Vec<(f64, f64)> = Vec::new();
    let mut read = |table: &Table, wanted: &dyn Fn(usize) -> bool| {
        for row in (0..table.rows()).filter(|row| wanted(*row)) {
            if let (Some(c), Some(e)) = (cells::number(table, "component", row), cells::number(table, "explained", row))
            {
                shares.push((c, e));
            }
        }
    };
    if let Some(table) = corpus.tables.get("scree") {
        read(table, &|row| cells::text(table, "space", row) == Some(space.word()));
    } else if let Some(table) = corpus.tables.get("form_axes").filter(|_| space == SpaceName::Form) {
        read(table, &|_| true);
    }
    shares.sort_by(|a, b| a.0.total_cmp(&b.0));
    shares.into_iter().map(|(_, share)| share).collect()
}

fn score_points(corpus: &Corpus<'_>, scores: &Table, space: SpaceName) -> Result<Vec<ScorePoint>, TableError> {
    let ids = scores.texts("vessel_id")?;
    let mut points = Vec::new();
    for (row, id) in ids.iter().enumerate() {
        let Some(vessel) = id.as_deref().and_then(|id| corpus.vessel(id)) else { continue };
        let Some(x) = cells::number(scores, "pc1", row) else { continue };
        points.push(ScorePoint {
            x,
            y: cells::number(scores, "pc2", row).unwrap_or(0.0),
            u_x: cells::number(scores, "u_pc1", row),
            u_y: cells::number(scores, "u_pc2", row),
            ..point_of(corpus, vessel, space)
        });
    }
    Ok(points)
}

/// A point of a vessel without its position.
pub(super) fn point_of(corpus: &Corpus<'_>, vessel: &Vessel<'_>, space: SpaceName) -> ScorePoint {
    let grouping = corpus.grouping(space);
    let group = grouping.of.get(vessel.id).copied();
    let mut note = vec![group.map_or_else(|| "no group".to_owned(), |g| grouping.title(g))];
    for (measure, name) in [("max_diameter", "greatest diameter"), ("roundness_outer", "roundness, outer")] {
        if let Some(reading) = corpus.reading(vessel.id, measure) {
            let (value, u) = measured(reading.value, reading.u);
            note.push(match (reading.below, reading.limit) {
                (true, Some(limit)) => format!("{name} < {} mm", super::number::plain(limit, 2)),
                _ => format!("{name} {value} mm (u = {u} mm)"),
            });
        }
    }
    if let Some(row) = vessel.outlier_row.filter(|_| vessel.stands_out) {
        note.push(super::outliers::grounds(corpus, row));
    }
    ScorePoint {
        name: vessel.id.to_owned(),
        note: note.join("\n"),
        href: format!("#{}", vessel.anchor()),
        x: 0.0,
        y: 0.0,
        u_x: None,
        u_y: None,
        at_most: false,
        group,
        outlier: vessel.stands_out,
    }
}

/// The forms at the ends of the first two components.
fn axis_forms(corpus: &Corpus<'_>) -> Result<Vec<AxisForm>, TableError> {
    Ok(drawn_axes(corpus)?
        .into_iter()
        .filter(|form| form.component <= 2 && form.side.abs() > 0.5)
        .map(|form| AxisForm {
            axis: form.component.saturating_sub(1),
            side: form.side,
            caption: format!("PC{} {}", form.component, deviations(form.side)),
            outline: form.outline,
        })
        .collect())
}

/// Standard deviations to one side, in words.
pub(super) fn deviations(side: f64) -> String {
    format!("{}{} s.d.", if side < 0.0 { "\u{2212}" } else { "+" }, side.abs())
}

/// A form drawn at one end of a component, or between them.
pub(super) struct DrawnAxis {
    /// From 1.
    pub(super) component: usize,
    /// In standard deviations.
    pub(super) side: f64,
    /// Radius and height relative to the centroid size.
    pub(super) outline: Vec<(f64, f64)>,
}

/// The forms of `form_axes_drawn` in the table's order.
pub(super) fn drawn_axes(corpus: &Corpus<'_>) -> Result<Vec<DrawnAxis>, TableError> {
    let Some(table) = corpus.tables.get("form_axes_drawn") else { return Ok(Vec::new()) };
    let (radii, heights) = (table.floats("radius_rel")?, table.floats("height_rel")?);
    let mut drawn: Vec<DrawnAxis> = Vec::new();
    for row in 0..table.rows() {
        let (Some(component), Some(side)) =
            (cells::number(table, "component", row), cells::number(table, "deviations", row))
        else {
            continue;
        };
        let (Some(radius), Some(height)) = (radii[row], heights[row]) else { continue };
        let component = component.clamp(0.0, 1e6) as usize;
        match drawn.last_mut() {
            Some(last) if last.component == component && (last.side - side).abs() < 1e-9 => {
                last.outline.push((radius, height));
            }
            _ => drawn.push(DrawnAxis { component, side, outline: vec![(radius, height)] }),
        }
    }
    Ok(drawn)
}

fn add_grades(corpus: &Corpus<'_>, shown: &mut Shown) -> Result<(), ReportError> {
    let Some(scores) = corpus.tables.get("precision_scores").filter(|t| t.has("precision_grade")) else {
        return Ok(());
    };
    let rows = RowIndex::new(Some(scores), "vessel_id")?;
    let point = |vessel: &Vessel<'_>| {
        let row = rows.rows(vessel.id).next()?;
        let grade = cells::number(scores, "precision_grade", row);
        let x = grade.or_else(|| cells::number(scores, "precision_grade_at_most", row))?;
        let u_x = cells::number(scores, "u_precision_grade", row);
        Some(ScorePoint { x, u_x, at_most: grade.is_none(), ..point_of(corpus, vessel, SpaceName::Precision) })
    };
    let points: Vec<ScorePoint> = corpus.vessels.iter().filter_map(point).collect();
    if points.is_empty() {
        return Ok(());
    }
    let figure = Grades {
        label: "Tolerance grades of the vessels".to_owned(),
        x_label: "tolerance grade, ISO 286 scale (continuous; smaller is finer)".to_owned(),
        points,
        groups: titles(corpus, SpaceName::Precision),
    };
    let caption = "How truly each vessel was made, relative to its size: the grade whose standard tolerance equals the roundness deviation of its outer wall. \
                   Five grades are a factor of ten. Bars reach two standard uncertainties to each side; arrows are vessels whose \
                   roundness is below its detection limit, so that their grade is only known to be finer.";
    shown.markup.push_str("<h3>Grades of precision</h3>\n");
    shown.add("precision_grades.svg", grades(&figure)?, caption);
    Ok(())
}
