//! Tables as Parquet files.

use std::fs::{self, File};
use std::io::{BufWriter, Cursor, Write};
use std::ops::Range;
use std::path::{Path, PathBuf};

use polars::prelude::{
    BatchedWriter, DataFrame, ParallelStrategy, ParquetCompression, ParquetReader, ParquetWriter, PolarsError,
    SerReader,
};
use rayon::prelude::*;
use tempfile::NamedTempFile;

use super::StoreError;
use super::atomic::{finish, unfinished};
use super::frame::{frame, table};
use crate::table::Table;

/// Rows in a row group at most: a fixed number, so that the bytes depend on the table alone.
const ROW_GROUP: usize = 1 << 18;

/// Pieces of a table read side by side: more would be held at once without being read any sooner.
const PIECES_AT_ONCE: usize = 2;

pub(super) fn refused(path: &Path) -> impl FnOnce(PolarsError) -> StoreError {
    let path = path.to_path_buf();
    move |error| StoreError::Parquet { path, reason: error.to_string() }
}

fn writer<W: Write>(inner: W) -> ParquetWriter<W> {
    ParquetWriter::new(inner).with_compression(ParquetCompression::Zstd(None)).with_row_group_size(Some(ROW_GROUP))
}

/// Writes `table` to `folder` as `NAME.parquet`, whole or not at all, and returns the path.
///
/// # Errors
/// [`StoreError`] if the file cannot be written.
pub fn write_table(folder: &Path, table: &Table) -> Result<PathBuf, StoreError> {
    let path = folder.join(format!("{}.parquet", table.name()));
    let mut file = unfinished(&path)?;
    let mut frame = frame(table).map_err(refused(&path))?;
    writer(BufWriter::new(file.as_file_mut())).finish(&mut frame).map_err(refused(&path))?;
    finish(file, &path)?;
    Ok(path)
}

/// Reads a table; its name is the file's.
///
/// # Errors
/// [`StoreError`] if the file is not there, is damaged, or holds a type no table has.
pub fn read_table(path: &Path) -> Result<Table, StoreError> {
    let file = File::open(path).map_err(StoreError::io("read", path))?;
    let read = ParquetReader::new(file).finish().map_err(refused(path))?;
    table(&table_name(path), &read, path)
}

/// The columns of a table, without its rows.
///
/// # Errors
/// As [`read_table`].
pub fn read_columns(path: &Path) -> Result<Table, StoreError> {
    let file = File::open(path).map_err(StoreError::io("read", path))?;
    let read = ParquetReader::new(file).with_slice(Some((0, 0))).finish().map_err(refused(path))?;
    table(&table_name(path), &read, path)
}

/// Reads a table, only the columns of these names that it has: most of a wide table's bytes are in columns nobody asked for.
///
/// # Errors
/// As [`read_table`].
pub fn read_part(path: &Path, columns: &[&str]) -> Result<Table, StoreError> {
    let file = File::open(path).map_err(StoreError::io("read", path))?;
    let read = ParquetReader::new(file).with_columns(Some(known(path, columns)?)).finish().map_err(refused(path))?;
    table(&table_name(path), &read, path)
}

/// Those of these columns that the table has, in its order.
fn known(path: &Path, columns: &[&str]) -> Result<Vec<String>, StoreError> {
    let all = read_columns(path)?;
    let wanted = all.columns().iter().map(|column| column.name.clone());
    Ok(wanted.filter(|name| columns.contains(&name.as_str())).collect())
}

/// Reads a table piece by piece, only the `columns` of these names that it has; each piece goes to `take`.
///
/// For tables that would not fit in memory: a piece has as many rows as a row group that is written here, and two are held.
///
/// # Errors
/// As [`read_table`], or what `take` refuses.
pub fn read_pieces<E: From<StoreError>>(
    path: &Path,
    columns: &[&str],
    mut take: impl FnMut(&Table) -> Result<(), E>,
) -> Result<(), E> {
    let wanted = known(path, columns)?;
    let open =
        || -> Result<_, StoreError> { Ok(ParquetReader::new(File::open(path).map_err(StoreError::io("read", path))?)) };
    let rows = open()?.num_rows().map_err(refused(path))?;
    let piece = |first: &usize| -> Result<Table, StoreError> {
        let reader = open()?.with_columns(Some(wanted.clone())).with_slice(Some((*first, ROW_GROUP)));
        table(&table_name(path), &reader.finish().map_err(refused(path))?, path)
    };
    let firsts: Vec<usize> = (0..rows).step_by(ROW_GROUP).collect();
    for some in firsts.chunks(PIECES_AT_ONCE) {
        let read: Vec<Table> = some.par_iter().map(piece).collect::<Result<_, _>>()?;
        read.iter().try_for_each(&mut take)?;
    }
    Ok(())
}

