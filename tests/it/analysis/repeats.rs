//! Repeat scans of simulated vessels: a vessel is seldom told apart from itself, and always from others.

use rand::Rng;
use rayon::prelude::*;
use tornus::analysis::form::{FormChoice, FormSpace, neighbours};
use tornus::analysis::{CompareInput, CompareParams, Groups, Meridians, compare};
use tornus::synthetic::{Noise, ScanPlan, VesselForm, VesselPlan, Workmanship};
use tornus::table::{Column, Table, scan_tables};
use tornus::{Declared, Millimetre, ReductionParams, Seed, reduce};

use super::planted::may_be_bad;

/// Vessels in CI and with `TORNUS_FULL=1`, and scans of each, as different as instruments make them.
const VESSELS: (usize, usize) = (10, 60);
const SCANS: usize = 3;

/// How often two scans of one vessel may be told apart: what is stated is 1 in 20.
const TOLD_APART: f64 = 0.05;

/// A wall's own steps between points, which distances are divided by: the root of 64 for a meridian.
const MERIDIAN_ROOT: f64 = 8.0;

fn vessel(number: usize, seed: Seed) -> VesselPlan {
    let mut rng = seed.rng();
    let form = VesselForm::ALL[number % VesselForm::ALL.len()];
    let roundness_mm = 0.02 * 25.0_f64.powf(rng.r#gen::<f64>());
    let meridian = form.meridian(Millimetre::new(rng.gen_range(30.0..60.0)), 0.03, seed).unwrap();
    VesselPlan::new(meridian).with_workmanship(&Workmanship::of_roundness(roundness_mm), seed.derive(7))
}

/// A scan with 20,000 to 500,000 triangles and noise of 0.003 to 0.06 mm, in two of five cases half of it alike over some
/// millimetres.
fn plan(seed: Seed) -> ScanPlan {
    let mut rng = seed.rng();
    let triangles = 2e4 * 25.0_f64.powf(rng.r#gen::<f64>());
    let noise_mm = 0.003 * 20.0_f64.powf(rng.r#gen::<f64>());
    let noise = if rng.gen_bool(0.4) {
        let part = noise_mm / 2.0_f64.sqrt();
        Noise { white_mm: part, correlated_mm: part, length_mm: rng.gen_range(1.0..4.0) }
    } else {
        Noise::white(noise_mm)
    };
    ScanPlan { noise, ..ScanPlan::usual(triangles as usize, 0.0, seed.derive(1)) }
}

/// The meridian of one scan; its name begins with its vessel's number.
fn profile(number: usize, scan: usize, seed: Seed) -> (String, Table) {
    let seed = seed.derive(number as u64);
    let own = seed.derive(100 + scan as u64);
    let scanned = vessel(number, seed).scan(&plan(own), own.derive(4)).unwrap();
    let params = ReductionParams::new(128, 50, 150).unwrap();
    let reduction = reduce(&scanned, &params, &Declared::default(), own.derive(5)).unwrap();
    let id = format!("{number:03}-{scan}");
    let profiles = scan_tables(&id, &reduction).unwrap().profiles;
    (id, profiles)
}

/// The space of all scans, each taken for a vessel.
fn space(profiles: &[(String, Table)], choice: FormChoice) -> FormSpace {
    let ids = || profiles.iter().map(|(id, _)| id.as_str());
    let mut meridians = Meridians::default();
    profiles.iter().for_each(|(_, table)| meridians.add(table).unwrap());
    let none = ["vessel_id", "measure"].map(|name| Column::texts(name, [""; 0]));
    let input = CompareInput {
        scans: &Table::new("scans", vec![Column::texts("scan_id", ids()), Column::texts("vessel_id", ids())]).unwrap(),
        meridians: &meridians,
        measures: &Table::new("measures", [none.to_vec(), vec![Column::floats("value", [])]].concat()).unwrap(),
        vessels: &Table::new("vessels", vec![Column::texts("vessel_id", ids())]).unwrap(),
    };
    let params = CompareParams::new(Groups::Number(1.try_into().unwrap())).with_resamples(0).with_form(choice);
    compare(&input, &params, Seed::new(1)).unwrap().form
}

/// Pairs of scans of one vessel and how many are told apart; the same of two vessels.
fn told_apart(form: &FormSpace) -> [(u64, u64); 2] {
    let mut found = [(0, 0); 2];
    let near = neighbours(&form.retained_scores(), &form.retained_u_scores(), MERIDIAN_ROOT, form.vessels.len());
    for (row, others) in near.iter().enumerate() {
        for other in others.iter().filter(|other| other.row > row) {
            let two = usize::from(form.vessels[row][..3] != form.vessels[other.row][..3]);
            found[two].0 += 1;
            found[two].1 += u64::from(other.p_same.unwrap() < TOLD_APART);
        }
    }
    found
}

/// `TORNUS_FULL=1 cargo test --release --test it -- repeats --nocapture` scans 60 vessels in place of 10.
#[test]
fn scans_of_one_vessel_are_seldom_told_apart_and_those_of_two_always() {
    let vessels = if std::env::var_os("TORNUS_FULL").is_some() { VESSELS.1 } else { VESSELS.0 };
    let scans = 0..vessels * SCANS;
    let all: Vec<_> = scans.into_par_iter().map(|k| profile(k / SCANS, k % SCANS, Seed::new(90_000))).collect();
    for choice in FormChoice::ALL {
        let [(same, told), (two, told_two)] = told_apart(&space(&all, choice));
        println!("{choice:?}: {told} of {same} pairs of one vessel told apart, {told_two} of {two} of two");
        // Every vessel's three pairs share scans, so that chance allows about twice the pairs' own.
        assert!(told <= 2 * may_be_bad(same, TOLD_APART), "{choice:?}: {told} of {same}");
        // Neighbours among vessels of one form may be as alike as scans.
        assert!(told_two as f64 >= 0.97 * two as f64, "{choice:?}: {told_two} of {two}");
    }
}
