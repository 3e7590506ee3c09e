//! The part of a scan that is a surface: size checked, loose vertices left out, normals added.

use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

use super::{Rejection, Step};
use crate::scan::{Scan, extent, vertex_normals};

/// Points with normals, mm.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Surface {
    pub(super) points: Vec<Point3<f64>>,
    /// Empty for a bare cloud, else one per point.
    pub(super) normals: Vec<Vector3<f32>>,
}

/// Extents that no vessel has, mm (project): smaller or larger is a wrong unit.
const LEAST_EXTENT: f64 = 5.0;
const MOST_EXTENT: f64 = 3000.0;

/// The extent that most vessels have, mm; used to name the unit that would make sense.
const USUAL_EXTENT: f64 = 150.0;

/// Points on a coarse mesh's triangles are added until there are about this many: enough to see its meridian.
const DENSE: usize = 60_000;

impl Surface {
    /// The points with further ones spread over the triangles of a coarse mesh, for finding the meridian; measures are
    /// taken from the vertices alone, because a triangle's inside lies off the surface by its sagitta.
    pub(super) fn dense(&self, triangles: &[[u32; 3]]) -> Self {
        if triangles.is_empty() || self.points.len() >= DENSE {
            return self.clone();
        }
        let corners = |t: &[u32; 3]| t.map(|index| self.points.get(index as usize).copied());
        let area = |t: &[u32; 3]| match corners(t) {
            [Some(a), Some(b), Some(c)] => (b - a).cross(&(c - a)).norm() / 2.0,
            _ => 0.0,
        };
        let total: f64 = triangles.iter().map(area).sum();
        let mut dense = self.clone();
        for triangle in triangles {
            let [Some(a), Some(b), Some(c)] = corners(triangle) else { continue };
            let normals = triangle.map(|index| self.normals[index as usize]);
            let count = (DENSE as f64 * area(triangle) / total) as u32;
            for index in 1..=count {
                // An additive recurrence fills the triangle evenly (Roberts' R2 sequence, from memory), folded at its diagonal.
                let place = f64::from(index);
                let (mut u, mut v) = ((place * 0.754_877_666_246_693).fract(), (place * 0.569_840_290_998_053).fract());
                if u + v > 1.0 {
                    (u, v) = (1.0 - u, 1.0 - v);
                }
                dense.points.push(a + (b - a) * u + (c - a) * v);
                let normal = normals[0] * (1.0 - u - v) as f32 + normals[1] * u as f32 + normals[2] * v as f32;
                dense.normals.push(normal.try_normalize(0.0).unwrap_or(normals[0]));
            }
        }
        dense
    }

    /// # Errors
    /// [`Rejection`] if the scan's extent is absurd for a vessel, with the unit that would make sense.
    pub(super) fn of(scan: &Scan) -> Result<Self, Rejection> {
        let extent = extent(scan.vertices());
        if !(LEAST_EXTENT..=MOST_EXTENT).contains(&extent) {
            return Err(Rejection { step: Step::Scan, reason: absurd(extent) });
        }
        let Some(normals) = vertex_normals(scan) else {
            return Ok(Self { points: scan.vertices().to_vec(), normals: Vec::new() });
        };
        Ok(Self { points: scan.vertices().to_vec(), normals })
    }

    /// The same with its normals the other way round.
    pub(super) fn turned(mut self) -> Self {
        self.normals.par_iter_mut().for_each(|normal| *normal = -*normal);
        self
    }

    /// Every so many-th point, so that at most `most` are left.
    pub(super) fn sample(&self, most: usize) -> Self {
        let stride = self.points.len().div_ceil(most).max(1);
        Self {
            points: self.points.iter().step_by(stride).copied().collect(),
            normals: self.normals.iter().step_by(stride).copied().collect(),
        }
    }

    /// The same without the vertices of no triangle, which are no part of the surface.
    pub(super) fn without_loose(mut self) -> Self {
        let loose = Vector3::zeros();
        if self.normals.contains(&loose) {
            (self.points, self.normals) =
                self.points.into_iter().zip(self.normals).filter(|(_, normal)| *normal != loose).unzip();
        }
        self
    }
}

fn absurd(extent: f64) -> String {
    let units = [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4)];
    let off = |factor: f64| (extent * factor / USUAL_EXTENT).ln().abs();
    let factors = units.iter().flat_map(|(to, size)| units.iter().map(move |(from, unit)| (*from, *to, size / unit)));
    let likely = factors.min_by(|a, b| off(a.2).total_cmp(&off(b.2)));
    let hint = likely.map_or_else(String::new, |(from, to, _)| format!("; {to} in place of {from} would make sense"));
    format!("the scan is {extent:.3} mm across, {LEAST_EXTENT} mm to {MOST_EXTENT} mm expected of a vessel{hint}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bowl_given_in_metres_as_millimetres_is_told_apart() {
        let scan = Scan::from_points(vec![Point3::origin(), Point3::new(0.1, 0.1, 0.05)]).unwrap();
        let reason = Surface::of(&scan).unwrap_err().reason;
        assert!(reason.contains("m in place of mm"), "{reason}");
    }
}
