//! From the walls of one scan to points that correspond from vessel to vessel.

use std::sync::Arc;

use super::choice::FormChoice;
use super::landmark::{Landmarks, MeridianPoint, arc_lengths, landmarks_along};
use super::semilandmark::{point_at, semilandmarks_along};

/// Points per meridian, landmarks included ("project"); from 32 to 128 the components' shares change in the third digit.
pub const FORM_STATIONS: usize = 64;

/// Points around a half-section ("project"): four times the harmonics at most, so that the polygon through them is far finer
/// than the least ellipse.
pub(super) const SECTION_STATIONS: usize = 256;

/// An inner wall is seen down to its floor if it ends within this share of its greatest radius from the axis ("project": of
/// the demonstration's scans those that see the floor end within 4 %, the others beyond 60 %).
const FLOOR_SHARE: f64 = 0.25;

/// The walls of one scan, or of one drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::analysis) struct ScanWalls {
    /// The outer meridian.
    pub(in crate::analysis) outer: Arc<Vec<MeridianPoint>>,
    /// The inner meridian; empty where it is not seen.
    pub(in crate::analysis) inner: Arc<Vec<MeridianPoint>>,
    /// Whether the outline ends where the scan does and not the vessel, or may stand on its head.
    pub(in crate::analysis) partial: bool,
}

/// A meridian with its landmarks, running upwards.
pub(super) struct Marked {
    pub(super) meridian: Vec<MeridianPoint>,
    /// Arc length from the first point to each, mm.
    pub(super) arcs: Vec<f64>,
    pub(super) at: Landmarks,
}

/// A meridian turned upwards, with its landmarks; `None` where it has none.
pub(super) fn marked(meridian: &[MeridianPoint]) -> Option<Marked> {
    let mut meridian = meridian.to_vec();
    if meridian.first()?.height_mm > meridian.last()?.height_mm {
        meridian.reverse();
    }
    let arcs = arc_lengths(&meridian);
    let at = landmarks_along(&meridian, &arcs)?;
    Some(Marked { meridian, arcs, at })
}

/// One of the landmarks that all points of an outline hang on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    /// Foot edge.
    Foot,
    /// Rim.
    Rim,
}

impl Marked {
    /// The same with one end a standard uncertainty further in along the meridian.
    ///
    /// Where between two stations an edge lies is not known, an even distribution; and the stations' own error moves it.
    fn with_end_moved(mut self, end: End) -> Self {
        let arcs = &self.arcs;
        let (arc, inwards) = match end {
            End::Foot => (&mut self.at.foot_mm, 1.0),
            End::Rim => (&mut self.at.rim_mm, -1.0),
        };
        let after = arcs.partition_point(|a| *a < *arc).clamp(1, arcs.len().max(2) - 1);
        if let (Some(to), Some(from)) = (arcs.get(after), arcs.get(after - 1)) {
            *arc += inwards * ((to - from) / 12.0_f64.sqrt()).hypot(self.meridian[after].u_radius_mm);
        }
        self
    }
}

/// The corresponding points of one scan, or why it has none.
pub(super) fn sampled(choice: FormChoice, walls: &ScanWalls) -> Result<Vec<MeridianPoint>, &'static str> {
    sampled_between(choice, walls, None)
}

/// The same were one of the ends of the wall a standard uncertainty further in.
pub(super) fn sampled_between(
    choice: FormChoice,
    walls: &ScanWalls,
    moved: Option<End>,
) -> Result<Vec<MeridianPoint>, &'static str> {
    if walls.partial {
        return Err(PARTIAL);
    }
    let marked = |meridian: &[MeridianPoint], without: &'static str| {
        marked(meridian).ok_or(without).map(|marked| match moved {
            Some(end) => marked.with_end_moved(end),
            None => marked,
        })
    };
    let wall = |meridian: &[MeridianPoint], without: &'static str| {
        let marked = marked(meridian, without)?;
        Ok(semilandmarks_along(&marked.meridian, &marked.arcs, &marked.at, FORM_STATIONS))
    };
    match choice {
        FormChoice::Outer | FormChoice::TangentAngle => wall(&walls.outer, NO_OUTER),
        FormChoice::Inner => {
            seen_to_the_floor(&walls.inner)?;
            wall(&walls.inner, "no floor and rim on its inner meridian")
        }
        FormChoice::HalfSection => {
            seen_to_the_floor(&walls.inner)?;
            let outer = marked(&walls.outer, NO_OUTER)?;
            Ok(around(&half_section(&outer, &walls.inner), SECTION_STATIONS))
        }
        FormChoice::Silhouette => {
            let outer = marked(&walls.outer, NO_OUTER)?;
            Ok(around(&silhouette(&outer), SECTION_STATIONS))
        }
    }
}

