//! How much more the stations scatter about their pieces, and together, than independent ones of their uncertainty would.

use super::{ArcStation, Piece};

/// A station further off than this many of its uncertainties speaks for this many: one bad station is not a noisy scan.
const MOST: f64 = 3.0;

/// Excess of scatter or correlation is believed from this many of its own standard deviations on.
const BELIEVED: f64 = 3.0;

/// Correlation of neighbours at most: beyond, the pieces would hold no independent station at all.
const MOST_CORRELATED: f64 = 0.9;

/// Factor by which the variance of a mean of many stations exceeds that of independent ones; 1 where nothing shows.
///
/// Neighbours' residuals of correlation c make it (1 + c) / (1 - c), as in a first-order autoregression.
pub(super) fn long_run(stations: &[ArcStation], variances: &[f64], pieces: &[Piece]) -> f64 {
    let (mut squares, mut products, mut count, mut free) = (0.0, 0.0, 0.0, 0.0);
    for piece in pieces {
        let off = |index: usize| {
            let distance = piece.curve.distance(stations[index].place());
            (distance / variances[index].sqrt()).clamp(-MOST, MOST)
        };
        let residuals: Vec<f64> = piece.stations.clone().map(off).collect();
        squares += residuals.iter().map(|e| e * e).sum::<f64>();
        products += residuals.windows(2).map(|pair| pair[0] * pair[1]).sum::<f64>();
        count += residuals.len() as f64;
        free += residuals.len() as f64 - if piece.bent { 3.0 } else { 2.0 };
    }
    let enough = free > 1.0 && squares > 0.0;
    if !enough {
        return 1.0;
    }
    let scatter = squares / free;
    let correlation = (products / squares).min(MOST_CORRELATED);
    let scatter = if scatter > 1.0 + BELIEVED * (2.0 / free).sqrt() { scatter } else { 1.0 };
    let together = if correlation > BELIEVED / count.sqrt() { (1.0 + correlation) / (1.0 - correlation) } else { 1.0 };
    scatter * together
}
