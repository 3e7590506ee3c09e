//! One simulated vessel, scanned and reduced: what was found beside what was planned.

use std::f64::consts::{PI, TAU};

use rand::Rng;
use tornus::reduction::{SectionRow, WallReduction, WallSide};
use tornus::synthetic::{
    Coverage, HandlePlan, Noise, Patch, PlannedDatum, ScanPlan, Sector, VesselForm, VesselPlan, Wall, Workmanship,
};
use tornus::{Declared, Estimate, Millimetre, Reduction, ReductionParams, Seed, Upr, reduce};

use crate::truth::truths;

/// A found value beside the planned one.
#[derive(Clone, Copy, Debug)]
pub(super) struct Found {
    pub(super) quantity: &'static str,
    pub(super) estimate: Estimate,
    pub(super) truth: f64,
    pub(super) detection_limit: Option<f64>,
}

/// How a trial was drawn.
#[derive(Clone, Debug)]
pub(super) struct Conditions {
    pub(super) form: VesselForm,
    pub(super) triangles: usize,
    pub(super) noise: Noise,
    pub(super) damaged: bool,
    pub(super) gap_rad: f64,
    pub(super) roundness_mm: f64,
}

/// Half the greatest diameter of the planned vessels, mm, about.
const SIZE_MM: f64 = 45.0;

/// Every so many sections of the body are looked at: neighbours share their meridian and say the same twice.
const STRIDE: usize = 7;

/// Harmonics looked at: the ones a making leaves.
const UPRS: [u16; 6] = [2, 3, 4, 7, 12, 25];

impl Conditions {
    /// Forms, noise 0 to 0.1 mm, white and correlated, damage, gaps and 20,000 to 1,000,000 triangles.
    pub(super) fn drawn(seed: Seed) -> Self {
        let mut rng = seed.rng();
        let form = VesselForm::ALL[rng.gen_range(0..VesselForm::ALL.len())];
        let triangles = log_uniform(&mut rng, 2e4, 1e6) as usize;
        let noise_mm = if rng.gen_bool(0.1) { 0.0 } else { log_uniform(&mut rng, 0.002, 0.1) };
        let correlated = rng.gen_bool(0.4);
        let length_mm = log_uniform(&mut rng, 1.0, 5.0);
        let part = noise_mm / 2.0_f64.sqrt();
        let noise =
            if correlated { Noise { white_mm: part, correlated_mm: part, length_mm } } else { Noise::white(noise_mm) };
        let damaged = rng.gen_bool(0.4);
        let gap_rad = if rng.gen_bool(0.3) { rng.gen_range(0.2..TAU / 6.0) } else { 0.0 };
        let roundness_mm = log_uniform(&mut rng, 0.02, 0.5);
        Self { form, triangles, noise, damaged, gap_rad, roundness_mm }
    }

    fn vessel(&self, seed: Seed) -> VesselPlan {
        let work = Workmanship { rim_mm: 0.0, ..Workmanship::of_roundness(self.roundness_mm) };
        let meridian = self.form.meridian(Millimetre::new(SIZE_MM), 0.03, seed).unwrap();
        VesselPlan::new(meridian).with_workmanship(&work, seed.derive(7))
    }

    fn scan_plan(&self, vessel: &VesselPlan, seed: Seed) -> ScanPlan {
        let mut rng = seed.rng();
        let mut plan = ScanPlan { noise: self.noise, ..ScanPlan::usual(self.triangles, 0.0, seed.derive(1)) };
        if self.gap_rad > 0.0 {
            let missing = Some(Sector { from_rad: rng.gen_range(0.0..TAU), width_rad: self.gap_rad });
            plan.coverage = Coverage { missing, ..Coverage::whole() };
        }
        if self.damaged {
            let height = vessel.meridian().height_mm();
            let azimuth_rad = rng.gen_range(-PI..PI);
            plan.patches = vec![
                Patch::RimChip { azimuth_rad: rng.gen_range(-PI..PI), width_mm: 8.0, depth_mm: 2.0 },
                Patch::Lug { azimuth_rad, height_mm: 0.55 * height, width_mm: 10.0, proud_mm: 3.0 },
            ];
            if height > 40.0 {
                plan.handles = vec![HandlePlan {
                    azimuth_rad: azimuth_rad + 2.0,
                    low_mm: 0.35 * height,
                    high_mm: 0.7 * height,
                    reach_mm: 18.0,
                    strap_radius_mm: 3.5,
                }];
            }
        }
        plan
    }
}

