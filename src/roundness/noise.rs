//! What noise alone does to a filtered profile: realisations drawn once, scaled to each section.

use rand_distr::{Distribution, StandardNormal};

use super::RoundnessError;
use crate::math::fourier::samples;
use crate::math::gaussian_filter::transmission;
use crate::math::robust::quantile;
use crate::quantity::{Seed, Upr};

/// Realisations added to each section: the mean of 64 has a tenth of the spread of one, as much as the bias needs.
const REALISATIONS: usize = 64;

/// Realisations behind the detection limit; its level of 5 % is then uncertain by 0.5 %.
const LIMIT_REALISATIONS: usize = 2000;

/// Filtered noise whose harmonics 2..=K have coefficients of standard deviation 1, on an even grid.
///
/// Harmonic 1 and the mean are left out: the reference circle takes them up.
#[derive(Clone, Debug, PartialEq)]
pub struct NoiseReference {
    highest: usize,
    cutoff: Upr,
    grid: usize,
    realisations: Vec<f32>,
    limit_factor: f64,
}

impl NoiseReference {
    /// Realisations for sections with harmonics up to `highest`, the filter's `cutoff`, on `grid` angles.
    ///
    /// # Errors
    /// [`RoundnessError::TooFew`] if the grid has not more than 2 `highest` angles.
    pub fn new(highest: Upr, cutoff: Upr, grid: usize, seed: Seed) -> Result<Self, RoundnessError> {
        let highest = usize::from(highest.get());
        if grid <= 2 * highest {
            return Err(RoundnessError::TooFew { count: grid, needed: 2 * highest + 1 });
        }
        let mut rng = seed.rng();
        let factors: Vec<f64> =
            (1..=highest).map(|n| if n == 1 { 0.0 } else { transmission(n as f64, f64::from(cutoff.get())) }).collect();
        let mut draw = || {
            let mut coefficients = || -> Vec<f64> {
                factors
                    .iter()
                    .map(|factor| factor * <StandardNormal as Distribution<f64>>::sample(&StandardNormal, &mut rng))
                    .collect()
            };
            let (cos, sin) = (coefficients(), coefficients());
            samples(0.0, &cos, &sin, grid)
        };
        let realisations = (0..REALISATIONS).flat_map(|_| draw()).map(|value| value as f32).collect();
        let mut ranges: Vec<f64> = (0..LIMIT_REALISATIONS)
            .map(|_| {
                let values = draw();
                let highest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                highest - values.iter().copied().fold(f64::INFINITY, f64::min)
            })
            .collect();
        let limit_factor = quantile(&mut ranges, 0.95).unwrap_or(0.0);
        Ok(Self { highest, cutoff, grid, realisations, limit_factor })
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

    pub(super) fn realisations(&self) -> impl Iterator<Item = &[f32]> {
        self.realisations.chunks_exact(self.grid)
    }

    pub(super) const fn limit_factor(&self) -> f64 {
        self.limit_factor
    }
}
