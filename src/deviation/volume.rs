//! Capacity, volume of the material and surface area.

use std::f64::consts::PI;

use super::diameters::{Towards, highest, neck_arc};
use super::error::{DeviationError, check};
use super::measured::Measured;
use super::wall_curve::{IntegralUncertainty, WallCurve};
use crate::quantity::Source;

/// Brimful capacity: the volume within the inner wall, up to the plane of the rim's top.
///
/// The area of a section whose radius varies about its mean r by a mean square m is pi (r^2 + m) (Parseval);
/// `mean_square_mm2` gives m at each station, or is empty where the sections are taken as circles. The wall is closed at
/// the height of its last station, and carried up as a cylinder where it begins below `rim_top_mm`.
///
/// # Units and shapes
/// mm, mm^2 and mm^3; `inner` runs from the rim down to the floor; `mean_square_mm2` as long as the curve, or empty.
///
/// # Uncertainty
/// That of the radii, taken as wholly correlated: an upper bound, which an error of scale or of the wall's place reaches.
///
/// # Errors
/// [`DeviationError`] if `mean_square_mm2` has another length or a negative value.
///
/// # Example
/// A cylinder of radius 10 mm and depth 30 mm holds 3000 pi mm^3; 0.01 mm of radius are 2 pi 10 x 30 x 0.01 = 6 pi mm^3.
/// ```
/// use std::f64::consts::PI;
/// use tornus::deviation::{WallCurve, capacity};
/// let (s, z, r) = ([0.0, 10.0, 20.0, 30.0], [30.0, 20.0, 10.0, 0.0], [10.0; 4]);
/// let found = capacity(&WallCurve::new(&s, &z, &r, &[0.01; 4])?, 30.0, &[])?.estimate;
/// assert!((found.value() - 3000.0 * PI).abs() < 1e-9);
/// assert!((found.standard_uncertainty() - 6.0 * PI).abs() < 1e-9);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn capacity(inner: &WallCurve<'_>, rim_top_mm: f64, mean_square_mm2: &[f64]) -> Result<Measured, DeviationError> {
    check("rim_top_mm", &[rim_top_mm], f64::NEG_INFINITY)?;
    let volume = revolved(inner, inner.arcs()[highest(inner)], mean_square_mm2)?;
    let top = inner.at(inner.arcs()[highest(inner)]);
    let collar = rim_top_mm - top.height;
    let value = -volume.value + PI * top.radius.powi(2) * collar;
    let of_collar = 2.0 * PI * top.radius * collar.abs();
    Ok(Measured::size(value, volume.u.own + of_collar * top.u_radius)?
        .and(Source::Sampling, volume.u.common + of_collar * top.u_common))
}

/// Capacity up to the narrowest place of the neck; `None` where the inner wall has none.
///
/// # Units and shapes
/// As [`capacity`].
///
/// # Uncertainty
/// As [`capacity`]; the height of the narrowest place is taken as known.
///
/// # Errors
/// As [`capacity`].
///
/// # Example
/// The inside of a cylinder has no neck:
/// ```
/// use tornus::deviation::{WallCurve, capacity_neck};
/// let (s, z, r) = ([0.0, 10.0, 20.0, 30.0], [30.0, 20.0, 10.0, 0.0], [10.0; 4]);
/// assert_eq!(capacity_neck(&WallCurve::new(&s, &z, &r, &[0.01; 4])?, &[])?, None);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn capacity_neck(inner: &WallCurve<'_>, mean_square_mm2: &[f64]) -> Result<Option<Measured>, DeviationError> {
    let Some(arc) = neck_arc(inner, Towards::Start) else { return Ok(None) };
    let volume = revolved(inner, arc, mean_square_mm2)?;
    Ok(Some(volume.measured(-volume.value)?))
}

/// Volume of the material: within the outer wall, less the capacity.
///
/// # Units and shapes
/// mm^3; `outer` runs from the middle of the underside to the rim; `mean_square_mm2` as for [`capacity`].
///
/// # Uncertainty
/// That of the outer volume and of the capacity, taken as independent: the two walls are measured apart.
///
/// # Errors
/// As [`capacity`].
///
/// # Example
/// A cylinder of radius 11 mm, 31 mm high, around a capacity of 3000 pi mm^3: 121 x 31 pi - 3000 pi = 751 pi mm^3.
/// ```
/// use std::f64::consts::PI;
/// use tornus::Estimate;
/// use tornus::deviation::{Measured, WallCurve, body_volume};
/// let inside = Measured::new(Estimate::new(3000.0 * PI, 0.0)?, None);
/// let (z, r) = ([0.0, 11.0, 21.0, 31.0], [11.0; 4]);
/// let found = body_volume(&WallCurve::new(&z, &z, &r, &[0.0; 4])?, &inside, &[])?.estimate;
/// assert!((found.value() - 751.0 * PI).abs() < 1e-9);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn body_volume(
    outer: &WallCurve<'_>,
    capacity: &Measured,
    mean_square_mm2: &[f64],
) -> Result<Measured, DeviationError> {
    let volume = revolved(outer, outer.arcs()[0], mean_square_mm2)?;
    let body = volume.measured(volume.value - capacity.estimate.value())?;
    Ok(body.and_all(&capacity.budget))
}

