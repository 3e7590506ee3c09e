//! Points at equal arc length between the landmarks of a meridian.

use super::landmark::{Landmarks, MeridianPoint, arc_lengths};

/// Points along a meridian: `lower` equal steps of arc length from foot edge to widest, `upper` from there to the rim.
///
/// # Units and shapes
/// mm in, mm out; lower + upper + 1 points, ends included. Arc length is taken along the polyline.
///
/// # Uncertainty
/// Radii carry the uncertainty of the nearer meridian points, interpolated.
///
/// # Example
/// ```
/// use tornus::analysis::form::{Landmarks, MeridianPoint, semilandmarks};
/// let wall = [0.0, 4.0].map(|height_mm| MeridianPoint { radius_mm: 5.0, height_mm, u_radius_mm: 0.1 });
/// let points = semilandmarks(&wall, &Landmarks { foot_mm: 0.0, widest_mm: 1.0, rim_mm: 4.0 }, 1, 2);
/// assert_eq!(points.iter().map(|p| p.height_mm).collect::<Vec<_>>(), [0.0, 1.0, 2.5, 4.0]); // halfway from 1 to 4 is 2.5
/// ```
///
/// # References
/// Bookstein 1997, Landmark methods for forms without landmarks (semilandmarks; here at equal arc length, not slid).
#[must_use]
pub fn semilandmarks(meridian: &[MeridianPoint], at: &Landmarks, lower: usize, upper: usize) -> Vec<MeridianPoint> {
    let arcs = arc_lengths(meridian);
    let step = |from: f64, to: f64, i: usize, steps: usize| from + (to - from) * i as f64 / steps as f64;
    let below = (0..lower).map(|i| step(at.foot_mm, at.widest_mm, i, lower));
    let above = (0..=upper).map(|i| if upper > 0 { step(at.widest_mm, at.rim_mm, i, upper) } else { at.rim_mm });
    below.chain(above).filter_map(|arc| interpolated(meridian, &arcs, arc)).collect()
}

fn interpolated(meridian: &[MeridianPoint], arcs: &[f64], arc: f64) -> Option<MeridianPoint> {
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

    #[test]
    fn steps_of_a_bent_line_are_equal_along_it() {
        let bent = [(0.0, 0.0), (3.0, 4.0), (3.0, 9.0)].map(|(radius_mm, height_mm)| MeridianPoint {
            radius_mm,
            height_mm,
            u_radius_mm: 0.0,
        });
        let points = semilandmarks(&bent, &Landmarks { foot_mm: 0.0, widest_mm: 5.0, rim_mm: 10.0 }, 2, 2);
        let arcs = arc_lengths(&points);
        for (index, arc) in arcs.iter().enumerate() {
            assert!((arc - 2.5 * index as f64).abs() < 1e-12);
        }
    }

    #[test]
    fn repeated_points_and_single_points_do_no_harm() {
        let twice = [MeridianPoint { radius_mm: 2.0, ..MeridianPoint::default() }; 2];
        let at = Landmarks { foot_mm: 0.0, widest_mm: 0.0, rim_mm: 0.0 };
        assert!(semilandmarks(&twice, &at, 3, 0).iter().all(|p| (p.radius_mm - 2.0).abs() < 1e-12));
        assert!(semilandmarks(&twice[..1], &at, 1, 1).is_empty());
    }
}
