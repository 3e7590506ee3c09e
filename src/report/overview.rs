//! Every vessel in one table.

use super::cells;
use super::corpus::{Corpus, Reading, SpaceName, Vessel};
use super::html::{Cell, Heading, folded, table};
use super::number::{measured, plain};
use super::tables::RowIndex;
use crate::table::{Table, TableError};

/// Measures that have a column of their own; all in mm.
const COLUMNS: [(&str, &str); 5] = [
    ("height", "Height (u), mm"),
    ("max_diameter", "Greatest diameter (u), mm"),
    ("roundness_outer", "Roundness, outer (u), mm"),
    ("coaxiality_inner", "Coaxiality, inner (u), mm"),
    ("total_runout", "Total run-out (u), mm"),
];

/// Every measured vessel with its groups, grade and main measures, folded.
pub(super) fn overview(corpus: &Corpus<'_>) -> Result<String, TableError> {
    let scores = corpus.tables.get("precision_scores");
    let grades = RowIndex::new(scores, "vessel_id")?;
    let shown: Vec<&(&str, &'static str)> =
        COLUMNS.iter().filter(|(m, _)| corpus.measured().any(|v| corpus.reading(v.id, m).is_some())).collect();
    if shown.is_empty() {
        return Ok(String::new());
    }
    let rows: Vec<Vec<Cell>> = corpus
        .measured()
        .map(|vessel| {
            let mut row = vec![
                Cell::markup(vessel.link()),
                Cell::words(&group(corpus, vessel, SpaceName::Form)),
                Cell::words(&group(corpus, vessel, SpaceName::Precision)),
                grade(scores, grades.rows(vessel.id).next()),
            ];
            row.extend(shown.iter().map(|(measure, _)| reading_cell(corpus.reading(vessel.id, measure).as_ref())));
            row.push(Cell::words(if vessel.stands_out { "stands out" } else { "\u{2013}" }));
            row
        })
        .collect();
    let mut headings = vec![
        Heading("Vessel", false),
        Heading("Form group", false),
        Heading("Precision group", false),
        Heading("Grade, ISO 286 scale (u)", true),
    ];
    headings.extend(shown.iter().map(|(_, name)| Heading(name, true)));
    headings.push(Heading("Outlier", false));
    let caption = "Every measured vessel; in brackets the standard uncertainty u; &lt;: below the detection limit. Click a heading \
                   to sort.";
    Ok(folded("All vessels in one table", &table(caption, &headings, &rows, true)))
}

fn group(corpus: &Corpus<'_>, vessel: &Vessel<'_>, space: SpaceName) -> String {
    let grouping = corpus.grouping(space);
    grouping.of.get(vessel.id).map_or_else(|| "\u{2013}".to_owned(), |index| grouping.names[*index].clone())
}

fn grade(scores: Option<&Table>, row: Option<usize>) -> Cell {
    let value = |name| cells::number(scores?, name, row?);
    let grade = value("precision_grade");
    if let (None, Some(most)) = (grade, value("precision_grade_at_most")) {
        return Cell::number(Some(format!("< {}", plain(most, 2))), Some(most));
    }
    let reading = grade.map(|grade| match value("u_precision_grade") {
        Some(u) => {
            let (grade, u) = measured(grade, u);
            format!("{grade} ({u})")
        }
        None => plain(grade, 3),
    });
    Cell::number(reading, grade)
}

/// A reading as value (u), or the bound it lies under.
pub(super) fn reading_cell(reading: Option<&Reading>) -> Cell {
    Cell::number(reading.map(Reading::spoken), reading.map(Reading::bound))
}
