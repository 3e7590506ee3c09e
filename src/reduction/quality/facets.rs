//! Facets: how long a mesh's edges are, and whether they grow where the wall is flat, as decimation makes them.

use nalgebra::{Point3, Vector3};

use super::finding::{Defect, Finding, Place};
use crate::axis::HalfPlane;
use crate::math::robust;
use crate::quantity::Estimate;
use crate::reduction::located::Located;
use crate::scan::Scan;
use crate::section::{NO_STATION, assign};

/// Triangles looked at.
const MOST_TRIANGLES: usize = 12_000;
/// Edges needed on the body.
const FEWEST_EDGES: usize = 300;

/// Change of log length with log curvature from which lengths follow curvature: none in a scanner's even mesh, a half where
/// every facet's sagitta is the same.
const THRESHOLD: f64 = 0.04;

/// Facets whose sagitta is less than this share of the noise harm no value.
const LEAST_SAGITTA: f64 = 0.5;

/// Curvatures less than this share of 1 / radius count as this: such walls are straight.
const STRAIGHT: f64 = 0.05;

/// Edges of the mesh on the body.
#[derive(Clone, Debug)]
pub(super) struct Facets {
    /// Typical length of an edge, mm.
    pub(super) length_mm: f64,
    pub(super) finding: Option<Finding>,
}

pub(super) fn facets(scan: &Scan, located: &Located, [low, high]: [f64; 2], noise: f64) -> Option<Facets> {
    let triangles = scan.triangles();
    let stride = triangles.len().div_ceil(MOST_TRIANGLES).max(1);
    let corners: Vec<Point3<f64>> = triangles
        .iter()
        .step_by(stride)
        .flat_map(|corners| corners.map(|corner| scan.vertices()[corner as usize]))
        .collect();
    let middles: Vec<Point3<f64>> =
        corners.chunks_exact(3).flat_map(|t| edges(t).map(|[a, b]| nalgebra::center(&a, &b))).collect();
    let ways: Vec<Vector3<f64>> = corners.chunks_exact(3).flat_map(|t| edges(t).map(|[a, b]| b - a)).collect();
    let mut lengths: Vec<f64> = ways.iter().map(|way| way.norm()).collect();
    let length_mm = robust::median(&mut lengths)?;
    let points = HalfPlane::new(&middles, &[], &located.frame);
    let member = assign(&points, &located.stations.stations, located.stations.spacing, located.reach.max(length_mm));
    let mut rows = Vec::new();
    let mut sagittas = Vec::new();
    for (index, &station) in member.iter().enumerate() {
        if station == NO_STATION || !(low..=high).contains(&points.height[index]) {
            continue;
        }
        let station = &located.stations.stations[station as usize];
        let length = ways[index].norm();
        if length <= 0.0 || station.radius <= 0.0 {
            continue;
        }
        let local = located.frame.rotation() * ways[index];
        let (sine, cosine) = points.azimuth[index].sin_cos();
        let around = ((local.y * cosine - local.x * sine) / length).powi(2);
        let flat = STRAIGHT / station.radius;
        let [about, along] = [station.normal[0].abs() / station.radius, station.bend.abs()];
        // Euler: the curvature of the surface along the edge.
        let curvature = (about * around + along * (1.0 - around)).max(flat);
        rows.push((curvature.ln(), length.ln()));
        sagittas.push(length * length * curvature / 8.0);
    }
    if rows.len() < FEWEST_EDGES {
        return Some(Facets { length_mm, finding: None });
    }
    let slope = slope(&rows)?;
    let (sagitta, scatter) = robust::mad(&mut sagittas)?;
    let finding = Finding {
        defect: Defect::Decimation,
        strength: Estimate::new(sagitta, scatter / (rows.len() as f64).sqrt()).ok()?,
        evidence: if sagitta < LEAST_SAGITTA * noise { 0.0 } else { -slope },
        threshold: THRESHOLD,
        wall: None,
        place: Place::Everywhere,
    };
    Some(Facets { length_mm, finding: Some(finding) })
}

fn edges(t: &[Point3<f64>]) -> [[Point3<f64>; 2]; 3] {
    [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]]
}

/// Least-squares slope of the second on the first.
fn slope(rows: &[(f64, f64)]) -> Option<f64> {
    let count = rows.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| rows.iter().map(of).sum::<f64>() / count;
    let (x, y) = (mean(|row| row.0), mean(|row| row.1));
    let square: f64 = rows.iter().map(|row| (row.0 - x).powi(2)).sum();
    let cross: f64 = rows.iter().map(|row| (row.0 - x) * (row.1 - y)).sum();
    (square > 0.0).then(|| cross / square)
}
