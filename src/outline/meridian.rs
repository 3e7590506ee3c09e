//! From digitised points to a meridian in the vessel's frame.

use std::f64::consts::PI;

use nalgebra::Vector3;

use super::OutlineError;
use super::curve::{Curve, CurveAxes, CurvePoint, Drawn};
use super::fold::{check_extent, fold, in_plane};
use super::path::{Point, distance, extent};
use super::side::walls;

/// Points needed: a straight wall has two, and two say nothing of a form.
const FEWEST_POINTS: usize = 5;

/// A fold that leans more than this from the direction the catalogue declares is mentioned, degrees ("project").
const WORTH_MENTIONING_DEG: f64 = 10.0;

/// One station of a drawn meridian.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrawnStation {
    /// Arc length from the wall's first station, mm.
    pub arc_mm: f64,
    /// Distance from the axis, mm.
    pub radius_mm: f64,
    /// Height above the lowest point, mm.
    pub height_mm: f64,
}

/// Where the direction up of a drawn meridian comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrawnUp {
    /// The catalogue declares it.
    Catalogue,
    /// The two ends of an outline are at the rim.
    Opening,
    /// The last coordinate is taken to be the height.
    Assumed,
}

impl DrawnUp {
    /// The word for it in tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Catalogue => "catalogue",
            Self::Opening => "opening",
            Self::Assumed => "assumed",
        }
    }
}

/// The meridian of a drawn vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnMeridian {
    /// Outer wall, from the foot to the rim.
    pub outer: Vec<DrawnStation>,
    /// Inner wall, from the rim down; empty where it is not drawn.
    pub inner: Vec<DrawnStation>,
    /// Standard uncertainty of a radius, mm: half the difference of two sides, and what the catalogue declares; `None` of
    /// one side without a declaration.
    pub u_radius_mm: Option<f64>,
    /// Where up comes from.
    pub up: DrawnUp,
    /// What a reader should know.
    pub notes: Vec<String>,
}

/// The meridian of a digitised curve.
///
/// One side ([`Drawn::Profile`]) is taken as drawn; of points in space the distance from the axis through the origin is the
/// radius. Two sides ([`Drawn::Outline`]) are folded about the line that mirrors them best. A curve that goes on beyond the
/// rim, or around a half-section, is parted into outer and inner wall at its highest point.
///
/// `up` is the declared direction as an axis (0 to 2) and a sign; without it an open outline has its ends at the rim, and
/// otherwise the last coordinate is the height.
///
/// # Units and shapes
/// mm in, mm out; at least five points in their order along the vessel.
///
/// # Uncertainty
/// Of two sides the root mean square of half their difference, in quadrature with `u_declared_mm`. The drawer's choices
/// (which side was drawn, how the vessel was held) are not in it.
///
/// # Errors
/// [`OutlineError`]: too few points, no extent, a negative radius, points off their plane, sides too unlike.
///
/// # Example
/// ```
/// use tornus::outline::{Curve, CurveAxes, CurvePoint, Drawn, drawn_meridian};
/// let points = [[0.0, 0.0], [30.0, 0.0], [40.0, 35.0], [38.0, 60.0], [41.0, 80.0]];
/// let point = |[r, z]: [f64; 2]| CurvePoint { position_mm: [r, 0.0, z + 5.0], line: 0 };
/// let curve = Curve { axes: CurveAxes::RadiusHeight, points: points.map(point).to_vec() };
/// let found = drawn_meridian(&curve, Drawn::Profile, None, None)?;
/// assert_eq!((found.outer[0].height_mm, found.outer[4].height_mm), (0.0, 80.0)); // heights start at the foot
/// assert_eq!((found.inner.len(), found.u_radius_mm), (0, None));
/// # Ok::<(), tornus::outline::OutlineError>(())
/// ```
pub fn drawn_meridian(
    curve: &Curve,
    drawn: Drawn,
    up: Option<(usize, f64)>,
    u_declared_mm: Option<f64>,
) -> Result<DrawnMeridian, OutlineError> {
    let found = curve.points.len();
    if found < FEWEST_POINTS {
        return Err(OutlineError::FewPoints { needed: FEWEST_POINTS, found });
    }
    let (axis, sign) = up.unwrap_or((default_up(curve.axes), 1.0));
    check_direction(curve.axes, axis, sign)?;
    let mut notes = vec![format!("{} drawn, not scanned: no precision measures", drawn.word())];
    let (side, u_sides, source) = match drawn {
        Drawn::Profile => {
            let source = if up.is_some() { DrawnUp::Catalogue } else { DrawnUp::Assumed };
            (one_side(curve, axis, sign)?, None, source)
        }
        Drawn::Outline => {
            let points = flat(curve, axis, sign)?;
            check_extent(&points)?;
            let folded = fold(&points, up.is_some())?;
            let (u, tilt_deg) = (folded.u_radius_mm, folded.tilt_rad * 180.0 / PI);
            notes.push(format!("two sides folded into their mean, u of a radius {u:.2} mm from their difference"));
            if up.is_some() && tilt_deg > WORTH_MENTIONING_DEG {
                notes.push(format!("axis {tilt_deg:.0} deg from the declared direction"));
            }
            (folded.side, Some(u), if up.is_some() { DrawnUp::Catalogue } else { DrawnUp::Opening })
        }
    };
    check_extent(&side)?;
    let u_radius_mm = match (u_sides, u_declared_mm) {
        (Some(sides), Some(declared)) => Some(sides.hypot(declared)),
        (sides, declared) => sides.or(declared),
    };
    if u_radius_mm.is_none() {
        notes.push("no uncertainty declared (u_instrument_mm): sizes are given for the form only".to_owned());
    }
    let parted = walls(&side);
    let low = extent(&side, 1).map_or(0.0, |(low, _)| low);
    let (outer, inner) = (stations(&parted.outer, low), stations(&parted.inner, low));
    Ok(DrawnMeridian { outer, inner, u_radius_mm, up: source, notes })
}