fn log_uniform(rng: &mut impl Rng, low: f64, high: f64) -> f64 {
    (rng.gen_range(low.ln()..high.ln())).exp()
}

/// A trial's conditions and what it found; `None` where the scan was refused.
pub(super) fn trial(seed: Seed) -> (Conditions, Option<Vec<Found>>) {
    let conditions = Conditions::drawn(seed);
    let vessel = conditions.vessel(seed.derive(2));
    let plan = conditions.scan_plan(&vessel, seed.derive(3));
    let scan = vessel.scan(&plan, seed.derive(4)).unwrap();
    let params = ReductionParams::new(128, 50, 150).unwrap();
    let Ok(reduction) = reduce(&scan, &params, &Declared::default(), seed.derive(5)) else {
        return (conditions, None);
    };
    let found = compared(&reduction, &vessel, &plan);
    (conditions, Some(found))
}

/// The noise found in a whole jar's scan: each point's own part, the shared part and its length, mm.
pub(super) fn noise_found(noise: Noise) -> [f64; 3] {
    let conditions = Conditions {
        form: VesselForm::Jar,
        triangles: 300_000,
        noise,
        damaged: false,
        gap_rad: 0.0,
        roundness_mm: 0.2,
    };
    let seed = Seed::new(77);
    let vessel = conditions.vessel(seed);
    let scan = vessel.scan(&conditions.scan_plan(&vessel, seed.derive(1)), seed.derive(2)).unwrap();
    let params = ReductionParams::new(128, 50, 150).unwrap();
    let found = reduce(&scan, &params, &Declared::default(), seed).unwrap();
    [found.noise.value(), found.noise_correlated_mm, found.noise_length_mm]
}

/// Found and planned coordinates of the outer body's centres of a jar whose axis is bent, scanned without noise in rings 0.8 mm
/// apart.
pub(super) fn centres_of_a_bent_jar(seed: Seed) -> Vec<[f64; 2]> {
    let conditions = Conditions {
        form: VesselForm::Jar,
        triangles: 130_000,
        noise: Noise::white(0.0),
        damaged: false,
        gap_rad: 0.0,
        roundness_mm: 0.5,
    };
    let vessel = conditions.vessel(seed);
    let plan = conditions.scan_plan(&vessel, seed.derive(1));
    let scan = vessel.scan(&plan, seed.derive(2)).unwrap();
    let params = ReductionParams::new(128, 50, 150).unwrap();
    let found = reduce(&scan, &params, &Declared::default(), seed).unwrap();
    let datum = Datum::of(&planned_body(&vessel, Wall::Outer), &vessel, &plan);
    let both = |row: &SectionRow| {
        let planned = datum.centre(&vessel, Wall::Outer, row.height_mm)?;
        Some([[row.center_x.value(), planned[0]], [row.center_y.value(), planned[1]]])
    };
    found.walls[0].sections.iter().filter(|row| row.body).filter_map(both).flatten().collect()
}

fn compared(reduction: &Reduction, vessel: &VesselPlan, plan: &ScanPlan) -> Vec<Found> {
    let [outer, inner] = [Wall::Outer, Wall::Inner].map(|wall| planned_body(vessel, wall));
    let mut truth = vessel.truth_over(Upr::new(50).unwrap(), [&outer, &inner]);
    // A plate's wall has a thickness where it is too flat for sections too.
    let whole = places([outer[0], outer[outer.len() - 1]], vessel);
    truth.wall_mean_mm = vessel.truth_over(Upr::new(50).unwrap(), [&whole, &inner]).wall_mean_mm;
    let datum = Datum::of(&outer, vessel, plan);
    let mut all = Vec::new();
    for wall in &reduction.walls {
        sections(wall, vessel, &datum, &mut all);
    }
    let others = [("lobing_51_150", truth.lobing_51_150_mm), ("centroid_size", centroid_size(vessel))];
    for (quantity, planned) in truths(&truth).into_iter().chain(others) {
        if let Some(row) = reduction.measures.iter().find(|row| row.measure == quantity) {
            let (estimate, detection_limit) = (row.estimate, row.detection_limit);
            all.push(Found { quantity, estimate, truth: planned, detection_limit });
        }
    }
    all
}

