//! A wall's fitted bands as published section rows.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::record::{ChoiceUncertainty, HarmonicRow, SectionRow};
use super::wall::Wall;
use super::{ReductionParams, Rejection, Step};
use crate::math::fourier::HarmonicFit;
use crate::quantity::{Estimate, Seed, Upr};
use crate::roundness::{self, NoiseReference, SectionRoundness};
use crate::section::BandFit;

/// Angles of the filtered profile: three for each wave of 150 UPR.
const GRID: usize = 512;

/// Roundness is not stated from fewer harmonics than these (project): it would be the ovality by another name.
const FEWEST_HARMONICS: usize = 15;

/// Noise realisations for each number of harmonics that occurs.
pub(super) struct References(BTreeMap<usize, NoiseReference>);

impl References {
    /// The references that the walls' sections need.
    pub(super) fn new(walls: &[Wall], cutoff: Upr, seed: Seed) -> Self {
        let fits = walls.iter().flat_map(|wall| wall.fits.iter().chain(&wall.found).chain(&wall.grown)).flatten();
        let mut highest: Vec<usize> = fits.map(|fit| fit.harmonics.highest()).collect();
        highest.sort_unstable();
        highest.dedup();
        let make = |k: usize| {
            let highest = Upr::new(u16::try_from(k).ok()?)?;
            let grid = GRID.max((3 * k).next_power_of_two());
            NoiseReference::new(highest, cutoff, grid, seed.derive(k as u64)).ok().map(|reference| (k, reference))
        };
        Self(highest.into_par_iter().filter(|k| *k >= FEWEST_HARMONICS).filter_map(make).collect())
    }
}

/// The wall's sections from low to high; `body` says which lie on the body, `u_foot` how well it is known where heights
/// begin, mm.
///
/// # Errors
/// [`Rejection`] names the section whose numbers are not usable.
pub(super) fn rows(
    wall: &Wall,
    body: &[usize],
    u_foot: f64,
    params: &ReductionParams,
    references: &References,
) -> Result<Vec<SectionRow>, Rejection> {
    let rows: Vec<Result<Option<SectionRow>, Rejection>> = (0..wall.heights.count)
        .into_par_iter()
        .map(|index| {
            let (Some(meridian), Some(fit)) = (wall.meridian[index], &wall.fits[index]) else { return Ok(None) };
            let radius = meridian.radius;
            let evaluate = |fit: &BandFit| roundness_of(fit, radius, params, references);
            let roundness = evaluate(fit);
            let ront = |fit: &BandFit| {
                evaluate(fit).map(|roundness| roundness.ront_lsci.widened(fit.hidden.ront_variance().sqrt()))
            };
            let ront_found = wall.found[index].as_ref().map_or_else(|| ront(fit), ront);
            let choice = ChoiceUncertainty::of(wall, index, fit, roundness.map(|r| r.ront_lsci), ront);
            let section = Section { wall, index, fit, roundness, ront_found, choice };
            section.row(radius, (u_foot * meridian.slope).abs(), body.contains(&index)).map(Some)
        })
        .collect();
    rows.into_iter().filter_map(Result::transpose).collect()
}

/// The fit with the mean meridian's radius put back.
fn about_axis(fit: &BandFit, radius: f64) -> HarmonicFit {
    HarmonicFit { mean: fit.harmonics.mean + radius, ..fit.harmonics.clone() }
}

fn roundness_of(
    fit: &BandFit,
    radius: f64,
    params: &ReductionParams,
    references: &References,
) -> Option<SectionRoundness> {
    let reference = references.0.get(&fit.harmonics.highest())?;
    roundness::evaluate(&about_axis(fit, radius), fit.noise, params.cutoff(), reference).ok()
}

/// All that one row is made of.
struct Section<'a> {
    wall: &'a Wall,
    index: usize,
    fit: &'a BandFit,
    roundness: Option<SectionRoundness>,
    ront_found: Option<Estimate>,
    choice: ChoiceUncertainty,
}

impl Section<'_> {
    /// The row; `radius` is the mean meridian's, mm, and `u_height` the part of its uncertainty that comes from where heights
    /// begin.
    fn row(&self, radius: f64, u_height: f64, body: bool) -> Result<SectionRow, Rejection> {
        let Self { wall, index, fit, roundness, ront_found, choice } = self;
        let index = *index;
        let height = wall.heights.middle(index);
        let unusable = |what: &str| Rejection {
            step: Step::Sections,
            reason: format!("{what} of the {} section at {height:.2} mm is not usable", wall.side.word()),
        };
        let harmonics = &fit.harmonics;
        let hidden = &fit.hidden;
        let u = |factor: f64, hidden: f64| (fit.noise * fit.noise * factor.max(0.0) + hidden).sqrt();
        let centre = |value: f64, factor: f64| {
            Estimate::new(value, u(factor, hidden.variance(1)).hypot(choice.center_mm)).map_err(|_| unusable("centre"))
        };
        let u_radius = u(harmonics.mean_variance_factor, hidden.mean_variance())
            .hypot(wall.u_meridian[index])
            .hypot(u_height)
            .hypot(choice.radius_mm);
        let first = |values: &[f64]| values.first().copied().unwrap_or(0.0);
        let amplitudes = roundness::harmonics_of(harmonics, fit.noise).map_err(|_| unusable("harmonics"))?;
        let of = |pick: fn(&SectionRoundness) -> Estimate| {
            roundness.as_ref().map(|r| pick(r).widened((hidden.ront_variance() + choice.ront_mm.powi(2)).sqrt()))
        };
        Ok(SectionRow {
            height_mm: height,
            body,
            radius: Estimate::new(radius + harmonics.mean, u_radius).map_err(|_| unusable("radius"))?,
            center_x: centre(first(&harmonics.cos), first(&harmonics.cos_factor))?,
            center_y: centre(first(&harmonics.sin), first(&harmonics.sin_factor))?,
            coverage: wall.coverage[index],
            masked: wall.masked[index],
            ront_lsci: of(|r| r.ront_lsci),
            ronq_lsci: of(|r| r.ronq_lsci),
            ronp_lsci: of(|r| r.ronp_lsci),
            ronv_lsci: of(|r| r.ronv_lsci),
            ront_mzci: of(|r| r.ront_mzci),
            ront_mcci: of(|r| r.ront_mcci),
            ront_mici: of(|r| r.ront_mici),
            ront_found: *ront_found,
            u_set_aside: *choice,
            detection_limit_mm: roundness.as_ref().map(|r| r.detection_limit_mm),
            harmonics: amplitudes
                .harmonics
                .iter()
                .map(|h| HarmonicRow {
                    upr: h.upr.get(),
                    amplitude: h.amplitude.widened(hidden.variance(usize::from(h.upr.get())).sqrt()),
                    raw_amplitude_mm: h.raw_amplitude_mm,
                    phase_rad: h.phase_rad,
                })
                .collect(),
        })
    }
}
