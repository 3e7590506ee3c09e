//! Scan quality: clean scans are not accused, planted defects are found, and no defect makes a vessel seem finer.
//!
//! `TORNUS_FULL=1` raises the counts and lets the scans have up to a million triangles.

use rand::Rng;
use tornus::reduction::Defect;
use tornus::synthetic::{Fault, Noise, ScanPlan, Sector, VesselForm, VesselPlan, Workmanship};
use tornus::table::{Measure, MeasureKind};
use tornus::{Declared, Millimetre, Reduction, ReductionParams, Seed, reduce};

/// One drawn scan: how the vessel is made and scanned.
struct Draw {
    size_mm: f64,
    roundness_mm: f64,
    noise_mm: f64,
    triangles: usize,
    sector: Sector,
    /// Correlation length of half the noise's variance, mm; 0 for white noise.
    length_mm: f64,
}

fn full() -> bool {
    std::env::var_os("TORNUS_FULL").is_some()
}

fn count(quick: u64, full_count: u64) -> u64 {
    if full() { full_count } else { quick }
}

fn draw(seed: Seed) -> Draw {
    let mut rng = seed.rng();
    let mut log_uniform = |low: f64, high: f64| (rng.gen_range(low.ln()..high.ln())).exp();
    let most = if full() { 1e6 } else { 120_000.0 };
    Draw {
        size_mm: log_uniform(25.0, 110.0),
        roundness_mm: log_uniform(0.02, 0.5),
        noise_mm: log_uniform(0.003, 0.1),
        triangles: log_uniform(20_000.0, most) as usize,
        length_mm: 0.0,
        sector: Sector { from_rad: log_uniform(0.1, 6.2), width_rad: log_uniform(0.8, 2.5) },
    }
}

fn vessel(form: VesselForm, draw: &Draw, seed: Seed) -> VesselPlan {
    VesselPlan::new(form.meridian(Millimetre::new(draw.size_mm), 0.03, seed).unwrap())
        .with_workmanship(&Workmanship::of_roundness(draw.roundness_mm), seed.derive(7))
}

fn scanned(vessel: &VesselPlan, draw: &Draw, faults: Vec<Fault>, seed: Seed) -> Option<Reduction> {
    let part = draw.noise_mm / 2.0_f64.sqrt();
    let noise = if draw.length_mm > 0.0 {
        Noise { white_mm: part, correlated_mm: part, length_mm: draw.length_mm }
    } else {
        Noise::white(draw.noise_mm)
    };
    let plan = ScanPlan { faults, noise, ..ScanPlan::usual(draw.triangles, draw.noise_mm, seed.derive(5)) };
    let scan = vessel.scan(&plan, seed).unwrap();
    reduce(&scan, &ReductionParams::new(128, 50, 150).unwrap(), &Declared::default(), Seed::new(1)).ok()
}

fn is_found(reduction: &Reduction, defect: Defect) -> bool {
    reduction.quality.of(defect).is_some_and(|finding| finding.is_found())
}

#[test]
fn clean_scans_are_not_accused() {
    let scans = count(12, 480);
    let mut named = [0; 5];
    for turn in 0..scans {
        let seed = Seed::new(1000 + turn);
        let mut draw = draw(seed);
        // A third of the scans errs alike over 1 to 5 mm.
        draw.length_mm = if turn / 6 % 3 == 0 { 1.0 + (turn % 5) as f64 } else { 0.0 };
        let form = VesselForm::ALL[turn as usize % 6];
        let Some(found) = scanned(&vessel(form, &draw, seed), &draw, Vec::new(), seed) else { continue };
        for (named, defect) in named.iter_mut().zip(Defect::ALL) {
            *named += u64::from(is_found(&found, defect));
        }
    }
    println!("named on {scans} clean scans: {:?} of {:?}", named, Defect::ALL);
    // At most one in twenty, of 480 scans 24; of twelve chance makes it two.
    let most = count(2, 24);
    assert!(named.iter().all(|named| *named <= most), "{named:?}");
}

