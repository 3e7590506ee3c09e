//! Tables with the same columns, one below the other.

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
    use super::stack;
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
    fn a_piece_without_the_column_is_refused() {
        let other = Table::new("t", vec![Column::floats("y", [1.0])]).unwrap();
        assert!(matches!(stack(&[table(&[1.0]), other]), Err(TableError::NoColumn { .. })));
    }
}
