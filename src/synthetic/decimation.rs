//! The decimation that scanners' software applies to a mesh.

use std::cmp::Ordering;
use std::collections::{BTreeSet, BinaryHeap};

use nalgebra::{Matrix3, Point3, Vector3};

/// How much a collapsed edge's vertex is drawn to the edge's middle, as a share of the planes' own pull: on a flat or
/// cylindrical patch the planes alone do not say where along it the vertex lies.
const TO_MIDDLE: f64 = 1e-3;

/// A collapse that turns a triangle by more than this cosine would fold the mesh.
const LEAST_COSINE: f64 = 0.2;

/// Summed squared distances from the planes of the triangles around a vertex, each plane weighted by its area.
#[derive(Clone, Copy)]
struct Quadric {
    square: Matrix3<f64>,
    linear: Vector3<f64>,
    constant: f64,
}

impl Quadric {
    fn zero() -> Self {
        Self { square: Matrix3::zeros(), linear: Vector3::zeros(), constant: 0.0 }
    }

    fn plane(normal: &Vector3<f64>, point: &Point3<f64>, weight: f64) -> Self {
        let offset = -normal.dot(&point.coords);
        Self {
            square: normal * normal.transpose() * weight,
            linear: normal * (offset * weight),
            constant: offset * offset * weight,
        }
    }

    fn plus(&self, other: &Self) -> Self {
        Self {
            square: self.square + other.square,
            linear: self.linear + other.linear,
            constant: self.constant + other.constant,
        }
    }

    /// The least costly place for a vertex between two, and its cost.
    fn best(&self, middle: &Point3<f64>) -> (Point3<f64>, f64) {
        let pull = TO_MIDDLE * self.square.trace().max(f64::MIN_POSITIVE);
        let matrix = self.square + Matrix3::identity() * pull;
        let right = middle.coords * pull - self.linear;
        let place = matrix.cholesky().map_or(middle.coords, |factor| factor.solve(&right));
        let cost = place.dot(&(self.square * place)) + 2.0 * self.linear.dot(&place) + self.constant;
        (Point3::from(place), cost)
    }
}

/// An edge waiting to be collapsed; stale if either vertex has changed since.
struct Candidate {
    cost: f64,
    edge: [u32; 2],
    versions: [u32; 2],
    place: Point3<f64>,
}

impl PartialEq for Candidate {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Candidate {}
impl PartialOrd for Candidate {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Candidate {
    fn cmp(&self, other: &Self) -> Ordering {
        // The heap gives its greatest first: the cheapest.
        other.cost.total_cmp(&self.cost).then_with(|| other.edge.cmp(&self.edge))
    }
}

struct Decimation {
    vertices: Vec<Point3<f64>>,
    triangles: Vec<[u32; 3]>,
    alive: Vec<bool>,
    around: Vec<Vec<u32>>,
    quadrics: Vec<Quadric>,
    versions: Vec<u32>,
    heap: BinaryHeap<Candidate>,
}

/// Collapses the cheapest edges until `wanted` triangles are left, or none can be collapsed without folding the mesh; the
/// edges of open borders stay.
///
/// # References
/// Garland & Heckbert 1997, Surface simplification using quadric error metrics, doi:10.1145/258734.258849.
pub(super) fn decimate(
    vertices: Vec<Point3<f64>>,
    triangles: Vec<[u32; 3]>,
    wanted: usize,
) -> (Vec<Point3<f64>>, Vec<[u32; 3]>) {
    let mut left = triangles.len();
    let mut mesh = Decimation::new(vertices, triangles);
    while left > wanted {
        let Some(candidate) = mesh.heap.pop() else { break };
        let [a, b] = candidate.edge.map(|v| v as usize);
        if candidate.versions == [mesh.versions[a], mesh.versions[b]] {
            left -= mesh.collapse(&candidate);
        }
    }
    mesh.compacted()
}

impl Decimation {
    fn new(vertices: Vec<Point3<f64>>, triangles: Vec<[u32; 3]>) -> Self {
        let count = vertices.len();
        let mut mesh = Self {
            alive: vec![true; triangles.len()],
            around: vec![Vec::new(); count],
            quadrics: vec![Quadric::zero(); count],
            versions: vec![0; count],
            heap: BinaryHeap::new(),
            vertices,
            triangles,
        };
        for (index, corners) in mesh.triangles.iter().enumerate() {
            let [a, b, c] = corners.map(|corner| mesh.vertices[corner as usize]);
            let across = (b - a).cross(&(c - a));
            let normal = across.try_normalize(0.0).unwrap_or_else(Vector3::zeros);
            let quadric = Quadric::plane(&normal, &a, 0.5 * across.norm());
            for corner in corners {
                mesh.around[*corner as usize].push(index as u32);
                mesh.quadrics[*corner as usize] = mesh.quadrics[*corner as usize].plus(&quadric);
            }
        }
        for a in 0..count as u32 {
            for b in mesh.neighbours(a).into_iter().filter(|b| a < *b) {
                mesh.offer(a, b);
            }
        }
        mesh
    }

