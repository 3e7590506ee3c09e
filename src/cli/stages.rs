//! The stages after the reduction: comparison and report, from tables on disk to tables and pages on disk.
//!
//! Each computes first and writes afterwards, so that a refusal leaves the folder as it was.

use super::decisions::decisions;
use super::failure::Failure;
use super::publish::table_names;
use super::results::{Stage, begin, finish, remove_tables};
use crate::analysis::screening::{ScreenInput, ScreenParams, screen};
use crate::analysis::{
    AnalysisError, CompareInput, Meridians, compare, instrument_bias, instrument_bias_table, repeatability,
    repeatability_table,
};
use crate::config::Study;
use crate::report::{Rendered, ReportFacts, ReportTables, render};
use crate::store::{Folder, Manifest, read_pieces, read_table, write_atomic, write_table};
use crate::table::Table;

/// Tables that stand before any comparison.
const BEFORE: [&str; 11] = [
    "catalogue",
    "scans",
    "sections",
    "harmonics",
    "profiles",
    "profile_arcs",
    "patches",
    "scan_measures",
    "unrolled",
    "measures",
    "vessels",
];

/// The stream of random draws that is the screening's.
const SCREENING_SEED: u64 = 101;

/// Tables of a screening, which needs no comparison.
pub(super) const SCREENING: [&str; 5] =
    ["screening", "screening_measures", "screening_references", "screening_reliability", "screening_validation"];

/// The meridians of a results folder, read piece by piece.
pub(super) fn meridians(folder: &Folder) -> Result<Meridians, Failure> {
    let mut meridians = Meridians::default();
    read_pieces(&folder.table("profiles"), &Meridians::COLUMNS, |piece| meridians.add(piece).map_err(Failure::from))?;
    Ok(meridians)
}

/// The comparison of a results folder's vessels as tables, or why the vessels do not allow it.
pub(super) fn comparison(folder: &Folder, study: &Study) -> Result<Result<Vec<Table>, AnalysisError>, Failure> {
    let read = |name: &str| read_table(&folder.table(name));
    let (scans, measures, vessels) = (read("scans")?, read("measures")?, read("vessels")?);
    let meridians = meridians(folder)?;
    let input = CompareInput { scans: &scans, meridians: &meridians, measures: &measures, vessels: &vessels };
    let comparison = match compare(&input, study.compare(), study.seed()) {
        Ok(comparison) => comparison,
        Err(reason) => return Ok(Err(reason)),
    };
    let mut tables = comparison.tables()?;
    drop(comparison);
    let of_scans = read("scan_measures")?;
    tables.push(instrument_bias_table(&instrument_bias(&of_scans, &scans)?)?);
    tables.push(repeatability_table(&repeatability(&of_scans, &scans)?)?);
    drop(of_scans);
    // The decisions know the screening of these very tables, not one an earlier run left.
    let screened = screened(&ScreenInput { scans: &scans, measures: &measures, vessels: &vessels }, study)?;
    let known = [&scans, &measures, &vessels].into_iter().chain(&tables).chain(&screened);
    let decided = decisions(folder, study, &known.collect::<Vec<_>>(), &meridians)?;
    tables.extend(decided);
    Ok(Ok(tables))
}

/// Writes a comparison in place of an earlier one.
pub(super) fn write_comparison(folder: &Folder, tables: &[Table]) -> Result<(), Failure> {
    remove_tables(folder, &[&BEFORE[..], &SCREENING].concat())?;
    for table in tables {
        write_table(&folder.tables(), table)?;
    }
    Ok(())
}

/// The screening of a results folder's vessels as tables.
pub(super) fn screening(folder: &Folder, study: &Study) -> Result<Vec<Table>, Failure> {
    let read = |name: &str| read_table(&folder.table(name));
    let (scans, measures, vessels) = (read("scans")?, read("measures")?, read("vessels")?);
    screened(&ScreenInput { scans: &scans, measures: &measures, vessels: &vessels }, study)
}

fn screened(input: &ScreenInput<'_>, study: &Study) -> Result<Vec<Table>, Failure> {
    Ok(screen(input, ScreenParams::new(), study.seed().derive(SCREENING_SEED))?.tables()?)
}

/// Writes tables in place of earlier ones of these names.
pub(super) fn write_in_place(folder: &Folder, names: &[&str], tables: &[Table]) -> Result<(), Failure> {
    let others: Vec<String> = table_names(folder)?.into_iter().filter(|name| !names.contains(&name.as_str())).collect();
    remove_tables(folder, &others.iter().map(String::as_str).collect::<Vec<_>>())?;
    for table in tables {
        write_table(&folder.tables(), table)?;
    }
    Ok(())
}

/// The report on a results folder's tables.
pub(super) fn pages(folder: &Folder, study: &Study, manifest: &Manifest) -> Result<Rendered, Failure> {
    let names = table_names(folder)?;
    let tables: Vec<Table> = names.iter().map(|name| read_table(&folder.table(name))).collect::<Result<_, _>>()?;
    let facts = ReportFacts {
        title: study.title().to_owned(),
        program_version: manifest.program_version.clone(),
        schema_version: manifest.schema_version,
        seed: study.seed().get(),
        command: manifest.command.clone(),
        parameters: study.parameters()?,
    };
    Ok(render(&ReportTables::new(&tables), &facts)?)
}

/// Writes the report, its figures and the vessels' sheets; gives the files it wrote.
pub(super) fn write_pages(folder: &Folder, pages: Rendered) -> Result<Vec<String>, Failure> {
    let mut files = vec!["report.html".to_owned()];
    write_atomic(&folder.report(), pages.html.as_bytes())?;
    for (name, text) in pages.figures.into_iter().chain(pages.sheets) {
        write_atomic(&folder.root().join(&name), text.as_bytes())?;
        files.push(name);
    }
    Ok(files)
}

/// Takes a results folder one stage further: `write` writes files and names those that are no tables.
pub(super) fn advance(
    folder: &Folder,
    old: &Manifest,
    new: Manifest,
    csv: bool,
    write: impl FnOnce() -> Result<Vec<String>, Failure>,
) -> Result<Manifest, Failure> {
    begin(folder, Some(old))?;
    let files = write()?;
    finish(folder, new, Some(old), files, csv)
}

/// Whether results hold tables as CSV, which later commands keep up to date.
pub(super) fn has_csv(manifest: &Manifest) -> bool {
    manifest.outputs.iter().any(|output| output.file.starts_with("tables/") && output.file.ends_with(".csv"))
}

/// The stage of results with a report.
pub(super) const LAST: Stage = Stage::Reported;
