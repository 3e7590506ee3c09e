//! What is set aside: nothing of undamaged vessels however they were made, and what was planted on damaged ones.
//!
//! `TORNUS_FULL=1` takes 100 undamaged vessels in place of 10, and two damaged ones.

use std::f64::consts::{PI, TAU};

use rand::Rng;
use rayon::prelude::*;
use tornus::reduction::Aside;
use tornus::synthetic::{Patch, PlannedHarmonic, ScanPlan, VesselForm, VesselPlan, Wall, Workmanship};
use tornus::{Declared, Millimetre, Reduction, ReductionParams, Scan, Seed, Upr, reduce};

/// Half the greatest diameter of the planned vessels, mm, about.
const SIZE_MM: f64 = 45.0;

fn reduced(scan: &Scan) -> Reduction {
    reduce(scan, &ReductionParams::new(128, 50, 150).unwrap(), &Declared::default(), Seed::new(1)).unwrap()
}

fn lobes(upr: u16, amplitude_mm: f64, phase_rad: f64) -> PlannedHarmonic {
    PlannedHarmonic::constant(Upr::new(upr).unwrap(), amplitude_mm, phase_rad)
}

/// An undamaged vessel: oval, three-lobed, fluted, bowed, or out of round in every order as hand-built clay is.
fn undamaged(making: usize, seed: Seed) -> (VesselPlan, f64) {
    let mut rng = seed.rng();
    let form = VesselForm::ALL[rng.gen_range(0..VesselForm::ALL.len())];
    let noise_mm = rng.gen_range(0.002_f64.ln()..0.05_f64.ln()).exp();
    let mut work = Workmanship::of_roundness(0.1);
    let flutes = rng.gen_range(8..24);
    let shape = match making {
        0 => vec![lobes(2, 1.5, 0.3)],
        1 => vec![lobes(3, 1.0, 0.3)],
        2 => vec![lobes(flutes, 0.6, 0.3), lobes(2 * flutes, 0.3, 0.6)],
        3 => {
            work.bow_mm = 2.0;
            Vec::new()
        }
        _ => {
            work = Workmanship { slope: 1.2, ..Workmanship::of_roundness(1.0) };
            Vec::new()
        }
    };
    let plan = VesselPlan::new(form.meridian(Millimetre::new(SIZE_MM), 0.03, seed).unwrap())
        .with_workmanship(&work, seed.derive(7));
    (if shape.is_empty() { plan } else { plan.with_harmonics(Wall::Outer, &shape) }, noise_mm)
}

#[test]
fn undamaged_vessels_keep_every_point() {
    let each = if std::env::var("TORNUS_FULL").is_ok() { 20 } else { 2 };
    let shares: Vec<(usize, f64)> = (0..5 * each)
        .into_par_iter()
        .map(|index| {
            let (making, seed) = (index % 5, Seed::new(8000 + index as u64));
            let (plan, noise_mm) = undamaged(making, seed);
            let scan = plan.scan(&ScanPlan::usual(80_000, noise_mm, seed.derive(3)), seed.derive(5)).unwrap();
            let cells = reduced(&scan).surface.cells;
            (making, cells.iter().filter(|cell| cell.is_set_aside()).count() as f64 / cells.len() as f64)
        })
        .collect();
    for making in 0..5 {
        let of: Vec<f64> = shares.iter().filter(|(m, _)| *m == making).map(|(_, share)| *share).collect();
        println!("making {making}: shares set aside {of:?}");
    }
    let kept = shares.iter().filter(|(_, share)| *share <= 0.0).count();
    // 95 of 100; of ten, one may be lost to chance.
    assert!(kept * 20 >= shares.len() * 19 || kept + 1 >= shares.len(), "{kept} of {} keep every point", shares.len());
}

