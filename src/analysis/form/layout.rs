//! What numbers a form is, what noise does to them, and how they are drawn back.

use std::f64::consts::{PI, SQRT_2, TAU};

use ndarray::{Array1, Array2, ArrayView1, s};

use super::choice::FormChoice;
use super::elliptic::{EllipticFourier, equal_step_map};
use super::landmark::MeridianPoint;
use super::sample::{FORM_STATIONS, SECTION_STATIONS};
use super::superimpose::{Superimposed, superimpose};

/// Harmonics are added until what is left out of the sections is, root mean square over corpus and perimeter, at most this
/// share of the centroid size ("project": a wall is some 5 % of the size thick, and must not be smoothed away). Power falls
/// with the fourth power of the number, so that half the share takes 1.6 times the harmonics.
const LEFT_OUT_SHARE: f64 = 0.003;

/// Harmonics at most.
const MOST_HARMONICS: usize = 48;

/// The coordinates of forms of one corpus.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Layout {
    /// Radii, then heights, of the stations of a meridian.
    Meridian,
    /// Mean radius, then a, b, c, d of each harmonic over the root of 2, as the map from the points makes them: squared
    /// distances are mean squares over the perimeter.
    Elliptic { map: Array2<f64> },
    /// Radius of the foot over the arc's length, then the directions of the steps over the root of their number.
    Tangent,
}

impl Layout {
    /// The layout for superimposed forms of one corpus.
    pub(super) fn new(choice: FormChoice, forms: &[Superimposed]) -> Self {
        match choice {
            FormChoice::Outer | FormChoice::Inner => Self::Meridian,
            FormChoice::TangentAngle => Self::Tangent,
            FormChoice::HalfSection | FormChoice::Silhouette => {
                let map = equal_step_map(SECTION_STATIONS, MOST_HARMONICS);
                let rows = 1 + 2 * harmonics_needed(&map, forms);
                Self::Elliptic { map: map.slice(s![..rows, ..]).to_owned() }
            }
        }
    }

    /// How many coordinates a form has.
    pub(super) fn coordinates(&self) -> usize {
        match self {
            Self::Meridian => 2 * FORM_STATIONS,
            Self::Elliptic { map } => 1 + 2 * (map.nrows() - 1),
            Self::Tangent => FORM_STATIONS,
        }
    }

    /// How many independent errors of measurement show in the coordinates.
    pub(super) fn noisy(&self) -> usize {
        match self {
            Self::Meridian => FORM_STATIONS,
            Self::Elliptic { .. } | Self::Tangent => self.coordinates(),
        }
    }

    /// The coordinates of a superimposed form.
    pub(super) fn of(&self, form: &Superimposed) -> Array1<f64> {
        let (radii, heights) = halves(form);
        match self {
            Self::Meridian => Array1::from(form.coordinates.clone()),
            Self::Elliptic { map } => {
                let (x, y) = (map.dot(&radii), map.dot(&heights));
                let harmonic = |k: usize| match k {
                    0 => x[0],
                    k => [&x, &y][(k - 1) % 4 / 2][1 + 2 * ((k - 1) / 4) + (k - 1) % 2],
                };
                (0..self.coordinates()).map(harmonic).collect()
            }
            Self::Tangent => tangent(radii, heights),
        }
    }

    /// What an error of one standard uncertainty at each point moves, along each of the two directions of [`Self::carried`].
    ///
    /// An error is one of the wall along its normal. Of a meridian it is taken as one of the radius, as the walls compared
    /// are mostly steep; a half-section has flats. `points` in mm.
    pub(super) fn sources(&self, points: &[MeridianPoint], size_mm: f64) -> Vec<[f64; 2]> {
        match self {
            Self::Meridian => points.iter().map(|p| [p.u_radius_mm / size_mm, 0.0]).collect(),
            Self::Elliptic { .. } => {
                let count = points.len();
                let one = |i: usize| {
                    let (before, after) = (&points[(i + count - 1) % count], &points[(i + 1) % count]);
                    let (dr, dz) = (after.radius_mm - before.radius_mm, after.height_mm - before.height_mm);
                    let length = dr.hypot(dz).max(f64::MIN_POSITIVE) * size_mm / points[i].u_radius_mm;
                    if length.is_finite() { [dz / length, -dr / length] } else { [0.0; 2] }
                };
                (0..count).map(one).collect()
            }
            Self::Tangent => {
                let length = arc_length(points.iter().map(|p| [p.radius_mm, p.height_mm]));
                let step = length / (FORM_STATIONS - 1) as f64;
                points.iter().map(|p| [p.u_radius_mm / step, p.u_radius_mm / length]).collect()
            }
        }
    }

