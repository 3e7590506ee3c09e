//! A scan's points about an axis: radius, height, azimuth, and normals in the half-plane.

use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

use super::Frame;

/// Points in cylindrical coordinates about one axis, as columns of equal length.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HalfPlane {
    /// Distance from the axis, mm.
    pub radius: Vec<f64>,
    /// Height along the axis, mm.
    pub height: Vec<f64>,
    /// Azimuth, rad, in (-pi, pi].
    pub azimuth: Vec<f64>,
    /// Radial and axial component of the unit normal; empty where the scan has no normals.
    pub normal: Vec<[f32; 2]>,
}

impl HalfPlane {
    /// Every point about `frame`; `normals` is empty or as long as `points`.
    #[must_use]
    pub fn new(points: &[Point3<f64>], normals: &[Vector3<f32>], frame: &Frame) -> Self {
        let rotation = frame.rotation();
        let mut half_plane = Self {
            radius: vec![0.0; points.len()],
            height: vec![0.0; points.len()],
            azimuth: vec![0.0; points.len()],
            normal: vec![[0.0; 2]; normals.len()],
        };
        let Self { radius, height, azimuth, normal } = &mut half_plane;
        (points, radius.as_mut_slice(), height.as_mut_slice(), azimuth.as_mut_slice())
            .into_par_iter()
            .with_min_len(4096)
            .for_each(|(point, radius, height, azimuth)| {
                let local = frame.to_local(point);
                *radius = local.x.hypot(local.y);
                *height = local.z;
                *azimuth = local.y.atan2(local.x);
            });
        if !normals.is_empty() {
            let rotation = rotation.cast::<f32>();
            (normals, azimuth.as_slice(), normal.as_mut_slice()).into_par_iter().with_min_len(4096).for_each(
                |(vector, azimuth, normal)| {
                    let local = rotation * vector;
                    let (sin, cos) = (*azimuth as f32).sin_cos();
                    *normal = [local.x * cos + local.y * sin, local.z];
                },
            );
        }
        half_plane
    }

    /// How many points there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.radius.len()
    }

    /// Whether there are no points.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.radius.is_empty()
    }
}
