//! Elliptic Fourier descriptors of a closed outline.

use std::f64::consts::{FRAC_1_SQRT_2, PI, TAU};

use ndarray::Array2;

/// One closed outline as a sum of ellipses.
///
/// x(t) = centre + sum over n of a cos(2 pi n t) + b sin(2 pi n t), y(t) likewise with c and d, where t is the share of the
/// perimeter from the first point on.
#[derive(Clone, Debug, PartialEq)]
pub struct EllipticFourier {
    /// The mean of the outline over its length.
    pub centre: [f64; 2],
    /// a, b, c, d of harmonics 1, 2, ...
    pub harmonics: Vec<[f64; 4]>,
}

impl EllipticFourier {
    /// The descriptors of a polygon whose last point joins the first; `None` of no extent.
    ///
    /// # Units and shapes
    /// The unit of the points; as many harmonics as asked for. Points that repeat the one before are passed over.
    ///
    /// # Example
    /// Of a square of half-width 1 begun at the middle of its right side, the first ellipse is a circle of radius
    /// 8 sqrt(2) / pi^2: by the sum below, dx/dt is 0, -1, 0, 1, 0 between shares 0, 1/8, 3/8, 5/8, 7/8, 1 of the perimeter 8.
    /// ```
    /// use tornus::analysis::form::EllipticFourier;
    /// let square = [[1.0, 0.0], [1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]];
    /// let found = EllipticFourier::new(&square, 1).unwrap();
    /// let [a, b, c, d] = found.harmonics[0];
    /// let radius = 8.0 * 2.0_f64.sqrt() / std::f64::consts::PI.powi(2);
    /// assert!((a - radius).abs() < 1e-12 && (d - radius).abs() < 1e-12 && b.abs() < 1e-12 && c.abs() < 1e-12);
    /// ```
    ///
    /// # References
    /// Kuhl & Giardina 1982, Elliptic Fourier features of a closed contour, Computer Graphics and Image Processing 18,
    /// 236 to 258, doi:10.1016/0146-664X(82)90034-X (the sum over the polygon's sides; from memory, see the identities tested).
    #[must_use]
    pub fn new(points: &[[f64; 2]], harmonics: usize) -> Option<Self> {
        let side = |i: usize| {
            let ([x, y], [next_x, next_y]) = (points[i], points[(i + 1) % points.len()]);
            (next_x - x).hypot(next_y - y)
        };
        let kept: Vec<usize> = (0..points.len()).filter(|&i| side(i) > 0.0).collect();
        let sides: Vec<f64> = kept.iter().map(|&i| side(i)).collect();
        let along = |k: usize| kept.iter().map(|&i| points[i][k]).collect::<Vec<_>>();
        if kept.len() < 2 {
            return None;
        }
        let (x, y) = (series(&along(0), &sides, harmonics), series(&along(1), &sides, harmonics));
        let of = |(x, y): (&[f64; 2], &[f64; 2])| [x[0], x[1], y[0], y[1]];
        let harmonics = x.harmonics.iter().zip(&y.harmonics).map(of).collect();
        Some(Self { centre: [x.mean, y.mean], harmonics })
    }

    /// The point at a share of the perimeter.
    #[must_use]
    pub fn point(&self, share: f64) -> [f64; 2] {
        let mut point = self.centre;
        for (index, [a, b, c, d]) in self.harmonics.iter().enumerate() {
            let (sin, cos) = (TAU * (index + 1) as f64 * share).sin_cos();
            point[0] += a * cos + b * sin;
            point[1] += c * cos + d * sin;
        }
        point
    }

    /// `count` points at equal shares of the perimeter, from the first.
    #[must_use]
    pub fn outline(&self, count: usize) -> Vec<[f64; 2]> {
        (0..count).map(|i| self.point(i as f64 / count as f64)).collect()
    }

    /// The area it encloses, positive if it runs counter-clockwise: pi times the sum of n (a d - b c).
    #[must_use]
    pub fn area(&self) -> f64 {
        let numbers = (1..).map(f64::from);
        PI * self.harmonics.iter().zip(numbers).map(|([a, b, c, d], n)| n * (a * d - b * c)).sum::<f64>()
    }

    /// Mean square, over the perimeter, of what harmonic n adds; 0 of one that is not there.
    #[must_use]
    pub fn power(&self, n: usize) -> f64 {
        let harmonic = n.checked_sub(1).and_then(|index| self.harmonics.get(index));
        harmonic.map_or(0.0, |abcd| 0.5 * abcd.iter().map(|v| v * v).sum::<f64>())
    }
}

/// One coordinate along the perimeter.
struct Series {
    mean: f64,
    /// Cosine and sine coefficients of harmonics 1, 2, ...
    harmonics: Vec<[f64; 2]>,
}

