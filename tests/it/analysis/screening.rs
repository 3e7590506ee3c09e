//! Screening: a published likelihood ratio, calibration on references whose truth is known, and what must be refused.

use std::collections::BTreeMap;
use std::f64::consts::LN_10;
use std::path::Path;

use rand::Rng;
use rand_distr::StandardNormal;
use rand_xoshiro::Xoshiro256PlusPlus;
use tornus::Seed;
use tornus::analysis::screening::{
    Documented, Measurements, ScreenInput, ScreenParams, Screening, TwoLevelModel, screen,
};
use tornus::analysis::statistics::{cllr, least_cllr};
use tornus::table::{Column, Table};

#[test]
fn the_published_ratios_of_glass_are_reproduced() {
    // Aitken & Lucy 2004 model; printed test values of a general forensic statistics package (normal item means, variables
    // logKO, logCaO, logFeO; rows 1-6 of the first item against its rows 7-12, and against rows 7-12 of the second).
    const SAME: f64 = 51.142_431_1;
    const DIFFERENT: f64 = 0.028_999_075_7;
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/reference/likelihood_ratio/glass_zadora.csv");
    let Ok(mut reader) = csv::Reader::from_path(&file) else {
        println!("left out: published likelihood ratios, {} is absent", file.display());
        return;
    };
    let header = reader.headers().unwrap().clone();
    let columns = ["logKO", "logCaO", "logFeO"].map(|name| header.iter().position(|found| found == name).unwrap());
    let mut items: Vec<(String, Vec<Vec<f64>>)> = Vec::new();
    for row in reader.records().map(Result::unwrap) {
        let values = columns.iter().map(|&column| row[column].parse().unwrap()).collect();
        match items.last_mut() {
            Some((item, rows)) if *item == row[0] => rows.push(values),
            _ => items.push((row[0].to_owned(), vec![values])),
        }
    }
    let rows: Vec<Vec<Vec<f64>>> = items.into_iter().map(|(_, rows)| rows).collect();
    let model = TwoLevelModel::estimate(&rows).unwrap();
    let mean = |rows: &[Vec<f64>]| -> Vec<f64> {
        (0..3).map(|k| rows.iter().map(|row| row[k]).sum::<f64>() / rows.len() as f64).collect()
    };
    let control = mean(&rows[0][..6]);
    for (recovered, wanted) in [(mean(&rows[0][6..]), SAME), (mean(&rows[1][6..]), DIFFERENT)] {
        let set = |mean| Measurements { mean, count: 6 };
        let ratio = model.ln_ratio_one_item(set(&control), set(&recovered)).unwrap().exp();
        assert!((ratio / wanted - 1.0).abs() < 2e-9, "{ratio} {wanted}"); // half a unit of the last digit printed
    }
}

#[test]
fn costs_are_those_of_the_closed_form() {
    // Closed form, evaluated independently (reference collection, L3).
    let ln = |ratios: &[f64]| ratios.iter().map(|ratio| ratio.ln()).collect::<Vec<_>>();
    let cases: [(&[f64], &[f64], f64); 3] = [
        (&[0.5, 2.0, 4.0, 6.0, 8.0, 10.0], &[0.2, 0.4, 0.6, 0.8, 1.1], 0.586_298_107_494_499_5),
        (&[100.0; 3], &[0.01; 3], 0.014_355_292_977_070_054),
        (&[1000.0, 1000.0, 0.1], &[0.001, 0.001, 10.0], 1.154_105_188_995_036_7),
    ];
    for (same, different, wanted) in cases {
        assert!((cllr(&ln(same), &ln(different)).unwrap() - wanted).abs() < 1e-12);
    }
    let least = least_cllr(&ln(cases[0].0), &ln(cases[0].1)).unwrap();
    assert!((least - 0.289_560_574_815_214_36).abs() < 1e-12, "{least}");
}

