//! The meridian: from the middle of the underside over the rim to the middle of the floor, by arc length.

use std::f64::consts::{PI, TAU};

use super::quadrature::integrate;

/// A point of a meridian with its unit tangent, in the direction of growing arc length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeridianPoint {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Radial part of the unit tangent.
    pub tangent_r: f64,
    /// Axial part of the unit tangent.
    pub tangent_z: f64,
}

/// One piece of an outline, without a kink to its neighbours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Piece {
    /// From `start` along the unit vector `direction`.
    Line { start: [f64; 2], direction: [f64; 2], length: f64 },
    /// About `centre`, from `angle` by `sweep` (positive counter-clockwise in the r, z plane).
    Arc { centre: [f64; 2], radius: f64, angle: f64, sweep: f64 },
}

impl Piece {
    pub(super) fn length(&self) -> f64 {
        match *self {
            Self::Line { length, .. } => length,
            Self::Arc { radius, sweep, .. } => radius * sweep.abs(),
        }
    }

    pub(super) fn at(&self, arc: f64) -> MeridianPoint {
        match *self {
            Self::Line { start, direction, .. } => MeridianPoint {
                radius_mm: start[0] + arc * direction[0],
                height_mm: start[1] + arc * direction[1],
                tangent_r: direction[0],
                tangent_z: direction[1],
            },
            Self::Arc { centre, radius, angle, sweep } => {
                let turn = sweep.signum();
                let (sine, cosine) = (angle + turn * arc / radius).sin_cos();
                MeridianPoint {
                    radius_mm: centre[0] + radius * cosine,
                    height_mm: centre[1] + radius * sine,
                    tangent_r: -turn * sine,
                    tangent_z: turn * cosine,
                }
            }
        }
    }
}

/// Which pieces of an outline mean something.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Marks {
    /// The arcs from the outer wall to the top of the rim and on to the inner wall.
    pub(super) lip: [usize; 2],
    /// The hollow between the foot ring and the body.
    pub(super) ring_top: Option<usize>,
}

/// The outline of a vessel of revolution as a chain of lines and arcs without a kink.
///
/// It starts on the axis in the middle of the underside, reaches height 0 at the foot, climbs the outer wall to the top of
/// the rim, descends the inner wall and ends on the axis in the middle of the floor. Between foot and rim the height never
/// falls, between rim and floor it never rises, so a height and a wall name one radius.
#[derive(Clone, Debug, PartialEq)]
pub struct Meridian {
    pieces: Vec<Piece>,
    starts: Vec<f64>,
    length: f64,
    foot: f64,
    rim: f64,
    lip: [f64; 2],
    body: f64,
    inner_widest: f64,
}

impl Meridian {
    /// From pieces in order, with the indices of those that mean something.
    pub(super) fn from_pieces(pieces: Vec<Piece>, marks: &Marks) -> Self {
        let mut starts = Vec::with_capacity(pieces.len() + 1);
        let mut length = 0.0;
        for piece in &pieces {
            starts.push(length);
            length += piece.length();
        }
        let end_of = |index: usize| starts.get(index + 1).copied().unwrap_or(length);
        let lip = [starts[marks.lip[0]], end_of(marks.lip[1])];
        let rim = end_of(marks.lip[0]);
        let body = marks.ring_top.map_or(0.0, end_of);
        let mut meridian = Self { pieces, starts, length, foot: 0.0, rim, lip, body, inner_widest: rim };
        meridian.foot = meridian.find_foot();
        meridian.body = body.max(meridian.foot);
        meridian.inner_widest = meridian.find_inner_widest();
        meridian
    }

    /// The arc length of the last point at height 0, the outer edge of a flat foot.
    fn find_foot(&self) -> f64 {
        // 1e-9 mm is far below any length that matters and far above rounding.
        let mut foot = 0.0;
        for (piece, &start) in self.pieces.iter().zip(&self.starts) {
            let end = start + piece.length();
            for arc in [start, end] {
                if arc < self.rim && self.at(arc).height_mm.abs() < 1e-9 {
                    foot = arc;
                }
            }
        }
        foot
    }