/// The series of the function that runs straight between `values`; `sides[i]` leads from value i to the next, the last to
/// the first.
fn series(values: &[f64], sides: &[f64], harmonics: usize) -> Series {
    let whole: f64 = sides.iter().sum();
    let next = |i: usize| values[(i + 1) % values.len()];
    let mean = (0..values.len()).map(|i| 0.5 * (values[i] + next(i)) * sides[i]).sum::<f64>() / whole;
    let one = |n: usize| {
        let turn = TAU * n as f64 / whole;
        let (mut cos, mut sin, mut passed) = (0.0, 0.0, 0.0);
        let (mut sin_before, mut cos_before) = (0.0, 1.0);
        for (i, side) in sides.iter().enumerate() {
            passed += side;
            let (sin_after, cos_after) = (turn * passed).sin_cos();
            let slope = (next(i) - values[i]) / side;
            cos += slope * (cos_after - cos_before);
            sin += slope * (sin_after - sin_before);
            (sin_before, cos_before) = (sin_after, cos_after);
        }
        let factor = whole / (2.0 * (n as f64 * PI).powi(2));
        [factor * cos, factor * sin]
    };
    Series { mean, harmonics: (1..=harmonics).map(one).collect() }
}

/// The map from `points` values at equal steps around an outline to mean, then cosine and sine of each harmonic.
///
/// Rows 0, then 2 n - 1 and 2 n. Harmonics are divided by the root of 2, so that the sum of squares of the result is the
/// mean square of the function.
pub(super) fn equal_step_map(points: usize, harmonics: usize) -> Array2<f64> {
    let mut map = Array2::zeros((1 + 2 * harmonics, points));
    let sides = vec![1.0; points];
    let mut impulse = vec![0.0; points];
    impulse[0] = 1.0;
    let first = series(&impulse, &sides, harmonics);
    // The impulse at point i is the first one turned by i steps.
    for i in 0..points {
        map[[0, i]] = first.mean;
        for (index, [cos, sin]) in first.harmonics.iter().enumerate() {
            let (s, c) = (TAU * (index + 1) as f64 * i as f64 / points as f64).sin_cos();
            map[[2 * index + 1, i]] = FRAC_1_SQRT_2 * (c * cos - s * sin);
            map[[2 * index + 2, i]] = FRAC_1_SQRT_2 * (s * cos + c * sin);
        }
    }
    map
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pear-shaped closed curve with corners, not centred, run counter-clockwise.
    fn pear() -> Vec<[f64; 2]> {
        let at = |i: u32| {
            let t = TAU * f64::from(i) / 300.0;
            let r = 20.0 + 6.0 * t.cos() + if i % 100 < 50 { 2.0 } else { 0.0 };
            [r * t.cos() + 40.0, 1.4 * r * t.sin() - 7.0]
        };
        (0..300).map(at).collect()
    }

    fn close(found: f64, wanted: f64, allowed: f64) {
        assert!((found - wanted).abs() <= allowed, "{found} is not {wanted}");
    }

    /// Closed form: of r (cos t, sin t) the first harmonic is the radius twice, all others nothing. A polygon of 2,000 sides
    /// errs by (pi / 2000)^2 / 3 of the radius, 8e-7, at most.
    #[test]
    fn a_circle_is_one_harmonic() {
        let at = |i: u32| TAU * f64::from(i) / 2000.0;
        let circle: Vec<_> = (0..2000).map(|i| [3.0 + 5.0 * at(i).cos(), 5.0 * at(i).sin() - 1.0]).collect();
        let found = EllipticFourier::new(&circle, 6).unwrap();
        close(found.centre[0], 3.0, 1e-9);
        close(found.centre[1], -1.0, 1e-9);
        for (value, wanted) in found.harmonics[0].iter().zip([5.0, 0.0, 0.0, 5.0]) {
            close(*value, wanted, 1e-5);
        }
        assert!((2..=6).all(|n| found.power(n) < 1e-20));
        close(found.area(), PI * 25.0, 2e-4);
    }

    /// Closed form: an ellipse passed through at the speed of its eccentric angle is one harmonic with its semi-axes. Along
    /// its perimeter that is so only nearly; the coefficients of the other harmonics are those of the arc length's own
    /// unevenness, and those of even order vanish by symmetry.
    #[test]
    fn an_ellipse_is_its_semi_axes_and_little_else() {
        let at = |i: u32| TAU * f64::from(i) / 4000.0;
        let ellipse: Vec<_> = (0..4000).map(|i| [5.0 * at(i).cos(), 4.8 * at(i).sin()]).collect();
        let found = EllipticFourier::new(&ellipse, 8).unwrap();
        let [a, b, c, d] = found.harmonics[0];
        // Arc length less its mean rate is e^2 / 8 sin(2 t) to first order, e^2 = 1 - (4.8 / 5)^2 = 0.0784: it changes a and
        // d by half of that, 0.5 %.
        close(a, 5.0 * (1.0 - 0.0784 / 16.0), 5.0 * 0.0784 * 0.0784);
        close(d, 4.8 * (1.0 + 0.0784 / 16.0), 5.0 * 0.0784 * 0.0784);
        close(b.abs() + c.abs(), 0.0, 1e-9);
        assert!(found.power(2) < 1e-18 && found.power(4) < 1e-18 && found.power(3) < 1e-3 * found.power(1));
        close(found.area(), PI * 5.0 * 4.8, 1e-4);
    }

    #[test]
    fn a_single_ellipse_is_drawn_back_exactly() {
        let one = EllipticFourier { centre: [1.0, 2.0], harmonics: vec![[3.0, 0.0, 0.0, 2.0]] };
        for (share, wanted) in [(0.0, [4.0, 2.0]), (0.25, [1.0, 4.0]), (0.5, [-2.0, 2.0])] {
            let [x, y] = one.point(share);
            close(x, wanted[0], 1e-12);
            close(y, wanted[1], 1e-12);
        }
        close(one.area(), 6.0 * PI, 1e-12);
        close(one.power(1), 6.5, 1e-12);
    }

    /// Parseval's identity and the area's, against the polygon itself.
    #[test]
    fn power_and_area_are_those_of_the_polygon() {
        let points = pear();
        let found = EllipticFourier::new(&points, 300).unwrap();
        let (mut square, mut area, mut whole) = (0.0, 0.0, 0.0);
        for (i, [x, y]) in points.iter().enumerate() {
            let [u, v] = points[(i + 1) % points.len()];
            let side = (u - x).hypot(v - y);
            // The mean of a square along a straight line: (p^2 + p q + q^2) / 3.
            square += side * (x * x + x * u + u * u + y * y + y * v + v * v) / 3.0;
            area += 0.5 * (x * v - u * y);
            whole += side;
        }
        let [x, y] = found.centre;
        let power = x * x + y * y + (1..=300).map(|n| found.power(n)).sum::<f64>();
        // Beyond 300 harmonics of a polygon's 1/n^2 is less than a hundred-thousandth.
        close(power, square / whole, 1e-6 * square / whole);
        close(found.area(), area, 1e-5 * area);
    }

    #[test]
    fn the_start_changes_no_power_and_a_shift_only_the_centre() {
        let points = pear();
        let found = EllipticFourier::new(&points, 12).unwrap();
        let mut turned = points.clone();
        turned.rotate_left(77);
        let turned = EllipticFourier::new(&turned, 12).unwrap();
        let moved: Vec<_> = points.iter().map(|[x, y]| [x + 9.0, y - 4.0]).collect();
        let moved = EllipticFourier::new(&moved, 12).unwrap();
        for n in 1..=12 {
            close(turned.power(n), found.power(n), 1e-9 * found.power(1));
            close(moved.power(n), found.power(n), 1e-9 * found.power(1));
        }
        close(turned.area(), found.area(), 1e-9 * found.area());
        close(moved.centre[0] - found.centre[0], 9.0, 1e-9);
        close(moved.centre[1] - found.centre[1], -4.0, 1e-9);
        let doubled: Vec<_> = points.iter().map(|[x, y]| [2.0 * x, 2.0 * y]).collect();
        close(EllipticFourier::new(&doubled, 12).unwrap().power(5), 4.0 * found.power(5), 1e-9 * found.power(1));
    }

    #[test]
    fn more_harmonics_come_nearer() {
        let points = pear();
        let off = |harmonics: usize| {
            let found = EllipticFourier::new(&points, harmonics).unwrap();
            let nearest = |[x, y]: &[f64; 2]| {
                let distances = found.outline(2000).into_iter().map(|[u, v]| (u - x).hypot(v - y));
                distances.fold(f64::INFINITY, f64::min)
            };
            points.iter().map(nearest).fold(0.0, f64::max)
        };
        let found = [1, 4, 16, 64].map(off);
        assert!(found.windows(2).all(|pair| pair[1] < pair[0]), "{found:?}");
        assert!(found[3] < 0.5, "{found:?}"); // steps of 2 mm, of which the corners are rounded
    }

    #[test]
    fn equal_steps_are_a_linear_map_with_the_same_result() {
        // The corners of a regular polygon with a bump each third: all sides equal.
        let points: Vec<[f64; 2]> =
            (0..24).map(|i| TAU * f64::from(i) / 24.0).map(|t| [2.0 * t.cos(), 2.0 * t.sin()]).collect();
        let found = EllipticFourier::new(&points, 5).unwrap();
        let map = equal_step_map(24, 5);
        let of = |k: usize| map.dot(&points.iter().map(|p| p[k]).collect::<ndarray::Array1<f64>>());
        let (x, y) = (of(0), of(1));
        for (n, [a, b, c, d]) in found.harmonics.iter().enumerate() {
            for (value, wanted) in [(x[2 * n + 1], a), (x[2 * n + 2], b), (y[2 * n + 1], c), (y[2 * n + 2], d)] {
                close(value, wanted * FRAC_1_SQRT_2, 1e-12);
            }
        }
        close(x[0], found.centre[0], 1e-12);
        assert_eq!(EllipticFourier::new(&[[1.0, 1.0]; 5], 3), None);
        assert_eq!(EllipticFourier::new(&[], 3), None);
    }
}
