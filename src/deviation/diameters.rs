//! Height, diameters and centroid size of the outer meridian.

use super::error::DeviationError;
use super::extreme::{Extreme, extreme};
use super::foot_edge::foot_edge;
use super::measured::Measured;
use super::wall_curve::WallCurve;
use crate::profile::AT_AXIS;
use crate::quantity::Source;

/// A neck is narrower than belly and rim by this many standard uncertainties at least,
const NECK_U: f64 = 6.0;
/// and by this share of the greatest radius: project's choice, so that an uneven wall has no neck.
const NECK_SHARE: f64 = 0.01;

/// Height from the lowest point of the foot to the highest of the rim.
///
/// # Units
/// mm; the extremes are vertices of parabolas through the stations around, or the mean of a level part. A curve that runs
/// on over the rim and down the inside tells the top better than one that ends there.
///
/// # Uncertainty
/// Both ends' uncertainties, taken as independent: of the fit, of its shape, and of what lies between two stations.
///
/// # Errors
/// None for a valid curve, but for numbers too large to square.
///
/// # Example
/// A cylinder 30 mm high. A curve that just stops may end a quarter of a spacing, 2.5 mm, either way:
/// ```
/// use tornus::deviation::{WallCurve, height};
/// let (z, r, u) = ([0.0, 10.0, 20.0, 30.0], [20.0; 4], [0.003, 0.0, 0.0, 0.004]);
/// let found = height(&WallCurve::new(&z, &z, &r, &u)?)?.estimate;
/// assert_eq!(found.value(), 30.0);
/// let wanted = (2.0 * 2.5_f64.powi(2) + 0.005_f64.powi(2)).sqrt(); // 0.005 is the root of 0.003^2 + 0.004^2
/// assert!((found.standard_uncertainty() - wanted).abs() < 1e-9);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn height(outer: &WallCurve<'_>) -> Result<Measured, DeviationError> {
    let top = extreme(outer, outer.heights(), highest(outer), 1.0);
    let low = extreme(outer, outer.heights(), lowest(outer), -1.0);
    let height = Measured::size(top.value - low.value, top.u_noise.hypot(low.u_noise))?;
    Ok(height.and(Source::Sampling, top.u_course.hypot(low.u_course)))
}

/// Height of the lowest point of the outer meridian: where the vessel's own heights begin.
///
/// # Units
/// mm.
///
/// # Uncertainty
/// As of one end in [`height`].
///
/// # Errors
/// As [`height`].
///
/// # Example
/// A cylinder that stands at 2 mm:
/// ```
/// use tornus::deviation::{WallCurve, foot_level};
/// let z = [2.0, 12.0, 22.0, 32.0];
/// assert_eq!(foot_level(&WallCurve::new(&z, &z, &[20.0; 4], &[0.0; 4])?)?.estimate.value(), 2.0);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn foot_level(outer: &WallCurve<'_>) -> Result<Measured, DeviationError> {
    level(&extreme(outer, outer.heights(), lowest(outer), -1.0))
}

/// Height of the highest point of the rim.
///
/// # Units
/// mm; the curve may run on over the rim, and tells the top better if it does.
///
/// # Uncertainty
/// As of one end in [`height`].
///
/// # Errors
/// As [`height`].
///
/// # Example
/// A cylinder that ends at 32 mm:
/// ```
/// use tornus::deviation::{WallCurve, rim_level};
/// let z = [2.0, 12.0, 22.0, 32.0];
/// assert_eq!(rim_level(&WallCurve::new(&z, &z, &[20.0; 4], &[0.0; 4])?)?.estimate.value(), 32.0);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn rim_level(outer: &WallCurve<'_>) -> Result<Measured, DeviationError> {
    level(&extreme(outer, outer.heights(), highest(outer), 1.0))
}

fn level(extreme: &Extreme) -> Result<Measured, DeviationError> {
    Ok(Measured::size(extreme.value, extreme.u_noise)?.and(Source::Sampling, extreme.u_course))
}

