//! Paths to scans: the one place that opens files.

use std::fs::File;
use std::io::{self, BufRead, Read};
use std::path::Path;

use super::ahead::{Ahead, ahead};
use super::error::{Place, ReadError};
use super::kind::Format;
use super::limits::Limits;
use super::sniff::content;
use super::source::Source;
use super::{drawing, ply, read, read_curve, stl};
use crate::outline::Curve;
use crate::quantity::LengthUnit;
use crate::scan::Scan;

/// A scan with what identifies the file it came from.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// The scan, in mm.
    pub scan: Scan,
    /// The format it was read as.
    pub format: Format,
    /// Length of the file in bytes.
    pub bytes: u64,
    /// BLAKE3 hash of the file, 64 hexadecimal digits.
    pub blake3: String,
}

/// What a file says of itself before any coordinate is read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Peek {
    /// The format.
    pub format: Format,
    /// Length of the file in bytes.
    pub bytes: u64,
    /// How many vertices or points the header declares, if it does.
    pub vertices: Option<u64>,
    /// How many triangles or faces the header declares, if it does.
    pub faces: Option<u64>,
}

/// Why a path gives no scan. Messages leave the path to the caller, who knows it as the user wrote it.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum OpenError {
    /// The path leads nowhere.
    #[error("there is no such file")]
    Missing,
    /// The path leads to a folder, a device or a pipe.
    #[error("expected a file, found a {found}")]
    NotAFile {
        /// What it is.
        found: &'static str,
    },
    /// The file may not be read.
    #[error("cannot be opened: {0}")]
    Unreadable(#[source] io::Error),
    /// Neither suffix nor content gives a format, or they contradict each other.
    #[error("cannot tell the format: the suffix says {suffix}, the content looks like {content}")]
    UnknownFormat {
        /// The suffix with the format it promises, or that it promises none.
        suffix: String,
        /// What the content looks like.
        content: &'static str,
    },
    /// The content is wrong.
    #[error(transparent)]
    Read(#[from] ReadError),
}

/// Reads the scan at `path`, whose coordinates are in `unit`.
///
/// The content decides the format where it is certain; the suffix, where the content allows what it promises. The hash is of
/// exactly the bytes that were decoded, taken in the same pass.
///
/// # Errors
/// [`OpenError`]: no such file, not a file, not readable, no known format, or what [`read`] finds wrong.
pub fn open(path: &Path, unit: LengthUnit, limits: &Limits) -> Result<Opened, OpenError> {
    let (file, length) = open_file(path)?;
    check_length(length, limits)?;
    let (fetch, mut bytes) = ahead();
    let mut hasher = blake3::Hasher::new();
    let (result, read_bytes) = std::thread::scope(|scope| {
        let hasher = &mut hasher;
        let fetching = scope.spawn(move || {
            let mut count = 0;
            fetch.run(file, |buffer| {
                count += buffer.len() as u64;
                hasher.update(buffer);
            });
            count
        });
        let result = read_all(&mut bytes, path, unit, limits);
        drop(bytes);
        (result, fetching.join())
    });
    let (scan, format) = result?;
    let bytes = read_bytes.map_err(|_| io::Error::other("the reading thread ended early")).map_err(ReadError::Io)?;
    Ok(Opened { scan, format, bytes, blake3: hasher.finalize().to_hex().to_string() })
}

/// Decodes, then takes whatever follows, so that the hash covers the whole file.
fn read_all(bytes: &mut Ahead, path: &Path, unit: LengthUnit, limits: &Limits) -> Result<(Scan, Format), OpenError> {
    let format = format_of(bytes.fill_buf().map_err(ReadError::Io)?, path)?;
    let scan = read(&mut *bytes, format, unit, limits)?;
    Source::new(bytes, limits).drain()?;
    Ok((scan, format))
}

/// A digitised curve and the file it came from.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenedCurve {
    /// The curve, in mm.
    pub curve: Curve,
    /// Length of the file in bytes.
    pub bytes: u64,
    /// BLAKE3 hash of the file, 64 hexadecimal digits.
    pub blake3: String,
}

/// Reads the digitised curve at `path`, whose coordinates are in `unit`.
///
/// # Errors
/// [`OpenError`]: no such file, not a file, not readable, or what [`read_curve`] finds wrong.
pub fn open_curve(path: &Path, unit: LengthUnit, limits: &Limits) -> Result<OpenedCurve, OpenError> {
    let (mut file, length) = open_file(path)?;
    check_length(length, limits)?;
    let mut content = Vec::new();
    file.read_to_end(&mut content).map_err(ReadError::Io)?;
    let curve = read_curve(content.as_slice(), unit, limits)?;
    let blake3 = blake3::hash(&content).to_hex().to_string();
    Ok(OpenedCurve { curve, bytes: content.len() as u64, blake3 })
}

/// Whether the file at `path` begins as a drawn profile does: with a header row that names a radius and a height.
///
/// # Errors
/// [`OpenError`]: no such file, not a file, or not readable.
pub fn is_profile(path: &Path) -> Result<bool, OpenError> {
    const HEAD_BYTES: u64 = 4 << 10; // comments before the header row included
    let (file, _) = open_file(path)?;
    let mut head = Vec::new();
    (&file).take(HEAD_BYTES).read_to_end(&mut head).map_err(ReadError::Io)?;
    Ok(drawing::is_profile(&head))
}

/// The BLAKE3 hash of the file at `path`, 64 hexadecimal digits.
///
/// # Errors
/// [`OpenError`]: no such file, not a file, or not readable.
pub fn hash_file(path: &Path) -> Result<String, OpenError> {
    let (file, _) = open_file(path)?;
    let mut hasher = blake3::Hasher::new();
    hasher.update_reader(file).map_err(ReadError::Io)?;
    Ok(hasher.finalize().to_hex().to_string())
}