/// Two lugs, six chips and a worn foot.
fn planted(height: f64) -> Vec<Patch> {
    let lugs = [(0.4, 0.5), (3.4, 0.6)].map(|(azimuth_rad, z)| Patch::Lug {
        azimuth_rad,
        height_mm: z * height,
        width_mm: 10.0,
        proud_mm: 4.0,
    });
    let rim = [(0.1, 8.0, 2.0), (1.9, 12.0, 1.5), (4.1, 6.0, 1.5), (5.6, 10.0, 3.0)]
        .map(|(azimuth_rad, width_mm, depth_mm)| Patch::RimChip { azimuth_rad, width_mm, depth_mm });
    let wall = [(1.2, 0.4, 8.0, 1.0), (5.0, 0.7, 6.0, 0.8)].map(|(azimuth_rad, z, width_mm, depth_mm)| {
        Patch::WallChip { azimuth_rad, height_mm: z * height, width_mm, depth_mm }
    });
    let foot = Patch::FootWear { azimuth_rad: 2.5, width_mm: 30.0, depth_mm: 0.5 };
    lugs.into_iter().chain(rim).chain(wall).chain([foot]).collect()
}

fn kind(patch: &Patch) -> usize {
    match patch {
        Patch::Lug { .. } | Patch::Spout { .. } => 0,
        Patch::RimChip { .. } => 1,
        Patch::WallChip { .. } => 2,
        Patch::FootWear { .. } => 3,
    }
}

fn azimuth(patch: &Patch) -> f64 {
    match *patch {
        Patch::RimChip { azimuth_rad, .. }
        | Patch::Lug { azimuth_rad, .. }
        | Patch::WallChip { azimuth_rad, .. }
        | Patch::Spout { azimuth_rad, .. }
        | Patch::FootWear { azimuth_rad, .. } => azimuth_rad,
    }
}

/// Overlaps below which something has broken, of lugs, rim chips, wall chips and wear; 0.8 is aimed at. A bowl and a jar give
/// 0.92 and 0.94, 0.88 and 0.93, 0.91 and 0.94, 0.77 and 0.84, at cells of a millimetre: the margin is the 0.06 by which a
/// patch of so few cells changes with where their edges fall. Wear that reaches further in than the foot's edge takes more
/// than half a row, whose level is then in doubt.
const LEAST_OVERLAP: [f64; 4] = [0.85, 0.82, 0.85, 0.7];

/// No patch reaches further than this from its middle, mm.
const REACH_MM: f64 = 18.0;

/// How far a height is from a patch's middle, mm.
fn away(patch: &Patch, height: f64, vessel: f64) -> f64 {
    let middle = match *patch {
        Patch::Lug { height_mm, .. } | Patch::WallChip { height_mm, .. } => height_mm,
        Patch::RimChip { .. } | Patch::Spout { .. } => vessel,
        Patch::FootWear { .. } => 0.0,
    };
    (height - middle).abs()
}

/// A planted place counts as departed from here on, mm: what is less is within the wall's own irregularity.
const DEPARTED_MM: f64 = 0.1;

