//! Tables one below the other, and chosen rows of one.

use super::{Column, ColumnData, Table, TableError};

/// The rows of all `pieces` in their order, under the name and columns of the first; `None` without pieces.
///
/// # Errors
/// [`TableError`] if a piece lacks a column of the first, or holds another type there.
pub fn stack(pieces: &[Table]) -> Result<Option<Table>, TableError> {
    let Some(first) = pieces.first() else { return Ok(None) };
    let columns = first.columns().iter().map(|column| stacked_column(column, pieces)).collect::<Result<_, _>>()?;
    Table::new(first.name(), columns).map(Some)
}

/// The same for pieces whose columns differ: every column of any piece, in the order of first appearance, with gaps where a
/// piece lacks it.
///
/// # Errors
/// [`TableError`] if two pieces hold different types in one column.
pub fn stack_wide(pieces: &[Table]) -> Result<Option<Table>, TableError> {
    let mut all: Vec<&Column> = Vec::new();
    for column in pieces.iter().flat_map(Table::columns) {
        if !all.iter().any(|known| known.name == column.name) {
            all.push(column);
        }
    }
    let widened = |piece: &Table| {
        let column = |like: &&Column| {
            let own = piece.columns().iter().find(|own| own.name == like.name);
            own.cloned().unwrap_or_else(|| Column { name: like.name.clone(), data: gaps(&like.data, piece.rows()) })
        };
        Table::new(piece.name(), all.iter().map(column).collect())
    };
    stack(&pieces.iter().map(widened).collect::<Result<Vec<_>, _>>()?)
}

/// The rows of `table` at these places, in this order.
///
/// # Errors
/// [`TableError::BadKey`] if a place is beyond the last row.
pub fn select_rows(table: &Table, places: &[usize]) -> Result<Table, TableError> {
    if let Some(&row) = places.iter().find(|&&place| place >= table.rows()) {
        return Err(TableError::BadKey { table: table.name().to_owned(), row });
    }
    fn pick<T: Clone>(values: &[Option<T>], places: &[usize]) -> Vec<Option<T>> {
        places.iter().map(|&place| values[place].clone()).collect()
    }
    let chosen = |column: &Column| {
        let data = match &column.data {
            ColumnData::Float(values) => ColumnData::Float(pick(values, places)),
            ColumnData::Integer(values) => ColumnData::Integer(pick(values, places)),
            ColumnData::Text(values) => ColumnData::Text(pick(values, places)),
            ColumnData::Flag(values) => ColumnData::Flag(pick(values, places)),
        };
        Column { name: column.name.clone(), data }
    };
    Table::new(table.name(), table.columns().iter().map(chosen).collect())
}

fn gaps(like: &ColumnData, rows: usize) -> ColumnData {
    match like {
        ColumnData::Float(_) => ColumnData::Float(vec![None; rows]),
        ColumnData::Integer(_) => ColumnData::Integer(vec![None; rows]),
        ColumnData::Text(_) => ColumnData::Text(vec![None; rows]),
        ColumnData::Flag(_) => ColumnData::Flag(vec![None; rows]),
    }
}

fn stacked_column(like: &Column, pieces: &[Table]) -> Result<Column, TableError> {
    let name = like.name.as_str();
    let data = match &like.data {
        ColumnData::Float(_) => ColumnData::Float(gathered(pieces, |piece| piece.floats(name))?),
        ColumnData::Integer(_) => ColumnData::Integer(gathered(pieces, |piece| piece.integers(name))?),
        ColumnData::Text(_) => ColumnData::Text(gathered(pieces, |piece| piece.texts(name))?),
        ColumnData::Flag(_) => ColumnData::Flag(gathered(pieces, |piece| piece.flags(name))?),
    };
    Ok(Column { name: name.to_owned(), data })
}

fn gathered<'a, T: Clone + 'a>(
    pieces: &'a [Table],
    values: impl Fn(&'a Table) -> Result<&'a [Option<T>], TableError>,
) -> Result<Vec<Option<T>>, TableError> {
    let mut all = Vec::with_capacity(pieces.iter().map(Table::rows).sum());
    for piece in pieces {
        all.extend_from_slice(values(piece)?);
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::{select_rows, stack, stack_wide};
    use crate::table::{Column, Table, TableError};

    fn table(values: &[f64]) -> Table {
        Table::new("t", vec![Column::floats("x", values.iter().copied())]).unwrap()
    }

    #[test]
    fn rows_keep_the_order_of_the_pieces() {
        let all = stack(&[table(&[1.0, 2.0]), table(&[]), table(&[3.0])]).unwrap().unwrap();
        assert_eq!(all, table(&[1.0, 2.0, 3.0]));
        assert_eq!(stack(&[]).unwrap(), None);
    }

    #[test]
    fn a_piece_without_the_column_is_refused_or_widened() {
        let other = Table::new("t", vec![Column::texts("y", ["b"])]).unwrap();
        assert!(matches!(stack(&[table(&[1.0]), other.clone()]), Err(TableError::NoColumn { .. })));
        let wide = stack_wide(&[table(&[1.0]), other]).unwrap().unwrap();
        assert_eq!(wide.floats("x").unwrap(), [Some(1.0), None]);
        assert_eq!(wide.texts("y").unwrap(), [None, Some("b".to_owned())]);
    }

    #[test]
    fn rows_are_chosen_in_any_order() {
        assert_eq!(select_rows(&table(&[1.0, 2.0, 3.0]), &[2, 0]).unwrap(), table(&[3.0, 1.0]));
        assert!(select_rows(&table(&[1.0]), &[1]).is_err());
    }
}