/// Area of the whole surface: outer wall with the underside, inner wall with the floor.
///
/// What a curve leaves open about the axis is closed by a disc.
///
/// # Units
/// mm^2.
///
/// # Uncertainty
/// That of the radii, both walls independent of each other, and of the way between the stations, told by how much longer
/// it is than through every second of them: stations that scatter make it too long by up to 4/3 of that (with twice their
/// distance a quarter of the excess is left), the half-width of an even distribution; a smooth wall's is off by far less.
///
/// # Errors
/// As [`capacity`].
///
/// # Example
/// Two cylinders of 30 mm height, radii 11 and 10 mm, with their end discs: pi (2 x 11 x 30 + 11^2 + 2 x 10 x 30 + 10^2).
/// ```
/// use std::f64::consts::PI;
/// use tornus::deviation::{WallCurve, surface_area};
/// let (s, down) = ([0.0, 10.0, 20.0, 30.0], [30.0, 20.0, 10.0, 0.0]);
/// let outer = WallCurve::new(&s, &s, &[11.0; 4], &[0.0; 4])?;
/// let inner = WallCurve::new(&s, &down, &[10.0; 4], &[0.0; 4])?;
/// assert!((surface_area(&outer, &inner)?.estimate.value() - 1481.0 * PI).abs() < 1e-9);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn surface_area(outer: &WallCurve<'_>, inner: &WallCurve<'_>) -> Result<Measured, DeviationError> {
    let last = inner.len() - 1;
    let (mut area, mut u, mut common, mut longer) = (0.0, 0.0_f64, 0.0, 0.0);
    for (curve, end) in [(outer, 0), (inner, last)] {
        area += swept(curve) + PI * curve.radii()[end].powi(2);
        longer += swept(curve) - curve.through_every_second(swept)?;
        let of_curve = curve.integral_uncertainty(curve.arcs()[0], curve.arcs()[curve.len() - 1], |_| 2.0 * PI);
        u = u.hypot(of_curve.own);
        common += of_curve.common;
    }
    let half = 4.0 / 3.0 * longer.abs();
    Ok(Measured::size(area, u)?.and(Source::Sampling, common).and(Source::Sampling, half / 3.0_f64.sqrt()))
}

/// Area that the whole curve sweeps, mm^2.
fn swept(curve: &WallCurve<'_>) -> f64 {
    let (from, to) = (curve.arcs()[0], curve.arcs()[curve.len() - 1]);
    curve.integral(from, to, |p| 2.0 * PI * p.radius * p.radius_slope.hypot(p.height_slope))
}

struct Revolved {
    value: f64,
    u: IntegralUncertainty,
}

impl Revolved {
    /// A value with the uncertainty of this volume.
    fn measured(&self, value: f64) -> Result<Measured, DeviationError> {
        Ok(Measured::size(value, self.u.own)?.and(Source::Sampling, self.u.common))
    }
}

/// Integral of pi (r^2 + m) dz along the curve from arc length `from` to its end: by Green's theorem the volume it sweeps,
/// with the sign of the way it runs, whether or not it overhangs.
fn revolved(curve: &WallCurve<'_>, from: f64, mean_square_mm2: &[f64]) -> Result<Revolved, DeviationError> {
    let n = curve.len();
    if !mean_square_mm2.is_empty() && mean_square_mm2.len() != n {
        return Err(DeviationError::LengthsDiffer {
            what: "mean_square_mm2",
            expected: n,
            found: mean_square_mm2.len(),
        });
    }
    check("mean_square_mm2", mean_square_mm2, 0.0)?;
    let to = curve.arcs()[n - 1];
    let mut value = curve.integral(from, to, |p| PI * p.radius.powi(2) * p.height_slope);
    for (i, pair) in mean_square_mm2.windows(2).enumerate() {
        let (low, high) = (curve.arcs()[i].max(from), curve.arcs()[i + 1]);
        if low < high {
            let rise = curve.heights()[i + 1] - curve.at(low).height;
            value += PI * (pair[0] + pair[1]) / 2.0 * rise;
        }
    }
    // An error along the normal sweeps the whole circle, on a level floor as on an upright wall.
    let u = curve.integral_uncertainty(from, to, |p| 2.0 * PI * p.radius);
    Ok(Revolved { value, u })
}

#[cfg(test)]
mod tests {
    use super::super::wall_curve::tests::columns;
    use super::*;