/// Vessels on which a defect is found, of those whose scan could be reduced.
fn power(defect: Defect, seed: u64, change: impl Fn(&mut Draw) -> Vec<Fault>) -> [u64; 2] {
    let mut found = [0, 0];
    for turn in 0..count(3, 40) {
        let seed = Seed::new(seed + turn);
        let mut draw = draw(seed);
        let faults = change(&mut draw);
        let form = [VesselForm::Beaker, VesselForm::Jar, VesselForm::Bowl, VesselForm::Globular, VesselForm::Bottle];
        let vessel = vessel(form[turn as usize % 5], &draw, seed);
        if let Some(reduction) = scanned(&vessel, &draw, faults, seed) {
            if !is_found(&reduction, defect) {
                println!("{defect:?} missed on scan {turn}: {:?}", reduction.quality.of(defect));
            }
            found[0] += u64::from(is_found(&reduction, defect));
            found[1] += 1;
        }
    }
    println!("{defect:?} found on {} of {} scans", found[0], found[1]);
    found
}

/// 95 % are aimed at; of three scans all, of 40 at least 36 (binomial, two standard deviations below 38).
fn nearly_all([found, of]: [u64; 2]) -> bool {
    of > 0 && (found == of || (of > 20 && 10 * found >= 9 * of))
}

#[test]
fn a_double_wall_of_a_third_of_a_millimetre_is_found() {
    let found = power(Defect::DoubleWall, 2000, |draw| {
        draw.noise_mm = draw.noise_mm.min(0.03);
        draw.triangles = draw.triangles.max(60_000);
        vec![Fault::Doubled { sector: draw.sector, apart_mm: 0.3 }]
    });
    assert!(nearly_all(found), "{found:?}");
}

#[test]
fn a_seam_of_three_times_the_noise_is_found_where_lobes_are_no_larger() {
    let found = power(Defect::Seam, 3000, |draw| {
        draw.triangles = draw.triangles.max(100_000);
        draw.noise_mm = draw.noise_mm.max(0.01);
        draw.roundness_mm = draw.roundness_mm.min(3.0 * draw.noise_mm);
        vec![Fault::Shifted { sector: draw.sector, step_mm: 3.0 * draw.noise_mm }]
    });
    assert!(nearly_all(found), "{found:?}");
}

#[test]
fn a_drift_of_a_fifth_of_a_millimetre_is_found_on_a_true_vessel() {
    let found = power(Defect::Drift, 4000, |draw| {
        (draw.roundness_mm, draw.noise_mm) = (0.02, draw.noise_mm.min(0.02));
        draw.triangles = draw.triangles.max(60_000);
        vec![Fault::Drift { azimuth_rad: draw.sector.from_rad, bow_mm: 0.2 }]
    });
    assert!(nearly_all(found), "{found:?}");
}

#[test]
fn smoothing_that_halves_thirty_undulations_is_found() {
    let found = power(Defect::Smoothing, 5000, |draw| {
        draw.triangles = draw.triangles.max(100_000);
        draw.noise_mm = draw.noise_mm.max(0.02);
        draw.roundness_mm = draw.roundness_mm.min(0.1);
        // exp(-(30 s / R)^2 / 2) = 1/2
        vec![Fault::Smoothed { length_mm: draw.size_mm * (2.0 * 2.0_f64.ln()).sqrt() / 30.0 }]
    });
    assert!(nearly_all(found), "{found:?}");
}

#[test]
fn a_mesh_cut_down_to_five_thousand_triangles_is_found() {
    let found = power(Defect::Decimation, 6000, |draw| {
        draw.triangles = if full() { 200_000 } else { 60_000 };
        draw.noise_mm = draw.noise_mm.min(0.02);
        vec![Fault::Decimated { triangles: 5000 }]
    });
    assert!(nearly_all(found), "{found:?}");
}

