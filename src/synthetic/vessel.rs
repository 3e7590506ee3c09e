//! A planned vessel: its meridian and its irregularities, evaluated at any arc length and azimuth.

use nalgebra::{Point3, Vector3};

use super::harmonic::HarmonicField;
use super::{CentreLine, Meridian, PlannedHarmonic, Ripple};

/// Which wall of a planned vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wall {
    /// From the foot to the top of the rim, outside.
    Outer,
    /// From the top of the rim to the floor, inside.
    Inner,
}

/// A point of the planned surface in the vessel's frame, mm: z from the foot upwards along the outer wall's axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfacePoint {
    /// Position.
    pub position: Point3<f64>,
    /// Unit normal of the mean surface of revolution, outwards from the material.
    pub normal: Vector3<f64>,
}

/// A vessel with known truth.
///
/// Every section at a height z, below the lip and above the foot, is exactly the closed curve with the polar equation
/// `r(z) + sum a_n(z) cos(n theta - phase_n(z))` about the point `centre(z)` of its wall's centre line; harmonics move the
/// surface along the radius, never along z. They fade to nothing towards the middle of the underside and of the floor, and
/// pass from the outer wall's to the inner wall's around the lip; both are part of the truth at those heights. Lifts of rim
/// and foot move the surface along z within 6 % of the height of either, and only there sections differ from the formula.
#[derive(Clone, Debug, PartialEq)]
pub struct VesselPlan {
    meridian: Meridian,
    outer: WallPlan,
    inner: WallPlan,
    rim_lift: Vec<Ripple>,
    foot_lift: Vec<Ripple>,
}

#[derive(Clone, Debug, Default, PartialEq)]
struct WallPlan {
    field: HarmonicField,
    centre: CentreLine,
}

/// Share of the height over which a lift of the rim or the foot fades out.
const LIFT_ZONE: f64 = 0.06;

/// The least such zone, mm: a lift must reach around the lip.
const LIFT_ZONE_LEAST_MM: f64 = 2.0;

/// Share of the inner wall's greatest radius within which its harmonics fade towards the middle of the floor.
const FLOOR_FADE: f64 = 0.5;

impl VesselPlan {
    /// A perfectly true vessel.
    #[must_use]
    pub fn new(meridian: Meridian) -> Self {
        Self {
            meridian,
            outer: WallPlan::default(),
            inner: WallPlan::default(),
            rim_lift: Vec::new(),
            foot_lift: Vec::new(),
        }
    }

    /// With these harmonics on one wall, in place of any there.
    #[must_use]
    pub fn with_harmonics(mut self, wall: Wall, harmonics: &[PlannedHarmonic]) -> Self {
        self.wall_mut(wall).field = HarmonicField::new(harmonics);
        self
    }

    /// With this centre line of one wall. The outer wall's straight part should stay zero: it is the datum.
    #[must_use]
    pub fn with_centre_line(mut self, wall: Wall, centre: CentreLine) -> Self {
        self.wall_mut(wall).centre = centre;
        self
    }

    /// With a rim whose height undulates; 1 UPR tilts it.
    #[must_use]
    pub fn with_rim_lift(mut self, lift: Vec<Ripple>) -> Self {
        self.rim_lift = lift;
        self
    }

    /// With a foot whose height undulates; 1 UPR tilts it.
    #[must_use]
    pub fn with_foot_lift(mut self, lift: Vec<Ripple>) -> Self {
        self.foot_lift = lift;
        self
    }

    /// The meridian.
    #[must_use]
    pub fn meridian(&self) -> &Meridian {
        &self.meridian
    }

    /// The lift of the rim.
    #[must_use]
    pub fn rim_lift(&self) -> &[Ripple] {
        &self.rim_lift
    }

    /// The lift of the foot.
    #[must_use]
    pub fn foot_lift(&self) -> &[Ripple] {
        &self.foot_lift
    }

    /// The centre line of a wall.
    #[must_use]
    pub fn centre_line(&self, wall: Wall) -> &CentreLine {
        &self.wall(wall).centre
    }

