//! `tornus survey`: the whole main job, resumed where it was left.

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::args::Survey;
use super::corpus::Corpus;
use super::failure::Failure;
use super::outcome::Outcome;
use super::publish::{publish, scans_table};
use super::reduce_scans::{reduce_scans, same_bytes};
use super::results::{begin, earlier, finish, is_current, manifest};
use super::stages::{
    LAST, ReportSource, SCREENING, comparison, has_csv, write_comparison, write_in_place, write_report,
};
use super::summary::summarise;
use super::terminal::{Terminal, now_s};
use crate::store::{Commits, Folder, Log};

/// The results folder of a study, where none is named: beside it, under its name.
pub(super) fn default_folder(study: &Path) -> PathBuf {
    let name = study.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    study.with_file_name(format!("{name}-results"))
}

pub(super) fn run(arguments: &Survey, terminal: &Terminal) -> Result<Outcome, Failure> {
    let out = arguments.out.clone().unwrap_or_else(|| default_folder(&arguments.study));
    survey(&arguments.study, &out, arguments.fresh, arguments.csv, *terminal)
}

/// Surveys a study into a results folder.
pub(super) fn survey(study: &Path, out: &Path, fresh: bool, csv: bool, terminal: Terminal) -> Result<Outcome, Failure> {
    let corpus = Corpus::of_study(study)?;
    corpus.notes.iter().for_each(|note| terminal.note(note));
    let folder = Folder::new(out);
    let _lock = folder.lock()?;
    let commits = Commits::new(folder.reduced());
    let log = Log::open(&folder.log())?;
    let old = earlier(&folder, terminal)?;
    if fresh {
        commits.clear()?;
    }
    log.add(now_s(), "survey", &[("scans", Value::from(corpus.jobs.len()))])?;
    let standings = reduce_scans(&corpus, &commits, &log, terminal)?;
    same_bytes(&standings).iter().for_each(|note| terminal.note(note));
    let name = study.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let wanted = manifest(format!("tornus survey {name}"), &corpus, &standings, LAST)?;
    let counts = wanted.counts;
    let csv = csv || old.as_ref().is_some_and(has_csv);
    let unchanged = !fresh && is_current(&folder, old.as_ref(), &wanted) && (!csv || old.as_ref().is_some_and(has_csv));
    let made = match old {
        Some(old) if unchanged => old,
        old => {
            begin(&folder, old.as_ref())?;
            publish(&folder, &commits, &corpus.catalogue, &scans_table(&corpus.catalogue, &standings, &commits)?)?;
            let mut files = Vec::new();
            if counts.reduced > 0 {
                let found = comparison(&folder, &corpus.study)?;
                if let Err(reason) = &found.compared {
                    terminal.note(&format!("no comparison: {reason}"));
                }
                write_comparison(&folder, found.compared.as_deref().unwrap_or_default())?;
                write_in_place(&folder, &SCREENING, &found.screened)?;
                drop(found);
                let source = ReportSource::read(&folder, &corpus.study, &wanted)?;
                files = write_report(&folder, &source.report()?)?;
            }
            finish(&folder, wanted, old.as_ref(), files, csv)?
        }
    };
    log.add(now_s(), "done", &[("unchanged", Value::from(unchanged))])?;
    let summary = summarise(&folder, &made, unchanged)?;
    terminal.result(&summary.words, &summary.value);
    Ok(Outcome::of_scans(counts.reduced, counts.rejected))
}
