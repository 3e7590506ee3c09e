//! Tables as CSV, for those who have no Parquet reader, and the description of every column.

use std::path::{Path, PathBuf};

use super::StoreError;
use super::atomic::{finish, unfinished};
use crate::table::schema::describe_column;
use crate::table::{ColumnData, Table};

/// Writes `table` to `folder` as `NAME.csv`: missing is empty, numbers are written with every digit they need to be read
/// back unchanged, truth values are `true` and `false`.
///
/// # Errors
/// [`StoreError`] if the file cannot be written.
pub fn write_csv(folder: &Path, table: &Table) -> Result<PathBuf, StoreError> {
    let path = folder.join(format!("{}.csv", table.name()));
    let header: Vec<String> = table.columns().iter().map(|column| column.name.clone()).collect();
    let rows = (0..table.rows()).map(|row| table.columns().iter().map(|column| cell(&column.data, row)).collect());
    write_rows(&path, &header, rows)?;
    Ok(path)
}

/// Writes `columns.csv` to `path`: table, column, unit, type, meaning and source of every column of `tables`.
///
/// # Errors
/// [`StoreError`] if the file cannot be written.
pub fn write_columns(path: &Path, tables: &[Table]) -> Result<(), StoreError> {
    let header = ["table", "column", "unit", "type", "meaning", "source"].map(str::to_owned);
    let rows = tables.iter().flat_map(|table| {
        table.columns().iter().map(move |column| {
            let described = describe_column(table.name(), &column.name);
            let kind = column.data.kind().to_owned();
            let name = column.name.clone();
            vec![table.name().to_owned(), name, described.unit, kind, described.meaning, described.source]
        })
    });
    write_rows(path, &header, rows)
}

fn cell(data: &ColumnData, row: usize) -> String {
    match data {
        ColumnData::Float(values) => values[row].map(|value| value.to_string()),
        ColumnData::Integer(values) => values[row].map(|value| value.to_string()),
        ColumnData::Text(values) => values[row].clone(),
        ColumnData::Flag(values) => values[row].map(|value| value.to_string()),
    }
    .unwrap_or_default()
}

fn write_rows(path: &Path, header: &[String], rows: impl Iterator<Item = Vec<String>>) -> Result<(), StoreError> {
    let refused = |source| StoreError::Csv { path: path.to_path_buf(), source };
    let mut file = unfinished(path)?;
    let mut writer = csv::Writer::from_writer(file.as_file_mut());
    writer.write_record(header).map_err(refused)?;
    for row in rows {
        writer.write_record(row).map_err(refused)?;
    }
    writer.flush().map_err(StoreError::io("write", path))?;
    drop(writer);
    finish(file, path)
}
