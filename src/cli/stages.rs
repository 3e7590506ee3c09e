//! The stages after the reduction: comparison and report, from tables on disk to tables and pages on disk.

use super::failure::Failure;
use super::publish::table_names;
use super::results::{Stage, begin, finish, remove_tables};
use crate::analysis::{AnalysisError, CompareInput, compare, repeatability, repeatability_table};
use crate::config::Study;
use crate::report::{ReportFacts, ReportTables, render};
use crate::store::{Folder, Manifest, read_table, write_atomic, write_table};
use crate::table::Table;

/// Tables that stand before any comparison.
const BEFORE: [&str; 9] =
    ["catalogue", "scans", "sections", "harmonics", "profiles", "scan_measures", "unrolled", "measures", "vessels"];

/// Compares the vessels of a results folder and writes the comparison's tables in place of earlier ones; says why there is
/// none, where the vessels do not allow it.
pub(super) fn write_comparison(folder: &Folder, study: &Study) -> Result<Result<(), AnalysisError>, Failure> {
    remove_tables(folder, &BEFORE)?;
    let scans = read_table(&folder.table("scans"))?;
    let measures = read_table(&folder.table("measures"))?;
    let vessels = read_table(&folder.table("vessels"))?;
    let profiles = read_table(&folder.table("profiles"))?;
    let input = CompareInput { scans: &scans, profiles: &profiles, measures: &measures, vessels: &vessels };
    let comparison = match compare(&input, study.compare(), study.seed()) {
        Ok(comparison) => comparison,
        Err(reason) => return Ok(Err(reason)),
    };
    for table in comparison.tables()? {
        write_table(&folder.tables(), &table)?;
    }
    let rows = repeatability(&read_table(&folder.table("scan_measures"))?, &scans)?;
    write_table(&folder.tables(), &repeatability_table(&rows)?)?;
    Ok(Ok(()))
}

/// Writes the report, its figures and the vessels' sheets; gives the files it wrote.
pub(super) fn write_report(folder: &Folder, study: &Study, manifest: &Manifest) -> Result<Vec<String>, Failure> {
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
    let rendered = render(&ReportTables::new(&tables), &facts)?;
    let mut files = vec!["report.html".to_owned()];
    write_atomic(&folder.report(), rendered.html.as_bytes())?;
    for (name, text) in rendered.figures.into_iter().chain(rendered.sheets) {
        write_atomic(&folder.root().join(&name), text.as_bytes())?;
        files.push(name);
    }
    Ok(files)
}

/// Takes a results folder one stage further: `work` writes files and names those that are no tables.
pub(super) fn advance(
    folder: &Folder,
    old: &Manifest,
    new: Manifest,
    csv: bool,
    work: impl FnOnce(&Manifest) -> Result<Vec<String>, Failure>,
) -> Result<Manifest, Failure> {
    begin(folder, Some(old))?;
    let files = work(&new)?;
    finish(folder, new, Some(old), files, csv)
}

/// Whether results hold tables as CSV, which later commands keep up to date.
pub(super) fn has_csv(manifest: &Manifest) -> bool {
    manifest.outputs.iter().any(|output| output.file.starts_with("tables/") && output.file.ends_with(".csv"))
}

/// The stage of results with a report.
pub(super) const LAST: Stage = Stage::Reported;
