//! Faults of a scan that belong to the scanner or its software, not to the vessel.

use std::f64::consts::PI;

use nalgebra::{Point3, Vector3};

use super::{Sector, VesselPlan};

/// One fault of the scanner's registration or of its software.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// One view, a range of azimuth, lies off the others: two seams, each a step along a meridian.
    Shifted {
        /// What the view saw.
        sector: Sector,
        /// How far it lies off, along the normal, mm.
        step_mm: f64,
    },
    /// The centres of both walls drift sideways on the way up and back again.
    Drift {
        /// Towards which azimuth, rad.
        azimuth_rad: f64,
        /// How far at mid-height, mm.
        bow_mm: f64,
    },
    /// A second view of a range of azimuth lies off the first, which stays: two sheets.
    Doubled {
        /// What the second view saw.
        sector: Sector,
        /// How far the second sheet lies off, along the normal, mm.
        apart_mm: f64,
    },
    /// The mesh was smoothed with a kernel close to a Gaussian.
    Smoothed {
        /// Standard deviation of the kernel, mm.
        length_mm: f64,
    },
    /// The mesh was decimated by collapsing the edges that cost least.
    Decimated {
        /// Triangles left.
        triangles: usize,
    },
}

impl Fault {
    /// How far this fault moves a point of the first sheet, mm.
    pub(super) fn shift(
        &self,
        vessel: &VesselPlan,
        theta: f64,
        position: &Point3<f64>,
        normal: &Vector3<f64>,
    ) -> Vector3<f64> {
        match *self {
            Self::Shifted { sector, step_mm } if sector.holds(theta) => normal * step_mm,
            Self::Drift { azimuth_rad, bow_mm } => {
                let (sine, cosine) = azimuth_rad.sin_cos();
                let share = (position.z / vessel.meridian().height_mm()).clamp(0.0, 1.0);
                Vector3::new(cosine, sine, 0.0) * (bow_mm * (PI * share).sin())
            }
            Self::Shifted { .. } | Self::Doubled { .. } | Self::Smoothed { .. } | Self::Decimated { .. } => {
                Vector3::zeros()
            }
        }
    }
}