/// Intersection over union of what was planted and what was set aside kind by kind; what was set aside elsewhere
/// counts against the kind whose patch is nearest.
fn overlap(found: &Reduction, plan: &VesselPlan, patches: &[Patch], zero: f64) -> [f64; 4] {
    let length = plan.meridian().length_mm();
    let places: Vec<(f64, f64, f64)> = (0..=(length / 0.05) as usize)
        .map(|i| (0.05 * i as f64, plan.meridian().at(0.05 * i as f64)))
        .map(|(arc, at)| (arc, at.radius_mm, at.height_mm))
        .collect();
    let map = &found.surface;
    let height = plan.meridian().height_mm();
    let columns = map.azimuths_rad.len();
    let (mut both, mut either) = ([0.0; 4], [0.0; 4]);
    for (index, row) in map.rows.iter().enumerate() {
        let off = |place: &(f64, f64, f64)| (place.1 - row.radius_mm).hypot(place.2 - row.height_mm);
        let Some((arc, ..)) = places.iter().min_by(|a, b| off(a).total_cmp(&off(b))) else { continue };
        for column in 0..columns {
            let theta = map.azimuths_rad[column] + zero;
            let apart = |patch: &&Patch| ((theta - azimuth(patch) + PI).rem_euclid(TAU) - PI).abs();
            let departed = |patch: &&Patch| plan.departure(std::slice::from_ref(*patch), *arc, theta) > DEPARTED_MM;
            let along = |patch: &&Patch| away(patch, row.height_mm, height);
            let beside = |patch: &&Patch| row.radius_mm * apart(patch) < REACH_MM && along(patch) < 0.5 * REACH_MM;
            let truth = patches.iter().filter(beside).find(departed);
            let cell = map.cells[index * columns + column];
            let nearest = || {
                let same = patches.iter().filter(|patch| (kind(patch) == 0) == (cell == Aside::Raised));
                let off = |patch: &&Patch| (row.radius_mm * apart(patch)).hypot(along(patch));
                same.min_by(|a, b| off(a).total_cmp(&off(b)))
            };
            let aside = cell.is_set_aside();
            let Some(of) = truth.or_else(|| aside.then(nearest).flatten()).map(kind) else { continue };
            either[of] += row.radius_mm;
            both[of] += if truth.is_some() && aside { row.radius_mm } else { 0.0 };
        }
    }
    [0, 1, 2, 3].map(|of| both[of] / either[of])
}

#[test]
fn lugs_chips_and_a_worn_foot_are_set_aside_and_leave_the_values_alone() {
    let all = [(VesselForm::Jar, 41), (VesselForm::Bowl, 40)];
    let count = if std::env::var("TORNUS_FULL").is_ok() { 2 } else { 1 };
    for (form, seed) in all.into_iter().take(count) {
        let seed = Seed::new(seed);
        let work = Workmanship { rim_mm: 0.05, bow_mm: 0.05, ..Workmanship::of_roundness(0.15) };
        let plan = VesselPlan::new(form.meridian(Millimetre::new(SIZE_MM), 0.03, seed).unwrap())
            .with_workmanship(&work, seed.derive(7));
        let truth = plan.truth(Upr::new(50).unwrap());
        let patches = planted(truth.height_mm);
        let scan_plan = ScanPlan { patches: patches.clone(), ..ScanPlan::usual(300_000, 0.02, seed.derive(3)) };
        let found = reduced(&plan.scan(&scan_plan, seed.derive(5)).unwrap());
        let overlaps = overlap(&found, &plan, &patches, scan_plan.pose.azimuth_zero_rad());
        println!("{form:?}: overlap of lugs, rim chips, wall chips, worn foot {overlaps:.2?}");
        for (measure, planned) in [
            ("roundness_outer", truth.roundness_outer_mm),
            ("roundness_inner", truth.roundness_inner_mm),
            ("flatness_foot", truth.flatness_foot_mm),
            ("perpendicularity_foot", truth.perpendicularity_foot_mm),
        ] {
            let row = found.measures.iter().find(|row| row.measure == measure).unwrap();
            let (value, u) = (row.estimate.value(), row.estimate.standard_uncertainty());
            println!("{form:?} {measure}: {value:.4} (u {u:.4}), planned {planned:.4}");
            assert!((value - planned).abs() < 1.96 * u, "{form:?} {measure}: {value} (u {u}), planned {planned}");
        }
        let lug = found.walls[0].sections.iter().filter(|row| row.masked > 0.02);
        let twice: Vec<[f64; 2]> =
            lug.filter_map(|row| Some([row.ront_lsci?.value(), row.ront_found?.value()])).collect();
        let raised = twice.iter().filter(|[without, found]| *found > without + 0.3).count();
        println!("{form:?}: {raised} of {} sections with something set aside are less round as found", twice.len());
        for (kind, least) in LEAST_OVERLAP.into_iter().enumerate() {
            assert!(overlaps[kind] >= least, "{form:?}: {overlaps:.2?}");
        }
        assert!(2 * raised > twice.len(), "{raised} of {}", twice.len());
    }
}
