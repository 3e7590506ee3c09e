//! Normals of a bare point cloud, from each point's neighbours.

use nalgebra::{Matrix3, Point3, SymmetricEigen, Vector3};
use rayon::prelude::*;

use super::Oriented;

/// Neighbours a plane is fitted to.
const NEIGHBOURS: usize = 24;

/// Points at which a normal is wanted, at most.
const WANTED: usize = 3000;

/// Points per box of the grid that the neighbours are looked up in, on average.
const PER_BOX: f64 = 6.0;

/// Unit normals, sign unknown, at up to 3,000 points spread over the cloud.
///
/// Each is the normal of the least-squares plane through the point's 24 nearest neighbours.
///
/// # Units and shapes
/// mm in; fewer than 24 points give none.
#[must_use]
pub fn local_normals(points: &[Point3<f64>]) -> Vec<Oriented> {
    if points.len() < NEIGHBOURS {
        return Vec::new();
    }
    let boxes = Boxes::new(points);
    let stride = points.len().div_ceil(WANTED);
    (0..points.len())
        .into_par_iter()
        .step_by(stride)
        .filter_map(|index| {
            let neighbours = boxes.nearest(points, index);
            let normal = plane_normal(points, &neighbours)?;
            Some(Oriented { position: points[index], normal })
        })
        .collect()
}

fn plane_normal(points: &[Point3<f64>], members: &[u32]) -> Option<Vector3<f64>> {
    let count = members.len() as f64;
    let at = |index: &u32| points[*index as usize].coords;
    let centre = members.iter().map(at).sum::<Vector3<f64>>() / count;
    let scatter: Matrix3<f64> = members.iter().map(|index| at(index) - centre).map(|d| d * d.transpose()).sum();
    let eigen = SymmetricEigen::new(scatter);
    eigen.eigenvectors.column(eigen.eigenvalues.imin()).try_normalize(0.0)
}

/// Points sorted into the boxes of a regular grid.
struct Boxes {
    low: Point3<f64>,
    size: f64,
    counts: [usize; 3],
    starts: Vec<u32>,
    order: Vec<u32>,
}

impl Boxes {
    fn new(points: &[Point3<f64>]) -> Self {
        let mut low = points[0];
        let mut high = points[0];
        for point in points {
            low = low.inf(point);
            high = high.sup(point);
        }
        let extent = high - low;
        // A surface fills about n^(2/3) of n boxes: the side that gives a surface PER_BOX points a box.
        let area = extent.x * extent.y + extent.y * extent.z + extent.z * extent.x;
        let size =
            (2.0 * area * PER_BOX / points.len() as f64).sqrt().max(extent.amax() / 250.0).max(f64::MIN_POSITIVE);
        let counts = [extent.x, extent.y, extent.z].map(|e| (e / size) as usize + 1);
        let mut boxes = Self { low, size, counts, starts: Vec::new(), order: vec![0; points.len()] };
        let mut starts = vec![0_u32; counts.iter().product::<usize>() + 1];
        for point in points {
            starts[boxes.index(boxes.place(point)) + 1] += 1;
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut next = starts.clone();
        for (index, point) in points.iter().enumerate() {
            let slot = &mut next[boxes.index(boxes.place(point))];
            boxes.order[*slot as usize] = index as u32;
            *slot += 1;
        }
        boxes.starts = starts;
        boxes
    }

    fn place(&self, point: &Point3<f64>) -> [usize; 3] {
        let offset = (point - self.low) / self.size;
        [0, 1, 2].map(|axis| (offset[axis] as usize).min(self.counts[axis] - 1))
    }

    fn index(&self, [x, y, z]: [usize; 3]) -> usize {
        (z * self.counts[1] + y) * self.counts[0] + x
    }

    /// The nearest points of the boxes around a point, widened until there are enough.
    fn nearest(&self, points: &[Point3<f64>], index: usize) -> Vec<u32> {
        let centre = points[index];
        let place = self.place(&centre);
        let mut found = Vec::new();
        for reach in 1..=8 {
            found.clear();
            let range =
                |axis: usize| place[axis].saturating_sub(reach)..(place[axis] + reach + 1).min(self.counts[axis]);
            for z in range(2) {
                for y in range(1) {
                    for x in range(0) {
                        let slot = self.index([x, y, z]);
                        let members = self.starts[slot] as usize..self.starts[slot + 1] as usize;
                        found.extend_from_slice(&self.order[members]);
                    }
                }
            }
            if found.len() >= NEIGHBOURS {
                break;
            }
        }
        let distance = |i: u32| (points[i as usize] - centre).norm_squared();
        if found.len() > NEIGHBOURS {
            found.select_nth_unstable_by(NEIGHBOURS - 1, |a, b| distance(*a).total_cmp(&distance(*b)));
            found.truncate(NEIGHBOURS);
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normals_of_a_sphere_point_to_its_centre() {
        let points: Vec<Point3<f64>> = (0..5000)
            .map(|i| {
                // Fibonacci's lattice on a sphere of radius 30.
                let z = 1.0 - (2.0 * f64::from(i) + 1.0) / 5000.0;
                let angle = 2.399_963_229_728_653 * f64::from(i);
                let ring = (1.0 - z * z).sqrt();
                Point3::new(30.0 * ring * angle.cos(), 30.0 * ring * angle.sin(), 30.0 * z)
            })
            .collect();
        let normals = local_normals(&points);
        assert!(normals.len() >= 2500);
        assert!(normals.iter().all(|n| n.normal.cross(&n.position.coords.normalize()).norm() < 0.05));
    }
}
