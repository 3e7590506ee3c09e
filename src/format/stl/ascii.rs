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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::Limits;

    const FACET: &str =
        "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 -0\nendloop\nendfacet\n";

    fn told(text: &str) -> String {
        match read(Source::new(text.as_bytes(), &Limits::default())) {
            Ok(polygons) => format!("{} {:?}", polygons.vertices.len(), polygons.triangles),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn vertices_are_welded_and_several_solids_are_one_scan() {
        assert_eq!(told(&format!("solid\n{FACET}{FACET}endsolid\n")), "3 [[0, 1, 2], [0, 1, 2]]");
        assert_eq!(
            told(&format!("solid a\n{FACET}endsolid a\n\nSOLID b\n{FACET}ENDSOLID")),
            "3 [[0, 1, 2], [0, 1, 2]]"
        );
        assert_eq!(told(&format!("solid\n{}endsolid", FACET.to_uppercase().replace('\n', "\r"))), "3 [[0, 1, 2]]");
    }

    #[test]
    fn what_is_wrong_is_told_with_its_line() {
        let cases = [
            ("vertex 1 0 0\n", "", "expected vertex and three numbers, found \"endloop\" (line 6)"),
            ("endloop\n", "vertex 1 1 1\nendloop\n", "expected endloop, found \"vertex 1 1 1\" (line 7)"),
            ("1 0 0", "1 0", "expected three numbers after vertex, found \"\" (line 5)"),
            ("1 0 0", "1 0 1,5", "expected three numbers after vertex, found \"1,5\" (line 5)"),
            ("1 0 0", "1 0 inf", "coordinate of triangle 1 is not finite (line 5)"),
            ("endfacet\n", "", "expected endfacet, found \"endsolid\" (line 8)"),
            ("outer loop", "outre loop", "expected outer loop, found \"outre loop\" (line 3)"),
        ];
        for (good, bad, expected) in cases {
            assert_eq!(told(&format!("solid\n{}endsolid\n", FACET.replacen(good, bad, 1))), expected);
        }
        let cut = told(&format!("solid\n{FACET}"));
        assert_eq!(cut, "file ends after line 8, in facet 1: expected facet or endsolid");
    }
}
