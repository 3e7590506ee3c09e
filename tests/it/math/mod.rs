//! Checks of the mathematics against published values and independent calculations.

mod circle;
mod fourier;
mod linear;
mod plane;
mod variance;

use std::path::PathBuf;

/// The text of a file of published values, `None` (said aloud) where the folder does not stand beside the project.
pub(crate) fn published(path: &str) -> Option<String> {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/reference").join(path);
    let text = std::fs::read_to_string(file).ok();
    if text.is_none() {
        println!("left out: the published values {path} are not here");
    }
    text
}

/// The numbers of a CSV file with one header line.
pub(crate) fn numbers(csv: &str) -> Vec<Vec<f64>> {
    csv.lines()
        .skip(1)
        .filter(|line| !line.trim().is_empty())
        .map(|line| line.split(',').map(|cell| cell.trim().parse().unwrap()).collect())
        .collect()
}

/// Fails unless `found` is `wanted` to within `tolerance` of its size (of 1 if smaller).
#[track_caller]
pub(crate) fn close(found: f64, wanted: f64, tolerance: f64) {
    let error = (found - wanted).abs() / wanted.abs().max(1.0);
    assert!(error <= tolerance, "{found} is not {wanted}: off by {error:e} of its size, {tolerance:e} allowed");
}
