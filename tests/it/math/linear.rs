//! Linear least squares against certified values.

use nalgebra::{DMatrix, DVector};
use serde_json::Value;
use tornus::math::least_squares::{LinearError, LinearFit, solve};

use super::{close, published};

/// log10 of the relative error, as certified comparisons count: digits that agree.
fn digits(found: f64, wanted: f64) -> f64 {
    let error = if wanted.abs() > 0.0 { (found - wanted).abs() / wanted.abs() } else { found.abs() };
    -error.max(1e-16).log10()
}

fn check(name: &str, fit: &LinearFit, coefficients: &[f64], deviations: &[f64], wanted_digits: (f64, f64)) {
    let covariance = fit.covariance().unwrap();
    for (k, wanted) in coefficients.iter().enumerate() {
        let found = digits(fit.coefficients[k], *wanted);
        assert!(found >= wanted_digits.0, "{name}, coefficient {k}: {found:.1} digits");
    }
    for (k, wanted) in deviations.iter().enumerate() {
        let found = digits(covariance[(k, k)].sqrt(), *wanted);
        assert!(found >= wanted_digits.1, "{name}, standard deviation {k}: {found:.1} digits");
    }
}

fn polynomial(x: &[f64], degree: usize) -> DMatrix<f64> {
    DMatrix::from_fn(x.len(), degree + 1, |row, power| x[row].powi(power as i32))
}

fn floats(value: &Value) -> Vec<f64> {
    let number = |v: &Value| v.as_f64().or_else(|| v.as_str()?.parse().ok()).unwrap();
    value.as_array().unwrap().iter().map(number).collect()
}

/// Source: JCGM 100:2008 (GUM), H.3, calibration of a thermometer, Table H.6 (from memory): b = y1 + y2 (t - 20 degrees C).
#[test]
fn calibration_line_of_a_thermometer() {
    let t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let design = polynomial(&t.map(|t| t - 20.0), 1);
    let fit = solve(&design, &DVector::from_row_slice(&b)).unwrap();
    let covariance = fit.covariance().unwrap();
    let (u1, u2) = (covariance[(0, 0)].sqrt(), covariance[(1, 1)].sqrt());
    // Printed: -0.1712, 0.0029, 0.00218, 0.00067, r = -0.930, b(30) = -0.1494 with u = 0.0041.
    let at_30 = fit.coefficients[0] + 10.0 * fit.coefficients[1];
    let u_30 = (covariance[(0, 0)] + 100.0 * covariance[(1, 1)] + 20.0 * covariance[(0, 1)]).sqrt();
    for (found, printed, half_digit) in [
        (fit.coefficients[0], -0.1712, 5e-5),
        (u1, 0.0029, 5e-5),
        (fit.coefficients[1], 0.002_18, 5e-6),
        (u2, 0.000_67, 5e-6),
        (covariance[(0, 1)] / (u1 * u2), -0.930, 5e-4),
        (at_30, -0.1494, 5e-5),
        (u_30, 0.0041, 5e-5),
    ] {
        assert!((found - printed).abs() <= half_digit, "{found} is not {printed}");
    }
}

/// N3: NIST StRD Norris (read).
#[test]
fn norris() {
    let Some(text) = published("nist_strd/linear/Norris.dat") else { return };
    let rows: Vec<(f64, f64)> = text
        .lines()
        .skip_while(|line| !line.starts_with("Data:"))
        .skip(1)
        .filter_map(|line| {
            let mut cells = line.split_whitespace().map(|cell| cell.parse::<f64>());
            Some((cells.next()?.ok()?, cells.next()?.ok()?))
        })
        .collect();
    assert_eq!(rows.len(), 36);
    let x: Vec<f64> = rows.iter().map(|row| row.1).collect();
    let fit = solve(&polynomial(&x, 1), &DVector::from_iterator(36, rows.iter().map(|row| row.0))).unwrap();
    let coefficients = [-0.262323073774029, 1.00211681802045];
    check("Norris", &fit, &coefficients, &[0.232818234301152, 0.429796848199937e-03], (12.0, 12.0));
    close(fit.residual_sum_squares, 26.6173985294224, 1e-13);
    close(fit.residual_deviation().unwrap(), 0.884796396144373, 1e-13);
}