/// The coordinate that is the height where nothing says otherwise.
const fn default_up(axes: CurveAxes) -> usize {
    match axes {
        CurveAxes::Plane => 1,
        CurveAxes::RadiusHeight | CurveAxes::Space => 2,
    }
}

fn check_direction(axes: CurveAxes, axis: usize, sign: f64) -> Result<(), OutlineError> {
    let exists = match axes {
        CurveAxes::RadiusHeight => axis == 2,
        CurveAxes::Plane => axis < 2,
        CurveAxes::Space => axis < 3,
    };
    let name = ["x", "y", "z"].get(axis).copied().unwrap_or_default();
    let up = format!("{}{name}", if sign < 0.0 { "-" } else { "+" });
    if exists { Ok(()) } else { Err(OutlineError::NoSuchDirection { up, columns: axes.columns() }) }
}

/// Radii and heights of a curve along one side.
fn one_side(curve: &Curve, axis: usize, sign: f64) -> Result<Vec<Point>, OutlineError> {
    let radius = |point: &CurvePoint| {
        let [x, y, z] = point.position_mm;
        let across = [[y, z], [z, x], [x, y]][axis];
        match curve.axes {
            CurveAxes::RadiusHeight => x,
            CurveAxes::Plane => across[0] + across[1], // one of them is 0
            CurveAxes::Space => across[0].hypot(across[1]),
        }
    };
    let one = |point: &CurvePoint| {
        let (radius_mm, line) = (radius(point), point.line);
        if radius_mm < 0.0 {
            return Err(OutlineError::NegativeRadius { radius_mm, line });
        }
        Ok([radius_mm, sign * point.position_mm[axis]])
    };
    curve.points.iter().map(one).collect()
}

/// The points of a curve with two sides in their plane, up as far as known along the second direction.
fn flat(curve: &Curve, axis: usize, sign: f64) -> Result<Vec<Point>, OutlineError> {
    let mut up = Vector3::zeros();
    up[axis] = sign;
    match curve.axes {
        CurveAxes::Space => in_plane(&curve.points, up),
        CurveAxes::RadiusHeight | CurveAxes::Plane => {
            let other = if curve.axes == CurveAxes::Plane { 1 - axis } else { 0 };
            Ok(curve.points.iter().map(|p| [p.position_mm[other], sign * p.position_mm[axis]]).collect())
        }
    }
}

