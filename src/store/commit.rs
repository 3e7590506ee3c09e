//! One file per scan: a run that is killed loses the scans it was working on, nothing else.
//!
//! `reduced/SCAN_ID.scan` is a line of JSON (the record) followed by the scan's share of each table as Parquet, end to end.
//! One file instead of one per table: it appears by a single rename, and a corpus of 10,000 scans stays 10,000 files.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

use polars::prelude::DataFrame;
use serde::{Deserialize, Serialize};

use super::StoreError;
use super::atomic::write_atomic;
use super::frame::table;
use super::hash::hash_bytes;
use super::parquet::{decode, encode};
use crate::table::Table;

/// Raised whenever the reduction changes what it says of a scan, so that older commits are reduced again.
const REDUCTION_VERSION: u32 = 9;

/// How the commits' names end.
const SUFFIX: &str = "scan";

/// What a commit depends on; two equal keys mean the same tables.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CommitKey(String);

impl CommitKey {
    /// The key of the scan with this name and file hash, reduced with these parameters (each a `name = value` line: every
    /// resolved parameter, the unit, what the catalogue declares, the seed).
    #[must_use]
    pub fn new(scan_id: &str, file_hash: &str, parameters: &[String]) -> Self {
        let version = env!("CARGO_PKG_VERSION");
        let text = format!("{version}\n{REDUCTION_VERSION}\n{scan_id}\n{file_hash}\n{}", parameters.join("\n"));
        Self(hash_bytes(text.as_bytes()))
    }

    /// The key in hexadecimal.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Whether a scan was reduced.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// It was.
    Reduced,
    /// It was not, and why.
    Rejected(String),
}

/// What is on disk about one scan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Commit {
    /// Which scan.
    pub scan_id: String,
    /// What it depends on.
    pub key: CommitKey,
    /// Hash of the scan's file.
    pub file_hash: String,
    /// Whether it was reduced.
    pub status: Status,
}

#[derive(Serialize, Deserialize)]
struct Record {
    scan_id: String,
    key: String,
    file_hash: String,
    status: Status,
    tables: Vec<Part>,
}

#[derive(Serialize, Deserialize)]
struct Part {
    name: String,
    bytes: usize,
    blake3: String,
}

/// The commits of a results folder.
#[derive(Clone, Debug)]
pub struct Commits {
    folder: PathBuf,
}

impl Commits {
    /// The commits in `folder`, which need not exist yet.
    #[must_use]
    pub const fn new(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// Removes every commit.
    ///
    /// # Errors
    /// [`StoreError::Io`] if a file cannot be removed.
    pub fn clear(&self) -> Result<(), StoreError> {
        self.retain(&BTreeSet::new())
    }

    /// Removes the commit of one scan, if there is one.
    ///
    /// # Errors
    /// [`StoreError::Io`] if the file cannot be removed.
    pub fn remove(&self, scan_id: &str) -> Result<(), StoreError> {
        let path = self.path(scan_id);
        match fs::remove_file(&path) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(StoreError::io("remove", &path)(error)),
            _ => Ok(()),
        }
    }

    /// Takes over a commit of another results folder, byte by byte.
    ///
    /// # Errors
    /// [`StoreError::Io`] if it cannot be read or written.
    pub fn adopt(&self, from: &Self, scan_id: &str) -> Result<(), StoreError> {
        let path = from.path(scan_id);
        let bytes = fs::read(&path).map_err(StoreError::io("read", &path))?;
        write_atomic(&self.path(scan_id), &bytes)
    }

    /// Removes the commits of scans that are not among `scan_ids`: what left the catalogue leaves the results.
    ///
    /// # Errors
    /// [`StoreError::Io`] if a file cannot be removed.
    pub fn retain(&self, scan_ids: &BTreeSet<String>) -> Result<(), StoreError> {
        for scan_id in self.scan_ids()? {
            if !scan_ids.contains(&scan_id) {
                self.remove(&scan_id)?;
            }
        }
        Ok(())
    }