/// N3: NIST StRD Pontius and Longley as quoted by a general numerical library (read).
#[test]
fn pontius_and_longley() {
    let Some(text) = published("nist_strd/linear/gsl_quoted.json") else { return };
    let table: Value = serde_json::from_str(&text).unwrap();
    let y = |name: &str| DVector::from_vec(floats(&table[name]["y"]));
    let pontius = solve(&polynomial(&floats(&table["pontius"]["x"]), 2), &y("pontius")).unwrap();
    check("Pontius", &pontius, &floats(&table["pontius"]["coef"]), &floats(&table["pontius"]["sd"]), (10.0, 11.0));
    let rows: Vec<Vec<f64>> = table["longley"]["X"].as_array().unwrap().iter().map(floats).collect();
    let design = DMatrix::from_fn(rows.len(), 7, |row, column| rows[row][column]);
    let longley = solve(&design, &y("longley")).unwrap();
    check("Longley", &longley, &floats(&table["longley"]["coef"]), &floats(&table["longley"]["sd"]), (10.0, 11.0));
}

/// N4: NIST StRD Wampler 1 to 5 (from memory; recomputed with 80 digits).
#[test]
fn wampler() {
    let Some(text) = published("nist_strd/linear/wampler.json") else { return };
    let table: Value = serde_json::from_str(&text).unwrap();
    let x: Vec<f64> = (0..=20).map(f64::from).collect();
    let design = polynomial(&x, 5);
    let delta = DVector::from_vec(floats(&table["delta"]));
    let first = DVector::from_iterator(21, x.iter().map(|x| (0..6).map(|j| x.powi(j)).sum()));
    let second = DVector::from_iterator(21, x.iter().map(|x| (0..6).map(|j| (x / 10.0).powi(j)).sum()));
    check("Wampler1", &solve(&design, &first).unwrap(), &floats(&table["coef_W1345"]), &[], (8.5, 0.0));
    check("Wampler2", &solve(&design, &second).unwrap(), &floats(&table["coef_W2"]), &[], (11.0, 0.0));
    for (scale, wanted_digits) in [(1.0, 8.5), (100.0, 8.0), (10000.0, 6.5)] {
        let fit = solve(&design, &(&first + &delta * scale)).unwrap();
        let deviations: Vec<f64> = floats(&table["sd_W3"]).iter().map(|sd| sd * scale).collect();
        check("Wampler3..5", &fit, &floats(&table["coef_W1345"]), &deviations, (wanted_digits, 11.0));
        close(fit.residual_sum_squares, 83554268.0 * scale * scale, 1e-11);
    }
}

#[test]
fn poor_problems_are_errors() {
    let design = DMatrix::from_row_slice(3, 2, &[1.0, 2.0, 2.0, 4.0, 3.0, 6.0]);
    let values = DVector::from_row_slice(&[1.0, 2.0, 3.0]);
    assert_eq!(solve(&design, &values), Err(LinearError::Singular { column: 1 }));
    assert_eq!(solve(&DMatrix::zeros(3, 1), &values), Err(LinearError::Singular { column: 0 }));
    let wide = DMatrix::from_element(3, 4, 1.0);
    assert_eq!(solve(&wide, &values), Err(LinearError::UnderDetermined { count: 3, coefficients: 4 }));
    assert_eq!(solve(&design, &DVector::zeros(2)), Err(LinearError::LengthMismatch { rows: 3, values: 2 }));
    let hole = DVector::from_row_slice(&[1.0, f64::NAN, 3.0]);
    assert_eq!(solve(&design, &hole), Err(LinearError::NotFinite { row: 1 }));
}
