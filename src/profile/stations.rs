//! Points of the meridian at equal arc length, with normals and curvature.

use nalgebra::{Matrix3, Vector3};

use super::bridge::bridged;
use super::kinks::unkinked;
use crate::axis::{Patch, Step};

/// A point of the meridian.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Radius, mm.
    pub radius: f64,
    /// Height, mm.
    pub height: f64,
    /// Unit normal out of the material: radial and axial component.
    pub normal: [f64; 2],
    /// Slope of the meridian against the station's tangent, without unit.
    pub slope: f64,
    /// Second derivative of the normal offset along the tangent, 1/mm: minus the curvature of a bulging wall.
    pub bend: f64,
}

/// Stations in the order in which the meridian runs: up the outer wall, over the rim, down the inner wall.
#[derive(Clone, Debug, PartialEq)]
pub struct Stations {
    /// Distance between neighbours along the meridian, mm.
    pub spacing: f64,
    /// The stations.
    pub stations: Vec<Station>,
}

/// Slope of the meridian against a station's tangent at most, and of its change over one spacing.
const STEEPEST: f64 = 0.5;

impl Station {
    /// Distance of a point from the meridian along the normal, mm, and its place along the tangent.
    ///
    /// The parabola holds as far as the next station; further off the meridian runs on straight.
    #[must_use]
    pub fn offset(&self, radius: f64, height: f64, spacing: f64) -> (f64, f64) {
        let (dr, dz) = (radius - self.radius, height - self.height);
        let [n_r, n_z] = self.normal;
        let t = dz * n_r - dr * n_z;
        (dr * n_r + dz * n_z - self.curve(t, spacing), t)
    }

    /// The meridian's own offset from the tangent at a place along it, mm.
    #[must_use]
    pub fn curve(&self, t: f64, spacing: f64) -> f64 {
        let near = t.clamp(-spacing, spacing);
        let slope = self.slope + 0.5 * near * self.bend;
        near * slope + (t - near) * (self.slope + near * self.bend)
    }

    /// Slope of the meridian against the tangent at a place along it.
    #[must_use]
    pub fn slope_at(&self, t: f64, spacing: f64) -> f64 {
        self.slope + t.clamp(-spacing, spacing) * self.bend
    }
}

impl Stations {
    /// About `count` stations at equal distance along a polyline (radius, height); `None` if it has no length.
    #[must_use]
    pub fn along(path: &[[f64; 2]], count: usize) -> Option<Self> {
        let arcs = arcs(path);
        let length = *arcs.last()?;
        if length.is_nan() || length <= 0.0 || count < 2 {
            return None;
        }
        let spacing = length / (count - 1) as f64;
        let mut segment = 0;
        let points: Vec<[f64; 2]> = (0..count)
            .map(|index| {
                let arc = spacing * index as f64;
                while segment + 2 < arcs.len() && arcs[segment + 1] < arc {
                    segment += 1;
                }
                let span = arcs[segment + 1] - arcs[segment];
                let share = if span > 0.0 { ((arc - arcs[segment]) / span).clamp(0.0, 1.0) } else { 0.0 };
                [0, 1].map(|i| path[segment][i] + share * (path[segment + 1][i] - path[segment][i]))
            })
            .collect();
        Some(Self::with_spacing(&points, spacing))
    }

    /// Stations at given points, normals from the neighbours.
    fn with_spacing(points: &[[f64; 2]], spacing: f64) -> Self {
        let last = points.len() - 1;
        let stations = (0..points.len())
            .map(|i| {
                let (before, after) = (points[i.saturating_sub(1)], points[(i + 1).min(last)]);
                let way = [after[0] - before[0], after[1] - before[1]];
                let length = way[0].hypot(way[1]).max(f64::MIN_POSITIVE);
                // Out of the material lies to the right of the way.
                let normal = [way[1] / length, -way[0] / length];
                Station { radius: points[i][0], height: points[i][1], normal, slope: 0.0, bend: 0.0 }
            })
            .collect();
        Self { spacing, stations }
    }

