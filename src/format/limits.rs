//! Ceilings on what a file may ask for.

/// Ceilings on what a file may ask for; a file above one of them is refused, whatever its header says.
///
/// Memory is taken as bytes arrive, never by a count in a header, so the ceilings bound honest giants, not lies.
/// The defaults (common practice, no source) are an order of magnitude above the largest scans of vessels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the whole file.
    pub bytes: u64,
    /// Vertices, triangles, and instances of any other element, each.
    pub elements: u64,
    /// Bytes of one line of text.
    pub line_bytes: usize,
    /// Bytes of a PLY header.
    pub header_bytes: u64,
    /// Entries of one list, thus corners of one polygon.
    pub list_length: usize,
}

impl Default for Limits {
    /// 16 GiB, 200 million elements, 64 KiB per line, 1 MiB of header, 65 536 entries per list.
    fn default() -> Self {
        Self {
            bytes: 16 << 30,
            elements: 200_000_000,
            line_bytes: 64 << 10,
            header_bytes: 1 << 20,
            list_length: 1 << 16,
        }
    }
}

/// Most vertices that welding can tell apart: its table has twice as many slots, found by a hash of 32 bits.
const MOST_INDEXABLE: u64 = 1 << 30;

impl Limits {
    /// The element ceiling, never above what the readers can index.
    pub(super) fn indexable(&self) -> u64 {
        self.elements.min(MOST_INDEXABLE)
    }
}
