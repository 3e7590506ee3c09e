//! Published section shapes: arcs of cubic curves, and regular polygons.

use std::f64::consts::{PI, TAU};

use serde_json::Value;
use tornus::roundness::{FilteredProfile, ReferenceCircle, RoundnessProfile, associate, harmonics};

use super::upr;
use crate::math::{close, published};

fn number(value: &Value) -> f64 {
    value.as_f64().or_else(|| value.as_str()?.parse().ok()).unwrap()
}

/// Radius at `theta` of the closed curve of four cubic Bezier arcs with end points on the unit circle.
fn bezier_radius(handle: f64, theta: f64) -> f64 {
    let turned = theta.rem_euclid(PI / 2.0);
    let point = |t: f64| {
        let s = 1.0 - t;
        let weights = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
        let x = weights[0] + weights[1] + handle * weights[2];
        let y = handle * weights[1] + weights[2] + weights[3];
        (x, y)
    };
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let (x, y) = point(middle);
        if y.atan2(x) < turned { low = middle } else { high = middle }
    }
    let (x, y) = point(0.5 * (low + high));
    x.hypot(y)
}

fn even(count: u32, radius: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
    let angles: Vec<f64> = (0..count).map(|j| TAU * f64::from(j) / f64::from(count)).collect();
    let radii = angles.iter().map(|theta| radius(*theta)).collect();
    (angles, radii)
}

/// B1, B2: sections of four cubic arcs; calculated to 40 digits.
#[test]
fn cubic_arcs() {
    let Some(text) = published("shapes/bezier_circle.json") else { return };
    let table: Value = serde_json::from_str(&text).unwrap();
    for (name, case) in table["cases"].as_object().unwrap() {
        let handle = number(&case["k"]);
        let (angles, radii) = even(4096, |theta| bezier_radius(handle, theta));
        let found = harmonics(&RoundnessProfile::new(angles, radii.clone()).unwrap(), upr(200)).unwrap();
        let mean = found.mean_radius.value();
        close(mean, number(&case["mean_radius"]), 1e-12);
        for (n, wanted) in case["harmonics_signed_cos_over_mean"].as_object().unwrap() {
            let harmonic = found.harmonics[n.parse::<usize>().unwrap() - 1];
            let signed = harmonic.raw_amplitude_mm * harmonic.phase_rad.cos() / mean;
            assert!((signed - number(wanted)).abs() < 1e-12, "{name}, {n} UPR: {signed}");
        }
        let profile = FilteredProfile::new(radii).unwrap();
        for reference in [ReferenceCircle::Lsci, ReferenceCircle::Mzci] {
            let circle = associate(&profile, reference).unwrap();
            // a crest between two nodes is missed by half the curvature (< 0.03) times (pi / 4096)^2
            assert!((circle.ront_mm / mean - number(&case["RONt_over_mean"])).abs() < 1e-8, "{name}");
        }
        let lsci = associate(&profile, ReferenceCircle::Lsci).unwrap();
        assert!((lsci.ronq_mm / mean - number(&case["RONq_over_mean"])).abs() < 1e-12, "{name}");
    }
}

/// B4: regular polygons, closed form.
#[test]
fn regular_polygons() {
    let Some(text) = published("shapes/ngon.json") else { return };
    let table: Value = serde_json::from_str(&text).unwrap();
    for row in table["rows"].as_array().unwrap() {
        let sides = number(&row["n"]);
        let n = sides as u32;
        let corner = PI / sides;
        // the angle from the nearest edge midpoint; phase zero lies on one
        let radius = |theta: f64| {
            let from = (theta + corner).rem_euclid(2.0 * corner) - corner;
            corner.cos() / from.cos()
        };
        // Harmonics of a curve with corners fall with the square of their order: a fit keeps what aliasing leaves,
        // (order / count)^2 of each.
        let count = 16384 / (2 * n) * 2 * n;
        let (angles, radii) = even(count, radius);
        let found = harmonics(&RoundnessProfile::new(angles, radii.clone()).unwrap(), upr(3 * n as u16)).unwrap();
        let mean = found.mean_radius.value();
        close(mean, number(&row["mean_radius"]), 1e-6);
        for (multiple, key) in [(1, "harmonic_n_over_mean"), (2, "harmonic_2n_over_mean"), (3, "harmonic_3n_over_mean")]
        {
            let harmonic = found.harmonics[(multiple * n) as usize - 1];
            let signed = harmonic.raw_amplitude_mm * harmonic.phase_rad.cos() / mean;
            assert!((signed - number(&row[key])).abs() < 1e-6, "{n} sides, {key}: {signed}");
        }
        let circle = associate(&FilteredProfile::new(radii).unwrap(), ReferenceCircle::Lsci).unwrap();
        close(circle.ront_mm, number(&row["RONt"]), 1e-11);
    }
}