    /// The stations moved onto the parabolas that a step of the axis found, at equal distances again.
    #[must_use]
    pub fn moved(&self, step: &Step) -> Option<Self> {
        let limit = 2.0 * self.spacing;
        let path: Vec<[f64; 2]> = self
            .stations
            .iter()
            .zip(&step.parabolas)
            .map(|(s, p)| {
                // A station with too few points to be fitted stays where its neighbours put it.
                let offset = p[0].clamp(-limit, limit);
                [(s.radius + offset * s.normal[0]).max(0.0), s.height + offset * s.normal[1]]
            })
            .collect();
        Self::along(&unkinked(&path), path.len())
    }

    /// The stations moved along their normals by the offsets that a last step found, each where it is along the meridian.
    #[must_use]
    pub fn fitted(&self, step: &Step) -> Self {
        let limit = 2.0 * self.spacing;
        let mut fitted = self.clone();
        for (index, parabola) in step.parabolas.iter().enumerate() {
            fitted.shift(index, parabola[0].clamp(-limit, limit));
        }
        fitted.bent();
        fitted
    }

    /// Takes slope and bend of every station from where its neighbours are.
    ///
    /// A station's own points may lie in one row along the meridian and know neither; five stations do.
    pub fn bent(&mut self) {
        let shapes: Vec<(f64, f64)> = (0..self.stations.len()).map(|index| self.shape(index)).collect();
        let limit = STEEPEST / self.spacing;
        for (station, (slope, bend)) in self.stations.iter_mut().zip(shapes) {
            station.slope = slope.clamp(-STEEPEST, STEEPEST);
            station.bend = bend.clamp(-limit, limit);
        }
    }

    /// Slope and bend of the least-squares parabola through a station and its neighbours, two to each side where they
    /// lie on one parabola, one where they do not: at an edge.
    fn shape(&self, index: usize) -> (f64, f64) {
        /// Five stations lie on one parabola if it passes the middle one within this share of the spacing (project).
        const EDGE: f64 = 0.02;
        let wide = self.parabola(index, 2);
        let shape = wide.filter(|p| p[0].abs() <= EDGE * self.spacing).or_else(|| self.parabola(index, 1)).or(wide);
        shape.map_or((0.0, 0.0), |p| (p[1], 2.0 * p[2]))
    }

    /// The stations drawn onto the parabola through their neighbours where their uncertainty along the normal, `u`, allows
    /// it, and the uncertainty they then have; a station that nothing is known of (infinite `u`) follows its neighbours.
    #[must_use]
    pub fn smoothed(&self, u: &[f64]) -> (Self, Vec<f64>) {
        /// Stations to each side, and how many of its uncertainties a station may be moved by: at an edge the parabola
        /// misses by more, and the station stays.
        const REACH: usize = 3;
        const FAR_REACH: usize = 6;
        const MOST: f64 = 2.5;
        /// A station less certain than this share of the spacing looks further, because its neighbours know as little.
        const UNCERTAIN: f64 = 0.03;
        let weights: Vec<f64> = u.iter().map(|u| (1.0 / (u * u).max(f64::MIN_POSITIVE)).min(1e18)).collect();
        let mut smoothed = self.clone();
        let mut left = u.to_vec();
        for (index, own) in u.iter().enumerate() {
            let reach = if *own > UNCERTAIN * self.spacing { FAR_REACH } else { REACH };
            let Some((fit, cofactor)) = self.weighted_parabola(index, reach, &weights) else { continue };
            // A station that nothing is known of may be drawn across half a spacing, no further: its neighbours may be few.
            if fit[0].abs() <= (MOST * own).min(0.5 * self.spacing) {
                smoothed.shift(index, fit[0]);
                left[index] = cofactor.sqrt().min(*own);
            }
        }
        (smoothed, left)
    }

    /// The stations drawn straight where they lie left and right by turns, further than they are apart.
    #[must_use]
    pub fn unkinked(&self) -> Self {
        self.at_places(&unkinked(&self.places()))
    }

    fn places(&self) -> Vec<[f64; 2]> {
        self.stations.iter().map(|station| [station.radius, station.height]).collect()
    }

    fn at_places(&self, places: &[[f64; 2]]) -> Self {
        let moved = self.stations.iter().zip(places);
        let stations = moved.map(|(station, &[radius, height])| Station { radius, height, ..*station }).collect();
        Self { spacing: self.spacing, stations }
    }

