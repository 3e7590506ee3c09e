//! Scans that were rejected, and vessels scanned more than once.

use super::ReportError;
use super::cells;
use super::corpus::{Corpus, Reading};
use super::html::{Cell, Heading, escape, folded, left_out, paragraph, part, table};
use super::number::{count, plain, reading_unit};
use super::order::by_list;
use super::overview::reading_cell;
use super::tables::RowIndex;
use crate::table::{Measure, Table, measure_words};

/// The part on rejected scans.
pub(super) fn rejected(corpus: &Corpus<'_>) -> String {
    let rows: Vec<Vec<Cell>> = (0..corpus.scans.rows())
        .filter(|row| !corpus.reduced(*row))
        .map(|row| {
            let words = |name| cells::text(corpus.scans, name, row).unwrap_or("\u{2013}");
            let vessel = corpus.vessel(words("vessel_id")).map_or_else(|| escape(words("vessel_id")), |v| v.link());
            vec![
                Cell::name(words("scan_id")),
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
                    Cell::name(scan),
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
    if let Some(source) = corpus.tables.get("repeatability") {
        inner.push_str(&repeatability(source));
    }
    if let Some(source) = corpus.tables.get("instrument_bias") {
        inner.push_str(&bias(source));
    }
    Ok(part("repeats", "Repeat scans", &inner))
}

/// The measure of a row and the unit it is read in, and the factor to that unit.
fn measure_cells(source: &Table, row: usize) -> (f64, [Cell; 2]) {
    let name = cells::text(source, "measure", row).unwrap_or("");
    let (factor, unit) = reading_unit(Measure::named(name).map_or("", |m| m.unit));
    (factor, [Cell::words(&measure_words::listed(name)), Cell::words(unit)])
}

/// A number of a row times a factor, to two digits.
fn scaled(source: &Table, row: usize, name: &str, factor: f64) -> Cell {
    let value = cells::number(source, name, row).map(|v| factor * v);
    Cell::number(value.map(|v| plain(v, 2)), value)
}

/// By how much instruments differ on the same vessels; empty if no vessel was scanned by two.
fn bias(source: &Table) -> String {
    let rows: Vec<Vec<Cell>> = (0..source.rows())
        .map(|row| {
            let (factor, [measure, unit]) = measure_cells(source, row);
            let number = |name: &str, factor: f64| scaled(source, row, name, factor);
            let words = |name: &str| Cell::words(cells::text(source, name, row).unwrap_or(""));
            vec![
                measure,
                unit,
                words("instrument_a"),
                words("instrument_b"),
                number("bias", factor),
                number("u_bias", factor),
                number("n_vessels", 1.0),
                number("q", 1.0),
            ]
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    let headings = [
        Heading("Measure", false),
        Heading("Unit", false),
        Heading("Instrument", false),
        Heading("less that of", false),
        Heading("Bias", true),
        Heading("u", true),
        Heading("Vessels", true),
        Heading("q", true),
    ];
    let caption = "Bias between instruments: the mean difference on the vessels that both have scanned, with its standard \
                   uncertainty; q: p-value against no bias, adjusted over the whole table.";
    folded("Bias between instruments, measure by measure", &table(caption, &headings, &rows, true))
}

/// What is known of repeatability, measure by measure; rows that rest on no repeat scan are left out.
fn repeatability(source: &Table) -> String {
    let measure = |row: usize| cells::text(source, "measure", row).unwrap_or("");
    let known = |row: usize, name: &str| cells::number(source, name, row).is_some();
    let all = |row: usize| cells::text(source, "instrument", row).is_none();
    let says = |row: &usize| known(*row, "s_repeat") || (all(*row) && known(*row, "s_instrument"));
    let mut telling: Vec<usize> = (0..source.rows()).filter(says).collect();
    telling.sort_by(|a, b| by_list(measure(*a), measure(*b)));
    let rows: Vec<Vec<Cell>> = telling
        .into_iter()
        .map(|row| {
            let (factor, [name, unit]) = measure_cells(source, row);
            let spread = |name: &str| scaled(source, row, name, factor);
            let whole = |name: &str| {
                let value = cells::number(source, name, row).filter(|n| *n > 0.0);
                Cell::number(value.map(|v| format!("{v:.0}")), value)
            };
            vec![
                name,
                unit,
                Cell::words(cells::text(source, "instrument", row).unwrap_or("all together")),
                spread("s_repeat"),
                if all(row) { spread("s_instrument") } else { Cell::number(None, None) },
                whole("n_vessels"),
                whole("n_scans"),
            ]
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    let headings = [
        Heading("Measure", false),
        Heading("Unit", false),
        Heading("Instrument", false),
        Heading("Repeatability s.d.", true),
        Heading("Between instruments s.d.", true),
        Heading("Vessels", true),
        Heading("Scans", true),
    ];
    let caption = "Repeatability (ISO 5725-2): the standard deviation of repeat scans by one instrument; between instruments: what \
                   changing the instrument adds, 0 where nothing beyond repeatability shows. Of one or two vessels it is known \
                   roughly only.";
    folded("Repeatability, measure by measure", &table(caption, &headings, &rows, true))
}
