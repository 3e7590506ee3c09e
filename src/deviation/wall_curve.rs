//! A mean meridian as a smooth curve between its stations.

use super::error::{DeviationError, check, enough};

/// Nodes and weights of Gauss-Legendre quadrature with five points on (0, 1); exact to degree 9, as the integrands need.
/// Abramowitz & Stegun 1964, table 25.4, from memory and moved from (-1, 1).
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_5),
    (0.230_765_344_947_158_5, 0.239_314_335_249_683_2),
    (0.5, 0.284_444_444_444_444_4),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_2),
    (0.953_089_922_969_332, 0.118_463_442_528_094_5),
];

/// The mean meridian of one wall: cubic between stations, its slope at a station that of the parabola through the
/// station and its neighbours.
///
/// The outer wall runs from the middle of the underside to the top of the rim, the inner from there to the middle of the
/// floor.
#[derive(Clone, Debug, PartialEq)]
pub struct WallCurve<'a> {
    arc_mm: &'a [f64],
    height_mm: &'a [f64],
    radius_mm: &'a [f64],
    u_radius_mm: &'a [f64],
    slope: Vec<Slope>,
    pitch_mm: f64,
    errors: Errors<'a>,
}

/// How the stations' errors go together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Errors<'a> {
    /// Arc length over which they are alike, mm; without, all along the curve.
    alike_mm: Option<f64>,
    /// Standard uncertainty of what all of them share, by station, mm; empty for none.
    common_mm: &'a [f64],
}

/// Standard uncertainty of an integral along a curve, by whether the errors are the stations' own or common to them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct IntegralUncertainty {
    pub(super) own: f64,
    pub(super) common: f64,
}

/// Change of radius and height with arc length.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Slope {
    radius: f64,
    height: f64,
}

/// A point of a meridian, with the direction of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CurvePoint {
    pub radius: f64,
    pub height: f64,
    pub radius_slope: f64,
    pub height_slope: f64,
    pub u_radius: f64,
    pub u_common: f64,
}

impl<'a> WallCurve<'a> {
    /// The curve through at least four stations; `arc_mm` must increase, radii and uncertainties must not be negative.
    ///
    /// # Errors
    /// [`DeviationError`] names the column that is too short, out of order or not finite.
    pub fn new(
        arc_mm: &'a [f64],
        height_mm: &'a [f64],
        radius_mm: &'a [f64],
        u_radius_mm: &'a [f64],
    ) -> Result<Self, DeviationError> {
        let expected = arc_mm.len();
        enough("stations of the meridian", expected, 4)?;
        for (what, column) in [("height_mm", height_mm), ("radius_mm", radius_mm), ("u_radius_mm", u_radius_mm)] {
            if column.len() != expected {
                return Err(DeviationError::LengthsDiffer { what, expected, found: column.len() });
            }
        }
        check("arc_mm", arc_mm, f64::NEG_INFINITY)?;
        check("height_mm", height_mm, f64::NEG_INFINITY)?;
        check("radius_mm", radius_mm, 0.0)?;
        check("u_radius_mm", u_radius_mm, 0.0)?;
        if let Some(i) = arc_mm.windows(2).position(|pair| pair[1] <= pair[0]) {
            return Err(DeviationError::BadNumber { what: "arc_mm", index: i + 1, found: arc_mm[i + 1] });
        }
        let slope = slopes(arc_mm, radius_mm)
            .into_iter()
            .zip(slopes(arc_mm, height_mm))
            .map(|(radius, height)| Slope { radius, height })
            .collect();
        Ok(Self { arc_mm, height_mm, radius_mm, u_radius_mm, slope, pitch_mm: 0.0, errors: Errors::default() })
    }

    /// The curve of a scan whose points lie this far apart, mm: between them it knows no more than a chord does, however near
    /// its stations are to each other.
    #[must_use]
    pub fn with_pitch(self, pitch_mm: f64) -> Self {
        Self { pitch_mm, ..self }
    }