/// A corpus of references and of vessels whose make is known here only.
struct Plan {
    modern: usize,
    old: usize,
    /// Vessels of each make to be judged.
    judged: usize,
    /// How far the makes lie apart: ln units, down in every measure and up in 3 UPR.
    apart: f64,
    /// Standard uncertainty of a good scan, as a share of the usual value; every second scan has four times as much.
    noise: f64,
}

const MEASURES: [&str; 6] =
    ["lobing_2", "lobing_3", "lobing_4_15", "axis_straightness_outer", "coaxiality_inner", "wall_unevenness"];

/// The tables of a plan and, by vessel, whether it is modern; vessels whose name begins with `q` are to be judged.
struct Drawn {
    scans: Table,
    measures: Table,
    vessels: Table,
    modern: BTreeMap<String, bool>,
}

#[derive(Default)]
struct Rows {
    vessels: Vec<String>,
    measures: Vec<&'static str>,
    numbers: [Vec<f64>; 3],
}

impl Rows {
    fn add(&mut self, vessel: &str, measure: &'static str, numbers: [f64; 3]) {
        self.vessels.push(vessel.to_owned());
        self.measures.push(measure);
        self.numbers.iter_mut().zip(numbers).for_each(|(column, number)| column.push(number));
    }
}

fn normal(rng: &mut Xoshiro256PlusPlus) -> f64 {
    rng.sample(StandardNormal)
}

impl Plan {
    fn draw(&self, seed: u64) -> Drawn {
        let mut rng = Seed::new(seed).rng();
        let mut rows = Rows::default();
        let (mut ids, mut reference, mut mohs, mut setting) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut modern = BTreeMap::new();
        let sets = [
            (self.modern, true, true),
            (self.old, false, true),
            (self.judged, true, false),
            (self.judged, false, false),
        ];
        for (count, is_modern, documented) in sets {
            for index in 0..count {
                let id = format!("{}{}{index:04}", if documented { "d" } else { "q" }, u8::from(is_modern));
                let hardness = normal(&mut rng);
                self.measure(&id, is_modern, hardness, index % 2 == 1, &mut rows, &mut rng);
                mohs.push(4.0 + 1.2 * hardness);
                reference.push(documented.then_some(if is_modern { "modern" } else { "old" }.to_owned()));
                setting.push(format!("source {} {}", index % 3, is_modern));
                modern.insert(id.clone(), is_modern);
                ids.push(id);
            }
        }
        let [value, u, limit] = rows.numbers;
        let measures = vec![
            Column::texts("vessel_id", rows.vessels),
            Column::texts("measure", rows.measures),
            Column::floats("value", value),
            Column::floats("u", u),
            Column::floats("detection_limit", limit),
        ];
        let vessels = vec![
            Column::texts("vessel_id", ids.clone()),
            Column::optional_texts("reference", reference),
            Column::texts("setting", setting),
            Column::floats("mohs", mohs),
        ];
        Drawn {
            scans: Table::new("scans", vec![Column::texts("scan_id", ids.clone()), Column::texts("vessel_id", ids)])
                .unwrap(),
            measures: Table::new("measures", measures).unwrap(),
            vessels: Table::new("vessels", vessels).unwrap(),
            modern,
        }
    }

    /// Logarithms about ln 0.05 that go together (0.4), each with its own part (0.4), softer stone truer; then a scan.
    fn measure(&self, id: &str, modern: bool, hardness: f64, bad: bool, rows: &mut Rows, rng: &mut Xoshiro256PlusPlus) {
        let common = 0.4 * normal(rng);
        for measure in MEASURES {
            let shift = match (modern, measure) {
                (false, _) => 0.0,
                (true, "lobing_3") => self.apart,
                (true, _) => -0.5 * self.apart,
            };
            let truth = (0.05_f64.ln() + 0.3 * hardness + common + shift + 0.4 * normal(rng)).exp();
            let u = 0.05 * self.noise * if bad { 4.0 } else { 1.0 };
            rows.add(id, measure, [(truth + u * normal(rng)).max(0.0), u, 2.0 * u]);
        }
        rows.add(id, "max_diameter", [(4.6 + 0.1 * normal(rng)).exp(), 0.01, 0.0]);
    }
}