    /// The scans with a commit, sorted.
    ///
    /// # Errors
    /// [`StoreError::Io`] if the folder cannot be read.
    pub fn scan_ids(&self) -> Result<Vec<String>, StoreError> {
        let entries = match fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(StoreError::io("read", &self.folder)(error)),
        };
        let mut found = Vec::new();
        for entry in entries {
            let path = entry.map_err(StoreError::io("read", &self.folder))?.path();
            if path.extension().is_some_and(|suffix| suffix == SUFFIX)
                && let Some(stem) = path.file_stem()
            {
                found.push(stem.to_string_lossy().into_owned());
            }
        }
        found.sort_unstable();
        Ok(found)
    }

    /// Writes what one scan gave, whole or not at all.
    ///
    /// # Errors
    /// [`StoreError`] if the disk refuses.
    pub fn write(&self, commit: &Commit, tables: &[Table]) -> Result<(), StoreError> {
        let path = self.path(&commit.scan_id);
        let blobs: Vec<Vec<u8>> = tables.iter().map(|table| encode(table, &path)).collect::<Result<_, _>>()?;
        let part = |(table, blob): (&Table, &Vec<u8>)| Part {
            name: table.name().to_owned(),
            bytes: blob.len(),
            blake3: hash_bytes(blob),
        };
        let record = Record {
            scan_id: commit.scan_id.clone(),
            key: commit.key.0.clone(),
            file_hash: commit.file_hash.clone(),
            status: commit.status.clone(),
            tables: tables.iter().zip(&blobs).map(part).collect(),
        };
        let mut bytes =
            serde_json::to_vec(&record).map_err(|source| StoreError::Json { path: path.clone(), source })?;
        bytes.push(b'\n');
        bytes.extend(blobs.into_iter().flatten());
        write_atomic(&path, &bytes)
    }

    /// What is known of a scan; `None` without a whole commit, which then has to be made again.
    ///
    /// # Errors
    /// [`StoreError::Io`] if the file is there but cannot be read.
    pub fn read(&self, scan_id: &str) -> Result<Option<Commit>, StoreError> {
        Ok(self.open_record(scan_id)?.map(|(record, _)| Commit {
            scan_id: record.scan_id,
            key: CommitKey(record.key),
            file_hash: record.file_hash,
            status: record.status,
        }))
    }

    /// The share of one scan in the table called `name`; `None` if it has none (a rejected scan).
    ///
    /// # Errors
    /// [`StoreError::Damaged`] without a whole commit, [`StoreError`] if the table cannot be read.
    pub fn table(&self, scan_id: &str, name: &str) -> Result<Option<Table>, StoreError> {
        self.frame(scan_id, name)?.map(|rows| table(name, &rows, &self.path(scan_id))).transpose()
    }

    /// The same as a data frame.
    pub(super) fn frame(&self, scan_id: &str, name: &str) -> Result<Option<DataFrame>, StoreError> {
        let path = self.path(scan_id);
        let damaged = || StoreError::Damaged { path: path.clone() };
        let (record, mut reader) = self.open_record(scan_id)?.ok_or_else(damaged)?;
        let Some(index) = record.tables.iter().position(|part| part.name == name) else { return Ok(None) };
        let before: usize = record.tables[..index].iter().map(|part| part.bytes).sum();
        let wanted = &record.tables[index];
        reader.seek_relative(before as i64).map_err(StoreError::io("read", &path))?;
        let mut bytes = vec![0; wanted.bytes];
        reader.read_exact(&mut bytes).map_err(StoreError::io("read", &path))?;
        if hash_bytes(&bytes) != wanted.blake3 {
            return Err(damaged());
        }
        decode(bytes, &path).map(Some)
    }

    /// The record and a reader at the first table; `None` if the file is missing, cut short or no commit.
    fn open_record(&self, scan_id: &str) -> Result<Option<(Record, BufReader<File>)>, StoreError> {
        let path = self.path(scan_id);
        let file = match File::open(&path) {
            Ok(file) => file,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(StoreError::io("read", &path)(error)),
        };
        let length = file.metadata().map_err(StoreError::io("read", &path))?.len();
        let mut reader = BufReader::new(file);
        let mut line = Vec::new();
        reader.read_until(b'\n', &mut line).map_err(StoreError::io("read", &path))?;
        let Ok(record) = serde_json::from_slice::<Record>(&line) else { return Ok(None) };
        let expected = line.len() as u64 + record.tables.iter().map(|part| part.bytes as u64).sum::<u64>();
        Ok((expected == length && record.scan_id == scan_id).then_some((record, reader)))
    }

    fn path(&self, scan_id: &str) -> PathBuf {
        Path::new(&self.folder).join(format!("{scan_id}.{SUFFIX}"))
    }
}
