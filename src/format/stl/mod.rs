//! STL: loose triangles that repeat their vertices, binary or ASCII.
//!
//! Normals are not kept: they follow from the corners. There is no unit in the file.
//!
//! # References
//! The format was published in 1989 without a standard; read here as commonly described: 80 bytes of header, a 32-bit count, and
//! 50 bytes per triangle, little-endian; or `facet`, `outer loop`, three `vertex`, `endloop`, `endfacet` between `solid` and
//! `endsolid`.

mod ascii;
mod binary;

use std::io::BufRead;

pub(super) use binary::{checked_count, is_plausible};

use super::error::{ReadError, excerpt};
use super::kind::Format;
use super::polygons::Polygons;
use super::source::Source;
use super::text::{is_text, trim_front};

/// How many bytes decide between binary and ASCII: enough for the header and some triangles.
const HEAD_BYTES: usize = 1024;

/// What the first bytes of a file say of it as an STL file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Variant {
    Ascii,
    Binary,
    Neither,
}

/// Tells the variants apart by content. Binary headers may say `solid` too, so the word alone decides nothing: text has no control
/// characters, and 84 bytes of binary header and a first triangle always have some (the count of up to 2^24 triangles ends in 0).
pub(super) fn variant(head: &[u8]) -> Variant {
    let head = &head[..head.len().min(HEAD_BYTES)];
    if !is_text(head) {
        return Variant::Binary;
    }
    let starts_solid = trim_front(head).get(..5).is_some_and(|word| word.eq_ignore_ascii_case(b"solid"));
    if starts_solid { Variant::Ascii } else { Variant::Neither }
}

pub(super) fn read<R: BufRead>(mut source: Source<'_, R>) -> Result<Polygons, ReadError> {
    let mut head = Vec::new();
    source.fill_block(&mut head, HEAD_BYTES)?;
    if head.is_empty() {
        return Err(ReadError::EmptyFile);
    }
    match variant(&head) {
        Variant::Binary => binary::read(source, head),
        Variant::Ascii => ascii::read(source.unread(&head)),
        Variant::Neither => {
            let expected = "the word solid or a binary header";
            Err(ReadError::NotThisFormat { format: Format::Stl, expected, found: excerpt(&head) })
        }
    }
}
