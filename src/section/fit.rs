//! One band's harmonics: gaps bridged, noise estimated.

use std::f64::consts::{PI, TAU};

use super::Hidden;
use crate::math::fourier::{self, HarmonicFit};
use crate::math::robust;

/// The numbers of harmonics that are fitted; a section takes the highest that its sampling supports.
const LADDER: [usize; 18] = [500, 350, 250, 200, 150, 120, 100, 85, 75, 60, 50, 40, 30, 20, 15, 10, 7, 5];

/// Points for each unknown of a section's fit (project): the noise of the fit stays within a fifth of an even sampling's.
const POINTS_PER_UNKNOWN: usize = 3;

/// A section with more than this share of its azimuth unseen or set aside is not measured (methods: a third).
const MOST_BRIDGED: f64 = 1.0 / 3.0 + 0.02;

/// Gaps longer than half a period of this harmonic are missing surface at any sampling.
const COARSEST: usize = 7;

/// Share of the azimuth that chance may leave in gaps between half a period of the highest and of the coarsest harmonic.
const MOST_LOOSE: f64 = 0.1;

/// Points in clumps tell less than their number: a fit whose worst coefficient is known this many times worse (in variance)
/// than from an even sampling gives way to one of fewer harmonics (project).
const MOST_INFLATION: f64 = 4.0;

/// Harmonics of the smooth curve that loose points are told by, at most.
const SMOOTH_HARMONICS: usize = 15;

/// Points further off the smooth curve than this many robust standard deviations are loose (project): of normal noise two
/// in a thousand million, of a wave of any order none.
const FAR: f64 = 6.0;

/// mm.
const NANOMETRE: f64 = 1e-6;

/// The harmonics of one band.
#[derive(Clone, Debug, PartialEq)]
pub struct BandFit {
    /// The fit; mean and coefficients are radial deviations from the mean meridian, mm.
    pub harmonics: HarmonicFit,
    /// Standard deviation of a point about the fit along the radius, mm.
    pub noise: f64,
    /// Degrees of freedom of `noise`.
    pub freedom: usize,
    /// Share of the azimuth that no point was near, 0 to 1.
    pub bridged: f64,
    /// What the bridged part may hide; nothing where all was seen.
    pub hidden: Hidden,
}

/// Fits up to `wanted` harmonics to a band's points.
///
/// The highest harmonic is the highest that leaves three points for each unknown. Gaps longer than half its period are
/// bridged by a curve of the few harmonics that the gaps do allow.
///
/// # Units and shapes
/// Azimuth in rad, deviation in mm, of equal length.
///
/// # Errors
/// `None` if fewer than two harmonics are supported, or more than a third of the azimuth is unseen.
#[must_use]
pub fn fit_band(azimuth: &[f64], deviation: &[f64], wanted: usize) -> Option<BandFit> {
    let (azimuth, deviation) = in_order(azimuth, deviation);
    let (azimuth, deviation) = sound(&azimuth, &deviation)?;
    fit_sound(&azimuth, &deviation, wanted)
}

/// The same of a band as found: what is `set_aside` is in it, however far off it lies; only loose points of the rest are not.
///
/// # Units and shapes
/// As [`fit_band`]; one mark a point.
#[must_use]
pub fn fit_band_as_found(azimuth: &[f64], deviation: &[f64], set_aside: &[bool], wanted: usize) -> Option<BandFit> {
    let of = |aside: bool| -> (Vec<f64>, Vec<f64>) {
        (0..azimuth.len()).filter(|&i| set_aside[i] == aside).map(|i| (azimuth[i], deviation[i])).unzip()
    };
    let ((kept_azimuth, kept_deviation), (aside_azimuth, aside_deviation)) = (of(false), of(true));
    let (mut all_azimuth, mut all_deviation) = sound(&kept_azimuth, &kept_deviation)?;
    all_azimuth.extend(aside_azimuth);
    all_deviation.extend(aside_deviation);
    let (azimuth, deviation) = in_order(&all_azimuth, &all_deviation);
    fit_sound(&azimuth, &deviation, wanted)
}

/// The fit of points in order of azimuth, none of them loose.
fn fit_sound(azimuth: &[f64], deviation: &[f64], wanted: usize) -> Option<BandFit> {
    let most = (azimuth.len() / POINTS_PER_UNKNOWN).saturating_sub(1) / 2;
    let gaps = gaps(azimuth);
    let unseen = |k: usize| gaps.iter().filter(|gap| **gap > PI / k as f64).sum::<f64>() / TAU;
    // An even but coarse sampling has a gap at every point: harmonics that would bridge those are not supported.
    let supported = |k: &usize| *k <= most.min(wanted) && unseen(*k) <= unseen(COARSEST) + MOST_LOOSE;
    let steps = LADDER.into_iter().filter(supported).chain((most >= 2).then_some(2));
    let fits = steps.filter_map(|highest| fourier::fit_bridged(azimuth, deviation, highest).ok());
    let sound_fit = fits.into_iter().find(|fit| inflation(&fit.fit) <= MOST_INFLATION)?;
    let fourier::BridgedFit { fit: harmonics, bridged } = sound_fit;
    if bridged > MOST_BRIDGED {
        return None;
    }
    let highest = harmonics.highest();
    let freedom = azimuth.len().checked_sub(2 * highest + 1).filter(|f| *f > 0)?;
    let noise = (harmonics.residual_sum_squares / freedom as f64).sqrt();
    let hidden = Hidden::behind(bridged, &harmonics, noise);
    Some(BandFit { harmonics, noise, freedom, bridged, hidden })
}

