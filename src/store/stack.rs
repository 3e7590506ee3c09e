//! The scans' shares of a table, one below the other, as one Parquet file.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use polars::prelude::DataFrame;

use super::parquet::refused;
use super::{Commits, StoreError, TableWriter};

/// Rows gathered before they go to disk: row groups of about this size, whatever the number of scans.
const BATCH_ROWS: usize = 1 << 18;

/// Writes the table called `name`: the rows of `scan_ids`, in this order, without holding more than a batch of them.
///
/// Returns the number of rows. Without any row an older file of that name is removed, and there is no table.
///
/// # Errors
/// [`StoreError`] if a commit is damaged or the disk refuses.
pub fn stack_commits(
    commits: &Commits,
    scan_ids: &BTreeSet<String>,
    name: &str,
    folder: &Path,
) -> Result<usize, StoreError> {
    let path = folder.join(format!("{name}.parquet"));
    let mut writer: Option<TableWriter> = None;
    let mut batch: Option<DataFrame> = None;
    let mut rows = 0;
    for scan_id in scan_ids {
        let Some(piece) = commits.frame(scan_id, name)? else { continue };
        rows += piece.height();
        match &mut batch {
            Some(batch) => batch.vstack_mut_owned(piece).map(|_| ()).map_err(refused(&path))?,
            None => batch = Some(piece),
        }
        if let Some(mut full) = batch.take_if(|batch| batch.height() >= BATCH_ROWS) {
            flush(&mut writer, &mut full, &path)?;
        }
    }
    if let Some(mut rest) = batch {
        flush(&mut writer, &mut rest, &path)?;
    }
    match writer {
        Some(writer) => writer.finish().map(|_| rows),
        None => remove_if_there(&path).map(|()| 0),
    }
}

fn flush(writer: &mut Option<TableWriter>, batch: &mut DataFrame, path: &Path) -> Result<(), StoreError> {
    let open = match writer.take() {
        Some(open) => open,
        None => TableWriter::with_columns(path, batch)?,
    };
    writer.insert(open).append_frame(batch)
}

fn remove_if_there(path: &Path) -> Result<(), StoreError> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(StoreError::io("remove", path)(error)),
        _ => Ok(()),
    }
}
