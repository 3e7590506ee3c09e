//! PLY values as text: one instance of an element per line, blank lines skipped.

use std::io::BufRead;

use super::binary::Instance;
use super::header::Kind;
use super::row::{Layout, Row, Use, list_length};
use crate::format::error::{Place, ReadError};
use crate::format::source::Source;
use crate::format::text::{expect_number, unexpected, words};

/// Rows of text values.
pub(super) struct Rows<'s, 'a, R> {
    source: &'s mut Source<'a, R>,
    line: Vec<u8>,
}

impl<'s, 'a, R: BufRead> Rows<'s, 'a, R> {
    pub(super) const fn new(source: &'s mut Source<'a, R>) -> Self {
        Self { source, line: Vec::new() }
    }

    fn next_line(&mut self) -> Result<bool, ReadError> {
        while self.source.next_line(&mut self.line)? {
            if !self.line.trim_ascii().is_empty() {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// The next row.
    pub(super) fn next(&mut self, layout: &Layout, row: &mut Row, instance: &Instance<'_>) -> Result<Place, ReadError> {
        if !self.next_line()? {
            let &Instance { element, number, .. } = instance;
            let line = self.source.line_number();
            return Err(ReadError::TruncatedText { line, element: element.into(), number, expected: "its values" });
        }
        let (at, place) = (self.source.line_number(), self.source.line_place());
        let mut rest = words(&self.line);
        for &(kind, wanted) in &layout.fields {
            match kind {
                Kind::Single(_) => {
                    let word = rest.next();
                    if let Use::Coordinate(axis) = wanted {
                        row.position[axis] = expect_number(word, "a coordinate", at)?;
                    } else if word.is_none() {
                        return Err(unexpected("a value for every property", &self.line, at));
                    }
                }
                Kind::List { .. } => {
                    let length = list_length(expect_integer(rest.next(), "a list length", at)?, layout, place)?;
                    for _ in 0..length {
                        let word = rest.next();
                        if wanted == Use::Indices {
                            row.indices.push(expect_integer(word, "a vertex index", at)?);
                        } else if word.is_none() {
                            return Err(unexpected("as many values as the list is long", &self.line, at));
                        }
                    }
                }
            }
        }
        match rest.next() {
            None => Ok(place),
            Some(word) => Err(unexpected("the end of the line after the last property", word, at)),
        }
    }

    /// Refuses anything but blank lines after the last row.
    pub(super) fn expect_end(mut self) -> Result<(), ReadError> {
        if self.next_line()? {
            return Err(unexpected(
                "the end of the file after the last element",
                &self.line,
                self.source.line_number(),
            ));
        }
        Ok(())
    }
}

fn expect_integer(word: Option<&[u8]>, expected: &str, at: u64) -> Result<i64, ReadError> {
    let integer = word.and_then(|word| std::str::from_utf8(word).ok()?.parse().ok());
    integer.ok_or_else(|| unexpected(expected, word.unwrap_or_default(), at))
}
