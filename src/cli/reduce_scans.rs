//! All scans: those whose commit still holds are left alone, the others reduced, several at a time.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;
use serde_json::Value;

use super::corpus::{Corpus, Job};
use super::failure::Failure;
use super::reduce_scan::{ReducedScan, SCAN_ROW, commit_key, missing_scan, reduce_scan};
use super::terminal::{Terminal, now_s};
use crate::config::{Located, Study};
use crate::format;
use crate::store::{Commit, Commits, Input, Log, Status};
use crate::table::Table;

/// Where one scan stands.
pub(super) struct Standing {
    /// What it was made from.
    pub(super) input: Input,
    /// Why it was rejected; `None` if it was reduced.
    pub(super) reason: Option<String>,
    /// Its row of `scans`, if it has no commit to keep it.
    pub(super) row: Option<Table>,
}

/// Brings every scan of the corpus up to date, in the order of its jobs; commits of other scans are removed.
pub(super) fn reduce_scans(
    corpus: &Corpus,
    commits: &Commits,
    log: &Log,
    terminal: Terminal,
) -> Result<Vec<Standing>, Failure> {
    let jobs = &corpus.jobs;
    commits.retain(&jobs.iter().map(|job| job.scan_id.clone()).collect::<BTreeSet<_>>())?;
    let kept: Vec<Option<Standing>> =
        jobs.par_iter().map(|job| still_holds(job, &corpus.study, commits)).collect::<Result<_, _>>()?;
    let waiting: Vec<usize> = (0..jobs.len()).filter(|&index| kept[index].is_none()).collect();
    let progress = terminal.progress(waiting.len(), "reducing");
    let reduced = in_parallel(&waiting, |&index| {
        let standing = reduce_job(&jobs[index], &corpus.study, commits, log);
        progress.inc(1);
        standing
    });
    progress.finish_and_clear();
    let mut standings = kept;
    for (index, standing) in waiting.into_iter().zip(reduced) {
        standings[index] = Some(standing?);
    }
    Ok(standings.into_iter().flatten().collect())
}

/// Works through `items` with as many threads as compute, each holding one item at a time, so that memory is bounded by the
/// number of threads; the reduction's own parallel steps run on the common pool. Results keep the order of the items.
fn in_parallel<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let results: Mutex<Vec<(usize, R)>> = Mutex::new(Vec::with_capacity(items.len()));
    std::thread::scope(|scope| {
        for _ in 0..rayon::current_num_threads().min(items.len()) {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(item) = items.get(index) else { break };
                    let result = work(item);
                    results.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push((index, result));
                }
            });
        }
    });
    let mut results = results.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    results.sort_by_key(|(index, _)| *index);
    results.into_iter().map(|(_, result)| result).collect()
}

/// Scans that hold the same bytes, which would count as independent evidence.
pub(super) fn same_bytes(standings: &[Standing]) -> Vec<String> {
    let mut first: BTreeMap<&str, &str> = BTreeMap::new();
    let mut notes = Vec::new();
    for Input { scan_id, blake3, .. } in standings.iter().map(|standing| &standing.input) {
        let Some(hash) = blake3 else { continue };
        let known = *first.entry(hash).or_insert(scan_id);
        if known != scan_id {
            notes.push(format!("scans {known} and {scan_id} hold the same bytes, yet count as two"));
        }
    }
    notes
}

fn input(job: &Job, blake3: Option<String>, key: Option<String>) -> Input {
    Input { scan_id: job.scan_id.clone(), file: job.file.clone(), blake3, key }
}

/// The standing of a scan whose commit was made from the same bytes with the same parameters.
fn still_holds(job: &Job, study: &Study, commits: &Commits) -> Result<Option<Standing>, Failure> {
    let Located::There(path) = &job.source else { return Ok(None) };
    let Some(commit) = commits.read(&job.scan_id)? else { return Ok(None) };
    // The bytes themselves are hashed: a date or a length may stay the same when a file does not.
    let Ok(hash) = format::hash_file(path) else { return Ok(None) };
    let key = commit_key(job, &hash, study);
    if commit.key != key {
        return Ok(None);
    }
    let reason = match commit.status {
        Status::Reduced => None,
        Status::Rejected(reason) => Some(reason),
    };
    let input = input(job, Some(hash), Some(key.as_str().to_owned()));
    Ok(Some(Standing { input, reason, row: None }))
}

fn reduce_job(job: &Job, study: &Study, commits: &Commits, log: &Log) -> Result<Standing, Failure> {
    let start = now_s();
    let reduced = match &job.source {
        Located::There(path) => reduce_scan(path, job, study)?,
        Located::Missing(reason) => missing_scan(reason)?,
    };
    let ReducedScan { file_hash, reason, lasting, tables } = reduced;
    let mut row = None;
    let mut key = None;
    match &file_hash {
        Some(hash) if lasting => {
            let made = commit_key(job, hash, study);
            key = Some(made.as_str().to_owned());
            let status = reason.clone().map_or(Status::Reduced, Status::Rejected);
            let commit = Commit { scan_id: job.scan_id.clone(), key: made, file_hash: hash.clone(), status };
            commits.write(&commit, &tables)?;
        }
        _ => {
            commits.remove(&job.scan_id)?;
            row = tables.into_iter().find(|table| table.name() == SCAN_ROW);
        }
    }
    let fields = [
        ("scan_id", Value::from(job.scan_id.as_str())),
        ("seconds", Value::from(now_s() - start)),
        ("reason", reason.clone().map_or(Value::Null, Value::from)),
    ];
    log.add(now_s(), if reason.is_none() { "reduced" } else { "rejected" }, &fields)?;
    Ok(Standing { input: input(job, file_hash, key), reason, row })
}

#[cfg(test)]
mod tests {
    use super::in_parallel;

    #[test]
    fn results_keep_the_order_of_the_items() {
        let items: Vec<usize> = (0..1000).collect();
        assert_eq!(in_parallel(&items, |item| item * 2), items.iter().map(|item| item * 2).collect::<Vec<_>>());
        assert!(in_parallel(&[] as &[usize], |item| *item).is_empty());
    }
}