/// Reads some rows of a table.
///
/// # Errors
/// As [`read_table`].
pub(super) fn read_rows(path: &Path, rows: Range<usize>) -> Result<Table, StoreError> {
    let file = File::open(path).map_err(StoreError::io("read", path))?;
    let slice = Some((rows.start, rows.len()));
    table(&table_name(path), &ParquetReader::new(file).with_slice(slice).finish().map_err(refused(path))?, path)
}

fn table_name(path: &Path) -> String {
    path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
}

/// Reads a table; `None` if there is no such file.
///
/// # Errors
/// As [`read_table`], except for a missing file.
pub fn read_table_if_there(path: &Path) -> Result<Option<Table>, StoreError> {
    match fs::metadata(path) {
        Ok(_) => read_table(path).map(Some),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(StoreError::io("read", path)(error)),
    }
}

/// The bytes of `table` as a Parquet file.
pub(super) fn encode(table: &Table, path: &Path) -> Result<Vec<u8>, StoreError> {
    let mut bytes = Vec::new();
    let mut frame = frame(table).map_err(refused(path))?;
    // Scans are encoded side by side; columns of one scan side by side too would only get in each other's way.
    writer(&mut bytes).set_parallel(false).finish(&mut frame).map_err(refused(path))?;
    Ok(bytes)
}

/// The data frame in the bytes of a Parquet file.
pub(super) fn decode(bytes: Vec<u8>, path: &Path) -> Result<DataFrame, StoreError> {
    let reader = ParquetReader::new(Cursor::new(bytes)).read_parallel(ParallelStrategy::None);
    reader.finish().map_err(refused(path))
}

/// Writes a table too large to hold, piece by piece; the file appears when it is finished.
pub struct TableWriter {
    path: PathBuf,
    batches: BatchedWriter<BufWriter<File>>,
    file: NamedTempFile,
}

impl TableWriter {
    /// Starts `NAME.parquet` in `folder` with the columns of `like`.
    ///
    /// # Errors
    /// [`StoreError`] if the file cannot be made.
    pub fn create(folder: &Path, like: &Table) -> Result<Self, StoreError> {
        let path = folder.join(format!("{}.parquet", like.name()));
        Self::with_columns(&path, &frame(like).map_err(refused(&path))?)
    }

    /// Starts the file at `path` with the columns of a data frame.
    pub(super) fn with_columns(path: &Path, like: &DataFrame) -> Result<Self, StoreError> {
        let file = unfinished(path)?;
        let handle = file.as_file().try_clone().map_err(StoreError::io("write", path))?;
        let batches = writer(BufWriter::new(handle)).batched(like.schema()).map_err(refused(path))?;
        Ok(Self { path: path.to_path_buf(), batches, file })
    }

    /// Adds the rows of `piece`, which must have the columns the writer was made with.
    ///
    /// # Errors
    /// [`StoreError`] if the columns differ or the disk is full.
    pub fn append(&mut self, piece: &Table) -> Result<(), StoreError> {
        let mut rows = frame(piece).map_err(refused(&self.path))?;
        self.append_frame(&mut rows)
    }

    /// Adds the rows of a data frame as one row group.
    pub(super) fn append_frame(&mut self, rows: &mut DataFrame) -> Result<(), StoreError> {
        if rows.height() == 0 {
            return Ok(()); // an empty row group says nothing
        }
        rows.rechunk_mut();
        self.batches.write_batch(rows).map_err(refused(&self.path))
    }

    /// Ends the file and gives it its name.
    ///
    /// # Errors
    /// [`StoreError`] if the disk is full.
    pub fn finish(self) -> Result<PathBuf, StoreError> {
        self.batches.finish().map_err(refused(&self.path))?;
        finish(self.file, &self.path)?;
        Ok(self.path)
    }
}