/// Greatest diameter of the outer wall.
///
/// # Units
/// mm.
///
/// # Uncertainty
/// Twice that of the radius, as for [`height`].
///
/// # Errors
/// As [`height`].
///
/// # Example
/// r = 20 mm - (z - 15 mm)^2 / 45 mm is widest, 40 mm, between the stations at 10 and 20 mm:
/// ```
/// use tornus::deviation::{WallCurve, max_diameter};
/// let z = [0.0, 10.0, 20.0, 30.0];
/// let r = z.map(|z: f64| 20.0 - (z - 15.0).powi(2) / 45.0);
/// let found = max_diameter(&WallCurve::new(&z, &z, &r, &[0.01; 4])?)?.estimate;
/// assert!((found.value() - 40.0).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn max_diameter(outer: &WallCurve<'_>) -> Result<Measured, DeviationError> {
    diameter_of(&extreme(outer, outer.radii(), widest(outer), 1.0))
}

/// Diameter of the rim where it is highest; in the middle of a rim that is level across its width.
///
/// # Units
/// mm; the curve may run on over the rim.
///
/// # Uncertainty
/// Twice that of the radius there and of the place, which follows from the bend of the rim and its noise.
///
/// # Errors
/// As [`height`].
///
/// # Example
/// A cone that opens from 20 to 35 mm:
/// ```
/// use tornus::deviation::{WallCurve, rim_diameter};
/// let (z, r) = ([0.0, 10.0, 20.0, 30.0], [20.0, 25.0, 30.0, 35.0]);
/// assert_eq!(rim_diameter(&WallCurve::new(&z, &z, &r, &[0.01; 4])?)?.estimate.value(), 70.0);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn rim_diameter(outer: &WallCurve<'_>) -> Result<Measured, DeviationError> {
    let top = extreme(outer, outer.heights(), highest(outer), 1.0);
    diameter_at(outer, top.arc, top.u_arc)
}

/// Radius and height of the rim's highest circle, mm; `None` where a radius would be negative.
#[must_use]
pub fn rim_circle(outer: &WallCurve<'_>) -> Option<(f64, f64)> {
    let top = extreme(outer, outer.heights(), highest(outer), 1.0);
    let radius = outer.at(top.arc).radius;
    (radius > 0.0).then_some((radius, top.value))
}

/// Radius and height of the circle the vessel stands on, mm; `None` for a round-bottomed vessel.
#[must_use]
pub fn foot_circle(outer: &WallCurve<'_>) -> Option<(f64, f64)> {
    let ground = extreme(outer, outer.heights(), lowest(outer), -1.0);
    foot_edge(outer, &ground, lowest(outer)).map(|edge| (outer.at(edge.arc).radius, ground.value))
}

/// Diameter of the ring the vessel stands on: the lowest circle of the foot, or the outer edge of a flat foot.
///
/// The edge is where the rounding of the foot begins. A rounding rises as the square of the way from where it begins, so the
/// roots of the rise run along a straight line, which is followed down to no rise at all; a rounding without a flat begins
/// at its lowest point. `None` for a round-bottomed vessel, which stands on a point.
///
/// # Units
/// mm.
///
/// # Uncertainty
/// Twice that of the radius there and of the place, from the line's fit and from how far a line over its lower half
/// differs.
///
/// # Errors
/// As [`height`].
///
/// # Example
/// A flat foot of 30 mm diameter with an edge of 5 mm rounding, r = 15 mm + 5 mm sin a, z = 5 mm (1 - cos a):
/// ```
/// use tornus::deviation::{WallCurve, foot_diameter};
/// let s: Vec<f64> = (0..90).map(|i| 0.25 * f64::from(i)).collect();
/// let (r, z): (Vec<f64>, Vec<f64>) = s.iter().map(|s| {
///     let a = (s - 15.0).max(0.0) / 5.0;
///     if a > 0.0 { (15.0 + 5.0 * a.sin(), 5.0 * (1.0 - a.cos())) } else { (*s, 0.0) }
/// }).unzip();
/// let found = foot_diameter(&WallCurve::new(&s, &z, &r, &vec![0.001; 90])?)?;
/// assert!(found.is_some_and(|foot| (foot.estimate.value() - 30.0).abs() < 0.1));
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn foot_diameter(outer: &WallCurve<'_>) -> Result<Option<Measured>, DeviationError> {
    let ground = extreme(outer, outer.heights(), lowest(outer), -1.0);
    foot_edge(outer, &ground, lowest(outer)).map(|edge| diameter_at(outer, edge.arc, edge.u_arc)).transpose()
}

