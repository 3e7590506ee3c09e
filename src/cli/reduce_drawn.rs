//! One drawn profile or outline: its file, its meridian, its rows.

use std::path::Path;

use super::corpus::Job;
use super::failure::{Failure, chain};
use super::reduce_scan::{ReducedScan, SCAN_ROW, unread};
use crate::format::{self, Limits};
use crate::outline::{Drawn, drawn_meridian};
use crate::reduction::Up;
use crate::table::{Column, Table, drawn_scan_columns, drawn_tables};

/// What of the vessel the file follows, if it is no scan: as the catalogue says, else as its header row says.
pub(super) fn drawn(path: &Path, job: &Job) -> Option<Drawn> {
    let by_header = || !job.scanned && format::is_profile(path).unwrap_or(false);
    job.drawn.or_else(|| by_header().then_some(Drawn::Profile))
}

/// Takes the meridian of a drawn vessel; what is wrong with the file is a reason, not an error.
pub(super) fn reduce_drawn(path: &Path, job: &Job, drawn: Drawn) -> Result<ReducedScan, Failure> {
    let opened = match format::open_curve(path, job.unit, &Limits::default()) {
        Ok(opened) => opened,
        Err(error) => return unread(path, &chain(&error), true),
    };
    let up = job.declared.up.map(|up| match up {
        Up::PlusX => (0, 1.0),
        Up::MinusX => (0, -1.0),
        Up::PlusY => (1, 1.0),
        Up::MinusY => (1, -1.0),
        Up::PlusZ => (2, 1.0),
        Up::MinusZ => (2, -1.0),
    });
    let meridian = match drawn_meridian(&opened.curve, drawn, up, job.declared.u_instrument_mm) {
        Ok(meridian) => meridian,
        Err(error) => return unread(path, &format!("{}: {error}", drawn.word()), true),
    };
    let mut columns = vec![
        Column::texts("blake3", [opened.blake3.as_str()]),
        Column::texts("format", [drawn.word()]),
        Column::optional_integers("triangles", [None]),
        Column::integers("points", [opened.curve.points.len() as i64]),
        Column::texts("status", ["reduced"]),
        Column::optional_texts("reason", [None]),
    ];
    columns.extend(drawn_scan_columns(&meridian));
    let mut tables = vec![Table::new(SCAN_ROW, columns)?];
    tables.extend(drawn_tables(&job.scan_id, &meridian)?);
    Ok(ReducedScan { file_hash: Some(opened.blake3), reason: None, lasting: true, tables })
}
