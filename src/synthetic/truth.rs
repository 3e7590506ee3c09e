//! What a perfect measurement finds in the whole vessel.

use std::f64::consts::{FRAC_1_SQRT_2, FRAC_PI_2, TAU};

use super::{Ripple, VesselPlan, Wall};
use crate::quantity::Upr;

/// The measures of a planned vessel, without uncertainty; names as in the published tables.
///
/// The body is the part of the outer wall from 10 % of the height above the foot ring to 90 % of the height, where the wall
/// stands steeper than 30 degrees to the horizontal (all of those heights, where fewer than a quarter are so steep). Lifts of rim and foot do not enter
/// sizes and volumes. Chips, lugs and handles belong to the scan and never enter the truth.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// Height of the rim over the foot, mm.
    pub height_mm: f64,
    /// Greatest diameter of the outer wall, mm.
    pub max_diameter_mm: f64,
    /// Diameter of the rim's highest circle, mm.
    pub rim_diameter_mm: f64,
    /// Diameter of the lowest circle, the outer edge of a flat foot, mm.
    pub foot_diameter_mm: f64,
    /// Least diameter of the outer wall between the widest point and the lip; `None` without a neck, mm.
    pub neck_diameter_mm: Option<f64>,
    /// Brimful capacity up to the top of the rim, the harmonics' effect included, mm3.
    pub capacity_mm3: f64,
    /// Volume of the material, the harmonics' effect included, mm3.
    pub body_volume_mm3: f64,
    /// Area of the mean surface of revolution, mm2.
    pub surface_area_mm2: f64,
    /// Mean distance from the outer wall along its normal to the inner, over the azimuth and the body, where both face each
    /// other within 45 degrees, mm.
    pub wall_mean_mm: f64,
    /// Median over the body of RONt about the least-squares circle, outer wall, mm.
    pub roundness_outer_mm: f64,
    /// The same of the inner wall, mm.
    pub roundness_inner_mm: f64,
    /// Root mean square over the body of the amplitude at 2 UPR, outer wall, mm.
    pub lobing_2_mm: f64,
    /// The same at 3 UPR, mm.
    pub lobing_3_mm: f64,
    /// The same of the summed power of 4 to 15 UPR, mm.
    pub lobing_4_15_mm: f64,
    /// The same of 16 to 50 UPR, mm.
    pub lobing_16_50_mm: f64,
    /// The same of 51 to 150 UPR, mm.
    pub lobing_51_150_mm: f64,
    /// Twice the greatest distance of the outer section centres over the body from their least-squares line, mm.
    pub axis_straightness_outer_mm: f64,
    /// Twice the greatest distance from the datum, the axis of the least-squares surface of revolution of the outer body, of
    /// the least-squares line through the inner section centres over the inner wall's own body, mm.
    pub coaxiality_inner_mm: f64,
    /// Root mean square of the distance between outer and inner section centres, over the heights of both bodies, mm.
    pub wall_unevenness_mm: f64,
    /// Twice the distance of the rim's centre from the datum, mm: the middle between the centres of the lip's outer and
    /// inner flank.
    pub concentricity_rim_mm: f64,
    /// Range of the rim's lift about its plane, mm.
    pub flatness_rim_mm: f64,
    /// Rise of the rim's plane across its diameter, mm.
    pub perpendicularity_rim_mm: f64,
    /// Range of the foot's lift about its plane, mm.
    pub flatness_foot_mm: f64,
    /// Rise of the foot's plane across its diameter, mm.
    pub perpendicularity_foot_mm: f64,
}

/// The axis of the least-squares surface of revolution of a planned vessel's outer body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlannedDatum {
    /// Where it meets the plane of the foot, mm.
    pub place_mm: [f64; 2],
    /// Its lean from the vessel's z axis, rad.
    pub lean: [f64; 2],
}

/// Heights tried for the body.
const HEIGHTS: u32 = 33;

/// Least axial part of the unit tangent on the body: the sine of 30 degrees.
const STEEP: f64 = 0.5;

/// Share of the height left out above the foot ring and below the rim.
const MARGIN: f64 = 0.1;

/// Where less than this share of the heights is steep the vessel has no steep body: a plate.
const STEEP_SHARE: f64 = 0.25;

impl VesselPlan {
    /// The truth, roundness filtered at `cutoff`, over the planned body.
    #[must_use]
    pub fn truth(&self, cutoff: Upr) -> Truth {
        self.truth_over(cutoff, [&self.body_heights(), &self.body_heights_of(Wall::Inner)])
    }

