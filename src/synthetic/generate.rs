//! From plan to scan.

use nalgebra::Point3;
use rand::Rng;
use rand::seq::SliceRandom;
use rayon::prelude::*;

use super::clutter::Handle;
use super::decimation::decimate;
use super::lattice::{Lattice, Row};
use super::noise::NoiseField;
use super::smoothing::{smooth, smooth_by};
use super::{Fault, ScanPlan, Sector, VesselPlan};
use crate::quantity::Seed;
use crate::scan::{Scan, ScanError};

/// Which stream of random numbers serves what.
#[derive(Clone, Copy)]
enum Stream {
    Rows = 1,
    Noise = 2,
    Handles = 3,
    Order = 4,
    SecondSheet = 5,
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
        let sheet = |second: Option<(Sector, f64)>, seed: Seed| -> Vec<(Point3<f64>, bool)> {
            let rows: Vec<Vec<(Point3<f64>, bool)>> = lattice
                .rows
                .par_iter()
                .enumerate()
                .map(|(index, row)| {
                    let mut rng = seed.derive(index as u64).rng();
                    let mut vertex = |i| self.vertex(plan, &handles, &noise, &lattice, row, i, second, &mut rng);
                    (0..row.count).map(&mut vertex).collect()
                })
                .collect();
            rows.concat()
        };
        let (vertices, seen) = sheet(None, Stream::Rows.of(seed)).into_iter().unzip();
        let mut mesh = Mesh { vertices, seen, triangles: lattice.triangles() };
        for (index, fault) in plan.faults.iter().enumerate() {
            if let Fault::Doubled { sector, apart_mm } = *fault {
                let first = mesh.vertices.len() as u32;
                let second = sheet(Some((sector, apart_mm)), Stream::SecondSheet.of(seed).derive(index as u64));
                mesh.vertices.extend(second.iter().map(|(vertex, _)| *vertex));
                mesh.seen.extend(second.iter().map(|(_, seen)| *seen));
                mesh.triangles.extend(lattice.triangles().into_iter().map(|t| t.map(|corner| first + corner)));
            }
        }
        for (index, handle) in handles.iter().enumerate() {
            let mut rng = Stream::Handles.of(seed).derive(index as u64).rng();
            self.attach(&mut mesh, plan, handle, &noise, lattice.row_spacing, &mut rng);
        }
        smooth(&mut mesh.vertices, &mesh.triangles, plan.smoothing);
        for fault in &plan.faults {
            if let Fault::Smoothed { length_mm } = *fault {
                smooth_by(&mut mesh.vertices, &mesh.triangles, length_mm);
            }
        }
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
        second: Option<(Sector, f64)>,
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
        for fault in &plan.faults {
            position += fault.shift(self, theta, &surface.position, &surface.normal);
        }
        let mut seen = plan.coverage.sees(self.meridian(), arc, theta)
            && (arc > self.meridian().rim_arc() || !handles.iter().any(|handle| handle.covers(&position)));
        if let Some((sector, apart_mm)) = second {
            position += surface.normal * apart_mm;
            seen &= sector.holds(theta);
        }
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
        for fault in &plan.faults {
            if let Fault::Decimated { triangles: wanted } = *fault {
                (kept, triangles) = decimate(kept, triangles, wanted);
            }
        }
        if plan.shuffled {
            triangles.shuffle(rng);
        }
        Scan::from_mesh(kept, triangles)
    }
}
