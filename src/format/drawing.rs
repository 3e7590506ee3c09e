//! Digitised profiles and outlines: rows of text below a header row that says which column is which.
//!
//! Columns `r` and `z` (or `radius`, `height`) are a profile; `x` and `y`, or `x`, `y` and `z`, are points of a drawing, a picture
//! or of landmarks along the vessel. Other words before the letter (`Position X`) and a unit after it (`r_mm`) do no harm. Fields
//! are parted as in files of points; rows that begin with `#` or `//` are comments.

use std::io::BufRead;

use super::error::ReadError;
use super::limits::Limits;
use super::source::Source;
use super::text::{expect_number, trim_front, unexpected};
use super::xyz::{Separator, is_comment};
use crate::outline::{Curve, CurveAxes, CurvePoint};
use crate::quantity::LengthUnit;

/// How the rows of one file are laid out.
struct Layout {
    separator: Separator,
    axes: CurveAxes,
    /// The columns of the three coordinates of a point; a missing one is 0.
    columns: [Option<usize>; 3],
}

/// Reads a digitised curve whose coordinates are in `unit`.
///
/// # Errors
/// [`ReadError`]: no header row that names the columns, a field that is no finite number, more than `limits` allows.
///
/// # Example
/// ```
/// use tornus::LengthUnit;
/// use tornus::format::{Limits, read_curve};
/// let curve = read_curve("point,r,z\n1,2.5,0\n2,3,4\n".as_bytes(), LengthUnit::Centimetre, &Limits::default())?;
/// assert_eq!(curve.points[0].position_mm, [25.0, 0.0, 0.0]); // 2.5 cm
/// assert_eq!(curve.points[1].position_mm, [30.0, 0.0, 40.0]);
/// # Ok::<(), tornus::format::ReadError>(())
/// ```
pub fn read_curve<R: BufRead>(reader: R, unit: LengthUnit, limits: &Limits) -> Result<Curve, ReadError> {
    let mut source = Source::new(reader, limits);
    let mut line = Vec::new();
    let mut layout: Option<Layout> = None;
    let mut points = Vec::new();
    while source.next_line(&mut line)? {
        if is_comment(&line) {
            continue;
        }
        let at = source.line_number();
        let Some(layout) = &layout else {
            let expected = "a header row with columns r and z, x and y, or x, y and z";
            layout = Some(header(&line).ok_or_else(|| unexpected(expected, &line, at))?);
            continue;
        };
        if points.len() as u64 >= limits.elements {
            let (limit, found) = (limits.elements, points.len() as u64 + 1);
            return Err(ReadError::AboveLimit { what: "points".into(), limit, found, place: source.line_place() });
        }
        points.push(point(&line, layout, unit, at)?);
    }
    match layout {
        Some(layout) => Ok(Curve { axes: layout.axes, points }),
        None => Err(ReadError::EmptyFile),
    }
}

/// Whether the first bytes of a file are those of a profile: the first row that tells names a radius and a height.
pub(super) fn is_profile(head: &[u8]) -> bool {
    let first = trim_front(head).split(|&byte| byte == b'\n' || byte == b'\r').find(|line| !is_comment(line));
    first.and_then(header).is_some_and(|layout| layout.axes == CurveAxes::RadiusHeight)
}

fn header(line: &[u8]) -> Option<Layout> {
    let separator = Separator::of(line);
    let names: Vec<Option<char>> = separator.fields(line).map(coordinate).collect();
    let column = |name: char| names.iter().position(|found| *found == Some(name));
    let (axes, columns) = match (column('r'), column('x'), column('y'), column('z')) {
        (Some(r), _, _, Some(z)) => (CurveAxes::RadiusHeight, [Some(r), None, Some(z)]),
        (None, Some(x), Some(y), Some(z)) => (CurveAxes::Space, [Some(x), Some(y), Some(z)]),
        (None, Some(x), Some(y), None) => (CurveAxes::Plane, [Some(x), Some(y), None]),
        _ => return None,
    };
    Some(Layout { separator, axes, columns })
}

/// The coordinate a column's name speaks of: its last word, a unit left aside.
fn coordinate(name: &[u8]) -> Option<char> {
    let name = std::str::from_utf8(name).ok()?.to_lowercase();
    let mut words = name.split(|c: char| !c.is_alphanumeric());
    match words.rfind(|word| !matches!(*word, "" | "mm" | "cm" | "m" | "in"))? {
        "r" | "radius" => Some('r'),
        "z" | "height" => Some('z'),
        "x" => Some('x'),
        "y" => Some('y'),
        _ => None,
    }
}

fn point(line: &[u8], layout: &Layout, unit: LengthUnit, at: u64) -> Result<CurvePoint, ReadError> {
    let fields: Vec<&[u8]> = layout.separator.fields(line).collect();
    let mut position_mm = [0.0; 3];
    for (value, column) in position_mm.iter_mut().zip(layout.columns) {
        let Some(column) = column else { continue };
        let field = fields.get(column).copied();
        let number = expect_number(field, "a number with a decimal point", at)?;
        if !number.is_finite() {
            return Err(unexpected("a finite number", field.unwrap_or_default(), at));
        }
        *value = number * unit.millimetres();
    }
    Ok(CurvePoint { position_mm, line: at })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> String {
        match read_curve(text.as_bytes(), LengthUnit::Millimetre, &Limits::default()) {
            Ok(curve) => {
                format!("{:?} {:?}", curve.axes, curve.points.iter().map(|p| p.position_mm).collect::<Vec<_>>())
            }
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn every_header_and_separator() {
        let profile = "RadiusHeight [[1.0, 0.0, 2.0]]";
        for text in ["r,z\n1,2\n", "z;r\n2;1", "Radius (mm),Height (mm)\n1,2", "# drawn\nno\tz_mm\tr_mm\n7\t2\t1\r\n"] {
            assert_eq!(told(text), profile, "{text:?}");
            assert!(is_profile(text.as_bytes()), "{text:?}");
        }
        assert_eq!(told("\u{feff}Name,Position X,Position Y,Position Z\nA,1,2,3\n"), "Space [[1.0, 2.0, 3.0]]");
        assert_eq!(told("x y\n1 2\n"), "Plane [[1.0, 2.0, 0.0]]");
        assert!(!is_profile(b"x,y,z\n1,2,3\n") && !is_profile(b"1 2 3\n") && !is_profile(b""));
    }

    #[test]
    fn what_is_wrong_is_told_with_its_line() {
        let cases = [
            ("", "the file is empty"),
            ("1,2\n", "expected a header row with columns r and z, x and y, or x, y and z, found \"1,2\" (line 1)"),
            ("r,z\n1,2\n1\n", "expected a number with a decimal point, found \"\" (line 3)"),
            ("r;z\n1,5;2\n", "expected a number with a decimal point, found \"1,5\" (line 2)"),
            ("r,z\n1,inf\n", "expected a finite number, found \"inf\" (line 2)"),
        ];
        for (text, expected) in cases {
            assert_eq!(told(text), expected);
        }
    }
}