    /// How far errors at the points move a score, along either of their directions: directions x points.
    pub(super) fn carried(&self, along: ArrayView1<'_, f64>) -> [Array1<f64>; 2] {
        match self {
            Self::Meridian => {
                [along.slice(s![..FORM_STATIONS]).to_owned(), along.slice(s![FORM_STATIONS..]).to_owned()]
            }
            Self::Elliptic { map } => {
                let of = |coordinate: usize| {
                    let weight = |row: usize| match row {
                        0 => {
                            if coordinate == 0 {
                                along[0]
                            } else {
                                0.0
                            }
                        }
                        row => along[1 + 4 * ((row - 1) / 2) + 2 * coordinate + (row - 1) % 2],
                    };
                    (0..map.nrows()).map(weight).collect::<Array1<f64>>().dot(map)
                };
                [of(0), of(1)]
            }
            Self::Tangent => {
                let steps = (FORM_STATIONS - 1) as f64;
                // The direction from station i to the next turns by the difference of their errors over the step.
                let turn = |i: usize| {
                    let before = if i > 0 { along[i] } else { 0.0 };
                    let after = if i + 1 < FORM_STATIONS { along[i + 1] } else { 0.0 };
                    (before - after) / steps.sqrt()
                };
                let mut foot = Array1::zeros(FORM_STATIONS);
                foot[0] = along[0];
                [(0..FORM_STATIONS).map(turn).collect(), foot]
            }
        }
    }

    /// The outline of these coordinates as radius and height, in centroid sizes of a form.
    pub(super) fn drawn(&self, coordinates: ArrayView1<'_, f64>) -> Vec<(f64, f64)> {
        match self {
            Self::Meridian => (0..FORM_STATIONS).map(|i| (coordinates[i], coordinates[FORM_STATIONS + i])).collect(),
            Self::Elliptic { .. } => {
                let abcd = |at: usize| [0, 1, 2, 3].map(|k| SQRT_2 * coordinates[at + k]);
                let harmonics = (1..coordinates.len()).step_by(4).map(abcd).collect();
                let form = EllipticFourier { centre: [coordinates[0], 0.0], harmonics };
                let mut outline = form.outline(SECTION_STATIONS);
                outline.extend(outline.first().copied());
                outline.into_iter().map(|[radius, height]| (radius, height)).collect()
            }
            Self::Tangent => walked(coordinates),
        }
    }
}

fn halves(form: &Superimposed) -> (ArrayView1<'_, f64>, ArrayView1<'_, f64>) {
    ArrayView1::from(form.coordinates.as_slice()).split_at(ndarray::Axis(0), form.coordinates.len() / 2)
}

/// The least number of harmonics that leaves out little enough of the corpus, 1 at least.
fn harmonics_needed(map: &Array2<f64>, forms: &[Superimposed]) -> usize {
    let mut left = vec![0.0; MOST_HARMONICS + 1];
    for form in forms {
        let (radii, heights) = halves(form);
        let (x, y) = (map.dot(&radii), map.dot(&heights));
        let square = |k: usize| x[k] * x[k] + y[k] * y[k];
        let mut rest = mean_square(radii) + mean_square(heights) - square(0);
        for (n, sum) in left.iter_mut().enumerate() {
            if n > 0 {
                rest -= square(2 * n - 1) + square(2 * n);
            }
            *sum += rest.max(0.0) / forms.len() as f64;
        }
    }
    let enough = left.iter().position(|rest| *rest <= LEFT_OUT_SHARE * LEFT_OUT_SHARE);
    enough.unwrap_or(MOST_HARMONICS).max(1)
}

/// Mean square of the closed function that runs straight between these values at equal steps.
fn mean_square(values: ArrayView1<'_, f64>) -> f64 {
    let pairs = values.iter().zip(values.iter().cycle().skip(1));
    pairs.map(|(p, q)| (p * p + p * q + q * q) / 3.0).sum::<f64>() / values.len() as f64
}