    fn find_inner_widest(&self) -> f64 {
        let steps = 4000;
        let mut best = (self.rim, 0.0);
        for step in 0..=steps {
            let arc = self.rim + (self.length - self.rim) * f64::from(step) / f64::from(steps);
            let radius = self.at(arc).radius_mm;
            // The later of equals: on a cylinder the floor's fade must start at its foot, not at its rim.
            if arc >= self.lip[1] && radius >= best.1 - 1e-9 {
                best = (arc, radius);
            }
        }
        best.0
    }

    /// The point at arc length `arc`, mm from the middle of the underside.
    #[must_use]
    pub fn at(&self, arc: f64) -> MeridianPoint {
        let index = self.starts.partition_point(|&start| start <= arc).saturating_sub(1);
        self.pieces[index].at(arc - self.starts[index])
    }

    /// The whole length, mm.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.length
    }

    /// Arc lengths at which one line or arc ends and the next begins, and the curvature of each piece, 1/mm, positive where
    /// the outline turns to the left of its way.
    #[must_use]
    pub fn joints_and_curvatures(&self) -> (&[f64], Vec<f64>) {
        let curvature = |piece: &Piece| match *piece {
            Piece::Line { .. } => 0.0,
            Piece::Arc { radius, sweep, .. } => sweep.signum() / radius,
        };
        (self.starts.get(1..).unwrap_or_default(), self.pieces.iter().map(curvature).collect())
    }

    /// Arc length at the foot: the last point at height 0.
    #[must_use]
    pub fn foot_arc(&self) -> f64 {
        self.foot
    }

    /// Arc length where the body starts: above the foot ring, or at the foot.
    #[must_use]
    pub fn body_arc(&self) -> f64 {
        self.body
    }

    /// Arc length at the top of the rim.
    #[must_use]
    pub fn rim_arc(&self) -> f64 {
        self.rim
    }

    /// Arc lengths between which the lip turns from the outer wall to the inner.
    #[must_use]
    pub fn lip_arcs(&self) -> [f64; 2] {
        self.lip
    }

    /// Arc length of the widest point of the inner wall, the lowest of them if there are several.
    #[must_use]
    pub fn inner_widest_arc(&self) -> f64 {
        self.inner_widest
    }

    /// Height of the rim over the foot, mm.
    #[must_use]
    pub fn height_mm(&self) -> f64 {
        self.at(self.rim).height_mm
    }

    /// Arc length in `[low, high]` where the height is `height`; the height must be monotone between them.
    pub(super) fn arc_at_height(&self, low: f64, high: f64, height: f64) -> Option<f64> {
        let (mut a, mut b) = (low, high);
        let rising = self.at(b).height_mm > self.at(a).height_mm;
        let (least, most) = if rising { (a, b) } else { (b, a) };
        if !(height >= self.at(least).height_mm && height <= self.at(most).height_mm) {
            return None;
        }
        // Halving 200 mm 60 times leaves less than the rounding of an f64.
        for _ in 0..60 {
            let middle = 0.5 * (a + b);
            if (self.at(middle).height_mm < height) == rising { a = middle } else { b = middle }
        }
        Some(0.5 * (a + b))
    }

    /// Integral of `integrand` over arc length from `low` to `high`, exact for the smooth pieces in between.
    pub(super) fn integral(&self, low: f64, high: f64, integrand: impl Fn(f64) -> f64) -> f64 {
        let mut cuts: Vec<f64> = self.starts.iter().copied().filter(|&start| start > low && start < high).collect();
        cuts.push(high);
        let mut from = low;
        let mut sum = 0.0;
        for to in cuts {
            sum += integrate(from, to, &integrand);
            from = to;
        }
        sum
    }

    /// Area of the whole surface of revolution, mm2: the integral of 2 pi r ds.
    #[must_use]
    pub fn surface_area_mm2(&self) -> f64 {
        self.integral(0.0, self.length, |arc| TAU * self.at(arc).radius_mm)
    }

    /// Volume swept between two arc lengths, mm3: the integral of pi r2 dz, negative where the height falls.
    #[must_use]
    pub fn swept_volume_mm3(&self, low: f64, high: f64) -> f64 {
        self.integral(low, high, |arc| {
            let point = self.at(arc);
            PI * point.radius_mm.powi(2) * point.tangent_z
        })
    }
}
