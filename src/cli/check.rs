//! `tornus check`: what a run would do and what is wrong, without doing it.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::args::Check;
use super::corpus::{Corpus, Job};
use super::failure::{Failure, chain};
use super::outcome::Outcome;
use super::reduce_drawn::drawn;
use super::reduce_scan::commit_key;
use super::survey::default_folder;
use super::terminal::Terminal;
use crate::config::{Located, Study};
use crate::format::{Limits, hash_file, open_curve, peek};
use crate::store::{Commits, Folder};

/// What is known of a scan before it is read.
enum Prospect {
    /// Its commit still holds.
    Done,
    /// It would be reduced: this many bytes.
    ToDo(u64),
    /// It would be rejected, as far as its header shows.
    Wrong(String),
}

pub(super) fn run(arguments: &Check, terminal: &Terminal) -> Result<Outcome, Failure> {
    let corpus = Corpus::of_study(&arguments.study)?;
    corpus.notes.iter().for_each(|note| terminal.note(note));
    let folder = Folder::new(arguments.out.clone().unwrap_or_else(|| default_folder(&arguments.study)));
    let commits = Commits::new(folder.reduced());
    let prospects =
        corpus.jobs.iter().map(|job| prospect(job, &corpus.study, &commits)).collect::<Result<Vec<_>, _>>()?;
    let done = prospects.iter().filter(|prospect| matches!(prospect, Prospect::Done)).count();
    let sizes =
        prospects.iter().filter_map(|prospect| if let Prospect::ToDo(bytes) = prospect { Some(*bytes) } else { None });
    let (to_do, bytes) = sizes.fold((0_usize, 0_u64), |(count, sum), size| (count + 1, sum + size));
    let wrong: Vec<(&Job, &str)> = corpus
        .jobs
        .iter()
        .zip(&prospects)
        .filter_map(
            |(job, prospect)| if let Prospect::Wrong(reason) = prospect { Some((job, reason.as_str())) } else { None },
        )
        .collect();
    let vessels = corpus.jobs.iter().map(|job| job.vessel_id.as_str()).collect::<BTreeSet<_>>().len();
    let mut words = format!(
        "{} scans of {vessels} vessels: {done} reduced already, {to_do} to reduce ({:.1} MB), {} wrong\nresults: {}\n",
        corpus.jobs.len(),
        bytes as f64 / 1e6,
        wrong.len(),
        folder.root().display()
    );
    for (job, reason) in &wrong {
        words += &format!("  {} ({}): {reason}\n", job.scan_id, job.file);
    }
    words += "parameters:\n";
    let parameters = corpus.study.parameters()?;
    for (name, value) in &parameters {
        words += &format!("  {name} = {value}\n");
    }
    let named = |(job, reason): &(&Job, &str)| json!({ "scan_id": job.scan_id, "file": job.file, "reason": reason });
    let value = json!({
        "scans": corpus.jobs.len(), "vessels": vessels, "reduced_already": done, "to_reduce": to_do, "bytes_to_read": bytes,
        "wrong": wrong.iter().map(named).collect::<Vec<_>>(),
        "results": folder.root().display().to_string(),
        "parameters": parameters.into_iter().map(|(name, value)| (name, Value::from(value))).collect::<serde_json::Map<_, _>>(),
    });
    terminal.result(&words, &value);
    Ok(Outcome::of_scans(done + to_do, wrong.len()))
}

fn prospect(job: &Job, study: &Study, commits: &Commits) -> Result<Prospect, Failure> {
    let path = match &job.source {
        Located::There(path) => path,
        Located::Missing(reason) => return Ok(Prospect::Wrong(reason.clone())),
    };
    if let Some(commit) = commits.read(&job.scan_id)?
        && hash_file(path).is_ok_and(|hash| commit.key == commit_key(job, &hash, study))
    {
        return Ok(match commit.status {
            crate::store::Status::Reduced => Prospect::Done,
            crate::store::Status::Rejected(reason) => Prospect::Wrong(reason),
        });
    }
    if drawn(path, job).is_some() {
        return Ok(match open_curve(path, job.unit, &Limits::default()) {
            Ok(opened) => Prospect::ToDo(opened.bytes),
            Err(error) => Prospect::Wrong(chain(&error)),
        });
    }
    Ok(match peek(path, &Limits::default()) {
        Ok(header) => Prospect::ToDo(header.bytes),
        Err(error) => Prospect::Wrong(chain(&error)),
    })
}