/// Least diameter of the outer wall between its widest point and the rim; `None` where the wall is not wider again, by a
/// hundredth of its greatest radius, above.
///
/// # Units
/// mm.
///
/// # Uncertainty
/// Twice that of the radius there.
///
/// # Errors
/// As [`height`].
///
/// # Example
/// A jar, 60 mm at the belly, 30 mm at the neck, 40 mm at the rim:
/// ```
/// use tornus::deviation::{WallCurve, neck_diameter};
/// let z = [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0];
/// let r = [20.0, 30.0, 25.0, 20.0, 15.0, 20.0, 20.0];
/// let u = [0.01; 7];
/// let found = neck_diameter(&WallCurve::new(&z, &z, &r, &u)?)?;
/// assert!(found.is_some_and(|neck| (neck.estimate.value() - 30.0).abs() < 0.1));
/// assert_eq!(neck_diameter(&WallCurve::new(&z, &z, &[25.0; 7], &u)?)?, None);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn neck_diameter(outer: &WallCurve<'_>) -> Result<Option<Measured>, DeviationError> {
    neck(outer, Towards::End).map(|neck| diameter_of(&neck)).transpose()
}

/// Root of the mean square distance of the outer meridian's points from their centroid, points at equal arc length from the
/// axis to the rim's top.
///
/// A meridian ends at a station, anywhere within a spacing of the axis and of the top; moved by that much, an end changes the
/// value by more than noise does. So it is closed to the axis as an area is, by a disc, and ends at the top between the
/// stations. A meridian that does not come near the axis is taken as it is.
///
/// # Units
/// mm; the points are those of the meridian half-plane (radius, height); `whole` runs from the underside over the rim.
///
/// # Uncertainty
/// That of the radii, taken as wholly correlated, and of the top's place.
///
/// # Errors
/// As [`height`].
///
/// # Example
/// A straight line of length L has the mean square distance L^2 / 12 from its middle: 12 mm give the root of 12 mm^2.
/// ```
/// use tornus::deviation::{WallCurve, centroid_size};
/// let (z, r) = ([0.0, 4.0, 8.0, 12.0], [20.0; 4]);
/// let found = centroid_size(&WallCurve::new(&z, &z, &r, &[0.01; 4])?)?.estimate;
/// assert!((found.value() - 12.0_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
///
/// # References
/// Bookstein 1991, Morphometric tools for landmark data (centroid size, here per point; from memory).
pub fn centroid_size(whole: &WallCurve<'_>) -> Result<Measured, DeviationError> {
    let top = extreme(whole, whole.heights(), highest(whole), 1.0);
    let (from, to, first, level) = (whole.arcs()[0], top.arc, whole.radii()[0], whole.heights()[0]);
    let gap = if first < AT_AXIS * whole.radii()[widest(whole)] { first } else { 0.0 };
    let length = to - from + gap;
    let mean = |f: &dyn Fn(f64, f64) -> f64| {
        // Simpson's rule: exact for the squares over the disc's radius.
        let disc = gap * (f(0.0, level) + 4.0 * f(0.5 * gap, level) + f(gap, level)) / 6.0;
        (whole.integral(from, to, |p| f(p.radius, p.height)) + disc) / length
    };
    let (radius, height) = (mean(&|r, _| r), mean(&|_, z| z));
    let square = |r: f64, z: f64| (r - radius).powi(2) + (z - height).powi(2);
    let size = mean(&square).sqrt();
    let slope = whole.integral(from, to, |p| p.u_radius * (p.radius - radius).abs()) / length;
    let over_size = if size > 0.0 { 1.0 / size } else { 0.0 };
    let end = whole.at(to);
    let of_top = 0.5 * (square(end.radius, end.height) - size * size) / length * top.u_arc;
    Ok(Measured::size(size, slope * over_size)?.and(Source::Sampling, of_top * over_size))
}

/// Which end of the curve is the rim.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Towards {
    /// The last station: an outer wall.
    End,
    /// The first station: an inner wall.
    Start,
}

/// Arc length of the narrowest place between the widest and the rim, if the rim is clearly wider again.
pub(super) fn neck_arc(curve: &WallCurve<'_>, rim: Towards) -> Option<f64> {
    neck(curve, rim).map(|neck| neck.arc)
}

