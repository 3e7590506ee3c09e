//! What happened when: one JSON object per line, the only file of a results folder that holds times.

use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use serde_json::{Map, Value};

use super::StoreError;

/// An open log; lines are added, never changed.
#[derive(Debug)]
pub struct Log {
    file: Mutex<File>,
    path: PathBuf,
}

impl Log {
    /// Opens the log at `path` to add to it.
    ///
    /// # Errors
    /// [`StoreError::Io`] if the file cannot be opened.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(StoreError::io("make folder", folder))?;
        }
        let file = OpenOptions::new().create(true).append(true).open(path).map_err(StoreError::io("write", path))?;
        Ok(Self { file: Mutex::new(file), path: path.to_path_buf() })
    }

    /// Adds a line: `time_s` (seconds since 1970-01-01 UTC), what happened, and further fields.
    ///
    /// # Errors
    /// [`StoreError::Io`] if the disk refuses.
    pub fn add(&self, time_s: f64, event: &str, fields: &[(&str, Value)]) -> Result<(), StoreError> {
        let mut line = Map::new();
        line.insert("time_s".to_owned(), Value::from(time_s));
        line.insert("event".to_owned(), Value::from(event));
        line.extend(fields.iter().map(|(name, value)| ((*name).to_owned(), value.clone())));
        let text = format!("{}\n", Value::Object(line));
        let mut file = self.file.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        file.write_all(text.as_bytes()).map_err(StoreError::io("write", &self.path)) // one write: lines stay whole
    }
}
