//! ASCII STL: one keyword per line, any case, any indentation.

use std::io::BufRead;

use crate::format::error::ReadError;
use crate::format::polygons::{Polygons, check_limit};
use crate::format::source::Source;
use crate::format::text::{expect_position, unexpected, words};
use crate::format::weld::Weld;

/// What the next line must be.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Expect {
    Solid,
    FacetOrEnd,
    Loop,
    Vertex(usize),
    EndLoop,
    EndFacet,
}

impl Expect {
    const fn word(self) -> &'static str {
        match self {
            Self::Solid => "solid",
            Self::FacetOrEnd => "facet or endsolid",
            Self::Loop => "outer loop",
            Self::Vertex(_) => "vertex and three numbers",
            Self::EndLoop => "endloop",
            Self::EndFacet => "endfacet",
        }
    }
}

pub(super) fn read<R: BufRead>(mut source: Source<'_, R>) -> Result<Polygons, ReadError> {
    let mut weld = Weld::new();
    let mut triangles: Vec<[u32; 3]> = Vec::new();
    let mut corners = [0_u32; 3];
    let mut line = Vec::new();
    let mut expect = Expect::Solid;
    while source.next_line(&mut line)? {
        let mut rest = words(&line);
        let Some(word) = rest.next() else { continue };
        let at = source.line_number();
        expect = match (expect, word.to_ascii_lowercase().as_slice()) {
            (Expect::Solid, b"solid") | (Expect::EndFacet, b"endfacet") => Expect::FacetOrEnd,
            (Expect::FacetOrEnd, b"facet") => Expect::Loop,
            (Expect::FacetOrEnd, b"endsolid") => Expect::Solid,
            (Expect::Loop, b"outer") => Expect::Vertex(0),
            (Expect::Vertex(corner), b"vertex") => {
                let position = expect_position(&mut rest, "three numbers after vertex", at)?;
                if !position.iter().all(|coordinate| coordinate.is_finite()) {
                    let (element, number) = ("triangle", triangles.len() as u64 + 1);
                    return Err(ReadError::NotFinite { element, number, place: source.line_place() });
                }
                check_limit("vertices", weld.len() as u64 + 1, source.limits, source.line_place())?;
                corners[corner] = weld.index(position);
                if corner == 2 { Expect::EndLoop } else { Expect::Vertex(corner + 1) }
            }
            (Expect::EndLoop, b"endloop") => {
                check_limit("triangles", triangles.len() as u64 + 1, source.limits, source.line_place())?;
                triangles.push(corners);
                Expect::EndFacet
            }
            _ => return Err(unexpected(expect.word(), &line, at)),
        };
    }
    if expect != Expect::Solid {
        let cut_inside = !matches!(expect, Expect::FacetOrEnd | Expect::EndFacet);
        let number = triangles.len() as u64 + u64::from(cut_inside);
        let (line, element, expected) = (source.line_number(), "facet".into(), expect.word());
        return Err(ReadError::TruncatedText { line, element, number, expected });
    }
    Ok(Polygons { vertices: weld.into_vertices(), triangles })
}