fn stations(points: &[Point], low: f64) -> Vec<DrawnStation> {
    let mut arc_mm = 0.0;
    let mut before: Option<Point> = None;
    let one = |point: &Point| {
        arc_mm += before.map_or(0.0, |before| distance(before, *point));
        before = Some(*point);
        DrawnStation { arc_mm, radius_mm: point[0], height_mm: point[1] - low }
    };
    points.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const JAR: [Point; 6] = [[0.0, 0.0], [20.0, 0.0], [35.0, 30.0], [20.0, 55.0], [18.0, 60.0], [22.0, 70.0]];

    fn curve(axes: CurveAxes, points: &[[f64; 3]]) -> Curve {
        let point = |(i, p): (usize, &[f64; 3])| CurvePoint { position_mm: *p, line: i as u64 + 2 };
        Curve { axes, points: points.iter().enumerate().map(point).collect() }
    }

    #[test]
    fn one_side_is_the_same_in_every_frame() {
        let flat = JAR.map(|[r, z]| [r, 0.0, z]);
        let expected = drawn_meridian(&curve(CurveAxes::RadiusHeight, &flat), Drawn::Profile, None, None).unwrap();
        type Case = (CurveAxes, fn(Point) -> [f64; 3], Option<(usize, f64)>);
        let cases: [Case; 4] = [
            (CurveAxes::Plane, |[r, z]| [r, z - 9.0, 0.0], None),
            (CurveAxes::Plane, |[r, z]| [r, 100.0 - z, 0.0], Some((1, -1.0))), // a picture's rows count downwards
            (CurveAxes::Space, |[r, z]| [0.6 * r, -0.8 * r, z], None),
            (CurveAxes::Space, |[r, z]| [-z, 0.6 * r, 0.8 * r], Some((0, -1.0))),
        ];
        for (axes, place, up) in cases {
            let found = drawn_meridian(&curve(axes, &JAR.map(place)), Drawn::Profile, up, None).unwrap();
            for (a, b) in found.outer.iter().zip(&expected.outer) {
                assert!((a.radius_mm - b.radius_mm).abs() < 1e-9 && (a.height_mm - b.height_mm).abs() < 1e-9);
            }
            assert_eq!(found.up == DrawnUp::Catalogue, up.is_some());
        }
    }

    #[test]
    fn two_sides_are_their_side() {
        let both: Vec<[f64; 3]> = JAR
            .iter()
            .rev()
            .map(|[r, z]| [-r, *z, 0.0])
            .chain(JAR.iter().skip(1).map(|[r, z]| [*r, *z, 0.0]))
            .collect();
        let found = drawn_meridian(&curve(CurveAxes::Plane, &both), Drawn::Outline, None, Some(0.3)).unwrap();
        assert!((found.u_radius_mm.unwrap() - 0.3).abs() < 1e-9 && found.up == DrawnUp::Opening);
        let rim = found.outer.last().unwrap();
        assert!((rim.radius_mm - 22.0).abs() < 1e-9 && (rim.height_mm - 70.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_no_meridian_is_refused() {
        let refuse = |axes, points: &[[f64; 3]], drawn, up| {
            drawn_meridian(&curve(axes, points), drawn, up, None).unwrap_err().to_string()
        };
        let flat = JAR.map(|[r, z]| [r, 0.0, z]);
        assert_eq!(
            refuse(CurveAxes::RadiusHeight, &flat[..4], Drawn::Profile, None),
            "points of the curve, at least 5: 4"
        );
        let mut left = flat;
        left[3][0] = -1.5;
        let told = refuse(CurveAxes::RadiusHeight, &left, Drawn::Profile, None);
        assert!(told.contains("found -1.5 mm (line 5)") && told.contains("`content` should say outline"), "{told}");
        assert_eq!(
            refuse(CurveAxes::Plane, &flat, Drawn::Profile, Some((2, 1.0))),
            "the catalogue says up is +z, but the file has the columns x and y"
        );
        assert!(refuse(CurveAxes::RadiusHeight, &flat, Drawn::Outline, None).contains("should say profile"));
        assert!(refuse(CurveAxes::RadiusHeight, &[[1.0, 0.0, 2.0]; 6], Drawn::Profile, None).contains("no height"));
    }
}