fn neck(curve: &WallCurve<'_>, rim: Towards) -> Option<Extreme> {
    let belly = widest(curve);
    let above: Vec<usize> = match rim {
        Towards::End => (belly..curve.len()).collect(),
        Towards::Start => (0..=belly).rev().collect(),
    };
    let radius = |i: usize| curve.radii()[i];
    let clear = |wide: f64, i: usize| wide - radius(i) > (NECK_U * curve.u_radii()[i]).max(NECK_SHARE * radius(belly));
    let (mut beyond, mut narrowest): (f64, Option<usize>) = (0.0, None);
    for &i in above.iter().rev() {
        if clear(beyond, i) && clear(radius(belly), i) && narrowest.is_none_or(|best| radius(i) < radius(best)) {
            narrowest = Some(i);
        }
        beyond = beyond.max(radius(i));
    }
    narrowest.map(|station| extreme(curve, curve.radii(), station, -1.0))
}

fn diameter_of(radius: &Extreme) -> Result<Measured, DeviationError> {
    Ok(Measured::size(2.0 * radius.value, 2.0 * radius.u_noise)?.and(Source::Sampling, 2.0 * radius.u_course))
}

/// The diameter at an arc length that is itself uncertain.
fn diameter_at(curve: &WallCurve<'_>, arc: f64, u_arc: f64) -> Result<Measured, DeviationError> {
    let point = curve.at(arc);
    let own = Measured::size(2.0 * point.radius, 2.0 * point.u_radius)?;
    Ok(own.and(Source::Sampling, 2.0 * point.radius_slope * u_arc))
}

fn greatest(values: &[f64], sign: f64) -> usize {
    let mut best = 0;
    for (i, value) in values.iter().enumerate() {
        if sign * value > sign * values[best] {
            best = i;
        }
    }
    best
}

pub(super) fn widest(curve: &WallCurve<'_>) -> usize {
    greatest(curve.radii(), 1.0)
}

pub(super) fn highest(curve: &WallCurve<'_>) -> usize {
    greatest(curve.heights(), 1.0)
}

pub(super) fn lowest(curve: &WallCurve<'_>) -> usize {
    greatest(curve.heights(), -1.0)
}

#[cfg(test)]
mod tests {
    use super::super::wall_curve::tests::columns;
    use super::*;

    #[test]
    fn a_ring_foot_stands_on_its_lowest_circle() {
        // Underside rises 2 mm to the middle, ring of 1.5 mm rounding at radius 20, wall upwards.
        let [arc, height, radius, u] = columns(801, |t| {
            if t < 0.4 {
                (50.0 * t, 2.0 * (1.0 - t / 0.4).powi(2))
            } else {
                (20.0 + 10.0 * (t - 0.4), 60.0 * (t - 0.4).powi(2))
            }
        });
        let curve = WallCurve::new(&arc, &height, &radius, &u).unwrap();
        let foot = foot_diameter(&curve).unwrap().unwrap().estimate.value();
        assert!((foot - 40.0).abs() < 0.07, "{foot}"); // half a station, 0.03 mm, of the radius where the bend changes
    }

    #[test]
    fn a_round_bottom_stands_on_a_point() {
        let [arc, height, radius, u] = columns(201, |t| (40.0 * (1.5 * t).sin(), 40.0 * (1.0 - (1.5 * t).cos())));
        let curve = WallCurve::new(&arc, &height, &radius, &u).unwrap();
        assert_eq!(foot_diameter(&curve).unwrap(), None);
    }

    #[test]
    fn sizes_scale_with_the_vessel() {
        for scale in [0.1, 7.0] {
            let shape = |s: f64| move |t: f64| (s * (20.0 + 10.0 * (3.0 * t).sin()), s * 80.0 * t);
            let ([a, h, r, u], [b, i, q, v]) = (columns(101, shape(1.0)), columns(101, shape(scale)));
            let (one, other) = (WallCurve::new(&a, &h, &r, &u).unwrap(), WallCurve::new(&b, &i, &q, &v).unwrap());
            for measure in [height, max_diameter, rim_diameter, centroid_size] {
                let (x, y) = (measure(&one).unwrap().estimate.value(), measure(&other).unwrap().estimate.value());
                // The same noise is a lesser share of a greater vessel, and the parabolas reach less far.
                assert!((y - scale * x).abs() < 1e-4 * y, "{x} {y}");
            }
        }
    }
}
