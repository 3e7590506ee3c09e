//! Smoothing: a scanner's noise differs from point to point; smoothed, neighbouring points err together.
//!
//! Smoothing white noise with a Gaussian kernel of standard deviation s leaves noise whose correlation over a distance h is
//! exp(-h^2 / (4 s^2)). What neighbours along the meridian differ by is noise, because a vessel's lobes run along the height.
//! Where a long kernel left less noise than the meridian itself errs by, how smoothly the points lie round the vessel tells that
//! it was there, and the harmonics how long it is.

use nalgebra::{Matrix4, Vector4};

use super::finding::{Defect, Finding, Place};
use super::residuals::Residuals;
use super::smoothness::{kernel_pitches, own_noise};
use super::spectrum::kernel_variance;
use super::variogram::{LAGS, Way, variogram};
use crate::quantity::Estimate;
use crate::reduction::wall::Wall;

/// Kernels tried, in pitches: from white noise to what the distances looked at can tell.
const SHORTEST: f64 = 0.25;
const LONGEST: f64 = 6.0;
const STEP: f64 = 1.08;

/// Points one pitch apart whose noise correlates by this much were smoothed (project; by simulation, see the tests).
const THRESHOLD: f64 = 0.55;

/// What the semivariances say: white noise, smoothed noise, and a slow change of the surface.
#[derive(Clone, Copy, Debug)]
pub(super) struct NoiseModel {
    /// Standard deviation of the kernel, in pitches.
    pub(super) length: f64,
    /// Variances of the white and the smoothed part, mm2.
    pub(super) white: f64,
    pub(super) smooth: f64,
    /// How far the model is from the semivariances.
    pub(super) misfit: f64,
}

impl NoiseModel {
    /// Correlation of the noise of two points one pitch apart.
    fn neighbours(&self) -> f64 {
        self.smooth * (-0.25 / (self.length * self.length)).exp() / (self.smooth + self.white).max(f64::MIN_POSITIVE)
    }
}

/// Points less smooth round the vessel than after a kernel of this many pitches have noise of their own (project; of 36 walls with
/// white noise the smoothest had 0.70, of 36 with half of it alike over 1 to 5 mm 0.78).
const SMOOTH: f64 = 0.8;

/// How many times longer than points lie smoothly the kernel may be by the harmonics (project; of a kernel of R / 12 two fifths
/// are told so, and with less the shortest of them were not owned).
const LONGER: f64 = 2.3;

/// What one wall's points say of a kernel.
pub(super) struct Smoothness {
    pitch: f64,
    /// How smoothly points lie round the vessel, as the kernel of smoothed noise in pitches.
    pitches: f64,
    /// Share of what points differ by along the meridian that is no noise of their own, for it is not there round the vessel.
    shared: f64,
    /// Variance of the kernel by the harmonics, mm2.
    variance: Option<Estimate>,
}

impl Smoothness {
    fn of(points: &Residuals, along: &NoiseModel, wall: &Wall, sections: &[usize]) -> Option<Self> {
        let round = variogram(points, Way::Round);
        let shared = 1.0 - own_noise(&round)? / (along.white + along.smooth).max(f64::MIN_POSITIVE);
        let (pitches, variance) = (kernel_pitches(&round)?, kernel_variance(wall, sections));
        Some(Self { pitch: points.pitch, pitches, shared, variance })
    }
}

/// The finding told by how smoothly the points of all walls lie round the vessel, for a mesh is smoothed on both or on neither;
/// `None` where points have noise of their own.
///
/// Lobes that are far above the noise look smooth too, but by no more than what points differ by along the meridian.
pub(super) fn smooth_round(walls: &[Smoothness]) -> Option<Finding> {
    let mean = |of: fn(&Smoothness) -> f64| walls.iter().map(of).sum::<f64>() / walls.len() as f64;
    let (pitches, shared) = (mean(|wall| wall.pitches), mean(|wall| wall.shared));
    if walls.is_empty() || pitches < SMOOTH || shared < THRESHOLD {
        return None;
    }
    let least = pitches * mean(|wall| wall.pitch);
    let by_harmonics: Vec<Estimate> = walls.iter().filter_map(|wall| wall.variance).collect();
    let weight = |of: &Estimate| of.standard_uncertainty().max(f64::MIN_POSITIVE).powi(-2);
    let all: f64 = by_harmonics.iter().map(weight).sum();
    let variance = by_harmonics.iter().map(|of| weight(of) / all * of.value()).sum::<f64>().max(0.0);
    let length = variance.sqrt().clamp(least, LONGER * least);
    let u = if all > 0.0 { 0.5 / all.sqrt() / length } else { 0.5 * least };
    Some(Finding {
        defect: Defect::Smoothing,
        strength: Estimate::new(length, u).ok()?,
        evidence: shared,
        threshold: THRESHOLD,
        wall: None,
        place: Place::Everywhere,
    })
}