impl Drawn {
    fn screen(&self) -> Screening {
        self.screen_with(ScreenParams::new())
    }

    fn screen_with(&self, params: ScreenParams) -> Screening {
        let input = ScreenInput { scans: &self.scans, measures: &self.measures, vessels: &self.vessels };
        screen(&input, params, Seed::new(1)).unwrap()
    }

    /// Natural logarithms of the ratios of the vessels to be judged: modern, old.
    fn judged(&self, screening: &Screening) -> [Vec<f64>; 2] {
        [true, false].map(|modern| {
            let of = screening.vessels.iter().filter(|v| v.vessel.starts_with('q') && self.modern[&v.vessel] == modern);
            of.map(|v| LN_10 * v.log10_lr.unwrap()).collect()
        })
    }
}

/// Whether the long versions are asked for.
fn full() -> bool {
    std::env::var_os("TORNUS_FULL").is_some()
}

#[test]
fn ratios_of_new_vessels_are_calibrated() {
    // The minimum is fitted to the very ratios it is judged by; with 1,000 of each make that is worth less than 0.01.
    let corpora = if full() { 40 } else { 3 };
    for (apart, noise) in [(0.3, 0.04), (0.8, 0.08), (2.0, 0.02)] {
        let plan = Plan { modern: 60, old: 60, judged: 1_000, apart, noise };
        let mut losses = Vec::new();
        for seed in 0..corpora {
            let drawn = plan.draw(100 + seed);
            let [modern, old] = drawn.judged(&drawn.screen_with(ScreenParams::new().with_resamples(0)));
            losses.push(cllr(&modern, &old).unwrap() - least_cllr(&modern, &old).unwrap());
        }
        let mean = losses.iter().sum::<f64>() / losses.len() as f64;
        let worst = losses.iter().copied().fold(0.0, f64::max);
        println!("apart {apart}, noise {noise}: loss {mean:.3}, worst {worst:.3} of {}", losses.len());
        assert!(mean <= 0.05, "apart {apart}, noise {noise}: {losses:?}");
    }
}

#[test]
fn few_references_are_never_surer_than_their_number() {
    let plan = Plan { modern: 8, old: 12, judged: 100, apart: 3.0, noise: 0.02 };
    let drawn = plan.draw(7);
    let found = drawn.screen();
    let [modern, old] = drawn.judged(&found);
    assert!(modern.iter().all(|ln| *ln <= 13.0_f64.ln() + 1e-9) && old.iter().all(|ln| *ln >= -9.0_f64.ln() - 1e-9));
    // Makes this far apart are told apart, and most ratios come within a fifth of what so few references can back.
    let beyond = |values: &[f64], sign: f64, least: f64| values.iter().filter(|ln| sign * **ln > least).count();
    assert!(beyond(&modern, 1.0, 0.0) >= 97 && beyond(&old, -1.0, 0.0) >= 97, "{modern:?} {old:?}");
    assert!(beyond(&modern, 1.0, 0.8 * 13.0_f64.ln()) > 80 && beyond(&old, -1.0, 0.8 * 9.0_f64.ln()) > 80);
    for vessel in &found.vessels {
        let (ratio, [low, high]) = (vessel.log10_lr.unwrap(), vessel.interval.unwrap());
        assert!(low <= ratio && ratio <= high, "{vessel:?}");
    }
}

#[test]
fn references_are_judged_by_models_without_them() {
    // No difference at all: a model that had seen its references would think it can tell them apart.
    let drawn = Plan { modern: 15, old: 15, judged: 1, apart: 0.0, noise: 0.02 }.draw(11);
    let validation = drawn.screen().validation.unwrap();
    assert!(validation.cllr > 0.9, "{}", validation.cllr);
    let kinds = [Documented::Modern, Documented::Old].map(|kind| validation.of(kind).count());
    assert_eq!(kinds, [15, 15]);
}

