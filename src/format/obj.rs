//! OBJ: indexed polygons as text. Taken: `v` and the vertex indices of `f`; every other keyword is skipped.
//!
//! # References
//! The format has no standard; read here as commonly described: indices from 1, negative ones counted back from the last vertex
//! read, `v`, `v/t`, `v//n` or `v/t/n` per corner, a backslash at the end of a line continues it.

use std::io::BufRead;

use super::error::{Place, ReadError, excerpt};
use super::kind::Format;
use super::polygons::Polygons;
use super::source::Source;
use super::text::{expect_position, unexpected, words};

/// Keywords that a file may hold, whether taken or skipped.
const KEYWORDS: [&[u8]; 31] = [
    b"v", b"vt", b"vn", b"vp", b"f", b"fo", b"l", b"p", b"o", b"g", b"s", b"mg", b"mtllib", b"usemtl", b"usemap",
    b"maplib", b"cstype", b"deg", b"bmat", b"step", b"curv", b"curv2", b"surf", b"parm", b"trim", b"hole", b"scrv",
    b"sp", b"end", b"con", b"call",
];

/// Whether a word is one of the format's keywords.
pub(super) fn is_keyword(word: &[u8]) -> bool {
    KEYWORDS.contains(&word)
}

/// The face that names the highest vertex so far; vertices may follow the faces that name them.
struct Highest {
    index: u32,
    face: u64,
    place: Place,
}

pub(super) fn read<R: BufRead>(mut source: Source<'_, R>) -> Result<Polygons, ReadError> {
    let limits = source.limits;
    let mut polygons = Polygons::default();
    let mut highest: Option<Highest> = None;
    let (mut line, mut corners) = (Vec::new(), Vec::new());
    let (mut faces, mut known_words) = (0, false);
    while next_logical_line(&mut source, &mut line)? {
        let mut rest = words(&line);
        let Some(keyword) = rest.next() else { continue };
        let (at, place) = (source.line_number(), source.line_place());
        match keyword {
            b"v" => {
                let position = expect_position(&mut rest, "three numbers after v", at)?;
                polygons.add_vertex(position, limits, place)?;
            }
            b"f" | b"fo" => {
                faces += 1;
                corners.clear();
                for word in rest.take_while(|word| !word.starts_with(b"#")) {
                    let index = corner(word, polygons.vertices.len(), faces, at)?;
                    if highest.as_ref().is_none_or(|highest| index > highest.index) {
                        highest = Some(Highest { index, face: faces, place });
                    }
                    corners.push(index);
                }
                polygons.add_face(&corners, faces, limits, place)?;
            }
            _ if keyword.starts_with(b"#") => continue,
            _ if !known_words && !is_keyword(keyword) => return Err(not_this_format(&line)),
            _ => {}
        }
        known_words = true;
    }
    if source.offset() == 0 {
        return Err(ReadError::EmptyFile);
    }
    let vertices = polygons.vertices.len() as u64;
    if let Some(Highest { index, face, place }) = highest.filter(|highest| u64::from(highest.index) >= vertices) {
        return Err(ReadError::NoSuchVertex { face, index: i64::from(index) + 1, vertices, place });
    }
    Ok(polygons)
}

fn not_this_format(line: &[u8]) -> ReadError {
    ReadError::NotThisFormat { format: Format::Obj, expected: "a keyword such as v, f or o", found: excerpt(line) }
}

/// The next line joined with those it continues on.
fn next_logical_line<R: BufRead>(source: &mut Source<'_, R>, line: &mut Vec<u8>) -> Result<bool, ReadError> {
    if !source.next_line(line)? {
        return Ok(false);
    }
    let mut continuation = Vec::new();
    while line.last() == Some(&b'\\') && !line.starts_with(b"#") {
        line.pop();
        line.push(b' ');
        if !source.next_line(&mut continuation)? {
            break;
        }
        line.append(&mut continuation);
        let (limit, found) = (source.limits.line_bytes as u64, line.len() as u64);
        if found > limit {
            let (what, place) = ("length of a continued line in bytes".into(), source.line_place());
            return Err(ReadError::AboveLimit { what, limit, found, place });
        }
    }
    Ok(true)
}

/// The vertex a corner names, from 0.
fn corner(word: &[u8], vertices: usize, face: u64, at: u64) -> Result<u32, ReadError> {
    let first = word.split(|&byte| byte == b'/').next().unwrap_or_default();
    let index: Option<i64> = std::str::from_utf8(first).ok().and_then(|text| text.parse().ok());
    let index = index.ok_or_else(|| unexpected("a vertex index", word, at))?;
    let from_zero = match index {
        1.. => Some(index - 1),
        0 => None,
        _ => index.checked_add_unsigned(vertices as u64),
    };
    from_zero.and_then(|from_zero| u32::try_from(from_zero).ok()).ok_or(ReadError::NoSuchVertex {
        face,
        index,
        vertices: vertices as u64,
        place: Place::Line(at),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::Limits;

    const SQUARE: &str = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\n";

    fn told(text: &str) -> String {
        match read(Source::new(text.as_bytes(), &Limits::default())) {
            Ok(polygons) => format!("{} {:?}", polygons.vertices.len(), polygons.triangles),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn every_way_to_name_corners() {
        let faces = [
            "f 1 2 3 4",
            "f 1/9 2/9 3/9 4/9",
            "f 1//9 2//9 3//9 4//9",
            "f 1/9/9 2/9/9 3/9/9 4/9/9",
            "f -4 -3 -2 -1",
            "f 1 2 \\\n 3 4",
            "s off\nusemtl \u{e9}\nf 1 2 3 4 # a square",
            "wood\nf\t1  2 3 4 ",
        ];
        for face in faces {
            assert_eq!(told(&format!("{SQUARE}{face}\n")), "4 [[0, 1, 2], [0, 2, 3]]", "{face}");
        }
        assert_eq!(told("v 0 0 0 1\nv 1 0 0 .5 .5 .5\r\nv 1 1 0\r\nf 1 2 3"), "3 [[0, 1, 2]]");
        assert_eq!(told(&format!("f 1 2 3\n{SQUARE}")), "4 [[0, 1, 2]]");
    }

    #[test]
    fn what_is_wrong_is_told_with_its_line() {
        let cases = [
            ("f 0 1 2", "face 1 names vertex 0, but there are 4 (line 5)"),
            ("f 1 2 5", "face 1 names vertex 5, but there are 4 (line 5)"),
            ("f -5 -4 -3", "face 1 names vertex -5, but there are 4 (line 5)"),
            ("f 1 2", "face 1 has 2 corners, expected 3 or more (line 5)"),
            ("f", "face 1 has 0 corners, expected 3 or more (line 5)"),
            ("f 1 2 x", "expected a vertex index, found \"x\" (line 5)"),
            ("v 1 2", "expected three numbers after v, found \"\" (line 5)"),
            ("v 1 2 1,5", "expected three numbers after v, found \"1,5\" (line 5)"),
            ("v 1 nan 2", "coordinate of vertex 5 is not finite (line 5)"),
            ("v 1 1e999 2", "coordinate of vertex 5 is not finite (line 5)"),
        ];
        for (line, expected) in cases {
            assert_eq!(told(&format!("{SQUARE}{line}\n")), expected);
        }
        assert_eq!(told(""), "the file is empty");
        assert_eq!(told("Dear all,\n"), "not obj: expected a keyword such as v, f or o, found \"Dear all,\"");
    }
}
