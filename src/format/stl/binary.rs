//! Binary STL.

use std::io::BufRead;

use crate::format::error::{Place, ReadError};
use crate::format::polygons::{Polygons, check_limit};
use crate::format::source::Source;
use crate::format::weld::Weld;

/// Header and count.
const HEADER_BYTES: usize = 84;
/// Normal, three corners, two bytes of attributes.
const TRIANGLE_BYTES: usize = 50;

const FIRST_CORNER: usize = 12; // the normal's three floats come first
const CORNER_BYTES: usize = 12;
/// Bytes per read: fits a processor's second cache, and large enough that the reads themselves cost nothing.
const BLOCK_BYTES: usize = 5000 * TRIANGLE_BYTES;

/// The count a binary header declares, if the header is whole.
fn declared_triangles(head: &[u8]) -> Option<u64> {
    let count = head.get(80..HEADER_BYTES)?.try_into().ok()?;
    Some(u64::from(u32::from_le_bytes(count)))
}

/// The count a binary header declares, if a file of `bytes` can hold that many triangles.
pub(in crate::format) fn checked_count(head: &[u8], bytes: u64) -> Result<Option<u64>, ReadError> {
    let Some(count) = declared_triangles(head) else {
        return Err(truncated_header(bytes));
    };
    let whole = bytes.saturating_sub(HEADER_BYTES as u64) / TRIANGLE_BYTES as u64;
    if whole >= count {
        return Ok(Some(count));
    }
    let missing = HEADER_BYTES as u64 + (whole + 1) * TRIANGLE_BYTES as u64 - bytes;
    Err(ReadError::Truncated { element: "triangle".into(), number: whole + 1, count, byte: bytes, missing })
}

fn truncated_header(bytes: u64) -> ReadError {
    let missing = (HEADER_BYTES as u64).saturating_sub(bytes);
    ReadError::TruncatedHeader { place: Place::Byte(bytes), expected: format!("{missing} bytes more") }
}

/// Whether the triangles in `head` have coordinates that a scan in any unit could have.
pub(in crate::format) fn is_plausible(head: &[u8]) -> bool {
    const LARGEST: f32 = 1e7; // ten metres in micrometres; by judgement, and bytes of other data exceed it soon
    const SMALLEST: f32 = 1e-20; // rounding residues of a coordinate that should be zero stay above it
    let plausible = |value: f32| value == 0.0 || (SMALLEST..LARGEST).contains(&value.abs());
    let Some((header, rest)) = head.split_at_checked(HEADER_BYTES) else { return false };
    let triangles = rest.as_chunks::<TRIANGLE_BYTES>().0;
    declared_triangles(header).is_some_and(|count| count > 0)
        && !triangles.is_empty()
        && triangles
            .iter()
            .all(|record| record.as_chunks().0[..12].iter().all(|&bytes| plausible(f32::from_le_bytes(bytes))))
}

/// Reads after `head` was taken from the source.
pub(super) fn read<R: BufRead>(mut source: Source<'_, R>, head: Vec<u8>) -> Result<Polygons, ReadError> {
    let Some(count) = declared_triangles(&head) else {
        return Err(truncated_header(source.offset()));
    };
    check_limit("declared triangles", count, source.limits, Place::Byte(80))?;
    let mut weld = Weld::new();
    let mut triangles = Vec::new();
    let mut block = head;
    block.drain(..HEADER_BYTES);
    let mut left = usize::try_from(count).unwrap_or(usize::MAX);
    while left > 0 {
        let wanted = BLOCK_BYTES.min(left.saturating_mul(TRIANGLE_BYTES));
        if wanted >= block.len() {
            source.fill_block(&mut block, wanted)?;
        }
        let whole = wanted.min(block.len()) / TRIANGLE_BYTES;
        if whole == 0 {
            let (number, missing) = (triangles.len() as u64 + 1, (TRIANGLE_BYTES - block.len()) as u64);
            return Err(ReadError::Truncated {
                element: "triangle".into(),
                number,
                count,
                byte: source.offset(),
                missing,
            });
        }
        decode(&block[..whole * TRIANGLE_BYTES], &mut weld, &mut triangles)?;
        check_limit("vertices", weld.len() as u64, source.limits, Place::Byte(source.offset()))?;
        block.drain(..whole * TRIANGLE_BYTES);
        left -= whole;
    }
    check_rest(&mut source, &block, count)?;
    Ok(Polygons { vertices: weld.into_vertices(), triangles })
}

fn decode(bytes: &[u8], weld: &mut Weld, triangles: &mut Vec<[u32; 3]>) -> Result<(), ReadError> {
    let records = bytes.as_chunks::<TRIANGLE_BYTES>().0;
    let positions: Vec<[f64; 3]> = records.iter().flat_map(corners).collect();
    if let Some(at) = positions.iter().position(|corner| !corner.iter().all(|coordinate| coordinate.is_finite())) {
        let number = (triangles.len() + at / 3) as u64 + 1;
        let place = Place::Byte(HEADER_BYTES as u64 + (number - 1) * TRIANGLE_BYTES as u64);
        return Err(ReadError::NotFinite { element: "triangle", number, place });
    }
    let mut indices = Vec::with_capacity(positions.len());
    weld.indices(&positions, &mut indices);
    triangles.extend_from_slice(indices.as_chunks().0);
    Ok(())
}

fn corners(record: &[u8; TRIANGLE_BYTES]) -> [[f64; 3]; 3] {
    [0, 1, 2].map(|corner| position(record, FIRST_CORNER + corner * CORNER_BYTES))
}

fn position(record: &[u8; TRIANGLE_BYTES], start: usize) -> [f64; 3] {
    [0, 4, 8].map(|at| {
        let at = start + at;
        f64::from(f32::from_le_bytes([record[at], record[at + 1], record[at + 2], record[at + 3]]))
    })
}

/// Padding after the last triangle is harmless; bytes that could be triangles mean that the count is wrong.
fn check_rest<R: BufRead>(source: &mut Source<'_, R>, block: &[u8], count: u64) -> Result<(), ReadError> {
    let byte = source.offset() - block.len() as u64;
    let (drained, padding) = source.drain()?;
    let extra = block.len() as u64 + drained;
    let padding = padding && block.iter().all(|&byte| byte == 0 || byte.is_ascii_whitespace());
    if !padding && (count == 0 || extra.is_multiple_of(TRIANGLE_BYTES as u64)) {
        return Err(ReadError::ExtraData { element: "triangle".into(), count, extra, byte });
    }
    Ok(())
}