    /// The stations with short runs of those not `known` put onto a smooth bridge between their neighbours, and how far
    /// that runs from the chord, mm: the half-width of what may lie between them.
    #[must_use]
    pub fn bridged(&self, known: &[bool]) -> (Self, Vec<f64>) {
        let (places, sagitta) = bridged(&self.places(), known);
        (self.at_places(&places), sagitta)
    }

    /// Offset, slope and half the bend of the parabola through the stations within `reach`.
    fn parabola(&self, index: usize, reach: usize) -> Option<Vector3<f64>> {
        self.weighted_parabola(index, reach, &[]).map(|(fit, _)| fit)
    }

    /// The same with weights (none: all alike), and the cofactor of the offset.
    fn weighted_parabola(&self, index: usize, reach: usize, weights: &[f64]) -> Option<(Vector3<f64>, f64)> {
        let place = &self.stations[index];
        let near = index.saturating_sub(reach)..(index + reach + 1).min(self.stations.len());
        let (mut square, mut right) = (Matrix3::zeros(), Vector3::zeros());
        for (other, number) in self.stations[near.clone()].iter().zip(near) {
            let weight = weights.get(number).copied().unwrap_or(1.0);
            let (dr, dz) = (other.radius - place.radius, other.height - place.height);
            let [n_r, n_z] = place.normal;
            let t = (dz * n_r - dr * n_z) / self.spacing;
            let basis = Vector3::new(1.0, t, t * t);
            square += basis * basis.transpose() * weight;
            right += basis * (weight * (dr * n_r + dz * n_z));
        }
        let inverse = square.cholesky()?.inverse();
        let fit = inverse * right;
        let shape = Vector3::new(fit[0], fit[1] / self.spacing, fit[2] / self.spacing.powi(2));
        shape.iter().all(|v| v.is_finite()).then_some((shape, inverse[(0, 0)]))
    }

    /// The stations with heights counted from `foot`, mm.
    #[must_use]
    pub fn lowered(&self, foot: f64) -> Self {
        let lower = |station: &Station| Station { height: station.height - foot, ..*station };
        Self { spacing: self.spacing, stations: self.stations.iter().map(lower).collect() }
    }

    /// Station `index` moved along its normal by `offset` mm.
    pub fn shift(&mut self, index: usize, offset: f64) {
        if let Some(station) = self.stations.get_mut(index) {
            station.radius = (station.radius + offset * station.normal[0]).max(0.0);
            station.height += offset * station.normal[1];
        }
    }

    /// The stations as patches of the meridian; `datum` says which have a say on the axis.
    #[must_use]
    pub fn patches(&self, datum: impl Fn(usize, &Station) -> bool) -> Vec<Patch> {
        let patch = |(index, s): (usize, &Station)| Patch {
            radius: s.radius,
            height: s.height,
            normal: s.normal,
            datum: datum(index, s),
        };
        self.stations.iter().enumerate().map(patch).collect()
    }
}

/// Arc length at each point of a polyline, from 0.
fn arcs(path: &[[f64; 2]]) -> Vec<f64> {
    let mut arc = 0.0;
    let mut arcs = Vec::with_capacity(path.len());
    for (index, point) in path.iter().enumerate() {
        if index > 0 {
            let before = path[index - 1];
            arc += (point[0] - before[0]).hypot(point[1] - before[1]);
        }
        arcs.push(arc);
    }
    arcs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stations_of_an_upright_wall_face_outwards() {
        let stations = Stations::along(&[[5.0, 0.0], [5.0, 4.0], [5.0, 10.0]], 11).unwrap();
        assert!((stations.spacing - 1.0).abs() < 1e-15);
        for (index, station) in stations.stations.iter().enumerate() {
            assert!((station.height - index as f64).abs() < 1e-12);
            assert!((station.normal[0] - 1.0).abs() < 1e-15 && station.normal[1].abs() < 1e-15);
        }
    }

    #[test]
    fn a_point_has_no_stations() {
        assert_eq!(Stations::along(&[[5.0, 0.0]], 11), None);
    }
}
