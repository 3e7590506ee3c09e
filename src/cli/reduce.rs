//! `tornus reduce`: scans to tables, without a comparison.

use std::path::Path;

use serde_json::Value;

use super::args::Reduce;
use super::corpus::Corpus;
use super::failure::Failure;
use super::outcome::Outcome;
use super::publish::{publish, scans_table};
use super::reduce_scans::{reduce_scans, same_bytes};
use super::results::{Stage, begin, earlier, finish, is_current, manifest, remove_tables};
use super::summary::summarise;
use super::terminal::{Terminal, now_s};
use crate::store::{Commits, Folder, Log};

pub(super) fn run(arguments: &Reduce, terminal: &Terminal) -> Result<Outcome, Failure> {
    let corpus = corpus(arguments)?;
    corpus.notes.iter().for_each(|note| terminal.note(note));
    let folder = Folder::new(&arguments.out);
    let _lock = folder.lock()?;
    let commits = Commits::new(folder.reduced());
    let log = Log::open(&folder.log())?;
    let old = earlier(&folder, *terminal)?;
    log.add(now_s(), "reduce", &[("scans", Value::from(corpus.jobs.len()))])?;
    let standings = reduce_scans(&corpus, &commits, &log, *terminal)?;
    same_bytes(&standings).iter().for_each(|note| terminal.note(note));
    let names: Vec<String> = arguments.scans.iter().map(|path| name(path)).collect();
    let wanted = manifest(format!("tornus reduce {}", names.join(" ")), &corpus, &standings, Stage::Reduced)?;
    let counts = wanted.counts;
    let unchanged = !arguments.csv && is_current(&folder, old.as_ref(), &wanted);
    let made = match old {
        Some(old) if unchanged => old,
        old => {
            begin(&folder, old.as_ref())?;
            remove_tables(&folder, &[])?;
            publish(&folder, &commits, &corpus.catalogue, &scans_table(&corpus.catalogue, &standings, &commits)?)?;
            finish(&folder, wanted, old.as_ref(), Vec::new(), arguments.csv)?
        }
    };
    log.add(now_s(), "done", &[("unchanged", Value::from(unchanged))])?;
    let summary = summarise(&folder, &made, unchanged)?;
    terminal.result(&summary.words, &summary.value);
    Ok(Outcome::of_scans(counts.reduced, counts.rejected))
}

/// One study, or scans with a unit.
fn corpus(arguments: &Reduce) -> Result<Corpus, Failure> {
    let is_study = |path: &Path| path.extension().is_some_and(|suffix| suffix.eq_ignore_ascii_case("toml"));
    let corpus = match (arguments.scans.as_slice(), arguments.unit) {
        ([study], None) if is_study(study) => Corpus::of_study(study)?,
        ([study], Some(unit)) if is_study(study) => {
            return Err(Failure::new(format!(
                "a study's catalogue states the unit of each scan, yet --unit {unit} is given"
            ))
            .with_hint("leave --unit out"));
        }
        (scans, _) if scans.iter().any(|path| is_study(path)) => {
            return Err(Failure::new("expected one study, or scan files; found a study among others"));
        }
        (_, None) => {
            return Err(Failure::new("the length unit of the scans is not stated")
                .with_hint("add --unit mm, cm, m or in; it is never guessed"));
        }
        (scans, Some(unit)) => Corpus::of_scans(scans, unit)?,
    };
    match arguments.shard {
        Some(shard) => corpus.share(shard),
        None => Ok(corpus),
    }
}

fn name(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}
