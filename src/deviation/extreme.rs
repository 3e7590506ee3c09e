//! Where a curve is highest, lowest, widest or narrowest, by least squares over the stations around.

use nalgebra::{Matrix3, Vector3};

use super::wall_curve::WallCurve;

/// Drop from the extreme up to which stations are looked at first, as a share of the column's range; halved until a parabola
/// holds.
const FIRST_DROP: f64 = 0.05;
/// Factor from one drop to the next.
const NEXT_DROP: f64 = 0.7;
/// Drops below this many standard uncertainties hold nothing but noise.
const LEAST_DROP_U: f64 = 4.0;
/// Fewest stations of a parabola with something left over.
const FEWEST: usize = 5;
/// Mean square of the residuals, in squared standard uncertainties, at which a parabola still holds.
const HOLDS: f64 = 1.5;
/// Standard uncertainties by which a parabola over half the drop may differ before the whole one is given up.
const AGREES: f64 = 1.5;
/// Neighbouring stations share points: their noise counts as that of a third as many (as the meridian is polished).
const SHARED: f64 = 3.0;
/// A parabola whose bend is less than this many standard uncertainties is level.
const LEVEL_U: f64 = 3.0;
/// Share of the resolution, squared and times the bend, by which a meridian between stations may be off: the sagitta
/// of the parabola over one spacing is an eighth, taken as the half-width of an even distribution.
const SAGITTA: f64 = 0.125 / 1.732;

/// An extreme of one column of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extreme {
    /// Arc length, mm.
    pub(super) arc: f64,
    /// Its standard uncertainty, mm.
    pub(super) u_arc: f64,
    /// Value, mm.
    pub(super) value: f64,
    /// Its standard uncertainty by the noise, mm.
    pub(super) u_noise: f64,
    /// Its standard uncertainty by the curve's course between and about the stations, mm.
    pub(super) u_course: f64,
}

impl Extreme {
    /// Standard uncertainty of the value, mm.
    pub(super) fn u_value(&self) -> f64 {
        self.u_noise.hypot(self.u_course)
    }
}

/// The extreme of `column` (greatest for `sign` 1, least for -1) around station `top`.
///
/// The greatest of many noisy values is too great, and its place is anywhere on a level top. So a parabola is fitted to the
/// stations around, over the widest drop that it holds for; its vertex is the extreme. Where the parabola does not bend the
/// top is level: the extreme is the mean value, in the middle of the level part.
///
/// # Uncertainty
/// Of the fit, with how far the fit over half the drop differs, or the parabola through three stations where there are too few
/// for that (the shape is no parabola: what is left over a drop goes with it or its square, so that the difference is half or
/// three quarters of it), and the sagitta of the curve between two stations (resolution).
pub(super) fn extreme(curve: &WallCurve<'_>, column: &[f64], top: usize, sign: f64) -> Extreme {
    let u = curve.u_radii()[top];
    let spread = column.iter().map(|value| sign * (column[top] - value)).fold(0.0, f64::max);
    let least = (LEAST_DROP_U * u).max(1e-9 * spread);
    let mut drop = (FIRST_DROP * spread).max(least);
    loop {
        let fit = Parabola::around(curve, column, top, sign, drop);
        let half = Parabola::around(curve, column, top, sign, 0.5 * drop);
        let last = drop <= least;
        match (fit, half) {
            (Some(fit), Some(half)) if last || fit.agrees_with(&half) => {
                return fit.extreme(curve, column, sign, [half.vertex(), half.top()]);
            }
            (Some(fit), None) if last || fit.misfit <= HOLDS => {
                let arc = curve.vertex(column, top, sign);
                let narrowest = [arc - fit.origin, value_at(curve, column, arc)];
                return fit.extreme(curve, column, sign, narrowest);
            }
            (None, _) => break,
            _ => drop = (NEXT_DROP * drop).max(least),
        }
    }
    // Too sharp for its stations: the curve between them is all there is.
    let arc = curve.vertex(column, top, sign);
    let value = value_at(curve, column, arc);
    let spacing = curve.resolution(top);
    let beside = [top.checked_sub(1), Some(top + 1)].into_iter().flatten().filter_map(|i| column.get(i));
    let fall = beside.map(|next| sign * (column[top] - next)).fold(spacing, f64::min);
    Extreme { arc, u_arc: 0.5 * spacing, value, u_noise: u, u_course: 0.25 * fall }
}