    /// The curve of stations that err alike over `alike_mm` of arc length only; what they all have in common besides has the
    /// standard uncertainties `u_common_mm`, one a station or none. Without this they are taken to err alike all along.
    ///
    /// # Errors
    /// [`DeviationError`] if `u_common_mm` has another length or a negative value, or `alike_mm` is not a length.
    ///
    /// # Example
    /// A cylinder of radius 10 mm and depth 30 mm, its stations known to 0.01 mm: all wrong alike they make 2 pi 10 x 30 x 0.01 =
    /// 6 pi mm^3, alike over 0.3 mm, a hundredth of the depth, a tenth of that.
    /// ```
    /// use std::f64::consts::PI;
    /// use tornus::deviation::{WallCurve, capacity};
    /// let (s, z, r, u) = ([0.0, 10.0, 20.0, 30.0], [30.0, 20.0, 10.0, 0.0], [10.0; 4], [0.01; 4]);
    /// let curve = WallCurve::new(&s, &z, &r, &u)?.with_errors_alike(0.3, &[])?;
    /// assert!((capacity(&curve, 30.0, &[])?.estimate.standard_uncertainty() - 0.6 * PI).abs() < 1e-9);
    /// # Ok::<(), tornus::deviation::DeviationError>(())
    /// ```
    pub fn with_errors_alike(self, alike_mm: f64, u_common_mm: &'a [f64]) -> Result<Self, DeviationError> {
        if !u_common_mm.is_empty() && u_common_mm.len() != self.len() {
            let (expected, found) = (self.len(), u_common_mm.len());
            return Err(DeviationError::LengthsDiffer { what: "u_common_mm", expected, found });
        }
        check("u_common_mm", u_common_mm, 0.0)?;
        check("alike_mm", &[alike_mm], 0.0)?;
        Ok(Self { errors: Errors { alike_mm: Some(alike_mm), common_mm: u_common_mm }, ..self })
    }

    /// Arc length over which the stations err alike, mm; infinite where it is not known.
    pub(super) fn alike(&self) -> f64 {
        self.errors.alike_mm.unwrap_or(f64::INFINITY)
    }

    /// Distance of what the curve knows around a station, mm: of its stations, or of the scan's points if they are further apart.
    pub(super) fn resolution(&self, station: usize) -> f64 {
        let after = station.clamp(1, self.len() - 1);
        (self.arc_mm[after] - self.arc_mm[after - 1]).max(self.pitch_mm)
    }

    pub(super) const fn len(&self) -> usize {
        self.arc_mm.len()
    }

    pub(super) const fn arcs(&self) -> &[f64] {
        self.arc_mm
    }

    pub(super) const fn heights(&self) -> &[f64] {
        self.height_mm
    }

    pub(super) const fn radii(&self) -> &[f64] {
        self.radius_mm
    }

    pub(super) const fn u_radii(&self) -> &[f64] {
        self.u_radius_mm
    }