const PARTIAL: &str = "foot or rim not in the scans, or which end is up not known";
const NO_OUTER: &str = "no foot edge and rim on its outer meridian";

fn seen_to_the_floor(inner: &[MeridianPoint]) -> Result<(), &'static str> {
    let Some(last) = inner.last() else { return Err("its interior is not seen") };
    let widest = inner.iter().map(|p| p.radius_mm).fold(0.0, f64::max);
    if last.radius_mm <= FLOOR_SHARE * widest { Ok(()) } else { Err("its interior is not seen down to the floor") }
}

/// The closed half-section: from the outer edge of the rim over the rim, down the inner wall to the middle of the floor,
/// down the axis, along the plane the vessel stands on to the foot's outer edge, and up the outer wall.
///
/// The underside is that plane even where more of it is seen: many scans do not see it, and a foot ring that only some of
/// them show would part the vessels by their scans. The start is the landmark and not the highest point, which on a flat rim
/// is wherever noise puts it.
fn half_section(outer: &Marked, inner: &[MeridianPoint]) -> Vec<MeridianPoint> {
    let arcs = &outer.arcs;
    let between = |from: f64, to: f64| {
        let at = |arc: f64| point_at(&outer.meridian, arcs, arc);
        let inside = outer.meridian.iter().zip(arcs).filter(|(_, arc)| **arc > from && **arc < to);
        at(from).into_iter().chain(inside.map(|(point, _)| *point)).chain(at(to)).collect::<Vec<_>>()
    };
    let whole = arcs.last().copied().unwrap_or_default();
    let rim = between(outer.at.rim_mm, whole);
    let wall = between(outer.at.foot_mm, outer.at.rim_mm);
    let middle = |point: &MeridianPoint| MeridianPoint { radius_mm: 0.0, ..*point };
    let axis = inner.last().map(middle).into_iter().chain(wall.first().map(middle));
    rim.into_iter().chain(inner.iter().copied()).chain(axis).chain(wall).collect()
}

/// The closed half of a vessel taken for solid: from the rim straight to the axis, down the axis, along the plane the vessel
/// stands on to the foot's outer edge, and up the outer wall. Drawings and outlines without an interior have it too.
fn silhouette(outer: &Marked) -> Vec<MeridianPoint> {
    let arcs = &outer.arcs;
    let at = |arc: f64| point_at(&outer.meridian, arcs, arc);
    let (foot, rim) = (outer.at.foot_mm, outer.at.rim_mm);
    let between =
        outer.meridian.iter().zip(arcs).filter(|(_, arc)| **arc > foot && **arc < rim).map(|(point, _)| *point);
    // The axis is where it is: its points err in height only, which moves them along themselves.
    let middle = |point: MeridianPoint| MeridianPoint { radius_mm: 0.0, u_radius_mm: 0.0, ..point };
    let axis = at(rim).into_iter().chain(at(foot)).map(middle);
    at(rim).into_iter().chain(axis).chain(at(foot)).chain(between).chain(at(rim)).collect()
}

