//! How long each stage takes: reading, reducing, one section, one comparison.
//!
//! `cargo bench` states each time and, where there is a count to divide by, the throughput in elements (triangles, points,
//! vessels) per second.
#![allow(clippy::unwrap_used, missing_docs)]

use std::f64::consts::TAU;
use std::hint::black_box;
use std::io::Cursor;
use std::time::Duration;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use nalgebra::Point2;
use tornus::analysis::{CompareParams, Groups, compare};
use tornus::format::{self, Format, Limits};
use tornus::math::circle::minimum_zone;
use tornus::math::fourier;
use tornus::roundness::{NoiseReference, RoundnessProfile, evaluate};
use tornus::section::fit_band;
use tornus::synthetic::{FileFormat, ScanPlan, VesselForm, VesselPlan, Workmanship, write};
use tornus::{Declared, LengthUnit, Millimetre, ReductionParams, Scan, Seed, Upr, reduce};

#[allow(dead_code, reason = "the tests use more of it")]
#[path = "../it/analysis/corpus.rs"]
mod corpus;

/// Points of one section.
const SECTION_POINTS: usize = 2000;
const HIGHEST: u16 = 150;
const CUTOFF: u16 = 50;

/// A usual scan of a jar.
fn jar(triangles: usize) -> Scan {
    let seed = Seed::new(2);
    let plan = VesselPlan::new(VesselForm::Jar.meridian(Millimetre::new(45.0), 0.03, seed).unwrap())
        .with_workmanship(&Workmanship::of_roundness(0.1), seed.derive(1));
    plan.scan(&ScanPlan::usual(triangles, 0.01, seed.derive(2)), seed.derive(3)).unwrap()
}

fn read(c: &mut Criterion) {
    let scan = jar(200_000);
    let mut group = c.benchmark_group("read");
    group.measurement_time(Duration::from_secs(4)).sample_size(10);
    group.throughput(Throughput::Elements(scan.triangles().len() as u64));
    for (name, file, format) in [
        ("stl_binary_200k", FileFormat::StlBinary, Format::Stl),
        ("ply_binary_200k", FileFormat::PlyLittle, Format::Ply),
        ("obj_200k", FileFormat::Obj, Format::Obj),
    ] {
        let mut bytes = Vec::new();
        write(&mut bytes, &scan, file, LengthUnit::Millimetre).unwrap();
        group.bench_function(name, |b| {
            b.iter(|| {
                format::read(Cursor::new(black_box(&bytes)), format, LengthUnit::Millimetre, &Limits::default())
                    .unwrap()
            });
        });
    }
    group.finish();
}

fn reduction(c: &mut Criterion) {
    let params = ReductionParams::new(128, CUTOFF, HIGHEST).unwrap();
    let mut group = c.benchmark_group("reduce");
    group.sample_size(10);
    for (name, triangles, seconds) in [("20k", 20_000, 3), ("200k", 200_000, 6), ("2M", 2_000_000, 15)] {
        let scan = jar(triangles);
        group.measurement_time(Duration::from_secs(seconds));
        group.throughput(Throughput::Elements(scan.triangles().len() as u64));
        group.bench_function(name, |b| {
            b.iter(|| reduce(black_box(&scan), &params, &Declared::default(), Seed::new(1)).unwrap());
        });
    }
    group.finish();
}

/// Azimuths and radii of one section: uneven angles, ten harmonics, some noise.
fn section() -> (Vec<f64>, Vec<f64>) {
    let mut angles: Vec<f64> =
        (0..SECTION_POINTS).map(|i| (TAU * (i as f64 * 0.618_033_988_75)).rem_euclid(TAU)).collect();
    angles.sort_by(f64::total_cmp);
    let wave =
        |theta: f64| (2..12).map(|n| 0.05 / f64::from(n) * (f64::from(n) * theta + f64::from(n)).cos()).sum::<f64>();
    let radii = angles.iter().enumerate().map(|(i, theta)| 40.0 + wave(*theta) + 0.01 * (i as f64).sin()).collect();
    (angles, radii)
}

fn one_section(c: &mut Criterion) {
    let (angles, radii) = section();
    let deviations: Vec<f64> = radii.iter().map(|radius| radius - 40.0).collect();
    let (highest, cutoff) = (Upr::new(HIGHEST).unwrap(), Upr::new(CUTOFF).unwrap());
    let mut group = c.benchmark_group("section");
    group.measurement_time(Duration::from_secs(3)).sample_size(20);
    group.throughput(Throughput::Elements(SECTION_POINTS as u64));
    group.bench_function("harmonics_150", |b| {
        b.iter(|| fit_band(black_box(&angles), black_box(&deviations), usize::from(HIGHEST)).unwrap());
    });
    let fit = RoundnessProfile::new(angles.clone(), radii.clone()).unwrap().fit(highest).unwrap();
    let reference = NoiseReference::new(highest, cutoff, 512, Seed::new(1)).unwrap();
    group.bench_function("roundness", |b| {
        b.iter(|| evaluate(black_box(&fit), 0.01, cutoff, &reference).unwrap());
    });
    let profile = fourier::HarmonicFit::on_grid(&fit, 512, |_| 1.0);
    let place = |(i, radius): (usize, &f64)| {
        let (sine, cosine) = (TAU * i as f64 / 512.0).sin_cos();
        Point2::new(radius * cosine, radius * sine)
    };
    let points: Vec<Point2<f64>> = profile.iter().enumerate().map(place).collect();
    group.throughput(Throughput::Elements(points.len() as u64));
    group.bench_function("minimum_zone_512", |b| b.iter(|| minimum_zone(black_box(&points)).unwrap()));
    group.finish();
}

/// Comparisons of corpora; that of 100,000 vessels, which needs minutes, with `TORNUS_FULL` only.
fn comparison(c: &mut Criterion) {
    let params = CompareParams::new(Groups::Auto);
    let mut group = c.benchmark_group("compare");
    group.sample_size(10);
    let full = std::env::var_os("TORNUS_FULL").map(|_| ("100000_vessels", 100_000, 150));
    for (name, vessels, seconds) in [("60_vessels", 60, 15), ("10000_vessels", 10_000, 50)].into_iter().chain(full) {
        let corpus = corpus::Corpus::draw(&corpus::Recipe { vessels, ..corpus::SIXTY }, 7);
        group.measurement_time(Duration::from_secs(seconds));
        group.throughput(Throughput::Elements(vessels as u64));
        group.bench_function(name, |b| {
            b.iter(|| compare(&corpus.input(), &params, Seed::new(1)).unwrap().tables().unwrap());
        });
    }
    group.finish();
}

criterion_group!(stages, read, reduction, one_section, comparison);
criterion_main!(stages);
