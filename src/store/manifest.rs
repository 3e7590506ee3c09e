//! `manifest.json`: what the results were made from. No clock, no thread count: the same inputs give the same bytes.

use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::hash::hash_bytes;
use super::{StoreError, write_atomic};

/// Version of the published tables: raised when a column is renamed or changes its unit.
pub const SCHEMA_VERSION: u32 = 1;

/// What the results were made from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Manifest {
    /// Version of the published tables.
    pub schema_version: u32,
    /// Version of the program.
    pub program_version: String,
    /// The command that makes these results, without folders.
    pub command: String,
    /// The resolved study: every parameter, defaults included.
    pub study: Value,
    /// Hash of the catalogue's bytes; `None` for scans named on the command line.
    pub catalogue_blake3: Option<String>,
    /// Every scan file, sorted by scan.
    pub inputs: Vec<Input>,
    /// How many.
    pub counts: Counts,
    /// How far the results reach: `reduced`, `compared` or `reported`.
    pub stage: String,
    /// Every file of the results but the manifest and the log, sorted.
    pub outputs: Vec<Output>,
}

/// One scan file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Input {
    /// The scan's name in the tables.
    pub scan_id: String,
    /// The file as the catalogue names it.
    pub file: String,
    /// Hash of its bytes; `None` if it could not be read.
    pub blake3: Option<String>,
    /// What the scan's rows depend on: bytes, unit, declarations, parameters; `None` if it could not be read.
    pub key: Option<String>,
}

/// How many scans and vessels.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counts {
    /// Scans in the catalogue.
    pub scans: usize,
    /// Scans reduced.
    pub reduced: usize,
    /// Scans rejected.
    pub rejected: usize,
    /// Vessels with at least one reduced scan.
    pub vessels: usize,
}

/// One file of the results.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Output {
    /// The file, from the results folder on, with `/`.
    pub file: String,
    /// Hash of its bytes.
    pub blake3: String,
}

impl Manifest {
    /// Reads `manifest.json`; `None` if there is none.
    ///
    /// # Errors
    /// [`StoreError::Json`] if it cannot be understood, [`StoreError::SchemaVersion`] if its tables are of another version.
    pub fn read(path: &Path) -> Result<Option<Self>, StoreError> {
        let bytes = match fs::read(path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(StoreError::io("read", path)(error)),
        };
        let json = |source| StoreError::Json { path: path.to_path_buf(), source };
        let value: Value = serde_json::from_slice(&bytes).map_err(json)?;
        let found = value.get("schema_version").and_then(Value::as_u64).and_then(|v| u32::try_from(v).ok());
        if let Some(found) = found.filter(|found| *found != SCHEMA_VERSION) {
            return Err(StoreError::SchemaVersion { path: path.to_path_buf(), found, expected: SCHEMA_VERSION });
        }
        serde_json::from_value(value).map(Some).map_err(json)
    }

    /// Writes `manifest.json`: the last file of a run, so that results with a manifest are whole.
    ///
    /// # Errors
    /// [`StoreError`] if the disk refuses.
    pub fn write(&self, path: &Path) -> Result<(), StoreError> {
        let mut bytes =
            serde_json::to_vec_pretty(self).map_err(|source| StoreError::Json { path: path.to_path_buf(), source })?;
        bytes.push(b'\n');
        write_atomic(path, &bytes)
    }

    /// A hash of everything the results depend on; two manifests that agree in it describe the same results.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        let bare = Self { outputs: Vec::new(), ..self.clone() };
        // A manifest is plain data with text keys, which serde_json always writes; the fallback is never equal by chance.
        serde_json::to_vec(&bare).map(|bytes| hash_bytes(&bytes)).unwrap_or_default()
    }
}
