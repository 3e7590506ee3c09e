//! Which end is up, where rim and foot are, which part of the meridian is outside and which inside.

use std::ops::Range;

use super::{ProfileError, Stations};

/// How it was decided which end is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Opening {
    /// The opening is in the scan.
    Seen,
    /// The scan cannot tell; it was declared.
    Declared,
    /// The scan cannot tell and nothing was declared: the file's own positive direction was taken.
    Assumed,
}

/// An end of the meridian that comes back by this share of the height, and by twice as much as the other, has run down
/// the inside (project: foot rings are a few per cent of a vessel's height deep, interiors most of it).
const INSIDE_DEPTH: f64 = 0.06;
const TWICE: f64 = 2.0;

/// An end within this share of the greatest radius has reached the axis: there the meridian is closed.
pub const AT_AXIS: f64 = 0.15;

/// An end that comes back to the axis by less than this share of the height may be an underside within its foot ring
/// (project: the rings of shallow plates are a tenth of the height deep, interiors most of it).
const UNDERSIDE_DEPTH: f64 = 0.3;

/// The inside is measured as a wall of its own if it is seen to this share of the height.
const INNER_DEPTH: f64 = 0.2;

/// Decides whether the traced meridian (radius, height) must be turned over for the opening to be on top.
///
/// `declared_up` says whether +z was declared to be up, where that was declared.
#[must_use]
pub fn opening(path: &[[f64; 2]], declared_up: Option<bool>) -> (bool, Opening) {
    let (Some(first), Some(last)) = (path.first(), path.last()) else { return (false, Opening::Assumed) };
    let heights = || path.iter().map(|p| p[1]);
    let low = heights().fold(f64::INFINITY, f64::min);
    let high = heights().fold(f64::NEG_INFINITY, f64::max);
    let widest = path.iter().map(|p| p[0]).fold(0.0, f64::max);
    let (top, bottom) = (high - last[1], first[1] - low);
    let least = INSIDE_DEPTH * (high - low);
    let (closed_top, closed_bottom) = (last[0] < AT_AXIS * widest, first[0] < AT_AXIS * widest);
    let clear = top.max(bottom) > least && (top > TWICE * bottom || bottom > TWICE * top);
    let shallow = top.max(bottom) < UNDERSIDE_DEPTH * (high - low);
    let turned_over = bottom > top;
    let (closed, other_closed) = if turned_over { (closed_bottom, closed_top) } else { (closed_top, closed_bottom) };
    if clear && !(shallow && closed && !other_closed) {
        return (turned_over, Opening::Seen);
    }
    // A floor or an underside, and the other end open: a vessel is narrower at its foot than at its mouth, but where it is
    // not nothing can be told.
    let edge = if turned_over { lowest_of(path, 1.0) } else { lowest_of(path, -1.0) };
    let open_end = if turned_over { last } else { first };
    if closed_top != closed_bottom && (!clear || edge[0] < open_end[0]) {
        return (closed_top, Opening::Seen);
    }
    match declared_up {
        Some(up) => (!up, Opening::Declared),
        None => (false, Opening::Assumed),
    }
}

/// The lowest point of a path, the highest for a `sign` of -1.
fn lowest_of(path: &[[f64; 2]], sign: f64) -> [f64; 2] {
    path.iter().copied().min_by(|a, b| (sign * a[1]).total_cmp(&(sign * b[1]))).unwrap_or_default()
}

/// Whether an upright meridian runs up the inside and down the outside: a bare cloud may be walked either way.
#[must_use]
pub fn inside_out(path: &[[f64; 2]]) -> bool {
    let Some(rim) = (0..path.len()).max_by(|&a, &b| path[a][1].total_cmp(&path[b][1])) else { return false };
    let widest = |part: &[[f64; 2]]| part.iter().map(|p| p[0]).fold(0.0, f64::max);
    widest(&path[rim + 1..]) > widest(&path[..rim])
}

/// The parts of the meridian, as ranges of stations.
#[derive(Clone, Debug, PartialEq)]
pub struct Walls {
    /// From the middle of the underside, or where the scan begins, to the top of the rim.
    pub outer: Range<usize>,
    /// From the top of the rim to the middle of the floor, or as far as the scan sees; `None` where too little is seen.
    pub inner: Option<Range<usize>>,
    /// The lowest station of the outside.
    pub foot: usize,
    /// The highest station.
    pub rim: usize,
}

