//! What else looks like a vessel: the nearest in form, and whether the measurement tells them apart.

use super::ReportError;
use super::cells;
use super::corpus::Corpus;
use super::html::{Cell, Heading, escape, figure, table};
use super::number::measured;
use crate::figure::form_row::{RowForm, form_row};

/// Distances are read in hundredths of their unit.
const HUNDREDTHS: f64 = 100.0;

/// The vessels nearest in form; empty if the vessel was not compared.
pub(super) fn look_alikes(corpus: &Corpus<'_>, vessel: &str) -> Result<String, ReportError> {
    let Some(source) = corpus.tables.get("neighbours") else { return Ok(String::new()) };
    let rows: Vec<usize> = corpus.neighbours.rows(vessel).collect();
    let near = |row: usize| cells::text(source, "neighbour_id", row).unwrap_or("");
    let lines: Vec<Vec<Cell>> = rows
        .iter()
        .map(|&row| {
            let number = |name: &str| cells::number(source, name, row);
            let (distance, u) = (number("distance").unwrap_or_default(), number("u_distance").unwrap_or_default());
            let (value, u_words) = measured(HUNDREDTHS * distance, HUNDREDTHS * u);
            let name = corpus.vessel(near(row)).map_or_else(|| escape(near(row)), |vessel| vessel.link());
            let told = match (number("p_same"), cells::flag(source, "told_apart", row)) {
                (None, _) => "not known",
                (Some(_), true) => "yes",
                (Some(_), false) => "no",
            };
            vec![
                Cell::markup(name),
                Cell::number(Some(value), Some(distance)),
                Cell::number(Some(u_words), Some(u)),
                Cell::words(told),
            ]
        })
        .collect();
    if lines.is_empty() {
        return Ok(String::new());
    }
    let headings = [
        Heading("Nearest in form", false),
        Heading("Distance, hundredths", true),
        Heading("u", true),
        Heading("Told apart", false),
    ];
    let unit = rows.first().and_then(|&row| cells::text(source, "unit", row)).unwrap_or("centroid sizes");
    let caption = format!(
        "What else looks like this vessel, size left aside: root mean square distance of the forms in hundredths of {unit}, noise taken off. Told apart: \
                   whether two scans of one form would differ as much in fewer than 1 of 20 cases. \
                   u and this answer know of the noise of the radii and of where foot edge and rim were found, not of wear or of repair."
    );
    let outlines: Vec<RowForm> = std::iter::once((vessel, "this vessel".to_owned()))
        .chain(rows.iter().zip(1..).map(|(&row, rank)| (near(row), format!("nearest {rank}"))))
        .map(|(id, words)| RowForm {
            outline: corpus.tree_forms.of_vessel(id).to_vec(),
            words: vec![id.to_owned(), words],
        })
        .filter(|form| !form.outline.is_empty())
        .collect();
    let drawn = if outlines.len() > 1 {
        figure(
            &form_row("Forms nearest to this vessel\u{2019}s", &outlines)?,
            "The vessel and those nearest to it in form, to one scale of centroid sizes.",
        )
    } else {
        String::new()
    };
    Ok(format!("{drawn}{}", table(&caption, &headings, &lines, false)))
}
