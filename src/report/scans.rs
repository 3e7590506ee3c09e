//! Scans that were rejected, and vessels scanned more than once.

use super::ReportError;
use super::cells;
use super::corpus::{Corpus, Reading};
use super::html::{Cell, Heading, escape, left_out, paragraph, part, table};
use super::number::{count, plain};
use super::overview::reading_cell;
use super::tables::RowIndex;

/// The part on rejected scans.
pub(super) fn rejected(corpus: &Corpus<'_>) -> String {
    let rows: Vec<Vec<Cell>> = (0..corpus.scans.rows())
        .filter(|row| !corpus.reduced(*row))
        .map(|row| {
            let words = |name| cells::text(corpus.scans, name, row).unwrap_or("\u{2013}");
            let vessel = corpus.vessel(words("vessel_id")).map_or_else(|| escape(words("vessel_id")), |v| v.link());
            vec![
                Cell::words(words("scan_id")),
                Cell::markup(vessel),
                Cell::words(words("file")),
                Cell::words(words("reason")),
            ]
        })
        .collect();
    let inner = if rows.is_empty() {
        paragraph("No scan was rejected.")
    } else {
        let headings =
            [Heading("Scan", false), Heading("Vessel", false), Heading("File", false), Heading("Reason", false)];
        table("Scans that could not be reduced; they enter no number of this report.", &headings, &rows, true)
    };
    part("rejected", "Rejected scans", &inner)
}

/// The part on repeat scans.
pub(super) fn repeats(corpus: &Corpus<'_>) -> Result<String, ReportError> {
    let mut inner = String::new();
    let repeated: Vec<_> =
        corpus.vessels.iter().filter(|v| v.scans.iter().filter(|row| corpus.reduced(**row)).count() > 1).collect();
    if repeated.is_empty() {
        inner.push_str(&left_out(
            "No vessel was scanned more than once, so repeatability is not known from this corpus.",
        ));
        return Ok(part("repeats", "Repeat scans", &inner));
    }
    inner.push_str(&paragraph(&format!(
        "{} scanned more than once. Repeat scans count as one vessel in every comparison; how far they agree shows what the \
         scanning, not the vessel, contributes.",
        count(repeated.len(), "vessel was", "vessels were")
    )));
    if let Some(source) = corpus.tables.get("repeatability") {
        inner.push_str(&repeatability(source));
    }
    if let Some(source) = corpus.tables.get("scan_measures") {
        let index = RowIndex::new(Some(source), "scan_id")?;
        let mut rows = Vec::new();
        for vessel in &repeated {
            for row in vessel.scans.iter().filter(|row| corpus.reduced(**row)) {
                let scan = cells::text(corpus.scans, "scan_id", *row).unwrap_or("");
                let reading = |measure: &str| {
                    let row = index.rows(scan).find(|row| cells::text(source, "measure", *row) == Some(measure))?;
                    Reading::of(source, row)
                };
                let cell = |measure: &str| reading_cell(reading(measure).as_ref());
                let noise = cells::number(corpus.scans, "noise_mm", *row);
                rows.push(vec![
                    Cell::markup(vessel.link()),
                    Cell::words(scan),
                    Cell::words(cells::text(corpus.scans, "instrument", *row).unwrap_or("\u{2013}")),
                    Cell::number(noise.map(|n| plain(n, 2)), noise),
                    cell("max_diameter"),
                    cell("roundness_outer"),
                    cell("coaxiality_inner"),
                ]);
            }
        }
        let headings = [
            Heading("Vessel", false),
            Heading("Scan", false),
            Heading("Instrument", false),
            Heading("Noise, mm", true),
            Heading("Greatest diameter (u), mm", true),
            Heading("Roundness, outer (u), mm", true),
            Heading("Coaxiality, inner (u), mm", true),
        ];
        inner.push_str(&table("Repeat scans beside each other", &headings, &rows, true));
    }
    Ok(part("repeats", "Repeat scans", &inner))
}

fn repeatability(source: &crate::table::Table) -> String {
    let rows: Vec<Vec<Cell>> = (0..source.rows())
        .map(|row| {
            let number = |name: &str, digits| {
                let value = cells::number(source, name, row);
                Cell::number(value.map(|v| plain(v, digits)), value)
            };
            let whole = |name: &str| {
                let value = cells::number(source, name, row);
                Cell::number(value.map(|v| format!("{v:.0}")), value)
            };
            let measure = cells::text(source, "measure", row).unwrap_or("");
            vec![
                Cell::words(&measure.replace('_', " ")),
                Cell::words(cells::text(source, "instrument", row).unwrap_or("all")),
                number("s_repeat", 2),
                number("s_instrument", 2),
                whole("n_vessels"),
                whole("n_scans"),
            ]
        })
        .collect();
    let headings = [
        Heading("Measure", false),
        Heading("Instrument", false),
        Heading("Repeatability s.d.", true),
        Heading("Between instruments s.d.", true),
        Heading("Vessels", true),
        Heading("Scans", true),
    ];
    table("Repeatability, in the unit of each measure (ISO 5725-2)", &headings, &rows, true)
}
