//! Tables as data frames and back.

use std::path::Path;

use rayon::prelude::*;

use polars::prelude::{Column as FrameColumn, DataFrame, DataType, NamedFrom, PolarsResult, Series};

use super::StoreError;
use crate::table::{Column, ColumnData, Table};

/// The data frame of a table; an empty column keeps its type.
pub(super) fn frame(table: &Table) -> PolarsResult<DataFrame> {
    let columns = table.columns().iter().map(|column| FrameColumn::from(series(column))).collect();
    DataFrame::new(table.rows(), columns)
}

fn series(column: &Column) -> Series {
    let name = column.name.as_str().into();
    match &column.data {
        ColumnData::Float(values) => Series::new(name, values.as_slice()),
        ColumnData::Integer(values) => Series::new(name, values.as_slice()),
        ColumnData::Text(values) => {
            let words: Vec<Option<&str>> = values.iter().map(Option::as_deref).collect();
            Series::new(name, words)
        }
        ColumnData::Flag(values) => Series::new(name, values.as_slice()),
    }
}

/// The table of a data frame read from `path`.
pub(super) fn table(name: &str, frame: &DataFrame, path: &Path) -> Result<Table, StoreError> {
    let columns = frame.columns().par_iter().map(|column| read_column(column, path)).collect::<Result<_, _>>()?;
    Table::new(name, columns).map_err(|source| StoreError::Table { path: path.to_path_buf(), source })
}

fn read_column(column: &FrameColumn, path: &Path) -> Result<Column, StoreError> {
    let name = column.name().to_string();
    let damaged = |reason: polars::prelude::PolarsError| StoreError::Parquet {
        path: path.to_path_buf(),
        reason: reason.to_string(),
    };
    let data = match column.dtype() {
        DataType::Float64 => ColumnData::Float(column.f64().map_err(damaged)?.iter().collect()),
        DataType::Int64 => ColumnData::Integer(column.i64().map_err(damaged)?.iter().collect()),
        DataType::String => {
            ColumnData::Text(column.str().map_err(damaged)?.iter().map(|word| word.map(str::to_owned)).collect())
        }
        DataType::Boolean => ColumnData::Flag(column.bool().map_err(damaged)?.iter().collect()),
        other => {
            return Err(StoreError::UnknownType { path: path.to_path_buf(), column: name, found: other.to_string() });
        }
    };
    Ok(Column { name, data })
}
