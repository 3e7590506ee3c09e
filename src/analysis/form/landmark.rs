//! Landmarks of an outer meridian.

/// The foot edge is where the meridian last leaves this lowest share of the height, the rim where it first reaches the
/// highest ("project"): a flat foot has its outer edge, and noise on a flat cannot move the point across it.
const END_SHARE: f64 = 0.005;

/// A neck is narrower than the widest point above it by at least this share of the greatest radius ("project": less is
/// within what a hand-made wall wanders).
const NECK_SHARE: f64 = 0.02;

/// One point of a meridian.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MeridianPoint {
    /// Distance from the axis, mm.
    pub radius_mm: f64,
    /// Height along the axis, mm.
    pub height_mm: f64,
    /// Standard uncertainty of the radius, mm.
    pub u_radius_mm: f64,
}

/// Landmarks as arc lengths from the meridian's first point, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Landmarks {
    /// The outer edge of what the vessel stands on.
    pub foot_mm: f64,
    /// The widest point.
    pub widest_mm: f64,
    /// The narrowest point between widest and rim, where the wall widens again above it.
    pub neck_mm: Option<f64>,
    /// Where the rim begins to be highest.
    pub rim_mm: f64,
}

/// Arc length from the first point to each, mm.
pub(super) fn arc_lengths(meridian: &[MeridianPoint]) -> Vec<f64> {
    let mut arc = 0.0;
    let mut arcs = Vec::with_capacity(meridian.len());
    for (index, point) in meridian.iter().enumerate() {
        if let Some(before) = index.checked_sub(1).map(|before| &meridian[before]) {
            arc += (point.radius_mm - before.radius_mm).hypot(point.height_mm - before.height_mm);
        }
        arcs.push(arc);
    }
    arcs
}

/// The landmarks of an outer meridian that runs from the underside to the rim; `None` of fewer than three points or no height.
///
/// # Example
/// A cylinder of radius 10 and height 20 mm, its wall from arc 10 to 30: the foot edge lies 0.5 % of the height up the wall.
/// ```
/// use tornus::analysis::form::{MeridianPoint, landmarks};
/// let points = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (10.0, 20.0)];
/// let wall = points.map(|(radius_mm, height_mm)| MeridianPoint { radius_mm, height_mm, u_radius_mm: 0.0 });
/// let found = landmarks(&wall).unwrap();
/// assert!((found.foot_mm - 10.1).abs() < 1e-9 && (found.rim_mm - 29.9).abs() < 1e-9);
/// assert_eq!(found.neck_mm, None);
/// ```
#[must_use]
pub fn landmarks(meridian: &[MeridianPoint]) -> Option<Landmarks> {
    landmarks_along(meridian, &arc_lengths(meridian))
}

/// The same where the arc lengths are known.
pub(super) fn landmarks_along(meridian: &[MeridianPoint], arcs: &[f64]) -> Option<Landmarks> {
    let extent = |pick: fn(f64, f64) -> f64, start: f64| meridian.iter().map(|p| p.height_mm).fold(start, pick);
    let (low, high) = (extent(f64::min, f64::INFINITY), extent(f64::max, f64::NEG_INFINITY));
    if meridian.len() < 3 || high <= low {
        return None;
    }
    let (foot_height, rim_height) = (low + END_SHARE * (high - low), high - END_SHARE * (high - low));
    let last_low = meridian.iter().rposition(|p| p.height_mm <= foot_height)?;
    let first_high = last_low + meridian[last_low..].iter().position(|p| p.height_mm >= rim_height)?;
    let foot_mm = crossing(meridian, arcs, last_low, foot_height);
    let rim_mm = crossing(meridian, arcs, first_high.checked_sub(1)?, rim_height);
    let wall: Vec<usize> = (0..meridian.len()).filter(|&i| arcs[i] >= foot_mm && arcs[i] <= rim_mm).collect();
    let widest = widest(meridian, wall.iter().copied())?;
    let neck = neck(meridian, &wall, widest);
    Some(Landmarks { foot_mm, widest_mm: arcs[widest], neck_mm: neck.map(|at| arcs[at]), rim_mm })
}