/// What the file at `path` says of itself: its format and, where there is a header, the counts it declares.
///
/// Reads the beginning only. A binary STL whose length does not hold the declared triangles is refused here already.
///
/// # Errors
/// [`OpenError`]: no such file, not a file, not readable, no known format, or a wrong header.
pub fn peek(path: &Path, limits: &Limits) -> Result<Peek, OpenError> {
    const HEAD_BYTES: u64 = 64 << 10; // a page of comments before the first telling line still fits
    let (file, bytes) = open_file(path)?;
    check_length(bytes, limits)?;
    let mut head = Vec::new();
    (&file).take(HEAD_BYTES.max(limits.header_bytes)).read_to_end(&mut head).map_err(ReadError::Io)?;
    let format = format_of(&head, path)?;
    let (vertices, faces) = match format {
        Format::Ply => {
            let (vertices, faces) = ply::declared(Source::new(head.as_slice(), limits))?;
            (Some(vertices), faces)
        }
        Format::Stl if stl::variant(&head) == stl::Variant::Binary => (None, stl::checked_count(&head, bytes)?),
        Format::Stl | Format::Obj | Format::Xyz => (None, None),
    };
    Ok(Peek { format, bytes, vertices, faces })
}

fn open_file(path: &Path) -> Result<(File, u64), OpenError> {
    let failed = |error: io::Error| match error.kind() {
        io::ErrorKind::NotFound => OpenError::Missing,
        _ => OpenError::Unreadable(error),
    };
    // Looked at before it is opened: opening a pipe would wait for its other end.
    let metadata = std::fs::metadata(path).map_err(failed)?;
    if metadata.is_dir() {
        return Err(OpenError::NotAFile { found: "folder" });
    }
    if !metadata.is_file() {
        return Err(OpenError::NotAFile { found: "device or pipe" });
    }
    Ok((File::open(path).map_err(failed)?, metadata.len()))
}

fn check_length(found: u64, limits: &Limits) -> Result<(), ReadError> {
    let limit = limits.bytes;
    if found <= limit {
        return Ok(());
    }
    Err(ReadError::AboveLimit { what: "length of the file in bytes".into(), limit, found, place: Place::Byte(0) })
}

fn format_of(head: &[u8], path: &Path) -> Result<Format, OpenError> {
    if head.is_empty() {
        return Err(ReadError::EmptyFile.into());
    }
    let suffix = path.extension().and_then(|suffix| suffix.to_str()).unwrap_or_default();
    if let Some(format) = super::sniff(head, Some(suffix)) {
        return Ok(format);
    }
    let promised = Format::from_suffix(suffix).map_or("no format read here", Format::word);
    Err(OpenError::UnknownFormat { suffix: format!("{promised} ({suffix:?})"), content: content(head).word() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(name: &str, content: &[u8]) -> String {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(name);
        std::fs::write(&path, content).unwrap();
        match open(&path, LengthUnit::Centimetre, &Limits::default()) {
            Ok(opened) => {
                assert_eq!(opened.blake3, hash_file(&path).unwrap());
                assert_eq!(opened.blake3, blake3::hash(content).to_hex().to_string());
                assert_eq!(opened.bytes, content.len() as u64);
                assert_eq!(peek(&path, &Limits::default()).unwrap().format, opened.format);
                format!("{} {:?}", opened.format, opened.scan.vertices()[0].coords.as_slice())
            }
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn content_wins_over_a_wrong_suffix_and_centimetres_become_millimetres() {
        assert_eq!(told("a.xyz", b"1 2 3\n"), "xyz [10.0, 20.0, 30.0]");
        assert_eq!(told("a.stl", b"v 1 2 3\n"), "obj [10.0, 20.0, 30.0]");
        assert_eq!(told("a", b"# c\nx,y,z\n1,2,3\n"), "xyz [10.0, 20.0, 30.0]");
    }

    #[test]
    fn what_cannot_be_read_is_told_in_one_line() {
        let cases: [(&str, &[u8], &str); 5] = [
            ("a.stl", b"", "the file is empty"),
            (
                "a.ply",
                b"Dear all\n",
                "cannot tell the format: the suffix says ply (\"ply\"), the content looks like text without a known keyword",
            ),
            (
                "a.glb",
                b"glTF\x02\0\0\0",
                "cannot tell the format: the suffix says no format read here (\"glb\"), the content looks like binary data of another format",
            ),
            ("a.stl", b"\0\0\0", "file ends in the header (byte 3), expected 81 bytes more"),
            ("a.obj", b"# nothing\n", "the file holds no points"),
        ];
        for (name, content, expected) in cases {
            assert_eq!(told(name, content), expected);
        }
        let folder = tempfile::tempdir().unwrap();
        let refuse = |path: &Path| open(path, LengthUnit::Metre, &Limits::default()).unwrap_err().to_string();
        assert_eq!(refuse(folder.path()), "expected a file, found a folder");
        assert_eq!(refuse(&folder.path().join("none.stl")), "there is no such file");
    }

    #[test]
    fn headers_are_peeked_at() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.stl");
        let mut bytes = vec![0_u8; 84 + 2 * 50];
        bytes[80] = 2;
        std::fs::write(&path, &bytes).unwrap();
        let expected = Peek { format: Format::Stl, bytes: 184, vertices: None, faces: Some(2) };
        assert_eq!(peek(&path, &Limits::default()).unwrap(), expected);
        bytes[80] = 3;
        std::fs::write(&path, &bytes).unwrap();
        let told = peek(&path, &Limits::default()).unwrap_err().to_string();
        assert_eq!(told, "file ends in triangle 3 of 3 (byte 184), expected 50 bytes more");
    }
}