/// Value, standard uncertainty and detection limit of every measure of precision.
fn precision(reduction: &Reduction) -> impl Iterator<Item = (&'static str, [f64; 3])> {
    let is_precision = |name: &str| Measure::named(name).is_some_and(|m| m.kind == MeasureKind::Precision);
    reduction.measures.iter().filter(move |row| is_precision(row.measure)).map(|row| {
        let (value, u) = (row.estimate.value(), row.estimate.standard_uncertainty());
        (row.measure, [value, u, row.detection_limit.unwrap_or(0.0)])
    })
}

/// By how many standard uncertainties the poorer scan ranks the vessel finer, measure by measure. A value below its
/// detection limit says that the vessel is as fine as the limit.
fn finer(sharp: &Reduction, poor: &Reduction) -> Vec<(&'static str, f64)> {
    let of = |name| precision(sharp).find(|(other, _)| *other == name).map(|(_, values)| values);
    let compared = precision(poor).filter_map(|(name, [value, u, limit])| {
        let [true_value, true_u, _] = of(name)?;
        Some((name, (true_value - value.max(limit)) / u.hypot(true_u)))
    });
    compared.collect()
}

#[test]
fn no_poorer_scan_ranks_a_vessel_finer() {
    let (mut beyond, mut far, mut compared) = (0, 0, 0);
    for turn in 0..count(3, 48) {
        let seed = Seed::new(7000 + turn);
        let mut draw = draw(seed);
        draw.triangles = draw.triangles.clamp(50_000, 250_000);
        draw.noise_mm = draw.noise_mm.min(0.01);
        let vessel = vessel(VesselForm::ALL[turn as usize % 6], &draw, seed);
        let Some(sharp) = scanned(&vessel, &draw, Vec::new(), seed) else { continue };
        let noisy = Draw { noise_mm: 10.0 * draw.noise_mm, ..draw };
        let smoothed = |share: f64| Fault::Smoothed { length_mm: share * draw.size_mm };
        let coarse = Draw { triangles: 20_000, ..draw };
        let kinds: [(&str, &Draw, Option<Fault>); 7] = [
            ("decimated", &draw, Some(Fault::Decimated { triangles: 5000 })),
            ("smoothed by 0.01 R", &draw, Some(smoothed(0.01))),
            ("smoothed by 0.02 R", &draw, Some(smoothed(0.02))),
            ("smoothed by 0.04 R", &draw, Some(smoothed(0.04))),
            ("smoothed by 0.08 R", &draw, Some(smoothed(0.08))),
            ("20,000 triangles", &coarse, None),
            ("noise times ten", &noisy, None),
        ];
        // In the short version each vessel has two of the six other poorer scans and the noisiest.
        let chosen =
            kinds.iter().enumerate().filter(|(index, _)| full() || *index == 6 || index % 3 == turn as usize % 3);
        for (_, (kind, draw, fault)) in chosen {
            let Some(poor) = scanned(&vessel, draw, fault.iter().copied().collect(), seed) else { continue };
            for (name, z) in finer(&sharp, &poor) {
                compared += 1;
                beyond += u32::from(z > 2.0);
                far += u32::from(z > 3.0);
                if z > 2.0 {
                    println!("{turn} {kind}: {name} seems finer by {z:.1} u");
                }
            }
        }
    }
    println!("of {compared} values {beyond} rank the vessel finer by more than 2 u, {far} by more than 3 u");
    // Chance leaves 2.3 % beyond 2 u and 0.13 % beyond 3 u where both scans say the same; what smoothing and coarse sections hide is
    // mostly stated in full, so that fewer lie there. Half a per cent leaves room for kernels that are told too short. Of the
    // short version's 200 one may.
    let beyond_three = far <= 1 || 200 * far <= compared;
    assert!(compared > 60 && 20 * beyond <= compared && beyond_three, "{beyond}, {far} of {compared}");
}
