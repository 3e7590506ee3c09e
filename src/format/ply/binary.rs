//! PLY values as bytes of either order.

use std::io::BufRead;

use super::header::{Kind, Scalar};
use super::row::{Layout, Row, Use, list_length};
use crate::format::error::{Place, ReadError};
use crate::format::source::Source;

/// Bytes per read: fits a processor's second cache.
const BLOCK_BYTES: usize = 256 << 10;

/// Rows of binary values.
pub(super) struct Rows<'s, 'a, R> {
    source: &'s mut Source<'a, R>,
    big_endian: bool,
    block: Vec<u8>,
    at: usize,
}

/// Where the reader is, for messages.
pub(super) struct Instance<'n> {
    pub(super) element: &'n str,
    pub(super) number: u64,
    pub(super) count: u64,
}

impl<'s, 'a, R: BufRead> Rows<'s, 'a, R> {
    pub(super) const fn new(source: &'s mut Source<'a, R>, big_endian: bool) -> Self {
        Self { source, big_endian, block: Vec::new(), at: 0 }
    }

    /// The byte the next value starts at.
    fn offset(&self) -> u64 {
        self.source.offset() - (self.block.len() - self.at) as u64
    }

    /// The next row.
    pub(super) fn next(&mut self, layout: &Layout, row: &mut Row, instance: &Instance<'_>) -> Result<Place, ReadError> {
        let place = Place::Byte(self.offset());
        self.need(least_bytes(layout), instance)?;
        for &(kind, wanted) in &layout.fields {
            match kind {
                Kind::Single(scalar) => {
                    let value = self.value(scalar, instance)?;
                    if let Use::Coordinate(axis) = wanted {
                        row.position[axis] = value.real();
                    }
                }
                Kind::List { count, item } => {
                    let length = list_length(self.value(count, instance)?.integer(), layout, place)?;
                    row.indices.reserve(if wanted == Use::Indices { length.min(8) as usize } else { 0 });
                    for _ in 0..length {
                        let value = self.value(item, instance)?;
                        if wanted == Use::Indices {
                            row.indices.push(value.integer());
                        }
                    }
                }
            }
        }
        Ok(place)
    }

    /// What follows the last row: how many bytes, whether padding only, and from which byte on.
    pub(super) fn rest(self) -> Result<(u64, bool, u64), ReadError> {
        let start = self.offset();
        let held = &self.block[self.at..];
        let (extra, padding) = self.source.drain()?;
        let held_padding = held.iter().all(|&byte| byte == 0 || byte.is_ascii_whitespace());
        Ok((extra + held.len() as u64, padding && held_padding, start))
    }

    #[inline]
    fn need(&mut self, bytes: usize, instance: &Instance<'_>) -> Result<(), ReadError> {
        if self.block.len() - self.at >= bytes { Ok(()) } else { self.refill(bytes, instance) }
    }

    #[cold]
    fn refill(&mut self, bytes: usize, instance: &Instance<'_>) -> Result<(), ReadError> {
        self.block.drain(..self.at);
        self.at = 0;
        let held = self.source.fill_block(&mut self.block, bytes.max(BLOCK_BYTES))?;
        if held >= bytes {
            return Ok(());
        }
        let &Instance { element, number, count } = instance;
        let (byte, missing) = (self.source.offset(), (bytes - held) as u64);
        Err(ReadError::Truncated { element: element.into(), number, count, byte, missing })
    }

    #[inline]
    fn value(&mut self, scalar: Scalar, instance: &Instance<'_>) -> Result<Value, ReadError> {
        self.need(scalar.bytes(), instance)?;
        let bytes = &self.block[self.at..];
        self.at += scalar.bytes();
        let big = self.big_endian;
        Ok(match scalar {
            Scalar::I8 => Value::Integer(i8::from_le_bytes(ordered(bytes, big)).into()),
            Scalar::U8 => Value::Integer(u8::from_le_bytes(ordered(bytes, big)).into()),
            Scalar::I16 => Value::Integer(i16::from_le_bytes(ordered(bytes, big)).into()),
            Scalar::U16 => Value::Integer(u16::from_le_bytes(ordered(bytes, big)).into()),
            Scalar::I32 => Value::Integer(i32::from_le_bytes(ordered(bytes, big)).into()),
            Scalar::U32 => Value::Integer(u32::from_le_bytes(ordered(bytes, big)).into()),
            Scalar::F32 => Value::Real(f32::from_le_bytes(ordered(bytes, big)).into()),
            Scalar::F64 => Value::Real(f64::from_le_bytes(ordered(bytes, big))),
        })
    }
}

/// The fewest bytes a row can have: every list empty.
fn least_bytes(layout: &Layout) -> usize {
    let least = |kind: Kind| match kind {
        Kind::Single(scalar) => scalar.bytes(),
        Kind::List { count, .. } => count.bytes(),
    };
    layout.fields.iter().map(|field| least(field.0)).sum()
}

/// The first `N` bytes, lowest first.
#[inline]
fn ordered<const N: usize>(bytes: &[u8], big_endian: bool) -> [u8; N] {
    let mut lowest_first = [0; N];
    lowest_first.copy_from_slice(&bytes[..N]);
    if big_endian {
        lowest_first.reverse();
    }
    lowest_first
}

#[derive(Clone, Copy)]
enum Value {
    Integer(i64),
    Real(f64),
}

impl Value {
    const fn real(self) -> f64 {
        match self {
            Self::Integer(value) => value as f64, // at most 32 bits: exact
            Self::Real(value) => value,
        }
    }

    const fn integer(self) -> i64 {
        match self {
            Self::Integer(value) => value,
            Self::Real(value) => value as i64, // the header check lets only lists that are skipped come here
        }
    }
}