/// The body as it is defined, whatever sections a scan is cut into: between a tenth and nine tenths of the height what is steeper
/// than 30 degrees, or all that is steep enough for sections if less than a quarter is; with both ends, for a centre may stray
/// furthest there.
fn planned_body(vessel: &VesselPlan, wall: Wall) -> Vec<f64> {
    let tall = vessel.meridian().height_mm();
    let steepness = |z: f64| {
        let half = 1e-4 * tall;
        let slope = (vessel.radius(wall, z + half)? - vessel.radius(wall, z - half)?) / (2.0 * half);
        Some(1.0 / slope.hypot(1.0))
    };
    let steps = (0.8 * STEPS) as usize;
    let all: Vec<f64> = (0..=steps).map(|i| tall * (0.1 + 0.8 * i as f64 / steps as f64)).collect();
    let steeper = |least: f64| all.iter().copied().filter(|&z| steepness(z).is_some_and(|s| s >= least)).collect();
    let steep: Vec<f64> = steeper(0.5);
    if 4 * steep.len() >= all.len() { steep } else { steeper(0.3) }
}

/// Steps in a vessel's height.
const STEPS: f64 = 250.0;

/// The middles of even parts of what lies between two heights, for a mean over all of it.
fn places([low, high]: [f64; 2], vessel: &VesselPlan) -> Vec<f64> {
    let count = ((high - low) / vessel.meridian().height_mm() * STEPS).round();
    (0..count as usize).map(|i| low + (high - low) * (i as f64 + 0.5) / count).collect()
}

/// Root mean square distance of the outer meridian's points from their centroid, mm.
fn centroid_size(vessel: &VesselPlan) -> f64 {
    const STEPS: usize = 4000;
    let meridian = vessel.meridian();
    let points: Vec<[f64; 2]> = (0..STEPS)
        .map(|step| meridian.at(meridian.rim_arc() * (step as f64 + 0.5) / STEPS as f64))
        .map(|point| [point.radius_mm, point.height_mm])
        .collect();
    let mean = [0, 1].map(|axis| points.iter().map(|point| point[axis]).sum::<f64>() / STEPS as f64);
    let squares = points.iter().map(|point| (point[0] - mean[0]).powi(2) + (point[1] - mean[1]).powi(2));
    (squares.sum::<f64>() / STEPS as f64).sqrt()
}

/// Radius, centre, harmonics and roundness of some of a wall's sections.
fn sections(wall: &WallReduction, vessel: &VesselPlan, datum: &Datum, all: &mut Vec<Found>) {
    let side = match wall.side {
        WallSide::Outer => Wall::Outer,
        WallSide::Inner => Wall::Inner,
    };
    let body = |row: &&SectionRow| row.body;
    for row in wall.sections.iter().filter(body).skip(STRIDE / 2).step_by(STRIDE) {
        let Some(radius) = vessel.radius(side, row.height_mm) else { continue };
        let mut enter = |quantity, estimate, truth, detection_limit| {
            all.push(Found { quantity, estimate, truth, detection_limit });
        };
        enter("radius", row.radius, radius, None);
        if let Some([x, y]) = datum.centre(vessel, side, row.height_mm) {
            enter("centre", row.center_x, x, None);
            enter("centre", row.center_y, y, None);
        }
        for upr in UPRS {
            let planned = vessel.harmonic(side, row.height_mm, Upr::new(upr).unwrap());
            if let (Some(found), Some(planned)) = (row.harmonics.get(usize::from(upr) - 1), planned) {
                enter("harmonic", found.amplitude, planned.amplitude_mm, None);
            }
        }
        let planned = vessel.roundness(side, row.height_mm, Upr::new(50));
        if let (Some(found), Some(planned)) = (row.ront_lsci, planned) {
            enter("RONt", found, planned, row.detection_limit_mm);
        }
    }
}

/// The datum that the plan has over its body, and the azimuths of the found frame.
struct Datum {
    planned: PlannedDatum,
    /// Azimuth of the found frame's x axis in the vessel's frame, rad; a tilt of the found axis turns it by next to nothing.
    zero: f64,
}

impl Datum {
    fn of(outer_body: &[f64], vessel: &VesselPlan, plan: &ScanPlan) -> Self {
        Self { planned: vessel.datum(outer_body), zero: plan.pose.azimuth_zero_rad() }
    }

    /// A wall's planned centre about the planned datum, along the found frame's axes.
    fn centre(&self, vessel: &VesselPlan, wall: Wall, height: f64) -> Option<[f64; 2]> {
        let [x, y] = vessel.centre_about(&self.planned, wall, height)?;
        let (sine, cosine) = self.zero.sin_cos();
        Some([x * cosine + y * sine, y * cosine - x * sine])
    }
}