    /// The truth over other heights of the body of either wall: closer ones, or of a partial scan those that are in it.
    #[must_use]
    pub fn truth_over(&self, cutoff: Upr, [body, inner_body]: [&[f64]; 2]) -> Truth {
        let meridian = self.meridian();
        let ront = |wall| median(body.iter().filter_map(|&z| self.roundness(wall, z, Some(cutoff))).collect());
        let lobing = |from, to| self.lobing(body, from, to);
        let [max, rim, foot] =
            [self.widest_arc(), meridian.rim_arc(), meridian.foot_arc()].map(|arc| 2.0 * meridian.at(arc).radius_mm);
        let capacity = -self.enclosed(meridian.rim_arc(), meridian.length_mm());
        let datum = self.datum(body);
        let outer: Vec<[f64; 2]> = body.iter().filter_map(|&z| self.centre_about(&datum, Wall::Outer, z)).collect();
        let beside = inner_body.first().copied().unwrap_or(0.0)..=inner_body.last().copied().unwrap_or(f64::INFINITY);
        let apart: Vec<f64> = body
            .iter()
            .filter(|&z| beside.contains(z))
            .filter_map(|&z| Some(distance(self.centre(Wall::Outer, z)?, self.centre(Wall::Inner, z)?)))
            .collect();
        Truth {
            height_mm: meridian.height_mm(),
            max_diameter_mm: max,
            rim_diameter_mm: rim,
            foot_diameter_mm: foot,
            neck_diameter_mm: self.neck_arc().map(|arc| 2.0 * meridian.at(arc).radius_mm),
            capacity_mm3: capacity,
            body_volume_mm3: self.enclosed(0.0, meridian.length_mm()),
            surface_area_mm2: meridian.surface_area_mm2(),
            wall_mean_mm: self.wall_mean(body, &datum),
            roundness_outer_mm: ront(Wall::Outer),
            roundness_inner_mm: ront(Wall::Inner),
            lobing_2_mm: lobing(2, 2),
            lobing_3_mm: lobing(3, 3),
            lobing_4_15_mm: lobing(4, 15),
            lobing_16_50_mm: lobing(16, 50),
            lobing_51_150_mm: lobing(51, 150),
            axis_straightness_outer_mm: 2.0 * greatest(&off_line(body, &outer)),
            coaxiality_inner_mm: self.coaxiality(inner_body, &datum),
            wall_unevenness_mm: root_mean_square(&apart),
            concentricity_rim_mm: self.rim_off(&datum),
            flatness_rim_mm: range(self.rim_lift(), 2),
            perpendicularity_rim_mm: rise(self.rim_lift(), &datum, 0.5 * rim),
            flatness_foot_mm: range(self.foot_lift(), 2),
            perpendicularity_foot_mm: rise(self.foot_lift(), &datum, 0.5 * foot),
        }
    }

    /// Evenly spaced heights on the body, mm.
    #[must_use]
    pub fn body_heights(&self) -> Vec<f64> {
        self.body_heights_of(Wall::Outer)
    }

    /// The same of either wall: the body of the inner one is where that is steep.
    fn body_heights_of(&self, wall: Wall) -> Vec<f64> {
        let height = self.meridian().height_mm();
        let low = self.meridian().at(self.meridian().body_arc()).height_mm + MARGIN * height;
        let high = (1.0 - MARGIN) * height;
        let all: Vec<f64> = (0..HEIGHTS).map(|i| low + (high - low) * f64::from(i) / f64::from(HEIGHTS - 1)).collect();
        let steepness = |z| self.arc_at_height(wall, z).map(|arc| self.meridian().at(arc).tangent_z.abs());
        let all: Vec<f64> = all.into_iter().filter(|&z| steepness(z).is_some()).collect();
        let steep: Vec<f64> =
            all.iter().copied().filter(|&z| steepness(z).is_some_and(|steepness| steepness >= STEEP)).collect();
        if (steep.len() as f64) < STEEP_SHARE * f64::from(HEIGHTS) { all } else { steep }
    }

    /// Volume swept between two arc lengths with the harmonics' effect: a section's area is pi r2 + pi/2 sum a2, exactly.
    fn enclosed(&self, low: f64, high: f64) -> f64 {
        let ripple = self.meridian().integral(low, high, |arc| {
            let power: f64 = self.harmonic_parts(arc).iter().flatten().map(|part| part * part).sum();
            FRAC_PI_2 * power * self.meridian().at(arc).tangent_z
        });
        self.meridian().swept_volume_mm3(low, high) + ripple
    }

    /// The axis that leaves the least of the outer centres at these heights.
    ///
    /// Seen from an axis that leans by w, the section at height z lies off by w (z + r dr/dz).
    #[must_use]
    pub fn datum(&self, heights: &[f64]) -> PlannedDatum {
        let seen = |&z: &f64| Some((self.lever(Wall::Outer, z)?, self.centre(Wall::Outer, z)?));
        let (levers, centres): (Vec<f64>, Vec<[f64; 2]>) = heights.iter().filter_map(seen).unzip();
        let line = line_through(&levers, &centres);
        let place_mm = line(0.0);
        let at_one = line(1.0);
        PlannedDatum { place_mm, lean: [at_one[0] - place_mm[0], at_one[1] - place_mm[1]] }
    }

