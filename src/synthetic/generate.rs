//! From plan to scan.

use nalgebra::Point3;
use rand::Rng;
use rand::seq::SliceRandom;
use rayon::prelude::*;

use super::clutter::Handle;
use super::lattice::{Lattice, Row};
use super::noise::NoiseField;
use super::smoothing::smooth;
use super::{ScanPlan, VesselPlan};
use crate::quantity::Seed;
use crate::scan::{Scan, ScanError};

/// Which stream of random numbers serves what.
#[derive(Clone, Copy)]
enum Stream {
    Rows = 1,
    Noise = 2,
    Handles = 3,
    Order = 4,
}

impl Stream {
    fn of(self, seed: Seed) -> Seed {
        seed.derive(self as u64)
    }
}

/// Vertices in the scanner's frame, whether each was seen, and the triangles between them.
struct Mesh {
    vertices: Vec<Point3<f64>>,
    seen: Vec<bool>,
    triangles: Vec<[u32; 3]>,
}

impl VesselPlan {
    /// Scans the vessel: vertices on the planned surface but for noise, the same for any number of threads.
    ///
    /// # Errors
    /// [`ScanError::Empty`] if the coverage leaves nothing.
    pub fn scan(&self, plan: &ScanPlan, seed: Seed) -> Result<Scan, ScanError> {
        let lattice = Lattice::new(self.meridian(), plan.triangles);
        let handles: Vec<Handle> = plan.handles.iter().filter_map(|&handle| Handle::on(self, handle)).collect();
        let noise = NoiseField::new(plan.noise, Stream::Noise.of(seed));
        let rows: Vec<Vec<(Point3<f64>, bool)>> = lattice
            .rows
            .par_iter()
            .enumerate()
            .map(|(index, row)| {
                let mut rng = Stream::Rows.of(seed).derive(index as u64).rng();
                (0..row.count).map(|i| self.vertex(plan, &handles, &noise, &lattice, row, i, &mut rng)).collect()
            })
            .collect();
        let (vertices, seen) = rows.into_iter().flatten().unzip();
        let mut mesh = Mesh { vertices, seen, triangles: lattice.triangles() };
        for (index, handle) in handles.iter().enumerate() {
            let mut rng = Stream::Handles.of(seed).derive(index as u64).rng();
            self.attach(&mut mesh, plan, handle, &noise, lattice.row_spacing, &mut rng);
        }
        smooth(&mut mesh.vertices, &mesh.triangles, plan.smoothing);
        mesh.into_scan(plan, &mut Stream::Order.of(seed).rng())
    }

    #[expect(clippy::too_many_arguments, reason = "the whole plan meets in one vertex")]
    fn vertex(
        &self,
        plan: &ScanPlan,
        handles: &[Handle],
        noise: &NoiseField,
        lattice: &Lattice,
        row: &Row,
        index: u32,
        rng: &mut impl Rng,
    ) -> (Point3<f64>, bool) {
        let mut theta = row.azimuth(index);
        let mut arc = row.arc;
        let jitter = plan.sampling.jitter;
        if row.count > 1 && jitter > 0.0 {
            arc += lattice.row_spacing * jitter * rng.gen_range(-1.0..1.0);
            theta += (row.azimuth(1) - row.azimuth(0)) * jitter * rng.gen_range(-1.0..1.0);
        }
        theta += plan.sampling.uneven * theta.sin();
        let surface = self.surface(arc, theta);
        let mut position = surface.position;
        for patch in &plan.patches {
            position += patch.shift(self, arc, theta, &surface.normal);
        }
        let seen = plan.coverage.sees(self.meridian(), arc, theta)
            && (arc > self.meridian().rim_arc() || !handles.iter().any(|handle| handle.covers(&position)));
        position += surface.normal * noise.at(&position, rng);
        (plan.pose.place(&position), seen)
    }

    fn attach(
        &self,
        mesh: &mut Mesh,
        plan: &ScanPlan,
        handle: &Handle,
        noise: &NoiseField,
        spacing: f64,
        rng: &mut impl Rng,
    ) {
        let first = mesh.vertices.len() as u32;
        let (vertices, triangles) = handle.mesh(self, spacing, first);
        for vertex in vertices {
            let position = vertex.position + vertex.normal * noise.at(&vertex.position, rng);
            mesh.vertices.push(plan.pose.place(&position));
            mesh.seen.push(vertex.visible);
        }
        mesh.triangles.extend(triangles);
    }
}

impl Mesh {
    /// Drops what was not seen, then shuffles.
    fn into_scan(self, plan: &ScanPlan, rng: &mut impl Rng) -> Result<Scan, ScanError> {
        if plan.points_only {
            let mut points: Vec<_> =
                self.vertices.into_iter().zip(self.seen).filter_map(|(p, s)| s.then_some(p)).collect();
            if plan.shuffled {
                points.shuffle(rng);
            }
            return Scan::from_points(points);
        }
        let Self { vertices, seen, mut triangles } = self;
        triangles.retain(|corners| corners.iter().all(|&corner| seen[corner as usize]));
        let mut used = vec![false; vertices.len()];
        for &corner in triangles.iter().flatten() {
            used[corner as usize] = true;
        }
        let mut renumbered = vec![0; vertices.len()];
        let mut kept = Vec::with_capacity(vertices.len());
        for (index, vertex) in vertices.into_iter().enumerate().filter(|(index, _)| used[*index]) {
            renumbered[index] = kept.len() as u32;
            kept.push(vertex);
        }
        for corner in triangles.iter_mut().flatten() {
            *corner = renumbered[*corner as usize];
        }
        if plan.shuffled {
            triangles.shuffle(rng);
        }
        Scan::from_mesh(kept, triangles)
    }
}
