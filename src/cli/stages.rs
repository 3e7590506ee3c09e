//! The stages after the reduction: comparison and report, from tables on disk to tables and pages on disk.
//!
//! Each computes first and writes afterwards, so that a refusal leaves the folder as it was.

use rayon::prelude::*;

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
use crate::report::{Report, ReportFacts, ReportTables};
use crate::store::{
    Folder, KeyedTable, Manifest, read_columns, read_part, read_pieces, read_table, write_atomic, write_remade,
    write_table,
};
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

/// What is found of a results folder's vessels.
pub(super) struct Found {
    /// Tables of the comparison and of the decisions, or why the vessels do not allow them.
    pub(super) compared: Result<Vec<Table>, AnalysisError>,
    /// Tables of the screening.
    pub(super) screened: Vec<Table>,
}

/// The comparison and the screening of a results folder's vessels.
pub(super) fn comparison(folder: &Folder, study: &Study) -> Result<Found, Failure> {
    let scans = read_table(&folder.table("scans"))?;
    // First, and alone in memory: every measure of every scan.
    let of_scans = repeated(folder, &scans)?;
    let (of_vessels, meridians) = rayon::join(|| of_vessels(folder), || meridians(folder));
    let ((vessels, measures), meridians) = (of_vessels?, meridians?);
    let input = CompareInput { scans: &scans, meridians: &meridians, measures: &measures, vessels: &vessels };
    let judged = ScreenInput { scans: &scans, measures: &measures, vessels: &vessels };
    let compared = || match compare(&input, study.compare(), study.seed()) {
        Ok(comparison) => comparison.tables().map(Ok),
        Err(reason) => Ok(Err(reason)),
    };
    let (compared, screened) = rayon::join(compared, || screened(&judged, study));
    let screened = screened?;
    let mut tables = match compared? {
        Ok(tables) => tables,
        Err(reason) => return Ok(Found { compared: Err(reason), screened }),
    };
    tables.extend(of_scans);
    // The decisions know the screening of these very tables, not one an earlier run left.
    let known = [&scans, &measures, &vessels].into_iter().chain(&tables).chain(&screened);
    let decided = decisions(folder, study, &known.collect::<Vec<_>>(), &meridians)?;
    tables.extend(decided);
    Ok(Found { compared: Ok(tables), screened })
}

/// Tables of what repeat scans say.
fn repeated(folder: &Folder, scans: &Table) -> Result<Vec<Table>, Failure> {
    let of_scans = read_part(&folder.table("scan_measures"), &["scan_id", "measure", "value"])?;
    let (bias, repeat) = rayon::join(|| instrument_bias(&of_scans, scans), || repeatability(&of_scans, scans));
    Ok(vec![instrument_bias_table(&bias?)?, repeatability_table(&repeat?)?])
}

/// `vessels` without its columns of measures, and `measures` without what only the report shows.
fn of_vessels(folder: &Folder) -> Result<(Table, Table), Failure> {
    let catalogue = read_columns(&folder.table("catalogue"))?;
    let of_catalogue: Vec<&str> = catalogue.columns().iter().map(|column| column.name.as_str()).collect();
    let (vessels, measures) = rayon::join(
        || read_part(&folder.table("vessels"), &of_catalogue),
        || read_part(&folder.table("measures"), &CompareInput::MEASURE_COLUMNS),
    );
    Ok((vessels?, measures?))
}

/// Writes a comparison in place of an earlier one.
pub(super) fn write_comparison(folder: &Folder, tables: &[Table]) -> Result<(), Failure> {
    remove_tables(folder, &[&BEFORE[..], &SCREENING].concat())?;
    tables.par_iter().try_for_each(|table| write_table(&folder.tables(), table).map(drop))?;
    Ok(())
}

/// The screening of a results folder's vessels as tables.
pub(super) fn screening(folder: &Folder, study: &Study) -> Result<Vec<Table>, Failure> {
    let scans = read_table(&folder.table("scans"))?;
    let (vessels, measures) = of_vessels(folder)?;
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

/// What a report is made of, but for the rows of single scans, which are read as they are drawn.
pub(super) struct ReportSource {
    tables: Vec<Table>,
    facts: ReportFacts,
}

impl ReportSource {
    pub(super) fn read(folder: &Folder, study: &Study, manifest: &Manifest) -> Result<Self, Failure> {
        let names = table_names(folder)?;
        let whole = names.iter().filter(|name| !Report::OF_SCANS.contains(&name.as_str()));
        let tables = whole.map(|name| read_table(&folder.table(name))).collect::<Result<_, _>>()?;
        let facts = ReportFacts {
            title: study.title().to_owned(),
            program_version: manifest.program_version.clone(),
            schema_version: manifest.schema_version,
            seed: study.seed().get(),
            command: manifest.command.clone(),
            parameters: study.parameters()?,
        };
        Ok(Self { tables, facts })
    }

    pub(super) fn report(&self) -> Result<Report<'_>, Failure> {
        Ok(Report::new(&ReportTables::new(&self.tables), &self.facts)?)
    }
}

/// Writes the vessels' sheets, a batch at a time, the report and its figures; gives the files it wrote.
pub(super) fn write_report(folder: &Folder, report: &Report<'_>) -> Result<Vec<String>, Failure> {
    let mut files = Vec::new();
    let mut write = |(name, text): (String, String)| -> Result<(), Failure> {
        write_remade(&folder.root().join(&name), text.as_bytes())?;
        files.push(name);
        Ok(())
    };
    let names = table_names(folder)?;
    let of_scans = names.iter().filter(|name| Report::OF_SCANS.contains(&name.as_str()));
    let of_scans: Vec<KeyedTable> =
        of_scans.map(|name| KeyedTable::open(&folder.table(name), "scan_id")).collect::<Result<_, _>>()?;
    let mut told = Vec::new();
    for batch in report.batches() {
        let scans = report.scans_of(batch);
        let read: Vec<Option<Table>> = of_scans.par_iter().map(|table| table.read(&scans)).collect::<Result<_, _>>()?;
        let drawn = report.draw(batch, &ReportTables::new(read.iter().flatten()))?;
        drawn.figures.into_iter().chain(drawn.sheets).try_for_each(&mut write)?;
        told.push(drawn.told);
    }
    let (html, figures) = report.finish(&told)?;
    figures.into_iter().try_for_each(&mut write)?;
    write_atomic(&folder.report(), html.as_bytes())?;
    files.push("report.html".to_owned());
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