    fn neighbours(&self, vertex: u32) -> BTreeSet<u32> {
        let corners = self.around[vertex as usize].iter().flat_map(|&triangle| self.triangles[triangle as usize]);
        corners.filter(|other| *other != vertex).collect()
    }

    fn offer(&mut self, a: u32, b: u32) {
        let [i, j] = [a as usize, b as usize];
        let middle = nalgebra::center(&self.vertices[i], &self.vertices[j]);
        let (place, cost) = self.quadrics[i].plus(&self.quadrics[j]).best(&middle);
        self.heap.push(Candidate { cost, edge: [a, b], versions: [self.versions[i], self.versions[j]], place });
    }

    /// Collapses an edge if the mesh stays sound; how many triangles went.
    fn collapse(&mut self, candidate: &Candidate) -> usize {
        let [a, b] = candidate.edge;
        let (near_a, near_b) = (self.neighbours(a), self.neighbours(b));
        let closed = |vertex: u32, near: &BTreeSet<u32>| near.len() == self.around[vertex as usize].len();
        if near_a.intersection(&near_b).count() != 2 || !closed(a, &near_a) || !closed(b, &near_b) {
            return 0;
        }
        if self.folds(a, b, &candidate.place) || self.folds(b, a, &candidate.place) {
            return 0;
        }
        self.vertices[a as usize] = candidate.place;
        self.quadrics[a as usize] = self.quadrics[a as usize].plus(&self.quadrics[b as usize]);
        let mut gone = 0;
        for triangle in std::mem::take(&mut self.around[b as usize]) {
            let corners = &mut self.triangles[triangle as usize];
            if corners.contains(&a) {
                self.alive[triangle as usize] = false;
                gone += 1;
                for corner in corners.iter().filter(|corner| **corner != b) {
                    self.around[*corner as usize].retain(|other| *other != triangle);
                }
            } else {
                corners.iter_mut().filter(|corner| **corner == b).for_each(|corner| *corner = a);
                self.around[a as usize].push(triangle);
            }
        }
        self.versions[a as usize] += 1;
        self.versions[b as usize] += 1;
        for near in self.neighbours(a) {
            self.offer(a.min(near), a.max(near));
        }
        gone
    }

    /// Whether a triangle of `vertex`, but not of `other`, would turn over if the vertex moved to `place`.
    fn folds(&self, vertex: u32, other: u32, place: &Point3<f64>) -> bool {
        self.around[vertex as usize].iter().any(|&triangle| {
            let corners = self.triangles[triangle as usize];
            if corners.contains(&other) {
                return false;
            }
            let across = |at: [Point3<f64>; 3]| (at[1] - at[0]).cross(&(at[2] - at[0]));
            let before = corners.map(|corner| self.vertices[corner as usize]);
            let after = corners.map(|corner| if corner == vertex { *place } else { self.vertices[corner as usize] });
            let (before, after) = (across(before), across(after));
            before.dot(&after) < LEAST_COSINE * before.norm() * after.norm()
        })
    }

    fn compacted(self) -> (Vec<Point3<f64>>, Vec<[u32; 3]>) {
        let alive = self.alive;
        let mut triangles: Vec<[u32; 3]> =
            self.triangles.into_iter().zip(alive).filter_map(|(corners, alive)| alive.then_some(corners)).collect();
        let mut renumbered = vec![u32::MAX; self.vertices.len()];
        let mut kept = Vec::new();
        for corner in triangles.iter_mut().flatten() {
            let old = *corner as usize;
            if renumbered[old] == u32::MAX {
                renumbered[old] = kept.len() as u32;
                kept.push(self.vertices[old]);
            }
            *corner = renumbered[old];
        }
        (kept, triangles)
    }
}