/// What one wall's neighbours along the meridian say, and how smoothly its points lie round the vessel.
pub(super) fn smoothing(points: &Residuals, wall: &Wall, sections: &[usize]) -> Option<(Finding, Option<Smoothness>)> {
    let (model, u) = fit(&variogram(points, Way::Along))?;
    let finding = Finding {
        defect: Defect::Smoothing,
        strength: Estimate::new(model.length * points.pitch, u * points.pitch).ok()?,
        evidence: model.neighbours(),
        threshold: THRESHOLD,
        wall: Some(wall.side),
        place: Place::Everywhere,
    };
    Some((finding, Smoothness::of(points, &model, wall, sections)))
}

/// The model nearest to the semivariances, and the standard uncertainty of its length in pitches.
fn fit(found: &[Option<(f64, usize)>]) -> Option<(NoiseModel, f64)> {
    let points: Vec<Point> = LAGS
        .iter()
        .zip(found)
        .filter_map(|(&lag, found)| found.map(|(value, pairs)| Point { lag: lag as f64, value, pairs: pairs as f64 }))
        .collect();
    let freedom = points.len().checked_sub(PARTS + 1).filter(|freedom| *freedom > 0)? as f64;
    let lengths = std::iter::successors(Some(SHORTEST), |length| Some(length * STEP)).take_while(|l| *l <= LONGEST);
    let models: Vec<NoiseModel> = lengths.filter_map(|length| parts(&points, length)).collect();
    let best = *models.iter().min_by(|a, b| a.misfit.total_cmp(&b.misfit))?;
    // Lengths whose misfit is larger by no more than one degree of freedom's share.
    let near = || models.iter().filter(|model| model.misfit <= best.misfit * (1.0 + 1.0 / freedom)).map(|m| m.length);
    let (least, most) = (near().fold(f64::INFINITY, f64::min), near().fold(0.0, f64::max));
    Some((best, 0.5 * (most - least).max(best.length * (STEP - 1.0))))
}

/// One semivariance: its distance in pitches, its value in mm2, and the pairs behind it.
#[derive(Clone, Copy, Debug)]
struct Point {
    lag: f64,
    value: f64,
    pairs: f64,
}

/// Parts of the model: white noise, smoothed noise, and the surface's own slow change.
const PARTS: usize = 4;

fn bases(lag: f64, length: f64) -> Vector4<f64> {
    Vector4::new(1.0, -(-lag * lag / (4.0 * length * length)).exp_m1(), lag, lag * lag)
}

/// The parts for one kernel: least squares weighted by the pairs, over the subsets of parts that leave none negative.
fn parts(points: &[Point], length: f64) -> Option<NoiseModel> {
    let subsets = 1..1_u8 << PARTS;
    let of_subset = |subset: u8| {
        let used = Vector4::from_fn(|part, _| f64::from(subset >> part & 1));
        // A part left out has its own equation: it is nothing.
        let mut square = Matrix4::from_diagonal(&used.map(|used| 1.0 - used));
        let mut right = Vector4::zeros();
        for point in points {
            let basis = bases(point.lag, length).component_mul(&used);
            let weight = point.pairs / (point.value * point.value).max(f64::MIN_POSITIVE);
            square += basis * basis.transpose() * weight;
            right += basis * (weight * point.value);
        }
        square.lu().solve(&right).filter(|parts| parts.iter().all(|part| *part >= 0.0 && part.is_finite()))
    };
    let misfit = |parts: &Vector4<f64>| -> f64 {
        let off = |point: &Point| bases(point.lag, length).dot(parts) / point.value.max(f64::MIN_POSITIVE) - 1.0;
        points.iter().map(|point| point.pairs * off(point).powi(2)).sum()
    };
    let candidates = subsets.filter_map(of_subset).map(|parts| (misfit(&parts), parts));
    let (misfit, parts) = candidates.min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(NoiseModel { length, white: parts[0], smooth: parts[1], misfit })
}
