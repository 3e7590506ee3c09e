//! PLY: a header that describes elements and properties, then their values as text or bytes.
//!
//! Taken: `x`, `y`, `z` of `vertex`, the vertex indices of `face` or `tristrips`. Everything else is skipped.

mod ascii;
mod binary;
mod header;
mod row;

use std::io::BufRead;

use super::error::{Place, ReadError};
use super::polygons::{Polygons, check_limit};
use super::source::Source;
use binary::Instance;
use header::{Encoding, Header};
use row::{Layout, Role, Row};

/// The counts a header declares: vertices, and faces if it has any faces at all.
pub(super) fn declared<R: BufRead>(mut source: Source<'_, R>) -> Result<(u64, Option<u64>), ReadError> {
    let header = header::read(&mut source)?;
    let count = |name: &[u8]| header.elements.iter().find(|element| element.name == name).map(|element| element.count);
    Ok((count(b"vertex").unwrap_or(0), count(b"face")))
}

pub(super) fn read<R: BufRead>(mut source: Source<'_, R>) -> Result<Polygons, ReadError> {
    let header = header::read(&mut source)?;
    let limits = source.limits;
    let mut body = Body::default();
    // What follows an element that is skipped anyway is skipped too; after vertices or faces it means that a count is wrong.
    let last_taken = header.elements.last().filter(|last| Role::of(&last.name) != Role::Other);
    if header.encoding == Encoding::Ascii {
        let mut rows = ascii::Rows::new(&mut source);
        body.read_elements(&header, limits, |layout, row, instance| rows.next(layout, row, instance))?;
        if last_taken.is_some() {
            rows.expect_end()?;
        }
    } else {
        let mut rows = binary::Rows::new(&mut source, header.encoding == Encoding::BigEndian);
        body.read_elements(&header, limits, |layout, row, instance| rows.next(layout, row, instance))?;
        let (extra, padding, byte) = rows.rest()?;
        if let (Some(last), false) = (last_taken, padding) {
            return Err(ReadError::ExtraData { element: last.word(), count: last.count, extra, byte });
        }
    }
    Ok(body.polygons)
}

/// What has been gathered.
#[derive(Default)]
struct Body {
    polygons: Polygons,
    /// Whether the vertices came before the faces, as they nearly always do.
    vertices_read: bool,
    corners: Vec<u32>,
}

impl Body {
    fn read_elements(
        &mut self,
        header: &Header,
        limits: &super::Limits,
        mut next: impl FnMut(&Layout, &mut Row, &Instance<'_>) -> Result<Place, ReadError>,
    ) -> Result<(), ReadError> {
        let mut row = Row::default();
        for element in &header.elements {
            let layout = Layout::new(element, limits)?;
            let (word, count) = (element.word(), element.count);
            check_limit(&format!("declared count of {word}"), count, limits, Place::Line(element.line))?;
            let instances = if layout.fields.is_empty() { 0 } else { count }; // nothing is written for no properties
            for number in 1..=instances {
                row.indices.clear();
                let place = next(&layout, &mut row, &Instance { element: &word, number, count })?;
                match layout.role {
                    Role::Vertex => self.polygons.add_vertex(row.position, limits, place)?,
                    Role::Face => self.add_face(&row.indices, number, limits, place)?,
                    Role::Strips => self.add_strips(&row.indices, number, limits, place)?,
                    Role::Other => {}
                }
            }
            self.vertices_read |= layout.role == Role::Vertex;
        }
        Ok(())
    }

    fn vertex(&self, index: i64, face: u64, place: Place) -> Result<u32, ReadError> {
        let vertices = self.polygons.vertices.len() as u64;
        match u32::try_from(index) {
            Ok(known) if !self.vertices_read || u64::from(known) < vertices => Ok(known),
            _ => Err(ReadError::NoSuchVertex { face, index, vertices, place }),
        }
    }

    fn add_face(&mut self, indices: &[i64], face: u64, limits: &super::Limits, place: Place) -> Result<(), ReadError> {
        self.corners.clear();
        for &index in indices {
            self.corners.push(self.vertex(index, face, place)?);
        }
        self.polygons.add_face(&self.corners, face, limits, place)
    }

    /// Every index after the second of a strip makes a triangle with the two before it; every other one is turned round.
    fn add_strips(
        &mut self,
        indices: &[i64],
        number: u64,
        limits: &super::Limits,
        place: Place,
    ) -> Result<(), ReadError> {
        for strip in indices.split(|&index| index == -1) {
            for (at, corners) in strip.windows(3).enumerate() {
                let &[a, b, c] = corners else { continue };
                let turned = if at % 2 == 0 { [a, b, c] } else { [b, a, c] };
                self.add_face(&turned, number, limits, place)?;
            }
        }
        Ok(())
    }
}
