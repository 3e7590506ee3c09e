//! What noise alone does to a filtered profile: realisations drawn once, scaled to each section.

use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

use super::RoundnessError;
use super::correction::{Extremes, corrected_range};
use super::denoise::{Coefficients, denoised};
use crate::math::fourier::samples;
use crate::math::gaussian_filter::transmission;
use crate::math::robust::quantile;
use crate::quantity::{Seed, Upr};

/// Realisations added to each section. The mean of 64 has an eighth of the spread of one.
const REALISATIONS: usize = 64;

/// Profiles of noise alone behind the detection limits: their level of 5 % is then uncertain by 0.6 %.
const LIMIT_PROFILES: usize = 1200;

/// Level of the detection limits: the share of sections without any deviation that stay below them.
const LIMIT_LEVEL: f64 = 0.95;

/// Filtered noise whose harmonics 2..=K have coefficients of equal standard deviation, on an even grid.
///
/// The mean and harmonic 1 are left out: the reference circle takes them up. One reference serves all sections with the
/// same highest harmonic, filter and grid; it may be shared between threads.
#[derive(Clone, Debug, PartialEq)]
pub struct NoiseReference {
    highest: usize,
    cutoff: Upr,
    grid: usize,
    /// Realisation by realisation; the coefficients have standard deviation 1 before the filter.
    realisations: Vec<f32>,
    limit_factor: f64,
    raw_limit_factor: f64,
}

impl NoiseReference {
    /// Realisations for sections with harmonics up to `highest`, the filter's `cutoff`, on `grid` angles.
    ///
    /// # Errors
    /// [`RoundnessError::TooFew`] if the grid has not more than 2 `highest` angles, or fewer than 16.
    pub fn new(highest: Upr, cutoff: Upr, grid: usize, seed: Seed) -> Result<Self, RoundnessError> {
        let highest = usize::from(highest.get());
        let needed = (2 * highest + 1).max(16);
        if grid < needed {
            return Err(RoundnessError::TooFew { count: grid, needed });
        }
        let mut rng = seed.rng();
        let mut reference =
            Self { highest, cutoff, grid, realisations: Vec::new(), limit_factor: 0.0, raw_limit_factor: 0.0 };
        let factors = reference.transmissions(highest);
        for _ in 0..REALISATIONS {
            let noise = Coefficients::noise(&factors, || normal(&mut rng));
            reference.realisations.extend(noise.on_grid(grid).iter().map(|value| *value as f32));
        }
        let (mut raw, mut corrected) = (Vec::with_capacity(LIMIT_PROFILES), Vec::with_capacity(LIMIT_PROFILES));
        for _ in 0..LIMIT_PROFILES {
            let noise = Coefficients::noise(&factors, || normal(&mut rng));
            let found = Extremes::of(&noise.on_grid(grid));
            let variances: Vec<f64> = factors.iter().map(|factor| factor * factor).collect();
            let clean = denoised(&noise, &variances).on_grid(grid);
            raw.push(found.range());
            corrected.push(corrected_range(found, &clean, 1.0, &reference).value);
        }
        reference.limit_factor = quantile(&mut corrected, LIMIT_LEVEL).unwrap_or(0.0);
        reference.raw_limit_factor = quantile(&mut raw, LIMIT_LEVEL).unwrap_or(0.0);
        Ok(reference)
    }

    /// The highest harmonic.
    #[must_use]
    pub const fn highest(&self) -> usize {
        self.highest
    }

    /// The filter's cutoff.
    #[must_use]
    pub const fn cutoff(&self) -> Upr {
        self.cutoff
    }

    /// Angles of the grid.
    #[must_use]
    pub const fn grid(&self) -> usize {
        self.grid
    }

    /// The filter's transmission of harmonics 1..=`highest`, 0 for harmonic 1.
    pub(super) fn transmissions(&self, highest: usize) -> Vec<f64> {
        let cutoff = f64::from(self.cutoff.get());
        (1..=highest).map(|n| if n == 1 { 0.0 } else { transmission(n as f64, cutoff) }).collect()
    }

    pub(super) fn realisations(&self) -> impl Iterator<Item = &[f32]> {
        self.realisations.chunks_exact(self.grid)
    }

    /// Limit of the corrected RONt, for coefficients of standard deviation 1 before the filter.
    pub(super) const fn limit_factor(&self) -> f64 {
        self.limit_factor
    }

    /// Limit of the RONt as found.
    pub(super) const fn raw_limit_factor(&self) -> f64 {
        self.raw_limit_factor
    }
}

fn normal(rng: &mut Xoshiro256PlusPlus) -> f64 {
    StandardNormal.sample(rng)
}

impl Coefficients {
    /// Independent coefficients of the given standard deviations.
    fn noise(deviations: &[f64], mut normal: impl FnMut() -> f64) -> Self {
        let cos = deviations.iter().map(|deviation| deviation * normal()).collect();
        let sin = deviations.iter().map(|deviation| deviation * normal()).collect();
        Self { cos, sin }
    }

    /// The deviations on an even grid.
    pub(super) fn on_grid(&self, grid: usize) -> Vec<f64> {
        samples(0.0, &self.cos, &self.sin, grid)
    }
}
