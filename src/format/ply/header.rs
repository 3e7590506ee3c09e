//! The PLY header: encoding, elements and their properties.
//!
//! # References
//! Turk, G., The PLY Polygon File Format (1994): keywords, types and their sizes.

use std::io::BufRead;

use crate::format::error::{Place, ReadError, excerpt};
use crate::format::kind::Format;
use crate::format::source::Source;
use crate::format::text::{unexpected, words};

/// How values are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Encoding {
    Ascii,
    LittleEndian,
    BigEndian,
}

/// The type of one value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scalar {
    I8,
    U8,
    I16,
    U16,
    I32,
    U32,
    F32,
    F64,
}

impl Scalar {
    fn from_word(word: &[u8]) -> Option<Self> {
        Some(match word {
            b"char" | b"int8" => Self::I8,
            b"uchar" | b"uint8" => Self::U8,
            b"short" | b"int16" => Self::I16,
            b"ushort" | b"uint16" => Self::U16,
            b"int" | b"int32" => Self::I32,
            b"uint" | b"uint32" => Self::U32,
            b"float" | b"float32" => Self::F32,
            b"double" | b"float64" => Self::F64,
            _ => return None,
        })
    }

    pub(super) const fn bytes(self) -> usize {
        match self {
            Self::I8 | Self::U8 => 1,
            Self::I16 | Self::U16 => 2,
            Self::I32 | Self::U32 | Self::F32 => 4,
            Self::F64 => 8,
        }
    }

    const fn is_integer(self) -> bool {
        !matches!(self, Self::F32 | Self::F64)
    }
}

/// One value, or a counted list of values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Single(Scalar),
    List { count: Scalar, item: Scalar },
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Property {
    pub(super) name: Vec<u8>,
    pub(super) kind: Kind,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Element {
    pub(super) name: Vec<u8>,
    pub(super) count: u64,
    pub(super) properties: Vec<Property>,
    /// The line that declares it.
    pub(super) line: u64,
}

impl Element {
    /// The name for messages.
    pub(super) fn word(&self) -> String {
        excerpt(&self.name)
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Header {
    pub(super) encoding: Encoding,
    pub(super) elements: Vec<Element>,
}

/// Reads up to and with `end_header`.
pub(super) fn read<R: BufRead>(source: &mut Source<'_, R>) -> Result<Header, ReadError> {
    let mut line = Vec::new();
    if !source.next_line(&mut line)? {
        return Err(ReadError::EmptyFile);
    }
    if line.trim_ascii() != b"ply" {
        return Err(ReadError::NotThisFormat { format: Format::Ply, expected: "the word ply", found: excerpt(&line) });
    }
    let mut encoding = None;
    let mut elements: Vec<Element> = Vec::new();
    while source.next_line(&mut line)? {
        let (mut rest, at) = (words(&line), source.line_number());
        check_length(source)?;
        match rest.next() {
            None | Some(b"comment" | b"obj_info") => {}
            Some(b"format") => encoding = Some(parse_encoding(&mut rest, &line, at)?),
            Some(b"element") => {
                let element = parse_element(&mut rest, &line, at)?;
                if elements.iter().any(|other| other.name == element.name) {
                    return Err(unexpected("each element once", &line, at));
                }
                elements.push(element);
            }
            Some(b"property") => {
                let Some(element) = elements.last_mut() else {
                    return Err(unexpected("an element before its properties", &line, at));
                };
                let property = parse_property(&mut rest, &line, at)?;
                if element.properties.iter().any(|other| other.name == property.name) {
                    return Err(unexpected("each property once", &line, at));
                }
                element.properties.push(property);
            }
            Some(b"end_header") => {
                let encoding = encoding.ok_or_else(|| unexpected("a format line before end_header", &line, at))?;
                return Ok(Header { encoding, elements });
            }
            Some(_) => return Err(unexpected("format, comment, element, property or end_header", &line, at)),
        }
    }
    Err(ReadError::TruncatedHeader { place: source.line_place(), expected: "end_header".into() })
}

fn check_length<R: BufRead>(source: &Source<'_, R>) -> Result<(), ReadError> {
    let (limit, found) = (source.limits.header_bytes, source.offset());
    if found <= limit {
        return Ok(());
    }
    Err(ReadError::AboveLimit { what: "bytes of header".into(), limit, found, place: Place::Byte(found) })
}

type Words<'a> = dyn Iterator<Item = &'a [u8]> + 'a;

fn parse_encoding<'a>(rest: &mut Words<'a>, line: &[u8], at: u64) -> Result<Encoding, ReadError> {
    let encoding = match rest.next() {
        Some(b"ascii") => Some(Encoding::Ascii),
        Some(b"binary_little_endian") => Some(Encoding::LittleEndian),
        Some(b"binary_big_endian") => Some(Encoding::BigEndian),
        _ => None,
    };
    let version = rest.next() == Some(b"1.0");
    let expected = "format ascii, binary_little_endian or binary_big_endian, version 1.0";
    encoding.filter(|_| version).ok_or_else(|| unexpected(expected, line, at))
}

fn parse_element<'a>(rest: &mut Words<'a>, line: &[u8], at: u64) -> Result<Element, ReadError> {
    let name = rest.next();
    let count = rest.next().and_then(|word| std::str::from_utf8(word).ok()?.parse().ok());
    let (Some(name), Some(count)) = (name, count) else {
        return Err(unexpected("element, a name and a count", line, at));
    };
    Ok(Element { name: name.into(), count, properties: Vec::new(), line: at })
}

fn parse_property<'a>(rest: &mut Words<'a>, line: &[u8], at: u64) -> Result<Property, ReadError> {
    let expected = || unexpected("property, a type and a name, or property list, two types and a name", line, at);
    let word = rest.next().ok_or_else(expected)?;
    let kind = if word == b"list" {
        let count = rest.next().and_then(Scalar::from_word).filter(|count| count.is_integer()).ok_or_else(expected)?;
        let item = rest.next().and_then(Scalar::from_word).ok_or_else(expected)?;
        Kind::List { count, item }
    } else {
        Kind::Single(Scalar::from_word(word).ok_or_else(expected)?)
    };
    Ok(Property { name: rest.next().ok_or_else(expected)?.into(), kind })
}