/// Arc length at which the segment that starts at `index` passes `height`.
fn crossing(meridian: &[MeridianPoint], arcs: &[f64], index: usize, height: f64) -> f64 {
    let Some(next) = meridian.get(index + 1) else { return arcs[index] };
    let rise = next.height_mm - meridian[index].height_mm;
    if rise > 0.0 {
        let share = ((height - meridian[index].height_mm) / rise).clamp(0.0, 1.0);
        arcs[index] + share * (arcs[index + 1] - arcs[index])
    } else {
        arcs[index]
    }
}

/// The first of the points with the greatest radius; nothing of no radius.
fn widest(meridian: &[MeridianPoint], wall: impl Iterator<Item = usize>) -> Option<usize> {
    let wider =
        |best: usize, next: usize| if meridian[next].radius_mm > meridian[best].radius_mm { next } else { best };
    wall.reduce(wider).filter(|&at| meridian[at].radius_mm > 0.0)
}

/// The narrowest point above the widest, if the wall widens again above it.
fn neck(meridian: &[MeridianPoint], wall: &[usize], widest_at: usize) -> Option<usize> {
    let radius = |at: usize| meridian[at].radius_mm;
    let above = || wall.iter().copied().filter(move |&at| at > widest_at);
    let narrowest = above().reduce(|best, next| if radius(next) < radius(best) { next } else { best })?;
    let lip = widest(meridian, above().filter(|&at| at > narrowest))?;
    (radius(lip) - radius(narrowest) >= NECK_SHARE * radius(widest_at)).then_some(narrowest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn meridian(points: &[(f64, f64)]) -> Vec<MeridianPoint> {
        points.iter().map(|&(radius_mm, height_mm)| MeridianPoint { radius_mm, height_mm, u_radius_mm: 0.0 }).collect()
    }

    fn cylinder(noise: f64) -> Vec<MeridianPoint> {
        let underside = (0..=20).map(|i| (f64::from(i) * 2.0, noise * f64::from(i % 3)));
        let wall = (1..=100).map(|i| (40.0 + noise * f64::from(i % 2), f64::from(i)));
        meridian(&underside.chain(wall).collect::<Vec<_>>())
    }

    #[test]
    fn a_flat_foot_has_its_outer_edge() {
        for noise in [0.0, 0.05] {
            let found = landmarks(&cylinder(noise)).unwrap();
            assert!((found.foot_mm - 40.0).abs() < 1.0, "{found:?}");
            assert!((found.rim_mm - 139.5).abs() < 1.0, "{found:?}");
            assert_eq!(found.neck_mm, None, "noise is no neck");
        }
    }

    #[test]
    fn a_neck_lies_between_widest_and_lip() {
        let bottle = [(0.0, 0.0), (30.0, 0.0), (40.0, 30.0), (10.0, 60.0), (10.0, 80.0), (14.0, 90.0)];
        let at = |from: (f64, f64), to: (f64, f64), i: u32| {
            let share = f64::from(i) / 20.0;
            (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1))
        };
        let points: Vec<_> = bottle.windows(2).flat_map(|pair| (0..20).map(|i| at(pair[0], pair[1], i))).collect();
        let found = landmarks(&meridian(&points)).unwrap();
        let neck = found.neck_mm.unwrap();
        assert!(found.widest_mm < neck && neck < found.rim_mm);
    }

    #[test]
    fn what_has_no_height_has_no_landmarks() {
        assert_eq!(landmarks(&[]), None);
        assert_eq!(landmarks(&meridian(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)])), None);
        assert_eq!(landmarks(&meridian(&[(0.0, 0.0), (0.0, 1.0), (0.0, 2.0)])), None);
    }

    #[test]
    fn the_order_is_foot_widest_rim() {
        let belly: Vec<_> =
            (0..=90).map(|i| f64::from(i) * 0.03).map(|t| (30.0 * t.sin(), 30.0 - 30.0 * t.cos())).collect();
        let found = landmarks(&meridian(&belly)).unwrap();
        assert!(found.foot_mm < found.widest_mm && found.widest_mm < found.rim_mm);
        assert!((found.widest_mm - 30.0 * std::f64::consts::FRAC_PI_2).abs() < 0.5); // a quarter of the circle from its lowest point
    }
}
