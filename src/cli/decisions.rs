//! The decisions a comparison is for: tables in, tables out. `tornus shortlist` and `tornus proportions` make one of them
//! anew; a survey and `tornus compare` make them with the comparison.

use super::args::{Proportions, Shortlist};
use super::failure::Failure;
use super::outcome::Outcome;
use super::publish::table_names;
use super::results::{Stage, advanced, read_manifest};
use super::stages::{advance, has_csv, meridians};
use super::summary::summarise;
use super::terminal::Terminal;
use crate::analysis::Meridians;
use crate::analysis::proportion::{ProportionInput, test_proportions};
use crate::analysis::shortlist::{ShortlistInput, shortlist};
use crate::config::Study;
use crate::store::{Folder, Manifest, read_part, read_table_if_there, write_table};
use crate::table::Table;

/// Where the draws of each decision start, so that one never shifts another's.
const SHORTLIST_DRAWS: u64 = 102;
const PROPORTION_DRAWS: u64 = 103;

/// The shortlist of a results folder, and its proportions where the study states any; `known` are tables already read, or
/// those of a comparison that is not on disk yet.
pub(super) fn decisions(
    folder: &Folder,
    study: &Study,
    known: &[&Table],
    meridians: &Meridians,
) -> Result<Vec<Table>, Failure> {
    let (shortlist, proportions) = rayon::join(
        || shortlist_tables(folder, study, known, meridians),
        || proportion_tables(folder, study, known, meridians),
    );
    let mut found = shortlist?;
    found.extend(proportions?);
    Ok(found)
}

/// The tables of these names that are not known but on disk.
fn others(folder: &Folder, known: &[&Table], names: &[&str]) -> Result<Vec<Table>, Failure> {
    let unknown = names.iter().filter(|name| known.iter().all(|table| table.name() != **name));
    let read = unknown.map(|name| read_table_if_there(&folder.table(name)));
    Ok(read.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

fn shortlist_tables(
    folder: &Folder,
    study: &Study,
    known: &[&Table],
    meridians: &Meridians,
) -> Result<Vec<Table>, Failure> {
    let names = [
        "scans",
        "measures",
        "vessels",
        "outliers",
        "precision_residuals",
        "clusters",
        "form_scores",
        "precision_scores",
        "screening",
    ];
    let others = others(folder, known, &names)?;
    let input = ShortlistInput::new(known.iter().copied().chain(&others), meridians);
    let found = shortlist(&input, study.shortlist(), study.seed().derive(SHORTLIST_DRAWS))?;
    Ok(found.tables()?)
}

fn proportion_tables(
    folder: &Folder,
    study: &Study,
    known: &[&Table],
    meridians: &Meridians,
) -> Result<Vec<Table>, Failure> {
    let Some(statements) = study.statements() else { return Ok(Vec::new()) };
    let mut others = others(folder, known, &["scans", "measures", "clusters"])?;
    let arcs = folder.table("profile_arcs");
    if arcs.exists() {
        others.push(read_part(&arcs, &ProportionInput::ARC_COLUMNS)?);
    }
    let table = |name: &str| known.iter().copied().chain(&others).find(|table| table.name() == name);
    let needed = |name: &str| table(name).ok_or_else(|| Failure::new(format!("no table {name}")));
    let input = ProportionInput {
        scans: needed("scans")?,
        measures: needed("measures")?,
        meridians,
        arcs: table("profile_arcs"),
        clusters: table("clusters"),
    };
    Ok(test_proportions(&input, statements, study.seed().derive(PROPORTION_DRAWS))?.tables()?)
}

pub(super) fn run_shortlist(arguments: &Shortlist, terminal: &Terminal) -> Result<Outcome, Failure> {
    let change = |study: Study| match arguments.budget {
        Some(budget) => Ok(study.with_budget(budget)?),
        None => Ok(study),
    };
    let folder = Folder::new(&arguments.folder);
    again(&folder, terminal, arguments.csv, change, |study| shortlist_tables(&folder, study, &[], &meridians(&folder)?))
}

pub(super) fn run_proportions(arguments: &Proportions, terminal: &Terminal) -> Result<Outcome, Failure> {
    let path = &arguments.statements;
    let hint = "the README shows a statements file; `tornus describe` names the measures";
    let change = |study: Study| study.with_statements(path).map_err(|error| Failure::from(error).with_hint(hint));
    let folder = Folder::new(&arguments.folder);
    again(&folder, terminal, arguments.csv, change, |study| {
        proportion_tables(&folder, study, &[], &meridians(&folder)?)
    })
}

/// Makes tables anew with a changed study; the earlier report no longer says what the tables say, and goes.
fn again(
    folder: &Folder,
    terminal: &Terminal,
    csv: bool,
    change: impl FnOnce(Study) -> Result<Study, Failure>,
    make: impl FnOnce(&Study) -> Result<Vec<Table>, Failure>,
) -> Result<Outcome, Failure> {
    let old = read_manifest(folder)?;
    let _lock = folder.lock()?;
    let study = change(Study::from_record(&old.study)?)?;
    if !table_names(folder)?.iter().any(|name| name == "outliers") {
        return Err(Failure::new(format!("no comparison in {}", folder.root().display()))
            .with_hint("make one with `tornus compare`"));
    }
    let new = Manifest { study: study.record()?, ..advanced(&old, Stage::Compared) };
    let tables = make(&study)?;
    let made = advance(folder, &old, new, csv || has_csv(&old), || {
        tables.iter().try_for_each(|table| write_table(&folder.tables(), table).map(|_| ()))?;
        Ok(Vec::new())
    })?;
    let summary = summarise(folder, &made, false)?;
    terminal.result(&summary.words, &summary.value);
    Ok(Outcome::DONE)
}
