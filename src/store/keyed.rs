//! A table too large to hold, read by the keys of its rows.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::{Path, PathBuf};

use super::StoreError;
use super::parquet::{read_pieces, read_rows};
use crate::table::{Table, stack};

/// Rows that nobody asked for between two runs that are read in one go: fewer are read sooner than found again.
const GAP: usize = 1 << 14;

/// Where the rows of each key stand in a table on disk, so that those of a few keys can be read without the others.
///
/// In memory are the keys and a range for each unbroken run of their rows.
#[derive(Clone, Debug)]
pub struct KeyedTable {
    path: PathBuf,
    runs: BTreeMap<String, Vec<Range<usize>>>,
}

impl KeyedTable {
    /// Looks through the column `key` of the table at `path`.
    ///
    /// # Errors
    /// As [`read_table`](super::read_table), or if there is no such column of words.
    pub fn open(path: &Path, key: &str) -> Result<Self, StoreError> {
        let mut runs: BTreeMap<String, Vec<Range<usize>>> = BTreeMap::new();
        let mut start = 0;
        read_pieces(path, &[key], |piece| {
            let found = piece.runs(key).map_err(|source| StoreError::Table { path: path.to_path_buf(), source })?;
            for (key, rows) in found {
                let of_key = runs.entry(key.to_owned()).or_default();
                of_key.push(start + rows.start..start + rows.end);
            }
            start += piece.rows();
            Ok::<(), StoreError>(())
        })?;
        Ok(Self { path: path.to_path_buf(), runs })
    }

    /// The rows of these keys in the table's order, others perhaps between them; `None` if there are none.
    ///
    /// # Errors
    /// As [`read_table`](super::read_table).
    pub fn read(&self, keys: &[&str]) -> Result<Option<Table>, StoreError> {
        let mut wanted: Vec<Range<usize>> =
            keys.iter().filter_map(|key| self.runs.get(*key)).flatten().cloned().collect();
        wanted.sort_unstable_by_key(|rows| rows.start);
        let mut joined: Vec<Range<usize>> = Vec::new();
        for rows in wanted {
            match joined.last_mut() {
                Some(last) if rows.start <= last.end + GAP => last.end = last.end.max(rows.end),
                _ => joined.push(rows),
            }
        }
        let pieces: Vec<Table> =
            joined.into_iter().map(|rows| read_rows(&self.path, rows)).collect::<Result<_, _>>()?;
        stack(&pieces).map_err(|source| StoreError::Table { path: self.path.clone(), source })
    }
}
