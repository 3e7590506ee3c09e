//! What is on a vessel but not of its revolution: chips, wear, lugs and handles.

use std::f64::consts::{PI, TAU};

use nalgebra::{Point3, Vector3};

use super::{VesselPlan, Wall};

/// A local departure from the planned surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Patch {
    /// A bite out of the rim.
    RimChip {
        /// Azimuth of its middle, rad.
        azimuth_rad: f64,
        /// Width along the rim, mm.
        width_mm: f64,
        /// Depth below the rim, mm.
        depth_mm: f64,
    },
    /// Wear of the foot's edge.
    FootWear {
        /// Azimuth of its middle, rad.
        azimuth_rad: f64,
        /// Width along the foot, mm.
        width_mm: f64,
        /// Height worn off, mm.
        depth_mm: f64,
    },
    /// A rounded boss on the outer wall.
    Lug {
        /// Azimuth of its middle, rad.
        azimuth_rad: f64,
        /// Height of its middle, mm.
        height_mm: f64,
        /// Width, mm.
        width_mm: f64,
        /// How far it stands proud of the wall, mm.
        proud_mm: f64,
    },
    /// A rounded pit in the outer wall.
    WallChip {
        /// Azimuth of its middle, rad.
        azimuth_rad: f64,
        /// Height of its middle, mm.
        height_mm: f64,
        /// Width, mm.
        width_mm: f64,
        /// Depth below the wall, mm.
        depth_mm: f64,
    },
    /// The rim drawn out to pour from, both walls together.
    Spout {
        /// Azimuth of its middle, rad.
        azimuth_rad: f64,
        /// Width along the rim, mm.
        width_mm: f64,
        /// How far down from the rim it begins, mm.
        depth_mm: f64,
        /// How far the rim is drawn out, mm.
        reach_mm: f64,
    },
}

/// How far a bite pulls the surface along, in depths: the surface is pressed together, never folded.
const REACH_IN_DEPTHS: f64 = 3.0;

impl Patch {
    /// How far this patch moves the surface at an arc length and azimuth, mm.
    pub(super) fn shift(&self, vessel: &VesselPlan, arc: f64, theta: f64, normal: &Vector3<f64>) -> Vector3<f64> {
        let meridian = vessel.meridian();
        let point = meridian.at(arc);
        match *self {
            Self::RimChip { azimuth_rad, width_mm, depth_mm } => {
                let below = (meridian.height_mm() - point.height_mm) / (REACH_IN_DEPTHS * depth_mm);
                let beside = 2.0 * point.radius_mm * turn_between(theta, azimuth_rad) / width_mm;
                Vector3::z() * -depth_mm * bump(beside) * bump(below)
            }
            Self::FootWear { azimuth_rad, width_mm, depth_mm } if arc < meridian.rim_arc() => {
                let above = point.height_mm / (REACH_IN_DEPTHS * depth_mm);
                let beside = 2.0 * point.radius_mm * turn_between(theta, azimuth_rad) / width_mm;
                // Only the edge wears: the middle of the underside does not touch.
                let edge = point.radius_mm / meridian.at(meridian.foot_arc()).radius_mm;
                Vector3::z() * depth_mm * bump(beside) * bump(above) * edge.min(1.0)
            }
            Self::Lug { azimuth_rad, height_mm, width_mm, proud_mm } if arc < meridian.rim_arc() => {
                normal * proud_mm * on_wall(vessel, [arc, theta], [azimuth_rad, height_mm], width_mm)
            }
            Self::WallChip { azimuth_rad, height_mm, width_mm, depth_mm } if arc < meridian.rim_arc() => {
                normal * -depth_mm * on_wall(vessel, [arc, theta], [azimuth_rad, height_mm], width_mm)
            }
            Self::Spout { azimuth_rad, width_mm, depth_mm, reach_mm } if arc > meridian.foot_arc() => {
                let below = (meridian.height_mm() - point.height_mm) / depth_mm;
                let beside = 2.0 * point.radius_mm * turn_between(theta, azimuth_rad) / width_mm;
                Vector3::new(theta.cos(), theta.sin(), 0.0) * reach_mm * bump(beside) * bump(below)
            }
            Self::FootWear { .. } | Self::Lug { .. } | Self::WallChip { .. } | Self::Spout { .. } => Vector3::zeros(),
        }
    }
}

/// A round bump of the outer wall: 1 at its middle (azimuth, height), 0 from half its width on.
fn on_wall(vessel: &VesselPlan, [arc, theta]: [f64; 2], [azimuth, height]: [f64; 2], width: f64) -> f64 {
    let Some(middle) = vessel.arc_at_height(Wall::Outer, height) else { return 0.0 };
    let beside = vessel.meridian().at(arc).radius_mm * turn_between(theta, azimuth);
    bump(2.0 * (arc - middle).hypot(beside) / width)
}

/// Places of the damaged meridian that a place of the planned one is compared with, to each side, and their distance, mm.
const PLACES: i32 = 160;
const PLACE_MM: f64 = 0.05;

