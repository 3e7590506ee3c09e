//! The scans' shares of a table, one below the other, as one Parquet file.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use super::{Commits, StoreError, TableWriter};
use crate::table::{Table, stack};

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
    let mut writer: Option<TableWriter> = None;
    let mut batch: Vec<Table> = Vec::new();
    let (mut rows, mut waiting) = (0, 0);
    for scan_id in scan_ids {
        let Some(piece) = commits.table(scan_id, name)? else { continue };
        rows += piece.rows();
        waiting += piece.rows();
        batch.push(piece);
        if waiting >= BATCH_ROWS {
            flush(&mut writer, &std::mem::take(&mut batch), folder)?;
            waiting = 0;
        }
    }
    flush(&mut writer, &batch, folder)?;
    match writer {
        Some(writer) => writer.finish().map(|_| rows),
        None => remove_if_there(&folder.join(format!("{name}.parquet"))).map(|()| 0),
    }
}

fn flush(writer: &mut Option<TableWriter>, batch: &[Table], folder: &Path) -> Result<(), StoreError> {
    let rows = stack(batch).map_err(|source| StoreError::Table { path: folder.to_path_buf(), source })?;
    let Some(rows) = rows else { return Ok(()) };
    let open = match writer.take() {
        Some(open) => open,
        None => TableWriter::create(folder, &rows)?,
    };
    writer.insert(open).append(&rows)
}

fn remove_if_there(path: &Path) -> Result<(), StoreError> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(StoreError::io("remove", path)(error)),
        _ => Ok(()),
    }
}