/// By how much the worst known coefficient's variance exceeds that of an even sampling with as many points.
fn inflation(fit: &HarmonicFit) -> f64 {
    let worst = fit.cos_factor.iter().chain(&fit.sin_factor).copied().fold(0.0, f64::max);
    0.5 * worst * fit.count as f64
}

/// The points in order of azimuth: sorted once, they cost the fits that follow no sorting.
fn in_order(azimuth: &[f64], deviation: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let mut points: Vec<(f64, f64)> = azimuth.iter().copied().zip(deviation.iter().copied()).collect();
    points.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    points.into_iter().unzip()
}

/// The gaps between neighbouring azimuths round the circle, rad; the azimuths are in order.
fn gaps(azimuth: &[f64]) -> Vec<f64> {
    let around = azimuth.first().zip(azimuth.last()).map(|(first, last)| first + TAU - last);
    azimuth.windows(2).map(|pair| pair[1] - pair[0]).chain(around).collect()
}

/// The points that lie near a smooth curve through most of them; the rest belongs to loose parts or a second surface.
fn sound(azimuth: &[f64], deviation: &[f64]) -> Option<(Vec<f64>, Vec<f64>)> {
    let mut sorted = deviation.to_vec();
    let (middle, spread) = robust::mad(&mut sorted)?;
    // A nanometre is no deviation: without it a perfect circle would lose its points to rounding.
    let near = |off: f64, scale: f64| off.abs() <= FAR * scale + NANOMETRE;
    let keep = |off: &dyn Fn(usize) -> f64, scale: f64| -> (Vec<f64>, Vec<f64>) {
        (0..azimuth.len()).filter(|&i| near(off(i), scale)).map(|i| (azimuth[i], deviation[i])).unzip()
    };
    let (kept_azimuth, kept_deviation) = keep(&|i| deviation[i] - middle, spread);
    let smooth = fourier::supported_highest(&kept_azimuth, SMOOTH_HARMONICS);
    let curve = fourier::fit(&kept_azimuth, &kept_deviation, None, smooth).ok()?;
    let left: Vec<f64> = azimuth.iter().zip(deviation).map(|(a, d)| d - curve.evaluate(*a)).collect();
    let (_, spread) = robust::mad(&mut left.clone())?;
    Some(keep(&|i| left[i], spread))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(angle: f64) -> f64 {
        0.2 + 0.05 * (2.0 * angle).cos() + 0.01 * (7.0 * angle - 1.0).cos()
    }

    #[test]
    fn a_whole_band_gives_its_harmonics_to_rounding() {
        let azimuth: Vec<f64> = (0..1000).map(|i| -PI + 2.0 * PI * (f64::from(i) + 0.3) / 1000.0).collect();
        let deviation: Vec<f64> = azimuth.iter().map(|a| wave(*a)).collect();
        let fit = fit_band(&azimuth, &deviation, 150).unwrap();
        assert_eq!(fit.harmonics.highest(), 150);
        assert!((fit.harmonics.cos[1] - 0.05).abs() < 1e-10);
        assert!((fit.harmonics.cos[6].hypot(fit.harmonics.sin[6]) - 0.01).abs() < 1e-10);
        assert!(fit.noise < 1e-6);
    }

    #[test]
    fn as_found_a_lug_counts_and_a_loose_point_does_not() {
        let azimuth: Vec<f64> = (0..1000).map(|i| -PI + 2.0 * PI * (f64::from(i) + 0.3) / 1000.0).collect();
        let lug = |i: usize| (300..320).contains(&i);
        let deviation: Vec<f64> =
            azimuth.iter().enumerate().map(|(i, a)| wave(*a) + if lug(i) || i == 700 { 3.0 } else { 0.0 }).collect();
        let marks: Vec<bool> = (0..1000).map(lug).collect();
        let found = fit_band_as_found(&azimuth, &deviation, &marks, 100).unwrap();
        // A box of 3 mm over a fiftieth of the turn moves the mean by 0.06 mm.
        assert!((found.harmonics.mean - 0.26).abs() < 1e-3, "{}", found.harmonics.mean);
        assert!((fit_band(&azimuth, &deviation, 100).unwrap().harmonics.mean - 0.2).abs() < 1e-3);
    }

    #[test]
    fn a_short_gap_is_bridged_and_half_a_band_refused() {
        let azimuth: Vec<f64> = (0..900).map(|i| -PI + 2.0 * PI * f64::from(i) / 1000.0).collect();
        let deviation: Vec<f64> = azimuth.iter().map(|a| wave(*a)).collect();
        let fit = fit_band(&azimuth, &deviation, 50).unwrap();
        assert!((fit.bridged - 0.1).abs() < 0.01);
        assert!((fit.harmonics.cos[1] - 0.05).abs() < 0.005, "{}", fit.harmonics.cos[1]);
        assert_eq!(fit_band(&azimuth[..450], &deviation[..450], 50), None);
    }
}
