//! Points at equal arc length between foot edge and rim of a meridian.

use super::landmark::{Landmarks, MeridianPoint, arc_lengths};

/// `count` points at equal steps of arc length from the foot edge to the rim, both included.
///
/// Widest and neck are landmarks of many vessels but anchors of none: on a beaker or an open bowl the widest point wanders
/// over half the wall with a hair's breadth of radius, and points anchored to it would wander along, which makes groups
/// where there are none; a neck most vessels do not have. Equal steps over the whole wall change smoothly with the form,
/// exist for every vessel, and compare belly and neck all the same.
///
/// # Units and shapes
/// mm in, mm out. Arc length is taken along the polyline.
///
/// # Uncertainty
/// Radii carry the uncertainty of the nearer meridian points, interpolated.
///
/// # Example
/// ```
/// use tornus::analysis::form::{Landmarks, MeridianPoint, semilandmarks};
/// let wall = [0.0, 4.0].map(|height_mm| MeridianPoint { radius_mm: 5.0, height_mm, u_radius_mm: 0.1 });
/// let points = semilandmarks(&wall, &Landmarks { foot_mm: 1.0, widest_mm: 1.0, neck_mm: None, rim_mm: 4.0 }, 3);
/// assert_eq!(points.iter().map(|p| p.height_mm).collect::<Vec<_>>(), [1.0, 2.5, 4.0]); // halfway from 1 to 4 is 2.5
/// ```
///
/// # References
/// Bookstein 1997, Landmark methods for forms without landmarks (semilandmarks; here at equal arc length, not slid).
#[must_use]
pub fn semilandmarks(meridian: &[MeridianPoint], at: &Landmarks, count: usize) -> Vec<MeridianPoint> {
    semilandmarks_along(meridian, &arc_lengths(meridian), at, count)
}

/// The same where the arc lengths are known.
pub(super) fn semilandmarks_along(
    meridian: &[MeridianPoint],
    arcs: &[f64],
    at: &Landmarks,
    count: usize,
) -> Vec<MeridianPoint> {
    let steps = count.saturating_sub(1).max(1) as f64;
    let arc = |i: usize| at.foot_mm + (at.rim_mm - at.foot_mm) * i as f64 / steps;
    (0..count).filter_map(|i| point_at(meridian, arcs, arc(i))).collect()
}

/// The point of a meridian at an arc length; `None` of fewer than two points.
pub(super) fn point_at(meridian: &[MeridianPoint], arcs: &[f64], arc: f64) -> Option<MeridianPoint> {
    let after = arcs.partition_point(|&a| a < arc).clamp(1, arcs.len().checked_sub(1).filter(|last| *last > 0)?);
    let (from, to) = (&meridian[after - 1], &meridian[after]);
    let length = arcs[after] - arcs[after - 1];
    let share = if length > 0.0 { ((arc - arcs[after - 1]) / length).clamp(0.0, 1.0) } else { 0.0 };
    let between = |from: f64, to: f64| from + share * (to - from);
    Some(MeridianPoint {
        radius_mm: between(from.radius_mm, to.radius_mm),
        height_mm: between(from.height_mm, to.height_mm),
        u_radius_mm: between(from.u_radius_mm, to.u_radius_mm),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whole(rim_mm: f64) -> Landmarks {
        Landmarks { foot_mm: 0.0, widest_mm: 0.0, neck_mm: None, rim_mm }
    }

    #[test]
    fn steps_of_a_bent_line_are_equal_along_it() {
        let bent = [(0.0, 0.0), (3.0, 4.0), (3.0, 9.0)].map(|(radius_mm, height_mm)| MeridianPoint {
            radius_mm,
            height_mm,
            u_radius_mm: 0.0,
        });
        let points = semilandmarks(&bent, &whole(10.0), 5);
        let arcs = arc_lengths(&points);
        for (index, arc) in arcs.iter().enumerate() {
            assert!((arc - 2.5 * index as f64).abs() < 1e-12);
        }
    }

    #[test]
    fn repeated_points_and_single_points_do_no_harm() {
        let twice = [MeridianPoint { radius_mm: 2.0, ..MeridianPoint::default() }; 2];
        assert!(semilandmarks(&twice, &whole(0.0), 4).iter().all(|p| (p.radius_mm - 2.0).abs() < 1e-12));
        assert!(semilandmarks(&twice[..1], &whole(0.0), 2).is_empty());
    }
}