impl Walls {
    /// The walls of a meridian that is the right way up.
    ///
    /// # Errors
    /// [`ProfileError::NoOuterWall`] if nothing lies between foot and rim.
    pub fn new(stations: &Stations) -> Result<Self, ProfileError> {
        let all = &stations.stations;
        let height = |index: &usize| all[*index].height;
        let rim = (0..all.len()).max_by(|a, b| height(a).total_cmp(&height(b))).ok_or(ProfileError::NoOuterWall)?;
        let foot = (0..=rim).min_by(|a, b| height(a).total_cmp(&height(b))).ok_or(ProfileError::NoOuterWall)?;
        if rim < foot + 4 {
            return Err(ProfileError::NoOuterWall);
        }
        let tall = all[rim].height - all[foot].height;
        let deepest = all[rim..].iter().map(|s| s.height).fold(f64::INFINITY, f64::min);
        let inner = (all[rim].height - deepest > INNER_DEPTH * tall).then_some(rim..all.len());
        Ok(Self { outer: 0..rim + 1, inner, foot, rim })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Underside, outer wall, rim, inner wall, floor of a beaker.
    fn beaker() -> Vec<[f64; 2]> {
        vec![[0.0, 0.0], [20.0, 0.0], [20.0, 60.0], [18.0, 60.0], [18.0, 3.0], [0.0, 3.0]]
    }

    #[test]
    fn a_beaker_that_stands_on_its_rim_is_turned_over() {
        assert_eq!(opening(&beaker(), None), (false, Opening::Seen));
        let mut turned: Vec<[f64; 2]> = beaker().iter().map(|[r, z]| [*r, -z]).collect();
        turned.reverse();
        assert_eq!(opening(&turned, None), (true, Opening::Seen));
    }

    #[test]
    fn a_meridian_walked_from_inside_is_known() {
        let mut walked = beaker();
        assert!(!inside_out(&walked));
        walked.reverse();
        assert!(inside_out(&walked));
    }

    #[test]
    fn a_solid_needs_to_be_told() {
        let solid = &[[0.0, 0.0], [20.0, 0.0], [20.0, 60.0], [0.0, 60.0]];
        assert_eq!(opening(solid, Some(false)), (true, Opening::Declared));
        assert_eq!(opening(solid, None), (false, Opening::Assumed));
    }

    #[test]
    fn an_open_outside_without_inside_is_open_on_top() {
        assert_eq!(opening(&[[0.0, 0.0], [20.0, 0.0], [20.0, 60.0]], None), (false, Opening::Seen));
    }

    #[test]
    fn a_plate_seen_from_below_stands_on_its_foot_ring() {
        // Underside in a ring 2 mm deep, wall up to 10 mm; the inside was not seen.
        let outside = [[0.0, 2.0], [20.0, 2.0], [20.0, 0.0], [22.0, 0.0], [22.0, 3.0], [45.0, 10.0]];
        assert_eq!(opening(&outside, None), (false, Opening::Seen));
        let mut turned: Vec<[f64; 2]> = outside.iter().map(|[r, z]| [*r, -z]).collect();
        turned.reverse();
        assert_eq!(opening(&turned, None), (true, Opening::Seen));
    }

    #[test]
    fn a_thick_floor_without_a_base_needs_to_be_told() {
        // A mortar: floor 8 mm below a wide rim, the outer wall narrowing down to where the scan ends at -22 mm.
        let mortar = [[30.0, -30.0], [45.0, 0.0], [40.0, 0.0], [0.0, -8.0]];
        assert_eq!(opening(&mortar, None).1, Opening::Assumed);
        assert_eq!(opening(&mortar, Some(true)), (false, Opening::Declared));
    }

    #[test]
    fn a_beaker_has_two_walls() {
        let stations = Stations::along(&beaker(), 200).unwrap();
        let walls = Walls::new(&stations).unwrap();
        let inner = walls.inner.unwrap();
        assert!((stations.stations[walls.rim].height - 60.0).abs() < 1e-9);
        assert!(stations.stations[walls.foot].height.abs() < 1e-9);
        assert_eq!(inner.end, 200);
    }
}
