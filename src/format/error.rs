//! Why bytes do not make a scan: what was expected, what was found, and where.

use std::fmt;
use std::io;

use super::Format;
use crate::scan::ScanError;

/// Where in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Line, from 1.
    Line(u64),
    /// Byte offset, from 0.
    Byte(u64),
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Line(line) => write!(f, "line {line}"),
            Self::Byte(byte) => write!(f, "byte {byte}"),
        }
    }
}

/// Why bytes do not make a scan. Elements are numbered from 1, as a reader counts them.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError {
    /// The bytes could not be had.
    #[error("reading fails: {0}")]
    Io(#[from] io::Error),
    /// There is not one byte.
    #[error("the file is empty")]
    EmptyFile,
    /// The content is not of the format asked for.
    #[error("not {format}: expected {expected}, found {found:?}")]
    NotThisFormat {
        /// The format asked for.
        format: Format,
        /// What every file of it begins with.
        expected: &'static str,
        /// What this one begins with.
        found: String,
    },
    /// A binary file ends early.
    #[error("file ends in {element} {number} of {count} (byte {byte}), expected {missing} bytes more")]
    Truncated {
        /// The kind of element cut.
        element: String,
        /// Its number, from 1.
        number: u64,
        /// How many the header declares.
        count: u64,
        /// Length of the file.
        byte: u64,
        /// How many bytes this element still needs.
        missing: u64,
    },
    /// A header ends early.
    #[error("file ends in the header ({place}), expected {expected}")]
    TruncatedHeader {
        /// Where the file ends.
        place: Place,
        /// What should follow.
        expected: String,
    },
    /// A text file ends early.
    #[error("file ends after line {line}, in {element} {number}: expected {expected}")]
    TruncatedText {
        /// The last line.
        line: u64,
        /// The kind of element cut.
        element: String,
        /// Its number, from 1.
        number: u64,
        /// What should follow.
        expected: &'static str,
    },
    /// Something else stands where the format demands a word or a value.
    #[error("expected {expected}, found {found:?} ({place})")]
    Unexpected {
        /// What the format demands.
        expected: String,
        /// What stands there.
        found: String,
        /// Where.
        place: Place,
    },
    /// A coordinate is NaN or infinite.
    #[error("coordinate of {element} {number} is not finite ({place})")]
    NotFinite {
        /// Vertex, triangle or point.
        element: &'static str,
        /// Its number, from 1.
        number: u64,
        /// Where.
        place: Place,
    },
    /// A face names a vertex that does not exist.
    #[error("face {face} names vertex {index}, but there are {vertices} ({place})")]
    NoSuchVertex {
        /// The face's number, from 1.
        face: u64,
        /// The vertex as the file names it.
        index: i64,
        /// How many vertices there are.
        vertices: u64,
        /// Where.
        place: Place,
    },
    /// A face has too few corners to have a surface.
    #[error("face {face} has {corners} corners, expected 3 or more ({place})")]
    FewCorners {
        /// The face's number, from 1.
        face: u64,
        /// How many corners it has.
        corners: u64,
        /// Where.
        place: Place,
    },
    /// More bytes follow than the header declares.
    #[error("header declares {count} {element}s, but {extra} bytes of other data follow them (byte {byte})")]
    ExtraData {
        /// The last kind of element.
        element: String,
        /// How many the header declares.
        count: u64,
        /// How many bytes follow.
        extra: u64,
        /// Where they begin.
        byte: u64,
    },
    /// More than a ceiling of [`Limits`](super::Limits) allows.
    #[error("{what} above the limit of {limit}: {found} ({place})")]
    AboveLimit {
        /// What there is too much of.
        what: String,
        /// The ceiling.
        limit: u64,
        /// How much was declared or met.
        found: u64,
        /// Where.
        place: Place,
    },
    /// Every byte was read, but they make no scan.
    #[error(transparent)]
    Scan(#[from] ScanError),
}

/// The first bytes of what was found, fit for one line of a message.
pub(super) fn excerpt(bytes: &[u8]) -> String {
    const SHOWN: usize = 40; // a message stays on one line of a terminal
    let shown: String = String::from_utf8_lossy(&bytes[..bytes.len().min(SHOWN)]).trim().into();
    if bytes.len() > SHOWN { shown + "..." } else { shown }
}