/// Whether a property can hold vertex indices.
pub(super) const fn is_index_list(kind: Kind) -> bool {
    matches!(kind, Kind::List { item, .. } if item.is_integer())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::Limits;

    fn told(text: &str) -> String {
        let limits = Limits { header_bytes: 200, ..Limits::default() };
        match read(&mut Source::new(text.as_bytes(), &limits)) {
            Ok(header) => format!("{:?} {} elements", header.encoding, header.elements.len()),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn good_and_bad_headers() {
        let start = "ply\nformat ascii 1.0\n";
        let cases = [
            ("ply\r\nformat binary_big_endian 1.0\r\ncomment \u{e9}\r\n\r\nend_header\r\n", "BigEndian 0 elements"),
            ("ply\nend_header\n", "expected a format line before end_header, found \"end_header\" (line 2)"),
            ("plyx\n", "not ply: expected the word ply, found \"plyx\""),
            ("", "the file is empty"),
            (start, "file ends in the header (line 2), expected end_header"),
        ];
        for (text, expected) in cases {
            assert_eq!(told(text), expected, "{text:?}");
        }
        let bad = [
            ("element vertex -1\n", "expected element, a name and a count, found \"element vertex -1\" (line 3)"),
            ("element a 1\nelement a 1\n", "expected each element once, found \"element a 1\" (line 4)"),
            ("property int x\n", "expected an element before its properties, found \"property int x\" (line 3)"),
            (
                "element a 1\nproperty int x\nproperty char x\n",
                "expected each property once, found \"property char x\" (line 5)",
            ),
            ("wood\n", "expected format, comment, element, property or end_header, found \"wood\" (line 3)"),
        ];
        for (text, expected) in bad {
            assert_eq!(told(&(start.to_owned() + text)), expected);
        }
        let float_count = told(&(start.to_owned() + "element a 1\nproperty list float int x\n"));
        assert!(float_count.starts_with("expected property, a type and a name"), "{float_count}");
        let long = told(&(start.to_owned() + &"comment x\n".repeat(20)));
        assert_eq!(long, "bytes of header above the limit of 200: 201 (byte 201)");
    }
}
