//! Points in rows of text: `x y z` first, or wherever a header row says.
//!
//! Fields are parted by semicolons, commas or white space, whichever comes first in that order in the first row. Further fields
//! are ignored. Rows that begin with `#` or `//` are comments. A first row of one whole number is the count some writers put there.

use std::io::BufRead;

use super::error::{Place, ReadError};
use super::polygons::{Polygons, check_limit};
use super::source::Source;
use super::text::{expect_number, number, unexpected};

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Separator {
    Semicolon,
    Comma,
    WhiteSpace,
}

impl Separator {
    pub(super) fn of(line: &[u8]) -> Self {
        match line {
            _ if line.contains(&b';') => Self::Semicolon,
            _ if line.contains(&b',') => Self::Comma,
            _ => Self::WhiteSpace,
        }
    }

    pub(super) fn fields(self, line: &[u8]) -> impl Iterator<Item = &[u8]> {
        line.split(move |byte| match self {
            Self::Semicolon => *byte == b';',
            Self::Comma => *byte == b',',
            Self::WhiteSpace => byte.is_ascii_whitespace(),
        })
        .map(<[u8]>::trim_ascii)
        .filter(move |field| self != Self::WhiteSpace || !field.is_empty())
    }
}

/// How the rows of one file are laid out.
#[derive(Clone, Copy)]
struct Layout {
    separator: Separator,
    columns: [usize; 3],
}

/// What the first row is.
enum First {
    Header(Layout),
    Count(u64),
    Point(Layout),
}

/// Whether a row can be the first of a file of points.
pub(super) fn is_first_row(line: &[u8]) -> bool {
    first_row(line).is_some()
}

/// Whether a row is a comment or blank.
pub(super) fn is_comment(line: &[u8]) -> bool {
    let line = line.trim_ascii();
    line.is_empty() || line.starts_with(b"#") || line.starts_with(b"//")
}

fn first_row(line: &[u8]) -> Option<First> {
    let line = line.trim_ascii();
    let separator = Separator::of(line);
    let fields: Vec<&[u8]> = separator.fields(line).collect();
    if fields.len() >= 3 && fields[..3].iter().all(|field| number(field).is_some()) {
        return Some(First::Point(Layout { separator, columns: [0, 1, 2] }));
    }
    if let ([count], Separator::WhiteSpace) = (fields.as_slice(), separator) {
        return std::str::from_utf8(count).ok()?.parse().ok().map(First::Count);
    }
    let column = |name: u8| {
        let bare =
            |field: &[u8]| field.trim_ascii_start().iter().copied().filter(|&byte| byte != b'"').collect::<Vec<u8>>();
        fields.iter().position(|field| bare(field).eq_ignore_ascii_case(&[name]))
    };
    let columns = [column(b'x')?, column(b'y')?, column(b'z')?];
    Some(First::Header(Layout { separator, columns }))
}

pub(super) fn read<R: BufRead>(mut source: Source<'_, R>) -> Result<Polygons, ReadError> {
    let mut polygons = Polygons::default();
    let mut line = Vec::new();
    let (mut layout, mut declared) = (None, None);
    while source.next_line(&mut line)? {
        if is_comment(&line) {
            continue;
        }
        let (at, place) = (source.line_number(), source.line_place());
        let current = match layout {
            Some(layout) => layout,
            None => match first_row(&line) {
                Some(First::Count(count)) if declared.is_none() => {
                    check_limit("declared points", count, source.limits, place)?;
                    declared = Some(count);
                    continue;
                }
                Some(First::Header(header)) => {
                    layout = Some(header);
                    continue;
                }
                Some(First::Point(first)) => *layout.insert(first),
                _ => return Err(unexpected("three numbers or column names with x, y and z", &line, at)),
            },
        };
        polygons.add_vertex(position(&line, current, at)?, source.limits, place)?;
    }
    if source.offset() == 0 {
        return Err(ReadError::EmptyFile);
    }
    check_count(declared, &polygons, &source)?;
    Ok(polygons)
}

fn position(line: &[u8], layout: Layout, at: u64) -> Result<[f64; 3], ReadError> {
    let mut position = [None; 3];
    let last = layout.columns.iter().copied().max().unwrap_or(0);
    for (column, field) in layout.separator.fields(line).take(last + 1).enumerate() {
        for (axis, _) in layout.columns.iter().enumerate().filter(|&(_, &wanted)| wanted == column) {
            position[axis] = Some(expect_number(Some(field), "a number with a decimal point", at)?);
        }
    }
    let [Some(x), Some(y), Some(z)] = position else {
        return Err(unexpected("x, y and z in every row", line, at));
    };
    Ok([x, y, z])
}

fn check_count<R: BufRead>(declared: Option<u64>, found: &Polygons, source: &Source<'_, R>) -> Result<(), ReadError> {
    let found = found.vertices.len() as u64;
    let Some(declared) = declared.filter(|&declared| declared != found) else {
        return Ok(());
    };
    let (expected, found) = (format!("{declared} points as the first row says"), found.to_string());
    Err(ReadError::Unexpected { expected, found, place: Place::Line(source.line_number()) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::Limits;

    fn told(text: &str) -> String {
        match read(Source::new(text.as_bytes(), &Limits::default())) {
            Ok(polygons) => format!("{:?}", polygons.vertices),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn every_separator_and_header() {
        let same = [
            "1 2 3\n4 5 6\n",
            "1\t2\t3\r\n4\t5\t6\r\n",
            " 1, 2, 3\n4,5,6",
            "1;2;3\r4;5;6\r",
            "x,y,z\n1,2,3\n4,5,6\n",
            "\u{feff}\"X\";\"Y\";\"Z\"\n1;2;3\n4;5;6\n",
            "id,z,y,x\na,3,2,1\nb,6,5,4\n",
            "# made by hand\n//X Y Z\n1 2 3 255 0 0\n\n4 5 6 255 0 0\n",
            "2\n1 2 3\n4 5 6\n",
            "1 2 3 nan\n4.0 5e0 .6e1 x\n",
        ];
        for text in same {
            assert_eq!(told(text), "[[1.0, 2.0, 3.0], [4.0, 5.0, 6.0]]", "{text:?}");
        }
    }

    #[test]
    fn what_is_wrong_is_told_with_its_line() {
        let cases = [
            ("", "the file is empty"),
            (
                "vessel_id,file,unit\n",
                "expected three numbers or column names with x, y and z, found \"vessel_id,file,unit\" (line 1)",
            ),
            ("1 2\n", "expected three numbers or column names with x, y and z, found \"1 2\" (line 1)"),
            ("1 2 3\n4 5\n", "expected x, y and z in every row, found \"4 5\" (line 2)"),
            ("x;y;z\n1,5;2,5;3,5\n", "expected a number with a decimal point, found \"1,5\" (line 2)"),
            ("x y z\n1,5 2,5 3,5\n", "expected a number with a decimal point, found \"1,5\" (line 2)"),
            ("1,5 2,5 3,5\n", "expected three numbers or column names with x, y and z, found \"1,5 2,5 3,5\" (line 1)"),
            ("1 2 inf\n", "coordinate of vertex 1 is not finite (line 1)"),
            ("3\n1 2 3\n", "expected 3 points as the first row says, found \"1\" (line 2)"),
        ];
        for (text, expected) in cases {
            assert_eq!(told(text), expected);
        }
    }
}