#[test]
fn a_vessel_unlike_both_is_said_to_be_so() {
    let drawn = Plan { modern: 20, old: 20, judged: 1, apart: 1.0, noise: 0.02 }.draw(3);
    let mut rows = Rows::default();
    for measure in MEASURES {
        rows.add("q10000", measure, [if measure == "lobing_2" { 40.0 } else { 0.0005 }, 0.0001, 0.0002]);
    }
    rows.add("q10000", "max_diameter", [100.0, 0.01, 0.0]);
    let keep = drawn.measures.texts("vessel_id").unwrap();
    let kept: Vec<usize> = (0..keep.len()).filter(|row| keep[*row].as_deref() != Some("q10000")).collect();
    let float = |name: &str, own: &[f64]| {
        let old = drawn.measures.floats(name).unwrap();
        Column::optional_floats(name, kept.iter().map(|row| old[*row]).chain(own.iter().map(|v| Some(*v))))
    };
    let text = |name: &str, own: Vec<String>| {
        let old = drawn.measures.texts(name).unwrap();
        Column::optional_texts(name, kept.iter().map(|row| old[*row].clone()).chain(own.into_iter().map(Some)))
    };
    let columns = vec![
        text("vessel_id", rows.vessels.clone()),
        text("measure", rows.measures.iter().map(|m| (*m).to_owned()).collect()),
        float("value", &rows.numbers[0]),
        float("u", &rows.numbers[1]),
        float("detection_limit", &rows.numbers[2]),
    ];
    let drawn = Drawn { measures: Table::new("measures", columns).unwrap(), ..drawn };
    let found = drawn.screen();
    let vessel = found.vessels.iter().find(|vessel| vessel.vessel == "q10000").unwrap();
    assert_eq!(vessel.unlike_both, Some(true));
    assert!(vessel.log10_lr.unwrap().abs() < 0.3, "{vessel:?}"); // the scale's "no support either way"
    assert!(vessel.grounds.as_deref().unwrap().contains("unlike both populations"));
}

#[test]
fn another_scan_could_change_the_ratio() {
    let drawn = Plan { modern: 20, old: 20, judged: 5, apart: 1.5, noise: 0.02 }.draw(4);
    let found = drawn.screen();
    let (modern, old) = ("q10000", "q00000");
    let own = found.readings(modern).unwrap().to_vec();
    let known = found.vessels.iter().find(|v| v.vessel == modern).unwrap().log10_lr.unwrap();
    assert!((found.log10_lr_with(modern, &own).unwrap() - known).abs() < 1e-12);
    let exchanged = found.readings(old).unwrap().to_vec();
    assert!(found.log10_lr_with(modern, &exchanged).unwrap() < known);
    assert_eq!(found.log10_lr_with(modern, &own[1..]), None);
}

#[test]
fn the_tables_keep_their_contract_and_refuse_with_a_count() {
    let drawn = Plan { modern: 10, old: 10, judged: 3, apart: 1.0, noise: 0.02 }.draw(5);
    let tables = drawn.screen().tables().unwrap();
    for table in &tables {
        for column in table.columns() {
            assert!(
                tornus::table::schema::is_described(table.name(), &column.name),
                "{}.{}",
                table.name(),
                column.name
            );
        }
    }
    assert_eq!(tables[0].rows(), 26);
    let refused = Plan { modern: 4, old: 10, judged: 3, apart: 1.0, noise: 0.02 }.draw(6).screen().tables().unwrap();
    assert_eq!(refused.len(), 1);
    let reasons = refused[0].texts("refused").unwrap();
    assert!(reasons.iter().all(|reason| reason.as_deref().unwrap().starts_with("2 more documented modern references")));
    assert!(refused[0].floats("log10_lr_modern").unwrap().iter().all(Option::is_none));
}
