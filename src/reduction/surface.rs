//! The part of a scan that is a surface: size checked, loose vertices left out, normals added.

use nalgebra::{Point3, Vector3};

use super::{Rejection, Step};
use crate::scan::{Scan, vertex_normals};

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

impl Surface {
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
        let loose = Vector3::zeros();
        if !normals.contains(&loose) {
            return Ok(Self { points: scan.vertices().to_vec(), normals });
        }
        // A vertex of no triangle is no part of the surface.
        let (points, normals) =
            scan.vertices().iter().zip(normals).filter(|(_, normal)| *normal != loose).map(|(p, n)| (*p, n)).unzip();
        Ok(Self { points, normals })
    }
}

/// The diagonal of the points' box, mm.
fn extent(points: &[Point3<f64>]) -> f64 {
    let mut box_of = points.iter();
    let Some(first) = box_of.next() else { return 0.0 };
    let (low, high) = box_of.fold((*first, *first), |(low, high), p| (low.inf(p), high.sup(p)));
    (high - low).norm()
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