fn arc_length(points: impl Iterator<Item = [f64; 2]>) -> f64 {
    let points: Vec<[f64; 2]> = points.collect();
    points.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum()
}

/// The foot's radius over the arc, and the directions of the steps, each continued from the one before.
fn tangent(radii: ArrayView1<'_, f64>, heights: ArrayView1<'_, f64>) -> Array1<f64> {
    let length = arc_length(radii.iter().zip(heights).map(|(r, z)| [*r, *z]));
    let root = ((FORM_STATIONS - 1) as f64).sqrt();
    let mut before = 0.5 * PI;
    let direction = |i: usize| {
        let raw = (heights[i + 1] - heights[i]).atan2(radii[i + 1] - radii[i]);
        before = raw + TAU * ((before - raw) / TAU).round();
        before / root
    };
    let directions: Vec<f64> = (0..FORM_STATIONS - 1).map(direction).collect();
    std::iter::once(radii[0] / length).chain(directions).collect()
}

/// The meridian walked along these directions, superimposed again.
fn walked(coordinates: ArrayView1<'_, f64>) -> Vec<(f64, f64)> {
    let root = ((FORM_STATIONS - 1) as f64).sqrt();
    let step = 1.0 / (FORM_STATIONS - 1) as f64;
    let mut at = MeridianPoint { radius_mm: coordinates[0], ..MeridianPoint::default() };
    let mut points = vec![at];
    for direction in coordinates.iter().skip(1) {
        let (sin, cos) = (direction * root).sin_cos();
        at.radius_mm += step * cos;
        at.height_mm += step * sin;
        points.push(at);
    }
    let Some(form) = superimpose(&points) else { return Vec::new() };
    let (radii, heights) = halves(&form);
    radii.iter().copied().zip(heights.iter().copied()).collect()
}

#[cfg(test)]
mod tests {
    use rand::Rng;
    use rand_distr::StandardNormal;

    use super::*;
    use crate::quantity::Seed;

    /// Stations of a bellied wall, or around an ellipse for a half-section, each with its uncertainty.
    fn jar(choice: FormChoice) -> Vec<MeridianPoint> {
        let closed = choice == FormChoice::HalfSection;
        let count = if closed { SECTION_STATIONS } else { FORM_STATIONS };
        let at = |i: usize| {
            let u_radius_mm = if i.is_multiple_of(3) { 0.02 } else { 0.05 };
            let (radius_mm, height_mm) = if closed {
                let t = TAU * i as f64 / count as f64;
                (30.0 + 25.0 * t.cos(), 50.0 * t.sin())
            } else {
                let t = 2.4 * i as f64 / (count - 1) as f64 - 1.2;
                (20.0 + 25.0 * t.cos(), 25.0 * t.sin())
            };
            MeridianPoint { radius_mm, height_mm, u_radius_mm }
        };
        (0..count).map(at).collect()
    }

    /// Each point moved along its normal by one draw of its error: the radius of a meridian, as the layout takes it.
    fn moved(choice: FormChoice, points: &[MeridianPoint], seed: Seed) -> Vec<MeridianPoint> {
        let mut rng = seed.rng();
        let count = points.len();
        let one = |i: usize| {
            let error = points[i].u_radius_mm * rng.sample::<f64, _>(StandardNormal);
            let closed = choice == FormChoice::HalfSection;
            let (before, after) = match (closed, i) {
                (true, _) => (points[(i + count - 1) % count], points[(i + 1) % count]),
                (false, _) => (points[i.saturating_sub(1)], points[(i + 1).min(count - 1)]),
            };
            let (dr, dz) = (after.radius_mm - before.radius_mm, after.height_mm - before.height_mm);
            let length = dr.hypot(dz);
            let (r, z) = if choice == FormChoice::Outer { (1.0, 0.0) } else { (dz / length, -dr / length) };
            let (radius_mm, height_mm) = (points[i].radius_mm + error * r, points[i].height_mm + error * z);
            MeridianPoint { radius_mm, height_mm, ..points[i] }
        };
        (0..count).map(one).collect()
    }

