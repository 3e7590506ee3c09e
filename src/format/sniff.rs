//! Which format bytes are: by content first, by suffix where the content cannot tell.

use super::kind::Format;
use super::stl::{self, Variant};
use super::text::{trim_front, words};
use super::{obj, xyz};

/// What the first bytes of a file say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Content {
    /// Nothing else looks like this.
    Certain(Format),
    /// Text without a line that tells.
    Text,
    /// Bytes that could be binary STL.
    Binary,
    /// Bytes that are of none of the formats read.
    Foreign,
}

impl Content {
    /// What it looks like, in words.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Certain(format) => format.word(),
            Self::Text => "text without a known keyword",
            Self::Binary => "binary data that may be stl",
            Self::Foreign => "binary data of another format",
        }
    }

    /// Whether a file of `format` can begin like this.
    pub(super) fn allows(self, format: Format) -> bool {
        match self {
            Self::Certain(certain) => certain == format,
            Self::Text => matches!(format, Format::Obj | Format::Xyz),
            Self::Binary => format == Format::Stl,
            Self::Foreign => false,
        }
    }
}

/// The format of a file by its first bytes (4 KiB are plenty, all of a shorter file), or by its suffix (without the dot) where
/// these cannot tell; `None` where both cannot, or contradict each other.
///
/// # Example
/// ```
/// use tornus::format::{Format, sniff};
/// assert_eq!(sniff(b"ply\nformat ascii 1.0\n", Some("stl")), Some(Format::Ply));
/// assert_eq!(sniff(b"# scanned by hand\n", Some("obj")), Some(Format::Obj));
/// assert_eq!(sniff(b"# scanned by hand\n", None), None);
/// ```
#[must_use]
pub fn sniff(head: &[u8], suffix: Option<&str>) -> Option<Format> {
    match content(head) {
        Content::Certain(format) => Some(format),
        other => suffix.and_then(Format::from_suffix).filter(|&format| other.allows(format)),
    }
}

/// First bytes of other common formats that hold control characters early, as binary STL does.
const FOREIGN: [&[u8]; 7] = [b"PK\x03\x04", b"glTF", b"\x89PNG", b"\x1F\x8B", b"%PDF", b"\xFF\xD8\xFF", b"ASTM-E57"];

pub(super) fn content(head: &[u8]) -> Content {
    let start = trim_front(head);
    let first_line = start.split(|&byte| byte == b'\n' || byte == b'\r').next().unwrap_or_default();
    if first_line.trim_ascii_end() == b"ply" {
        return Content::Certain(Format::Ply);
    }
    match stl::variant(head) {
        Variant::Ascii => Content::Certain(Format::Stl),
        Variant::Binary if FOREIGN.iter().any(|magic| head.starts_with(magic)) => Content::Foreign,
        Variant::Binary if stl::is_plausible(head) => Content::Certain(Format::Stl),
        Variant::Binary => Content::Binary,
        Variant::Neither => text_content(start),
    }
}

fn text_content(text: &[u8]) -> Content {
    let lines = text.split(|&byte| byte == b'\n' || byte == b'\r');
    match lines.into_iter().find(|line| !xyz::is_comment(line)) {
        Some(line) if words(line).next().is_some_and(obj::is_keyword) => Content::Certain(Format::Obj),
        Some(line) if xyz::is_first_row(line) => Content::Certain(Format::Xyz),
        _ => Content::Text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn binary_stl(header: &[u8], corner: f32) -> Vec<u8> {
        let mut bytes = header.to_vec();
        bytes.resize(80, b' ');
        bytes.extend(1_u32.to_le_bytes());
        bytes.extend([0.0_f32; 11].iter().chain([&corner]).flat_map(|value| value.to_le_bytes()));
        bytes.extend([0, 0]);
        bytes
    }

    #[test]
    fn content_comes_first() {
        let (solid, odd) = (binary_stl(b"solid facet", 7.5), binary_stl(b"", f32::NAN));
        let cases: [(&[u8], Option<&str>, Option<Format>); 18] = [
            (b"solid a\nfacet normal", None, Some(Format::Stl)),
            (b"  SOLID\r\n", Some("obj"), Some(Format::Stl)),
            (&solid, None, Some(Format::Stl)),
            (&solid, Some("ply"), Some(Format::Stl)),
            (&odd, None, None),
            (&odd, Some("stl"), Some(Format::Stl)),
            (&odd, Some("xyz"), None),
            (b"ply\r\nformat", Some("PLY"), Some(Format::Ply)),
            (b"polygons", Some("ply"), None),
            (b"# made\nmtllib a.mtl\n", None, Some(Format::Obj)),
            (b"v 1 2 3", Some("xyz"), Some(Format::Obj)),
            (b"# only a comment \x93quoted\x94", Some("obj"), Some(Format::Obj)),
            (b"# only a comment", Some("stl"), None),
            (b"1 2 3\n", None, Some(Format::Xyz)),
            (b"\xEF\xBB\xBFx;y;z\n", None, Some(Format::Xyz)),
            (b"PK\x03\x04\x00\x01", Some("stl"), None),
            (b"{ \"asset\": 1 }", Some("gltf"), None),
            (b"", None, None),
        ];
        for (head, suffix, expected) in cases {
            assert_eq!(sniff(head, suffix), expected, "{:?} {suffix:?}", String::from_utf8_lossy(head));
        }
    }
}