impl VesselPlan {
    /// How far the planned surface at an arc length (mm) and azimuth (rad) is from the surface with these patches, mm: what a
    /// perfect judge would set aside is where this is not nothing.
    ///
    /// A bite that presses the wall together below it leaves the wall where it was: only where the surface itself is
    /// another has it departed. Looked for within 8 mm along the meridian at the same azimuth.
    #[must_use]
    pub fn departure(&self, patches: &[Patch], arc: f64, theta: f64) -> f64 {
        let planned = self.surface(arc, theta).position;
        let length = self.meridian().length_mm();
        let damaged = |place: i32| {
            let along = (arc + PLACE_MM * f64::from(place)).clamp(0.0, length);
            let surface = self.surface(along, theta);
            let shift = |patch: &Patch| patch.shift(self, along, theta, &surface.normal);
            surface.position + patches.iter().map(shift).sum::<Vector3<f64>>()
        };
        let mut nearest = f64::INFINITY;
        let mut before = damaged(-PLACES);
        for place in 1 - PLACES..=PLACES {
            let after = damaged(place);
            let way = after - before;
            let share = ((planned - before).dot(&way) / way.norm_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
            nearest = nearest.min((before + way * share - planned).norm());
            before = after;
        }
        nearest
    }
}

/// 1 at 0, 0 from 1 on, smooth in between.
fn bump(x: f64) -> f64 {
    let rest = (1.0 - x * x).max(0.0);
    rest * rest * rest
}

fn turn_between(a: f64, b: f64) -> f64 {
    (a - b + PI).rem_euclid(TAU) - PI
}

/// A strap from one height of the outer wall to another, round in section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HandlePlan {
    /// Azimuth, rad.
    pub azimuth_rad: f64,
    /// Where it joins the wall below, mm.
    pub low_mm: f64,
    /// Where it joins the wall above, mm.
    pub high_mm: f64,
    /// How far its middle line stands off, mm.
    pub reach_mm: f64,
    /// Radius of the strap, mm.
    pub strap_radius_mm: f64,
}

/// Steps of the middle line by which distances to a handle are found.
const STEPS: u32 = 64;

/// A handle on its vessel.
#[derive(Clone, Debug)]
pub(super) struct Handle {
    plan: HandlePlan,
    ends: [f64; 2],
    line: Vec<Point3<f64>>,
}

/// One vertex of a handle.
pub(super) struct HandleVertex {
    pub(super) position: Point3<f64>,
    pub(super) normal: Vector3<f64>,
    pub(super) visible: bool,
}

impl Handle {
    /// `None` if it does not meet the wall.
    pub(super) fn on(vessel: &VesselPlan, plan: HandlePlan) -> Option<Self> {
        let ends = [vessel.radius(Wall::Outer, plan.low_mm)?, vessel.radius(Wall::Outer, plan.high_mm)?];
        let mut handle = Self { plan, ends, line: Vec::new() };
        handle.line = (0..=STEPS).map(|step| handle.middle(f64::from(step) / f64::from(STEPS))).collect();
        Some(handle)
    }

    /// Radius and height of the middle line, `u` from 0 (below) to 1.
    fn path(&self, u: f64) -> [f64; 2] {
        let plan = &self.plan;
        let (sine, cosine) = (PI * u).sin_cos();
        let wall = self.ends[0] + (self.ends[1] - self.ends[0]) * 0.5 * (1.0 - cosine);
        // The ends sink into the wall by half the strap, so that no gap shows.
        let radius = wall - 0.5 * plan.strap_radius_mm + plan.reach_mm * sine;
        [radius, 0.5 * (plan.low_mm + plan.high_mm) - 0.5 * (plan.high_mm - plan.low_mm) * cosine]
    }

    fn middle(&self, u: f64) -> Point3<f64> {
        let [radius, height] = self.path(u);
        let (sine, cosine) = self.plan.azimuth_rad.sin_cos();
        Point3::new(radius * cosine, radius * sine, height)
    }

    /// Whether a point of the wall lies within the strap.
    pub(super) fn covers(&self, point: &Point3<f64>) -> bool {
        let near = self.plan.strap_radius_mm;
        point.z > self.plan.low_mm - near
            && point.z < self.plan.high_mm + near
            && self.line.iter().any(|middle| (middle - point).norm() < near)
    }

    /// The strap's vertices in rows across it, and triangles with indices from `first`.
    pub(super) fn mesh(&self, vessel: &VesselPlan, spacing: f64, first: u32) -> (Vec<HandleVertex>, Vec<[u32; 3]>) {
        let length: f64 = self.line.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum();
        let along = (length / spacing).ceil().max(8.0) as u32;
        let around = (TAU * self.plan.strap_radius_mm / spacing).ceil().max(6.0) as u32;
        let mut vertices = Vec::with_capacity((around * (along + 1)) as usize);
        for row in 0..=along {
            let u = f64::from(row) / f64::from(along);
            for column in 0..around {
                vertices.push(self.vertex(vessel, u, TAU * f64::from(column) / f64::from(around)));
            }
        }
        let mut triangles = Vec::with_capacity((2 * around * along) as usize);
        for row in 0..along {
            for column in 0..around {
                let next = (column + 1) % around;
                let [a, b] = [row * around + column, row * around + next].map(|index| first + index);
                let [c, d] = [a + around, b + around];
                triangles.extend([[a, b, c], [b, d, c]]);
            }
        }
        (vertices, triangles)
    }

    fn vertex(&self, vessel: &VesselPlan, u: f64, turn: f64) -> HandleVertex {
        let step = 1e-4;
        let tangent = (self.middle(u + step) - self.middle(u - step)).normalize();
        let (sine, cosine) = self.plan.azimuth_rad.sin_cos();
        let sideways = Vector3::new(-sine, cosine, 0.0);
        let outwards = sideways.cross(&tangent);
        // Outwards, sideways, tangent are right-handed: turning from outwards to sideways and then along faces out.
        let normal = outwards * turn.cos() + sideways * turn.sin();
        let position = self.middle(u) + normal * self.plan.strap_radius_mm;
        let wall = vessel.radius(Wall::Outer, position.z).unwrap_or(0.0);
        HandleVertex { position, normal, visible: position.x.hypot(position.y) > wall }
    }
}
