//! `tornus compare`: groups and outliers from reduced tables.

use super::args::Compare;
use super::failure::Failure;
use super::outcome::Outcome;
use super::results::{Stage, advanced, read_manifest};
use super::stages::{advance, comparison, has_csv, write_comparison};
use super::summary::summarise;
use super::terminal::Terminal;
use crate::config::Study;
use crate::store::{Folder, Manifest};

pub(super) fn run(arguments: &Compare, terminal: &Terminal) -> Result<Outcome, Failure> {
    let folder = Folder::new(&arguments.folder);
    let old = read_manifest(&folder)?;
    let _lock = folder.lock()?;
    let mut study = Study::from_record(&old.study)?;
    if let Some(groups) = arguments.groups {
        study = study.with_groups(groups);
    }
    if let Some(form) = arguments.form {
        study = study.with_form(form);
    }
    let new = Manifest { study: study.record()?, ..advanced(&old, Stage::Compared) };
    let csv = arguments.csv || has_csv(&old);
    let tables = comparison(&folder, &study)?.compared?;
    let made = advance(&folder, &old, new, csv, || {
        write_comparison(&folder, &tables)?;
        Ok(Vec::new()) // the earlier report no longer says what the tables say, and goes
    })?;
    let summary = summarise(&folder, &made, false)?;
    terminal.result(&summary.words, &summary.value);
    Ok(Outcome::DONE)
}
