//! How a planned vessel is scanned.

use std::f64::consts::TAU;

use nalgebra::{Point3, Quaternion, UnitQuaternion, Vector3};
use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

use super::{Fault, HandlePlan, Meridian, Noise, Patch};
use crate::quantity::Seed;

/// Where the vessel stands in the scanner's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Turns the vessel's frame into the scanner's.
    pub rotation: UnitQuaternion<f64>,
    /// The middle of the foot in the scanner's frame, mm.
    pub translation_mm: Vector3<f64>,
}

impl Pose {
    /// The vessel's own frame: z up along the outer wall's axis from the foot.
    #[must_use]
    pub fn upright() -> Self {
        Self { rotation: UnitQuaternion::identity(), translation_mm: Vector3::zeros() }
    }

    /// Any rotation, uniformly, and a translation of up to 150 mm along each axis.
    #[must_use]
    pub fn random(seed: Seed) -> Self {
        let mut rng = seed.rng();
        let mut part = || -> f64 { StandardNormal.sample(&mut rng) };
        // A normal 4-vector has a uniform direction.
        let rotation = UnitQuaternion::from_quaternion(Quaternion::new(part(), part(), part(), part()));
        let translation_mm = Vector3::from_fn(|_, _| rng.gen_range(-150.0..150.0));
        Self { rotation, translation_mm }
    }

    /// From the vessel's frame to the scanner's.
    #[must_use]
    pub fn place(&self, point: &Point3<f64>) -> Point3<f64> {
        self.rotation * point + self.translation_mm
    }

    /// Unit direction of the true axis in the scanner's frame, from foot to rim.
    #[must_use]
    pub fn axis_direction(&self) -> Vector3<f64> {
        self.rotation * Vector3::z()
    }

    /// The point of the true axis at a height above the foot, in the scanner's frame.
    #[must_use]
    pub fn axis_point(&self, height_mm: f64) -> Point3<f64> {
        self.place(&Point3::new(0.0, 0.0, height_mm))
    }

    /// Azimuth, in the vessel's frame, of the scanner's x axis projected on the section plane (of z, if x runs along the
    /// axis): what published azimuths count from. A published phase at n UPR is the planned phase less n times this.
    #[must_use]
    pub fn azimuth_zero_rad(&self) -> f64 {
        let x = self.rotation.inverse() * Vector3::x();
        let seen = if x.x.hypot(x.y) > 1e-9 { x } else { self.rotation.inverse() * Vector3::z() };
        seen.y.atan2(seen.x)
    }
}

/// How evenly the surface is sampled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sampling {
    /// Greatest shift of a vertex from its place, in spacings, 0 to 0.45.
    pub jitter: f64,
    /// Density over azimuth varies between 1/(1+uneven) and 1/(1-uneven), 0 to 0.9.
    pub uneven: f64,
}

/// How much of the inner wall is seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Interior {
    /// All of it.
    Whole,
    /// As far down as this below the rim, mm.
    ToDepth(f64),
    /// Nothing beyond the top of the rim.
    Unseen,
}

/// A range of azimuth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sector {
    /// Where it starts, rad.
    pub from_rad: f64,
    /// How far it reaches counter-clockwise, rad.
    pub width_rad: f64,
}

impl Sector {
    pub(super) fn holds(&self, theta: f64) -> bool {
        (theta - self.from_rad).rem_euclid(TAU) < self.width_rad
    }
}

/// What the scanner saw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coverage {
    /// The inner wall.
    pub interior: Interior,
    /// Whether the underside was seen.
    pub underside: bool,
    /// Heights between which anything of the outside, the underside included, was seen, mm; the inside up to the higher.
    pub outside_mm: [f64; 2],
    /// Azimuths at which nothing was seen.
    pub missing: Option<Sector>,
}

impl Coverage {
    /// Everything.
    #[must_use]
    pub const fn whole() -> Self {
        Self {
            interior: Interior::Whole,
            underside: true,
            outside_mm: [f64::NEG_INFINITY, f64::INFINITY],
            missing: None,
        }
    }

    pub(super) fn sees(&self, meridian: &Meridian, arc: f64, theta: f64) -> bool {
        let height = meridian.at(arc).height_mm;
        let [low, high] = self.outside_mm;
        let inside = match self.interior {
            Interior::Whole => true,
            Interior::Unseen => arc <= meridian.rim_arc(),
            Interior::ToDepth(depth) => arc <= meridian.rim_arc() || meridian.height_mm() - height <= depth,
        };
        inside
            && height <= high
            && (height >= low || arc > meridian.rim_arc())
            && (self.underside || arc >= meridian.foot_arc())
            && !self.missing.is_some_and(|sector| sector.holds(theta))
    }
}

/// How a planned vessel is scanned.
#[derive(Clone, Debug, PartialEq)]
pub struct ScanPlan {
    /// Triangles over the whole vessel, before anything is left out; met to within a few per cent.
    pub triangles: usize,
    /// Where the vessel stands.
    pub pose: Pose,
    /// How evenly it is sampled.
    pub sampling: Sampling,
    /// Noise along the normal.
    pub noise: Noise,
    /// What is seen.
    pub coverage: Coverage,
    /// Chips, wear and lugs.
    pub patches: Vec<Patch>,
    /// Handles.
    pub handles: Vec<HandlePlan>,
    /// Rounds of smoothing by the scanner's software.
    pub smoothing: u32,
    /// Faults of registration and software.
    pub faults: Vec<Fault>,
    /// Whether the order of the triangles (or points) is shuffled.
    pub shuffled: bool,
    /// Whether only points are left.
    pub points_only: bool,
}

impl ScanPlan {
    /// A perfect scan of the upright vessel: no noise, nothing missing, regular spacing. With full coverage and no handle the
    /// mesh is closed, its triangles counter-clockwise seen from outside the material.
    #[must_use]
    pub fn of(triangles: usize) -> Self {
        Self {
            triangles,
            pose: Pose::upright(),
            sampling: Sampling { jitter: 0.0, uneven: 0.0 },
            noise: Noise::default(),
            coverage: Coverage::whole(),
            patches: Vec::new(),
            handles: Vec::new(),
            smoothing: 0,
            faults: Vec::new(),
            shuffled: false,
            points_only: false,
        }
    }

    /// A usual scan: random pose, jittered and somewhat uneven spacing, white noise of `noise_mm`, shuffled.
    #[must_use]
    pub fn usual(triangles: usize, noise_mm: f64, seed: Seed) -> Self {
        Self {
            pose: Pose::random(seed),
            sampling: Sampling { jitter: 0.3, uneven: 0.2 },
            noise: Noise::white(noise_mm),
            shuffled: true,
            ..Self::of(triangles)
        }
    }
}
