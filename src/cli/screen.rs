//! `tornus screen`: likelihood ratios under documented modern and documented old references, from reduced tables.

use super::args::Screen;
use super::failure::Failure;
use super::outcome::Outcome;
use super::results::{read_manifest, without_report};
use super::stages::{SCREENING, advance, has_csv, screening, write_in_place};
use super::summary::summarise;
use super::terminal::Terminal;
use crate::config::Study;
use crate::store::Folder;

pub(super) fn run(arguments: &Screen, terminal: &Terminal) -> Result<Outcome, Failure> {
    let folder = Folder::new(&arguments.folder);
    let old = read_manifest(&folder)?;
    let _lock = folder.lock()?;
    let study = Study::from_record(&old.study)?;
    let csv = arguments.csv || has_csv(&old);
    let tables = screening(&folder, &study)?;
    let made = advance(&folder, &old, without_report(&old), csv, || {
        write_in_place(&folder, &SCREENING, &tables)?;
        Ok(Vec::new()) // the earlier report no longer says what the tables say, and goes
    })?;
    let summary = summarise(&folder, &made, false)?;
    terminal.result(&summary.words, &summary.value);
    Ok(Outcome::DONE)
}