/// The curve's own value of a column at an arc length.
fn value_at(curve: &WallCurve<'_>, column: &[f64], arc: f64) -> f64 {
    let at = curve.at(arc);
    if same(column, curve.radii()) { at.radius } else { at.height }
}

fn same(a: &[f64], b: &[f64]) -> bool {
    std::ptr::eq(a.as_ptr(), b.as_ptr())
}

/// A least-squares parabola over the stations `from..=to`, in the arc length about `origin`.
struct Parabola {
    origin: f64,
    from: usize,
    to: usize,
    middle: usize,
    fit: Vector3<f64>,
    covariance: Matrix3<f64>,
    /// Mean square of the residuals in squared standard uncertainties.
    misfit: f64,
}

impl Parabola {
    /// Over the unbroken run of stations around `top` that drop by no more than `drop`; `None` with too few.
    fn around(curve: &WallCurve<'_>, column: &[f64], top: usize, sign: f64, drop: f64) -> Option<Self> {
        let within = |i: &usize| sign * (column[top] - column[*i]) <= drop;
        let to = (top..column.len()).take_while(within).last()?;
        let from = (0..=top).rev().take_while(within).last()?;
        if to - from + 1 < FEWEST {
            return None;
        }
        let origin = curve.arcs()[top];
        let scale = (curve.arcs()[to] - curve.arcs()[from]).max(f64::MIN_POSITIVE);
        let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
        let u_least = 1e-9 * scale;
        let weight = |i: usize| curve.u_radii()[i].max(u_least).powi(-2);
        let basis = |i: usize| {
            let x = (curve.arcs()[i] - origin) / scale;
            Vector3::new(1.0, x, x * x)
        };
        for (i, value) in column.iter().enumerate().take(to + 1).skip(from) {
            normal += weight(i) * basis(i) * basis(i).transpose();
            right += weight(i) * *value * basis(i);
        }
        let inverse = normal.try_inverse()?;
        let fit = inverse * right;
        let squares: f64 = (from..=to).map(|i| weight(i) * (column[i] - basis(i).dot(&fit)).powi(2)).sum();
        let misfit = squares / (to - from - 2) as f64;
        let unscale = Matrix3::from_diagonal(&Vector3::new(1.0, 1.0 / scale, 1.0 / (scale * scale)));
        let covariance = SHARED * misfit.max(1.0) * unscale * inverse * unscale;
        Some(Self { origin, from, to, middle: top, fit: unscale * fit, covariance, misfit })
    }

    /// Whether this parabola holds, and says the same as one over a smaller drop.
    fn agrees_with(&self, half: &Self) -> bool {
        let apart = self.top() - half.top();
        self.misfit <= HOLDS && apart.abs() <= AGREES * half.covariance[(0, 0)].sqrt()
    }

    /// Value of the vertex, or in the middle of a level part.
    fn top(&self) -> f64 {
        let x = self.vertex();
        self.fit[0] + x * (self.fit[1] + x * self.fit[2])
    }

    fn vertex(&self) -> f64 {
        let bend = self.fit[2];
        if bend.abs() > 0.0 { -self.fit[1] / (2.0 * bend) } else { 0.0 }
    }