    /// Repeated measurement scatters a form's place by the uncertainty that is given for it.
    #[test]
    fn uncertainties_are_those_of_repeated_measurement() {
        for choice in [FormChoice::Outer, FormChoice::HalfSection, FormChoice::TangentAngle] {
            let points = jar(choice);
            let form = superimpose(&points).unwrap();
            let layout = Layout::new(choice, std::slice::from_ref(&form));
            let truth = layout.of(&form);
            let mut along: Array1<f64> =
                (0..truth.len()).map(|i| ((i * 37 % 11) as f64 - 4.0) / (1.0 + i as f64)).collect();
            // Size is taken away, so that forms vary, and components lie, across the form itself.
            let own = along.dot(&truth) / truth.dot(&truth);
            along.scaled_add(-own, &truth);
            let [first, second] = layout.carried(along.view());
            let sources = layout.sources(&points, form.centroid_size_mm);
            let square = |(i, u): (usize, &[f64; 2])| (u[0] * first[i] + u[1] * second[i]).powi(2);
            let stated = sources.iter().enumerate().map(square).sum::<f64>().sqrt();
            let draws = 1_500;
            let place = |k: u64| {
                let seen = superimpose(&moved(choice, &points, Seed::new(4).derive(k))).unwrap();
                (layout.of(&seen) - &truth).dot(&along)
            };
            let spread = ((0..draws).map(|k| place(k).powi(2)).sum::<f64>() / draws as f64).sqrt();
            // A standard deviation of 1,500 draws is known to 1.8 %, four of which are 7 %; mean height and arc length move with
            // the errors too, which is left out of the statement: 3 %.
            assert!((spread / stated - 1.0).abs() < 0.1, "{choice:?}: {spread} stated {stated}");
        }
    }

    #[test]
    fn forms_are_drawn_back_from_their_coordinates() {
        for choice in [FormChoice::Outer, FormChoice::HalfSection, FormChoice::TangentAngle] {
            let form = superimpose(&jar(choice)).unwrap();
            let layout = Layout::new(choice, std::slice::from_ref(&form));
            let coordinates = layout.of(&form);
            assert_eq!(coordinates.len(), layout.coordinates());
            let drawn = layout.drawn(coordinates.view());
            let (radii, heights) = halves(&form);
            for (i, (radius, height)) in drawn.iter().take(radii.len()).enumerate() {
                // Exact but for the harmonics left out, 0.3 % of the size, and directions of steps that are not quite equal.
                assert!((radius - radii[i]).abs() < 0.012 && (height - heights[i]).abs() < 0.012, "{choice:?} {i}");
            }
        }
    }

    #[test]
    fn an_ellipse_needs_few_harmonics_and_a_thin_wall_more() {
        let harmonics = |points: &[MeridianPoint]| {
            let form = superimpose(points).unwrap();
            (Layout::new(FormChoice::HalfSection, &[form]).coordinates() - 1) / 4
        };
        let thin: Vec<MeridianPoint> = jar(FormChoice::HalfSection)
            .into_iter()
            .map(|p| MeridianPoint { radius_mm: if p.radius_mm > 30.0 { 40.0 } else { 37.0 }, ..p })
            .collect();
        let (few, more) = (harmonics(&jar(FormChoice::HalfSection)), harmonics(&thin));
        assert!(few <= 6 && more > 2 * few, "{few} {more}");
    }

    #[test]
    fn a_wide_and_a_narrow_cylinder_differ_though_their_directions_do_not() {
        let wall = |radius_mm: f64| {
            let at = |i: usize| MeridianPoint { radius_mm, height_mm: i as f64, u_radius_mm: 0.0 };
            superimpose(&(0..FORM_STATIONS).map(at).collect::<Vec<_>>()).unwrap()
        };
        let (narrow, wide) = (Layout::Tangent.of(&wall(10.0)), Layout::Tangent.of(&wall(31.5)));
        assert!((wide[0] - 0.5).abs() < 1e-12 && (narrow[0] - 10.0 / 63.0).abs() < 1e-12);
        let upright = 0.5 * PI / 63.0_f64.sqrt();
        assert!(narrow.iter().skip(1).chain(wide.iter().skip(1)).all(|angle| (angle - upright).abs() < 1e-12));
    }
}
