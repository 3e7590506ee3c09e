//! The file formats read.

use std::fmt;

/// A file format of scans.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Format {
    /// STL, binary or ASCII: loose triangles.
    Stl,
    /// PLY, ASCII or binary of either byte order: indexed polygons or points.
    Ply,
    /// OBJ: indexed polygons or points.
    Obj,
    /// Points in rows of text, separated by white space, comma or semicolon, with or without a header row.
    Xyz,
}

impl Format {
    /// Every format read.
    pub const ALL: [Self; 4] = [Self::Stl, Self::Ply, Self::Obj, Self::Xyz];

    /// The word for it in messages and tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Stl => "stl",
            Self::Ply => "ply",
            Self::Obj => "obj",
            Self::Xyz => "xyz",
        }
    }

    /// The format a file suffix promises (without the dot, any case).
    #[must_use]
    pub fn from_suffix(suffix: &str) -> Option<Self> {
        match suffix.to_ascii_lowercase().as_str() {
            "stl" => Some(Self::Stl),
            "ply" => Some(Self::Ply),
            "obj" => Some(Self::Obj),
            "xyz" | "csv" | "txt" | "asc" | "pts" => Some(Self::Xyz),
            _ => None,
        }
    }
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}