    /// The centre of a wall's section as it is seen from the datum, mm; `None` where the wall does not reach.
    #[must_use]
    pub fn centre_about(&self, datum: &PlannedDatum, wall: Wall, height_mm: f64) -> Option<[f64; 2]> {
        let (centre, lever) = (self.centre(wall, height_mm)?, self.lever(wall, height_mm)?);
        Some([0, 1].map(|axis| centre[axis] - datum.place_mm[axis] - datum.lean[axis] * lever))
    }

    fn lever(&self, wall: Wall, height_mm: f64) -> Option<f64> {
        let point = self.meridian().at(self.arc_at_height(wall, height_mm)?);
        Some(height_mm + point.radius_mm * point.tangent_r / point.tangent_z)
    }

    /// Twice the greater distance of the ends of the inner centres' least-squares line from the datum.
    fn coaxiality(&self, heights: &[f64], datum: &PlannedDatum) -> f64 {
        let centres: Vec<[f64; 2]> = heights.iter().filter_map(|&z| self.centre_about(datum, Wall::Inner, z)).collect();
        let line = line_through(heights, &centres);
        let ends = [heights.first(), heights.last()].into_iter().flatten();
        2.0 * greatest(&ends.map(|&z| distance(line(z), [0.0, 0.0])).collect::<Vec<_>>())
    }

    /// Twice the distance from the datum of the middle between the flanks' centres.
    fn rim_off(&self, datum: &PlannedDatum) -> f64 {
        let [outer, inner] = self.meridian().lip_arcs().map(|arc| self.centre_at(arc));
        let height = self.meridian().height_mm();
        let off = |axis: usize| 0.5 * (outer[axis] + inner[axis]) - datum.place_mm[axis] - datum.lean[axis] * height;
        2.0 * off(0).hypot(off(1))
    }

    fn lobing(&self, body: &[f64], from: u16, to: u16) -> f64 {
        let band = usize::from(from)..=usize::from(to);
        let power: f64 = body
            .iter()
            .filter_map(|&z| self.arc_at_height(Wall::Outer, z))
            .flat_map(|arc| self.harmonic_parts(arc).into_iter().enumerate())
            .filter(|(upr, _)| band.contains(upr))
            .map(|(_, [cosine, sine])| cosine * cosine + sine * sine)
            .sum();
        (power / body.len() as f64).sqrt()
    }

    /// Arc length of the widest point of the outer wall.
    pub(super) fn widest_arc(&self) -> f64 {
        let meridian = self.meridian();
        let [low, high] = [meridian.foot_arc(), meridian.lip_arcs()[1]];
        extreme_arc(low, high, |arc| meridian.at(arc).radius_mm)
    }

    /// Arc length of the neck: an inner minimum of the radius between the widest point and the lip.
    fn neck_arc(&self) -> Option<f64> {
        let meridian = self.meridian();
        let [low, high] = [self.widest_arc(), meridian.lip_arcs()[0]];
        if high <= low {
            return None;
        }
        let arc = extreme_arc(low, high, |arc| -meridian.at(arc).radius_mm);
        // A thousandth of the way from the lip is the lip: the wall narrows all the way up.
        (high - arc > 1e-3 * (high - low) && arc - low > 1e-3 * (high - low)).then_some(arc)
    }

    /// By how much a circle's mean radius about the datum is less than its own, mm: e^2 / (4 R) where it lies off by e, for
    /// r = e cos a + (R^2 - e^2 sin^2 a)^(1/2).
    fn drawn_in(&self, datum: &PlannedDatum, wall: Wall, height_mm: f64) -> f64 {
        let off = self.centre_about(datum, wall, height_mm).zip(self.radius(wall, height_mm));
        off.map_or(0.0, |([x, y], radius)| (x * x + y * y) / (4.0 * radius))
    }

    fn wall_mean(&self, body: &[f64], datum: &PlannedDatum) -> f64 {
        let meridian = self.meridian();
        let steps = 6000;
        let inner: Vec<[f64; 2]> = (0..=steps)
            .map(|step| {
                let arc = meridian.rim_arc()
                    + (meridian.length_mm() - meridian.rim_arc()) * f64::from(step) / f64::from(steps);
                let point = meridian.at(arc);
                [point.radius_mm, point.height_mm]
            })
            .collect();
        let walls: Vec<f64> = body
            .iter()
            .filter_map(|&z| {
                let point = meridian.at(self.arc_at_height(Wall::Outer, z)?);
                let across =
                    first_crossing([point.radius_mm, point.height_mm], [-point.tangent_z, point.tangent_r], &inner)?;
                let [outside, inside] = [Wall::Outer, Wall::Inner].map(|wall| self.drawn_in(datum, wall, z));
                Some(across + point.tangent_z * (inside - outside))
            })
            .collect();
        walls.iter().sum::<f64>() / walls.len() as f64
    }
}