    /// What `f` says of the curve through every second station, both ends kept; of the curve itself where that leaves too few.
    pub(super) fn through_every_second<T>(&self, f: impl FnOnce(&WallCurve<'_>) -> T) -> Result<T, DeviationError> {
        const FEWEST: usize = 4;
        let last = self.len() - 1;
        let kept: Vec<usize> = (0..last).step_by(2).filter(|i| i + 1 < last).chain([last]).collect();
        if kept.len() < FEWEST {
            return Ok(f(self));
        }
        let of = |column: &[f64]| kept.iter().map(|&i| column[i]).collect::<Vec<f64>>();
        let [arc, height, radius, u] = [self.arc_mm, self.height_mm, self.radius_mm, self.u_radius_mm].map(of);
        Ok(f(&WallCurve::new(&arc, &height, &radius, &u)?.with_pitch(self.pitch_mm)))
    }

    /// The point a part `t` (0 to 1) of the way from station `i` to the next.
    pub(super) fn between(&self, i: usize, t: f64) -> CurvePoint {
        let step = self.arc_mm[i + 1] - self.arc_mm[i];
        let (a, b) = (self.slope[i], self.slope[i + 1]);
        let (radius, radius_slope) = hermite(self.radius_mm[i], self.radius_mm[i + 1], a.radius, b.radius, step, t);
        let (height, height_slope) = hermite(self.height_mm[i], self.height_mm[i + 1], a.height, b.height, step, t);
        let u_radius = (1.0 - t) * self.u_radius_mm[i] + t * self.u_radius_mm[i + 1];
        let common = |station: usize| self.errors.common_mm.get(station).copied().unwrap_or(0.0);
        let u_common = (1.0 - t) * common(i) + t * common(i + 1);
        CurvePoint { radius, height, radius_slope, height_slope, u_radius, u_common }
    }

    /// The point at an arc length; beyond the ends, the end.
    pub(super) fn at(&self, arc: f64) -> CurvePoint {
        let last = self.len() - 1;
        let i = self.arc_mm.partition_point(|&a| a <= arc).saturating_sub(1).min(last - 1);
        let t = (arc - self.arc_mm[i]) / (self.arc_mm[i + 1] - self.arc_mm[i]);
        self.between(i, t.clamp(0.0, 1.0))
    }

    /// Integral of `f` over arc length between two arc lengths.
    pub(super) fn integral(&self, from: f64, to: f64, f: impl Fn(&CurvePoint) -> f64) -> f64 {
        let mut sum = 0.0;
        for i in 0..self.len() - 1 {
            let (a, b) = (self.arc_mm[i], self.arc_mm[i + 1]);
            let (low, high) = (a.max(from), b.min(to));
            if low >= high {
                continue;
            }
            for (node, weight) in GAUSS {
                let t = (low + node * (high - low) - a) / (b - a);
                sum += weight * (high - low) * f(&self.between(i, t));
            }
        }
        sum
    }

    /// Standard uncertainty of the integral of `weight` times the curve's error along its normal.
    ///
    /// Errors alike over a length L average out as in a row of independent pieces of that length: the variance is L times
    /// the integral of the squares, and no more than if they were alike all along.
    pub(super) fn integral_uncertainty(
        &self,
        from: f64,
        to: f64,
        weight: impl Fn(&CurvePoint) -> f64,
    ) -> IntegralUncertainty {
        let all = self.integral(from, to, |p| (weight(p) * p.u_radius).abs());
        let squares = self.integral(from, to, |p| (weight(p) * p.u_radius).powi(2));
        let own = self.errors.alike_mm.map_or(all, |alike| (alike * squares).sqrt().min(all));
        IntegralUncertainty { own, common: self.integral(from, to, |p| (weight(p) * p.u_common).abs()) }
    }

    /// Arc length at which `column` is greatest (`sign` 1) or least (-1) near station `i`: vertex of the parabola through
    /// the station and its neighbours.
    pub(super) fn vertex(&self, column: &[f64], i: usize, sign: f64) -> f64 {
        if i == 0 || i + 1 == self.len() {
            return self.arc_mm[i];
        }
        let (before, after) = (self.arc_mm[i] - self.arc_mm[i - 1], self.arc_mm[i + 1] - self.arc_mm[i]);
        let (left, right) = (sign * (column[i] - column[i - 1]) / before, sign * (column[i + 1] - column[i]) / after);
        let bend = (right - left) / (before + after);
        if bend >= 0.0 {
            return self.arc_mm[i];
        }
        let slope = (left * after + right * before) / (before + after);
        (self.arc_mm[i] - slope / (2.0 * bend)).clamp(self.arc_mm[i - 1], self.arc_mm[i + 1])
    }
}

/// Slope at each station: that of the parabola through it and its neighbours, at the ends of the end parabola.
fn slopes(arc: &[f64], value: &[f64]) -> Vec<f64> {
    let n = arc.len();
    let chord = |i: usize| (value[i + 1] - value[i]) / (arc[i + 1] - arc[i]);
    let inner = |i: usize| {
        let (before, after) = (arc[i] - arc[i - 1], arc[i + 1] - arc[i]);
        (chord(i - 1) * after + chord(i) * before) / (before + after)
    };
    (0..n)
        .map(|i| match i {
            0 => 2.0 * chord(0) - inner(1),
            _ if i + 1 == n => 2.0 * chord(n - 2) - inner(n - 2),
            _ => inner(i),
        })
        .collect()
}

/// Value and slope of the cubic with end values `a`, `b` and end slopes `da`, `db`.
fn hermite(a: f64, b: f64, da: f64, db: f64, step: f64, t: f64) -> (f64, f64) {
    let (p, q) = (da * step - (b - a), -db * step + (b - a));
    let s = 1.0 - t;
    let value = s * a + t * b + t * s * (s * p + t * q);
    let slope = (b - a + (s - t) * (s * p + t * q) + t * s * (q - p)) / step;
    (value, slope)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Columns of a meridian given by a function of 0..1.
    pub(crate) fn columns(n: usize, f: impl Fn(f64) -> (f64, f64)) -> [Vec<f64>; 4] {
        let points: Vec<(f64, f64)> = (0..n).map(|i| f(i as f64 / (n - 1) as f64)).collect();
        let mut arc = vec![0.0];
        for pair in points.windows(2) {
            arc.push(arc[arc.len() - 1] + (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1));
        }
        let (radius, height): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        [arc, height, radius, vec![0.001; n]]
    }

    #[test]
    fn a_parabola_is_followed_exactly() {
        let arc: Vec<f64> = (0..5).map(f64::from).collect();
        let radius: Vec<f64> = arc.iter().map(|s| 10.0 - (s - 1.8).powi(2)).collect();
        let u = vec![0.0; 5];
        let curve = WallCurve::new(&arc, &arc, &radius, &u).unwrap();
        let point = curve.at(2.3);
        assert!((point.radius - 9.75).abs() < 1e-12); // 10 - 0.5^2
        assert!((point.radius_slope + 1.0).abs() < 1e-12); // -2 x 0.5
        assert!((curve.vertex(&radius, 2, 1.0) - 1.8).abs() < 1e-12);
    }

    #[test]
    fn what_is_common_to_stations_does_not_average_out() {
        let arc: Vec<f64> = (0..5).map(f64::from).collect();
        let (u, common) = ([0.3; 5], [0.2; 5]);
        let curve = WallCurve::new(&arc, &arc, &[10.0; 5], &u).unwrap();
        let of = |curve: &WallCurve<'_>| curve.integral_uncertainty(0.0, 4.0, |_| 1.0);
        assert!((of(&curve).own - 1.2).abs() < 1e-12 && of(&curve).common.abs() < 1e-12); // 4 x 0.3
        let pieces = curve.clone().with_errors_alike(1.0, &common).unwrap();
        assert!((of(&pieces).own - 0.6).abs() < 1e-12); // four pieces: 0.3 root 4
        assert!((of(&pieces).common - 0.8).abs() < 1e-12); // 4 x 0.2
        // Errors alike over more than the curve are alike all along it.
        assert!((of(&curve.clone().with_errors_alike(9.0, &[]).unwrap()).own - 1.2).abs() < 1e-12);
        assert!(curve.with_errors_alike(1.0, &[0.1]).is_err());
    }

    #[test]
    fn bad_columns_are_named() {
        let (ok, bad) = ([0.0, 1.0, 2.0, 3.0], [0.0, 1.0, f64::NAN, 3.0]);
        let back = [0.0, 2.0, 1.0, 3.0];
        for (arc, height, radius, u, wanted) in [
            (&ok[..3], &ok[..3], &ok[..3], &ok[..3], "stations"),
            (&ok[..], &ok[..3], &ok[..], &ok[..], "height_mm"),
            (&ok[..], &bad[..], &ok[..], &ok[..], "height_mm"),
            (&ok[..], &ok[..], &bad[..], &ok[..], "radius_mm"),
            (&ok[..], &ok[..], &ok[..], &bad[..], "u_radius_mm"),
            (&back[..], &ok[..], &ok[..], &ok[..], "arc_mm"),
        ] {
            let error = WallCurve::new(arc, height, radius, u).unwrap_err().to_string();
            assert!(error.contains(wanted), "{error}");
        }
    }
}