    /// The surface at arc length `arc` (mm along the meridian) and azimuth `theta` (rad).
    #[must_use]
    pub fn surface(&self, arc: f64, theta: f64) -> SurfacePoint {
        let point = self.meridian.at(arc);
        let t = self.height_coordinate(point.height_mm);
        let [outer, inner] = self.wall_shares(arc);
        let fade = self.fade(arc, point.radius_mm);
        let mut deviation = 0.0;
        let mut centre = [0.0, 0.0];
        for (share, wall) in [(outer, &self.outer), (inner, &self.inner)] {
            if share > 0.0 {
                deviation += share * fade * wall.field.at(t, theta);
                let [x, y] = wall.centre.at(t);
                centre = [centre[0] + share * x, centre[1] + share * y];
            }
        }
        let (sine, cosine) = theta.sin_cos();
        let radius = point.radius_mm + deviation;
        let height = point.height_mm + self.lift(arc, theta);
        SurfacePoint {
            position: Point3::new(centre[0] + radius * cosine, centre[1] + radius * sine, height),
            normal: Vector3::new(point.tangent_z * cosine, point.tangent_z * sine, -point.tangent_r),
        }
    }

    /// Arc length at a height of a wall; `None` where the wall does not reach.
    pub(super) fn arc_at_height(&self, wall: Wall, height_mm: f64) -> Option<f64> {
        let meridian = &self.meridian;
        match wall {
            Wall::Outer => meridian.arc_at_height(meridian.foot_arc(), meridian.rim_arc(), height_mm),
            Wall::Inner => meridian.arc_at_height(meridian.rim_arc(), meridian.length_mm(), height_mm),
        }
    }

    /// Cosine and sine parts of the harmonics at an arc length, as they are on the surface; entry n belongs to n UPR.
    pub(super) fn harmonic_parts(&self, arc: f64) -> Vec<[f64; 2]> {
        let point = self.meridian.at(arc);
        let t = self.height_coordinate(point.height_mm);
        let fade = self.fade(arc, point.radius_mm);
        let mut parts = vec![[0.0, 0.0]; usize::from(self.highest_upr()) + 1];
        for (share, wall) in self.wall_shares(arc).into_iter().zip([&self.outer, &self.inner]) {
            if share > 0.0 {
                wall.field.add_parts(t, share * fade, &mut parts);
            }
        }
        parts
    }

    /// The centre of the section at an arc length, mm.
    pub(super) fn centre_at(&self, arc: f64) -> [f64; 2] {
        let t = self.height_coordinate(self.meridian.at(arc).height_mm);
        let [outer, inner] = self.wall_shares(arc);
        let (a, b) = (self.outer.centre.at(t), self.inner.centre.at(t));
        [outer * a[0] + inner * b[0], outer * a[1] + inner * b[1]]
    }

    /// The highest UPR planned on either wall.
    pub(super) fn highest_upr(&self) -> u16 {
        self.outer.field.highest().max(self.inner.field.highest())
    }

    /// -1 at the foot, 1 at the rim.
    pub(super) fn height_coordinate(&self, height_mm: f64) -> f64 {
        2.0 * height_mm / self.meridian.height_mm() - 1.0
    }

    /// Shares of the outer and the inner wall's irregularities: they change over around the lip.
    fn wall_shares(&self, arc: f64) -> [f64; 2] {
        let [from, to] = self.meridian.lip_arcs();
        let inner = smooth_step((arc - from) / (to - from));
        [1.0 - inner, inner]
    }

    /// How much of the harmonics is left: all on the walls, nothing on the axis.
    fn fade(&self, arc: f64, radius_mm: f64) -> f64 {
        if arc < self.meridian.foot_arc() {
            return smooth_step(radius_mm / self.meridian.at(self.meridian.foot_arc()).radius_mm);
        }
        let widest = self.meridian.inner_widest_arc();
        if arc > widest {
            return smooth_step(radius_mm / (FLOOR_FADE * self.meridian.at(widest).radius_mm));
        }
        1.0
    }

    fn lift(&self, arc: f64, theta: f64) -> f64 {
        let zone = (LIFT_ZONE * self.meridian.height_mm()).max(LIFT_ZONE_LEAST_MM);
        let mut sum = 0.0;
        for (lift, at) in [(&self.rim_lift, self.meridian.rim_arc()), (&self.foot_lift, self.meridian.foot_arc())] {
            let weight = smooth_step(1.0 - (arc - at).abs() / zone);
            if weight > 0.0 && !lift.is_empty() {
                sum += weight * lift.iter().map(|ripple| ripple.at(theta)).sum::<f64>();
            }
        }
        sum
    }

    fn wall(&self, wall: Wall) -> &WallPlan {
        match wall {
            Wall::Outer => &self.outer,
            Wall::Inner => &self.inner,
        }
    }

    fn wall_mut(&mut self, wall: Wall) -> &mut WallPlan {
        match wall {
            Wall::Outer => &mut self.outer,
            Wall::Inner => &mut self.inner,
        }
    }
}

/// 0 below 0, 1 above 1, in between without a kink in value, slope or curvature.
fn smooth_step(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * x * (10.0 + x * (6.0 * x - 15.0))
}