/// Distance along a ray (of unit direction) to the first crossing with a polyline, if they cross at 45 degrees at least.
fn first_crossing(from: [f64; 2], direction: [f64; 2], line: &[[f64; 2]]) -> Option<f64> {
    line.windows(2)
        .filter_map(|pair| {
            let edge = [pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]];
            let across = direction[0] * edge[1] - direction[1] * edge[0];
            let to = [pair[0][0] - from[0], pair[0][1] - from[1]];
            let along = (to[0] * edge[1] - to[1] * edge[0]) / across;
            let share = (to[0] * direction[1] - to[1] * direction[0]) / across;
            let upright = across.abs() / edge[0].hypot(edge[1]);
            (along > 0.0 && (0.0..=1.0).contains(&share)).then_some((along, upright))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(_, upright)| *upright >= FRAC_1_SQRT_2)
        .map(|(along, _)| along)
}

/// Where a smooth function is greatest: a grid, then golden-section-like narrowing by thirds.
fn extreme_arc(low: f64, high: f64, value: impl Fn(f64) -> f64) -> f64 {
    let steps = 2000;
    let step = (high - low) / f64::from(steps);
    let best =
        (0..=steps).map(|i| low + step * f64::from(i)).max_by(|&a, &b| value(a).total_cmp(&value(b))).unwrap_or(low);
    let (mut a, mut b) = ((best - step).max(low), (best + step).min(high));
    for _ in 0..80 {
        let third = (b - a) / 3.0;
        if value(a + third) < value(b - third) { a += third } else { b -= third }
    }
    0.5 * (a + b)
}

/// The least-squares line through points over heights.
fn line_through(heights: &[f64], points: &[[f64; 2]]) -> impl Fn(f64) -> [f64; 2] + use<> {
    let count = heights.len() as f64;
    let mean = heights.iter().sum::<f64>() / count;
    let spread: f64 = heights.iter().map(|z| (z - mean).powi(2)).sum();
    let line = [0, 1].map(|axis| {
        let offset = points.iter().map(|p| p[axis]).sum::<f64>() / count;
        let slope = points.iter().zip(heights).map(|(p, z)| p[axis] * (z - mean)).sum::<f64>() / spread;
        (offset, slope)
    });
    move |height| line.map(|(offset, slope)| offset + slope * (height - mean))
}

/// Distances of points over heights from their least-squares line.
fn off_line(heights: &[f64], points: &[[f64; 2]]) -> Vec<f64> {
    let line = line_through(heights, points);
    points.iter().zip(heights).map(|(p, &z)| distance(*p, line(z))).collect()
}

/// Range about a circle of the ripples of at least `lowest` UPR.
fn range(ripples: &[Ripple], lowest: u16) -> f64 {
    let steps = 4096;
    let values: Vec<f64> = (0..steps)
        .map(|i| {
            let theta = TAU * f64::from(i) / f64::from(steps);
            ripples.iter().filter(|ripple| ripple.upr.get() >= lowest).map(|ripple| ripple.at(theta)).sum()
        })
        .collect();
    greatest(&values) + greatest(&values.iter().map(|value| -value).collect::<Vec<_>>())
}

/// Rise across the diameter, seen from the datum: twice the amplitude at 1 UPR with what the datum's lean makes of it.
fn rise(ripples: &[Ripple], datum: &PlannedDatum, radius: f64) -> f64 {
    let start = datum.lean.map(|lean| lean * radius);
    let tilt = ripples.iter().filter(|ripple| ripple.upr.get() == 1).fold(start, |sum, ripple| {
        [sum[0] + ripple.amplitude_mm * ripple.phase_rad.cos(), sum[1] + ripple.amplitude_mm * ripple.phase_rad.sin()]
    });
    2.0 * tilt[0].hypot(tilt[1])
}

/// Nothing of no values: a wall that does not reach the heights asked for.
pub(super) fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    if values.len() % 2 == 1 { values[middle] } else { 0.5 * (values[middle - 1] + values[middle]) }
}

fn greatest(values: &[f64]) -> f64 {
    values.iter().copied().max_by(f64::total_cmp).unwrap_or(0.0)
}

fn root_mean_square(values: &[f64]) -> f64 {
    (values.iter().map(|value| value * value).sum::<f64>() / values.len() as f64).sqrt()
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}