/// `count` points at equal steps around a closed outline that begins and ends at its first point.
fn around(closed: &[MeridianPoint], count: usize) -> Vec<MeridianPoint> {
    let arcs = arc_lengths(closed);
    let whole = arcs.last().copied().unwrap_or_default();
    (0..count).filter_map(|i| point_at(closed, &arcs, whole * i as f64 / count as f64)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tenth of each straight wall apart.
    fn points(corners: &[(f64, f64)]) -> Vec<MeridianPoint> {
        let point = |(radius_mm, height_mm): (f64, f64)| MeridianPoint { radius_mm, height_mm, u_radius_mm: 0.1 };
        let between = |pair: &[(f64, f64)], i: u32| {
            let (share, (r, z)) = (f64::from(i) / 10.0, pair[0]);
            point((r + share * (pair[1].0 - r), z + share * (pair[1].1 - z)))
        };
        let walls = corners.windows(2).flat_map(|pair| (0..10).map(move |i| between(pair, i)));
        walls.chain(corners.last().map(|corner| point(*corner))).collect()
    }

    /// A cup 100 high, outer radius 50, inner 46, floor 6 thick.
    fn cup() -> ScanWalls {
        ScanWalls {
            outer: points(&[(0.0, 0.0), (50.0, 0.0), (50.0, 100.0)]).into(),
            inner: points(&[(50.0, 100.0), (46.0, 100.0), (46.0, 6.0), (0.0, 6.0)]).into(),
            partial: false,
        }
    }

    #[test]
    fn a_half_section_is_closed_around_wall_and_floor() {
        let found = sampled(FormChoice::HalfSection, &cup()).unwrap();
        assert_eq!(found.len(), SECTION_STATIONS);
        // The outer edge of the rim: where the wall first reaches 99.5 % of the height.
        assert!((found[0].radius_mm - 50.0).abs() < 1e-9 && (found[0].height_mm - 99.5).abs() < 1e-9);
        // The shoelace area: wall 4 x 94 and floor 50 x 6, less the 0.5 below the foot's landmark.
        let area: f64 = (0..found.len())
            .map(|i| (&found[i], &found[(i + 1) % found.len()]))
            .map(|(a, b)| 0.5 * (a.radius_mm * b.height_mm - b.radius_mm * a.height_mm))
            .sum();
        // Corners between two of the points 2 mm apart are cut by half a square millimetre at most.
        assert!((area - (4.0 * 94.0 + 50.0 * 5.5)).abs() < 3.0, "{area}");
    }

    #[test]
    fn a_silhouette_is_closed_along_the_axis_and_needs_no_interior() {
        let found = sampled(FormChoice::Silhouette, &ScanWalls { inner: Vec::new().into(), ..cup() }).unwrap();
        assert_eq!(found.len(), SECTION_STATIONS);
        let area: f64 = (0..found.len())
            .map(|i| (&found[i], &found[(i + 1) % found.len()]))
            .map(|(a, b)| 0.5 * (a.radius_mm * b.height_mm - b.radius_mm * a.height_mm))
            .sum();
        // From the foot's landmark at 0.5 to the rim's at 99.5; corners between points 1.2 mm apart are cut by 0.2 each.
        assert!((area.abs() - 50.0 * 99.0).abs() < 1.5, "{area}");
    }

    #[test]
    fn what_is_not_seen_is_told() {
        let blind = ScanWalls { inner: Arc::default(), ..cup() };
        let shallow = ScanWalls { inner: points(&[(50.0, 100.0), (46.0, 100.0), (46.0, 60.0)]).into(), ..cup() };
        for choice in [FormChoice::HalfSection, FormChoice::Inner] {
            assert_eq!(sampled(choice, &blind), Err("its interior is not seen"));
            assert_eq!(sampled(choice, &shallow), Err("its interior is not seen down to the floor"));
            assert!(sampled(choice, &cup()).is_ok());
        }
        assert_eq!(sampled(FormChoice::Outer, &ScanWalls { partial: true, ..cup() }), Err(PARTIAL));
        assert_eq!(sampled(FormChoice::Outer, &ScanWalls::default()), Err(NO_OUTER));
        assert_eq!(sampled(FormChoice::Outer, &blind).unwrap().len(), FORM_STATIONS);
    }

    #[test]
    fn an_end_is_moved_by_what_it_may_be_off() {
        let outer = |moved| sampled_between(FormChoice::Outer, &cup(), moved).unwrap();
        let last = FORM_STATIONS - 1;
        // Stations 10 mm apart on the wall, u 0.1 mm: 10 / sqrt 12 = 2.887, with 0.1 beside it 2.888.
        let (rest, foot, rim) = (outer(None), outer(Some(End::Foot)), outer(Some(End::Rim)));
        assert!((foot[0].height_mm - rest[0].height_mm - 2.888).abs() < 1e-3);
        assert!((rim[last].height_mm - rest[last].height_mm + 2.888).abs() < 1e-3);
        assert!((foot[last].height_mm - rest[last].height_mm).abs() < 1e-9);
    }

    #[test]
    fn an_inner_wall_runs_from_the_floors_edge_to_the_rim() {
        let found = sampled(FormChoice::Inner, &cup()).unwrap();
        let (first, last) = (found[0], found[FORM_STATIONS - 1]);
        assert!((first.radius_mm - 46.0).abs() < 1e-9 && first.height_mm < 7.0);
        assert!((last.radius_mm - 46.0).abs() < 1e-9 && last.height_mm > 99.0);
    }
}
