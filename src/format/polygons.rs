//! Indexed vertices and fan-triangulated polygons on their way to a scan.

use super::error::{Place, ReadError};
use super::limits::Limits;
use crate::quantity::LengthUnit;
use crate::scan::Scan;

/// What a reader has gathered so far, in the file's unit.
#[derive(Default)]
pub(super) struct Polygons {
    pub(super) vertices: Vec<[f64; 3]>,
    pub(super) triangles: Vec<[u32; 3]>,
}

impl Polygons {
    /// Adds vertex or point number `vertices.len() + 1`, if finite and below the ceiling.
    pub(super) fn add_vertex(&mut self, position: [f64; 3], limits: &Limits, place: Place) -> Result<(), ReadError> {
        let number = self.vertices.len() as u64 + 1;
        if !position.iter().all(|coordinate| coordinate.is_finite()) {
            return Err(ReadError::NotFinite { element: "vertex", number, place });
        }
        check_limit("vertices", number, limits, place)?;
        self.vertices.push(position);
        Ok(())
    }

    /// Cuts face number `face` into triangles that all share its first corner (exact for convex faces).
    pub(super) fn add_face(
        &mut self,
        corners: &[u32],
        face: u64,
        limits: &Limits,
        place: Place,
    ) -> Result<(), ReadError> {
        let [first, rest @ ..] = corners else {
            return Err(ReadError::FewCorners { face, corners: 0, place });
        };
        if rest.len() < 2 {
            return Err(ReadError::FewCorners { face, corners: corners.len() as u64, place });
        }
        check_limit("triangles", (self.triangles.len() + rest.len() - 1) as u64, limits, place)?;
        self.triangles.extend(rest.windows(2).map(|pair| [*first, pair[0], pair[1]]));
        Ok(())
    }

    /// The scan, in millimetres.
    pub(super) fn into_scan(self, unit: LengthUnit) -> Result<Scan, ReadError> {
        let mm = unit.millimetres();
        let vertices =
            self.vertices.into_iter().map(|position| position.map(|coordinate| coordinate * mm).into()).collect();
        Ok(Scan::from_mesh(vertices, self.triangles)?)
    }
}

/// Refuses a number of elements above the ceiling.
pub(super) fn check_limit(what: &str, found: u64, limits: &Limits, place: Place) -> Result<(), ReadError> {
    let limit = limits.indexable();
    if found <= limit { Ok(()) } else { Err(ReadError::AboveLimit { what: what.into(), limit, found, place }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pentagon_becomes_three_triangles_about_its_first_corner() {
        let mut polygons = Polygons::default();
        let (limits, place) = (Limits { elements: 4, ..Limits::default() }, Place::Line(9));
        polygons.add_face(&[7, 1, 2, 3, 4], 1, &limits, place).unwrap();
        assert_eq!(polygons.triangles, [[7, 1, 2], [7, 2, 3], [7, 3, 4]]);
        let told = polygons.add_face(&[0, 1, 2, 3], 2, &limits, place).unwrap_err().to_string();
        assert_eq!(told, "triangles above the limit of 4: 5 (line 9)");
    }
}
