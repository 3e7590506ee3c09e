//! Mean, spread and one-way analysis of variance against certified values.

use serde_json::Value;
use tornus::math::variance::{moments, one_way};

use super::published;

fn digits(found: f64, wanted: f64) -> f64 {
    -((found - wanted).abs() / wanted.abs()).max(1e-16).log10()
}

fn certified(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

/// N1: NIST StRD univariate (read). Where the values themselves lose digits in f64 (NumAcc3: 9.5) less can be had.
#[test]
fn univariate() {
    let Some(text) = published("nist_strd/univariate/nist_univariate.json") else { return };
    let table: Value = serde_json::from_str(&text).unwrap();
    for (name, entry) in table.as_object().unwrap() {
        let values: Vec<f64> = match entry["data"].as_array() {
            Some(data) => data.iter().map(|value| value.as_f64().unwrap()).collect(),
            None => {
                let (first, low, high) =
                    if name == "NumAcc2" { (1.2, 1.1, 1.3) } else { (1000000.2, 1000000.1, 1000000.3) };
                std::iter::once(first).chain([low, high].into_iter().cycle().take(1000)).collect()
            }
        };
        let found = moments(&values).unwrap();
        let wanted = if name == "NumAcc3" { 9.0 } else { 13.5 };
        for (what, found, certified) in [
            ("mean", found.mean, certified(&entry["certified_mean"])),
            ("deviation", found.standard_deviation, certified(&entry["certified_sd"])),
            ("lag 1", found.lag1_autocorrelation, certified(&entry["certified_lag1"])),
        ] {
            // NumAcc2 and Mavro hold decimals that f64 cannot: 12 digits are left in their spread.
            let wanted = if name == "NumAcc2" || name == "Mavro" { 11.5 } else { wanted };
            let agree = digits(found, certified);
            assert!(agree >= wanted, "{name}, {what}: {agree:.1} digits");
        }
    }
}

/// N2: NIST StRD ANOVA (read). SmLs04..06 hold 13 common digits: what f64 keeps of the data is the limit.
#[test]
fn analysis_of_variance() {
    let Some(text) = published("nist_strd/anova/certified.json") else { return };
    let table: Value = serde_json::from_str(&text).unwrap();
    for (name, entry) in table.as_object().unwrap() {
        let Some(data) = published(&format!("nist_strd/anova/{name}.dat")) else { return };
        let mut groups: Vec<Vec<f64>> = Vec::new();
        for line in data.lines().skip(60) {
            let mut cells = line.split_whitespace();
            let (Some(group), Some(value)) = (cells.next(), cells.next()) else { continue };
            let group: usize = group.parse().unwrap();
            groups.resize(groups.len().max(group), Vec::new());
            groups[group - 1].push(value.parse().unwrap());
        }
        let found = one_way(&groups).unwrap();
        assert_eq!(
            (found.groups as u64, found.count as u64),
            (entry["groups"].as_u64().unwrap(), entry["n"].as_u64().unwrap())
        );
        let wanted = match name.as_str() {
            "SiRstv" => 12.0,
            "SmLs01" | "SmLs02" | "SmLs03" => 13.0,
            _ => 9.0,
        };
        for (what, found, key) in [
            ("between", found.between_squares, "SSB"),
            ("within", found.within_squares, "SSW"),
            ("mean square between", found.between_mean_square, "MSB"),
            ("mean square within", found.within_mean_square, "MSW"),
            ("ratio", found.ratio.unwrap(), "F"),
        ] {
            let agree = digits(found, certified(&entry[key]));
            assert!(agree >= wanted, "{name}, {what}: {agree:.1} digits");
        }
    }
}

/// Components of variance recovered from unequal groups: s_r 0.3, s_L 1.
#[test]
fn components_of_variance() {
    use rand::{Rng, SeedableRng};
    let mut rng = rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(4);
    let mut normal = |deviation: f64| deviation * (0..12).map(|_| rng.gen_range(-0.5..0.5)).sum::<f64>();
    let groups: Vec<Vec<f64>> = (0..2000)
        .map(|group| {
            let middle = 1e6 + normal(1.0);
            (0..1 + group % 4).map(|_| middle + normal(0.3)).collect()
        })
        .collect();
    let found = one_way(&groups).unwrap();
    assert!((found.within_deviation - 0.3).abs() < 0.01); // sd 0.3 / sqrt(2 x 3000) = 0.004
    assert!((found.between_deviation - 1.0).abs() < 0.06); // sd 1 / sqrt(2 x 2000) = 0.016
}

#[test]
fn too_little_has_no_variance() {
    assert_eq!(moments(&[1.0]), None);
    assert_eq!(one_way(&[vec![1.0, 2.0]]), None);
    assert_eq!(one_way(&[vec![1.0], vec![2.0], vec![]]), None);
}
