//! `tornus report`: pages and figures from the tables.

use super::args::Report;
use super::failure::Failure;
use super::outcome::Outcome;
use super::results::{advanced, read_manifest};
use super::stages::{LAST, ReportSource, advance, has_csv, write_report};
use super::summary::summarise;
use super::terminal::Terminal;
use crate::config::Study;
use crate::store::Folder;

pub(super) fn run(arguments: &Report, terminal: &Terminal) -> Result<Outcome, Failure> {
    let folder = Folder::new(&arguments.folder);
    let old = read_manifest(&folder)?;
    let _lock = folder.lock()?;
    let study = Study::from_record(&old.study)?;
    let new = advanced(&old, LAST);
    let source = ReportSource::read(&folder, &study, &new)?;
    let report = source.report()?;
    let made = advance(&folder, &old, new, has_csv(&old), || write_report(&folder, &report))?;
    let summary = summarise(&folder, &made, false)?;
    terminal.result(&summary.words, &summary.value);
    Ok(Outcome::DONE)
}
