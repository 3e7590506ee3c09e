//! How unlike neighbours are, by their distance along the meridian or round the vessel.

use super::residuals::Residuals;
use crate::math::robust;

/// Distances looked at, in pitches.
pub(super) const LAGS: [usize; 10] = [1, 2, 3, 4, 5, 6, 8, 11, 16, 22];

/// Points that pairs start from.
const STARTS: usize = 8_000;

/// A distance needs this many pairs.
const FEWEST_PAIRS: usize = 150;

/// Pairs that lie apart one way lie beside each other by at most this share of a pitch the other way: lobes differ little over
/// it.
const BESIDE: f64 = 0.3;

/// Differences beyond this many robust standard deviations belong to damage or loose parts (project).
const FAR: f64 = 5.0;

/// Which way pairs lie apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Way {
    /// Along the meridian: a vessel's lobes run along it, but the meridian's own errors show.
    Along,
    /// Round the vessel at one place of the meridian, whose errors drop out.
    Round,
}

/// Half the mean squared difference at each of [`LAGS`], mm2, and the number of pairs; `None` with too few.
pub(super) fn variogram(points: &Residuals, way: Way) -> Vec<Option<(f64, usize)>> {
    let pitch = points.pitch;
    let [start, end] = points.reach();
    let rows = ((end - start) / pitch) as usize + 1;
    let row_of = |index: usize| (((points.arc[index] - start) / pitch) as usize).min(rows - 1);
    let mut sorted: Vec<Vec<usize>> = vec![Vec::new(); rows];
    (0..points.len()).for_each(|index| sorted[row_of(index)].push(index));
    for row in &mut sorted {
        row.sort_unstable_by(|a, b| points.azimuth[*a].total_cmp(&points.azimuth[*b]));
    }
    let stride = (points.len() / STARTS).max(1);
    let mut differences = vec![Vec::new(); LAGS.len()];
    for anchor in (0..points.len()).step_by(stride) {
        let (arc, azimuth, row) = (points.arc[anchor], points.azimuth[anchor], row_of(anchor));
        let pitch_rad = pitch / points.at(arc)[0].max(pitch);
        for (slot, &lag) in LAGS.iter().enumerate() {
            let far = [lag as f64 - 0.5, lag as f64 + 0.5];
            let (along, round, up) = match way {
                Way::Along => (far, [-BESIDE, BESIDE], lag),
                Way::Round => ([-BESIDE, BESIDE], far, 0),
            };
            let azimuths = round.map(|pitches| azimuth + pitches * pitch_rad);
            for other in sorted.iter().take(row + up + 2).skip((row + up).saturating_sub(1)) {
                let from = other.partition_point(|&i| points.azimuth[i] < azimuths[0]);
                for &index in other[from..].iter().take_while(|&&i| points.azimuth[i] <= azimuths[1]) {
                    if (along[0]..=along[1]).contains(&((points.arc[index] - arc) / pitch)) {
                        differences[slot].push(points.offset[index] - points.offset[anchor]);
                    }
                }
            }
        }
    }
    differences.iter().map(|differences| semivariance(differences)).collect()
}

fn semivariance(differences: &[f64]) -> Option<(f64, usize)> {
    if differences.len() < FEWEST_PAIRS {
        return None;
    }
    let (_, spread) = robust::mad(&mut differences.to_vec())?;
    let near: Vec<f64> = differences.iter().filter(|d| d.abs() <= FAR * spread).map(|d| d * d).collect();
    Some((0.5 * near.iter().sum::<f64>() / near.len().max(1) as f64, near.len()))
}