    /// The extreme that this parabola tells; `narrower` are place and value of one over a smaller drop.
    fn extreme(&self, curve: &WallCurve<'_>, column: &[f64], sign: f64, narrower: [f64; 2]) -> Extreme {
        let arcs = curve.arcs();
        let (low, high) = (arcs[self.from] - self.origin, arcs[self.to] - self.origin);
        let bend = self.fit[2];
        let bends = sign * bend < -LEVEL_U * self.covariance[(2, 2)].sqrt();
        let x = self.vertex();
        let sagitta = SAGITTA * bend.abs() * 2.0 * curve.resolution(self.middle).powi(2);
        if bends && (low..=high).contains(&x) {
            let place = Vector3::new(0.0, -1.0, -2.0 * x) / (2.0 * bend);
            let u_arc = place.dot(&(self.covariance * place)).sqrt().hypot(0.5 * (x - narrower[0]).clamp(low, high));
            let value = Vector3::new(1.0, x, x * x);
            let u_fit = value.dot(&(self.covariance * value)).sqrt();
            let u_course = (self.top() - narrower[1]).hypot(sagitta);
            return Extreme { arc: self.origin + x, u_arc, value: self.top(), u_noise: u_fit, u_course };
        }
        let steep = self.fit[1].abs() * (high - low) > LEVEL_U * curve.u_radii()[self.middle];
        let at_end = self.middle == 0 || self.middle + 1 == curve.len();
        if bends || (steep && (at_end || sign > 0.0)) {
            // Still rising at the end of the curve: the end station it is.
            let at = curve.vertex(column, self.middle, sign);
            let u = curve.u_radii()[self.middle];
            return Extreme {
                arc: at,
                u_arc: 0.5 * curve.resolution(self.middle),
                value: column[self.middle],
                u_noise: u,
                u_course: 0.0,
            };
        }
        let stations = self.from..=self.to;
        let count = (self.to - self.from + 1) as f64;
        let mean = stations.map(|i| column[i]).sum::<f64>() / count;
        let u = curve.u_radii()[self.middle];
        Extreme {
            arc: self.origin + 0.5 * (low + high),
            u_arc: (high - low) / 12.0_f64.sqrt(),
            value: mean,
            u_noise: u * (SHARED / count).sqrt(),
            u_course: 0.5 * (self.top() - mean).clamp(-u, u).abs(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::correction::normal;
    use super::super::wall_curve::tests::columns;
    use super::*;
    use crate::quantity::Seed;

    #[test]
    fn the_top_of_a_noisy_arc_is_not_its_highest_station() {
        let mut rng = Seed::new(3).rng();
        let (mut off, mut covered) = (0.0, 0);
        for _ in 0..200 {
            let [arc, mut height, radius, u] = columns(401, |t| {
                let a = 2.4 * (t - 0.5);
                (40.0 + 10.0 * a.sin(), 10.0 * a.cos())
            });
            height.iter_mut().for_each(|h| *h += 0.001 * normal(&mut rng));
            let curve = WallCurve::new(&arc, &height, &radius, &u).unwrap();
            let highest = (0..401).max_by(|&a, &b| height[a].total_cmp(&height[b])).unwrap();
            let top = extreme(&curve, &height, highest, 1.0);
            off += (top.value - 10.0) / 200.0;
            covered += usize::from((top.value - 10.0).abs() <= 2.0 * top.u_value());
        }
        assert!(off.abs() < 3e-4, "{off}"); // the highest of the stations is off by 2.5e-3 on average
        assert!(covered >= 180, "{covered}");
    }

    #[test]
    fn a_level_top_has_its_place_in_the_middle() {
        let (mut arc, mut height, mut radius) = (Vec::new(), Vec::new(), Vec::new());
        for i in 0..201 {
            let s = 0.1 * f64::from(i);
            arc.push(s);
            height.push((s - 8.0).clamp(-10.0, 0.0) - (s - 12.0).clamp(0.0, 10.0));
            radius.push(40.0 - s);
        }
        let u = vec![0.001; 201];
        let curve = WallCurve::new(&arc, &height, &radius, &u).unwrap();
        let top = extreme(&curve, &height, 85, 1.0);
        assert!((top.arc - 10.0).abs() < 0.2, "{top:?}");
        assert!(top.value.abs() < 1e-3, "{top:?}");
        assert!(top.u_arc > 0.5, "{top:?}");
    }
}