    #[test]
    fn a_hemispherical_bowl_holds_two_thirds_pi_r_cubed() {
        let [arc, height, radius, u] =
            columns(400, |t| (40.0 * (PI / 2.0 * t).cos(), 40.0 * (1.0 - (PI / 2.0 * t).sin())));
        let curve = WallCurve::new(&arc, &height, &radius, &u).unwrap();
        let wanted = 2.0 / 3.0 * PI * 40.0_f64.powi(3);
        let found = capacity(&curve, 40.0, &[]).unwrap().estimate.value();
        // Chords stand for arcs in the arc length, which changes nothing: the integral does not depend on the parameter.
        assert!((found / wanted - 1.0).abs() < 1e-7, "{found} {wanted}");
    }

    #[test]
    fn a_jar_with_an_overhanging_shoulder_and_a_raised_floor_is_measured_to_1e_5() {
        // Radius over height r = 30 + 12 sin(pi z / 50), floor raised as a cone of 3 mm; volumes by hand:
        // integral of pi r^2 over 0..50 = pi (900 x 50 + 720 x 100 / pi + 144 x 25), less the cone pi 30^2 x 3 / 3.
        let [arc, height, radius, u] = columns(400, |t| {
            if t < 0.7 {
                let z = 50.0 * (1.0 - t / 0.7);
                (30.0 + 12.0 * (PI * z / 50.0).sin(), z)
            } else {
                let part = (t - 0.7) / 0.3;
                (30.0 * (1.0 - part.min(1.0)), 3.0 * part)
            }
        });
        let curve = WallCurve::new(&arc, &height, &radius, &u).unwrap();
        let wanted = PI * (45_000.0 + 72_000.0 / PI + 3600.0) - PI * 900.0;
        let found = capacity(&curve, 50.0, &[]).unwrap().estimate.value();
        assert!((found / wanted - 1.0).abs() < 3e-5, "{found} {wanted}"); // the corner between wall and floor
        assert_eq!(capacity_neck(&curve, &[]).unwrap(), None);
    }

    #[test]
    fn an_area_knows_how_much_its_stations_scatter() {
        // Every second station 0.05 mm off: the way is longer by sqrt(1 + 0.1^2) with stations 0.5 mm apart, and straight
        // with 1 mm.
        let zigzag = |radius: f64, down: bool| {
            let place = |i: usize| if down { 30.0 - 0.5 * i as f64 } else { 0.5 * i as f64 };
            let radii = (0..61).map(|i| radius + 0.05 * f64::from(u8::from(i % 2 == 1))).collect::<Vec<f64>>();
            let arc: Vec<f64> = (0..61).map(|i| 0.5 * f64::from(i)).collect();
            (arc, (0..61).map(place).collect::<Vec<f64>>(), radii)
        };
        let ((s, z, r), (t, w, q)) = (zigzag(11.0, false), zigzag(10.0, true));
        let (outer, inner) =
            (WallCurve::new(&s, &z, &r, &[0.0; 61]).unwrap(), WallCurve::new(&t, &w, &q, &[0.0; 61]).unwrap());
        let found = surface_area(&outer, &inner).unwrap().estimate;
        let (excess, u) = (found.value() - 1481.0 * PI, found.standard_uncertainty());
        assert!(excess > 3.0 && excess < 3.0 * u, "{excess} {u}");
    }

    #[test]
    fn ovality_adds_half_its_squared_amplitude() {
        let (s, z, r, u) = ([0.0, 10.0, 20.0, 30.0], [30.0, 20.0, 10.0, 0.0], [10.0; 4], [0.0; 4]);
        let curve = WallCurve::new(&s, &z, &r, &u).unwrap();
        // r = 10 + cos 2 theta: area pi (100 + 1/2).
        let found = capacity(&curve, 30.0, &[0.5; 4]).unwrap().estimate.value();
        assert!((found - 30.0 * PI * 100.5).abs() < 1e-9);
        assert!(capacity(&curve, 30.0, &[0.5; 3]).is_err());
    }

    #[test]
    fn the_capacity_to_the_neck_ends_where_it_is_narrowest() {
        // Inner wall r = 20 + 10 cos(pi z / 30) from 0 to 45 mm, narrowest (10 mm) at z = 30 mm; starts widest at the floor.
        let [arc, height, radius, u] = columns(400, |t| {
            let z = 45.0 * (1.0 - t);
            (20.0 + 10.0 * (PI * z / 30.0).cos(), z)
        });
        let curve = WallCurve::new(&arc, &height, &radius, &u).unwrap();
        let wanted = PI * (400.0 * 30.0 + 0.0 + 50.0 * 30.0); // mean of (20 + 10 cos)^2 over half a period: 450
        let found = capacity_neck(&curve, &[]).unwrap().unwrap().estimate.value();
        assert!((found / wanted - 1.0).abs() < 1e-5, "{found} {wanted}");
    }
}
