//! The bookkeeping of a results folder: what is in it, from what, and whether it is whole.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use rayon::prelude::*;

use super::corpus::Corpus;
use super::failure::Failure;
use super::publish::table_names;
use super::reduce_scans::Standing;
use super::terminal::Terminal;
use crate::store::{
    Counts, Folder, Manifest, Output, SCHEMA_VERSION, StoreError, hash_file, read_columns, read_table, write_columns,
    write_csv,
};

/// The stage of results that a run has begun to change and not finished.
const UNFINISHED: &str = "unfinished";

/// How far results reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stage {
    /// Tables of scans and vessels.
    Reduced,
    /// The comparison too.
    Compared,
    /// The report too.
    Reported,
}

impl Stage {
    const fn word(self) -> &'static str {
        match self {
            Self::Reduced => "reduced",
            Self::Compared => "compared",
            Self::Reported => "reported",
        }
    }
}

/// The manifest of results that `command` makes from these scans; its outputs are still unknown.
pub(super) fn manifest(
    command: String,
    corpus: &Corpus,
    standings: &[Standing],
    stage: Stage,
) -> Result<Manifest, Failure> {
    Ok(Manifest {
        schema_version: SCHEMA_VERSION,
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        command,
        study: corpus.study.record()?,
        catalogue_blake3: corpus.catalogue_blake3.clone(),
        inputs: standings.iter().map(|standing| standing.input.clone()).collect(),
        counts: counts(standings, corpus.jobs.iter().map(|job| job.vessel_id.as_str())),
        stage: stage.word().to_owned(),
        outputs: Vec::new(),
    })
}

/// The same results one stage further.
pub(super) fn advanced(manifest: &Manifest, stage: Stage) -> Manifest {
    Manifest { stage: stage.word().to_owned(), ..manifest.clone() }
}

/// The same results without a report.
pub(super) fn without_report(manifest: &Manifest) -> Manifest {
    if manifest.stage == Stage::Reported.word() { advanced(manifest, Stage::Compared) } else { manifest.clone() }
}

/// How many scans and vessels, from where each scan stands.
fn counts<'a>(standings: &[Standing], vessel_ids: impl Iterator<Item = &'a str>) -> Counts {
    let reduced = standings.iter().filter(|standing| standing.reason.is_none()).count();
    let with_scan = standings.iter().zip(vessel_ids).filter(|(standing, _)| standing.reason.is_none());
    let vessels = with_scan.map(|(_, vessel)| vessel).collect::<BTreeSet<_>>().len();
    Counts { scans: standings.len(), reduced, rejected: standings.len() - reduced, vessels }
}

/// Whether the folder already holds, whole and unchanged, the results `wanted` describes.
pub(super) fn is_current(folder: &Folder, old: Option<&Manifest>, wanted: &Manifest) -> bool {
    let Some(old) = old else { return false };
    let intact = |output: &Output| hash_file(&folder.root().join(&output.file)).is_ok_and(|hash| hash == output.blake3);
    old.fingerprint() == wanted.fingerprint() && !old.outputs.is_empty() && old.outputs.par_iter().all(intact)
}

/// What an earlier run left in the folder; results of another version of the tables are made anew.
pub(super) fn earlier(folder: &Folder, terminal: Terminal) -> Result<Option<Manifest>, Failure> {
    match Manifest::read(&folder.manifest()) {
        Ok(found) => Ok(found),
        Err(other @ (StoreError::SchemaVersion { .. } | StoreError::Json { .. })) => {
            terminal.note(&format!("earlier results are made anew: {other}"));
            Ok(None)
        }
        Err(refused) => Err(refused.into()),
    }
}

/// Marks results as being changed: a run that is killed from here on leaves no manifest that claims they are whole.
pub(super) fn begin(folder: &Folder, old: Option<&Manifest>) -> Result<(), Failure> {
    if let Some(old) = old {
        Manifest { stage: UNFINISHED.to_owned(), ..old.clone() }.write(&folder.manifest())?;
    }
    Ok(())
}

/// The manifest of a folder that other commands go on from.
pub(super) fn read_manifest(folder: &Folder) -> Result<Manifest, Failure> {
    let shown = folder.root().display();
    let manifest = Manifest::read(&folder.manifest())?.ok_or_else(|| {
        Failure::new(format!("no results in {shown}")).with_hint("make some with `tornus survey` or `tornus reduce`")
    })?;
    if manifest.stage == UNFINISHED {
        return Err(Failure::new(format!("results in {shown} are unfinished"))
            .with_hint("run the same `tornus survey`, `reduce` or `gather` again: it resumes"));
    }
    Ok(manifest)
}

/// Ends a run: describes every column, writes CSV if wished, removes what an earlier run left and this one did not make,
/// and writes the manifest last.
pub(super) fn finish(
    folder: &Folder,
    mut manifest: Manifest,
    old: Option<&Manifest>,
    mut files: Vec<String>,
    csv: bool,
) -> Result<Manifest, Failure> {
    let names = table_names(folder)?;
    let heads = names.iter().map(|name| read_columns(&folder.table(name))).collect::<Result<Vec<_>, _>>()?;
    write_columns(&folder.columns(), &heads)?;
    files.push("columns.csv".to_owned());
    for name in names {
        if csv {
            write_csv(&folder.tables(), &read_table(&folder.table(&name))?)?;
            files.push(format!("tables/{name}.csv"));
        }
        files.push(format!("tables/{name}.parquet"));
    }
    files.sort_unstable();
    files.dedup();
    if let Some(old) = old {
        for gone in old.outputs.iter().filter(|output| !files.contains(&output.file)) {
            remove_if_there(&folder.root().join(&gone.file))?;
        }
    }
    manifest.outputs = files
        .into_par_iter()
        .map(|file| hash_file(&folder.root().join(&file)).map(|blake3| Output { file, blake3 }))
        .collect::<Result<_, _>>()?;
    manifest.write(&folder.manifest())?;
    Ok(manifest)
}

/// Removes tables of a comparison that this run may not make again.
pub(super) fn remove_tables(folder: &Folder, keep: &[&str]) -> Result<(), Failure> {
    if !folder.tables().is_dir() {
        return Ok(());
    }
    for name in table_names(folder)?.iter().filter(|name| !keep.contains(&name.as_str())) {
        remove_if_there(&folder.table(name))?;
    }
    Ok(())
}

fn remove_if_there(path: &Path) -> Result<(), Failure> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(StoreError::Io { action: "remove", path: path.to_path_buf(), source: error }.into())
        }
        _ => Ok(()),
    }
}
