//! Irregularities drawn for a wanted roundness.

use std::f64::consts::TAU;

use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

use super::{CentreLine, PlannedHarmonic, Ripple, VesselPlan, Wall, truth};
use crate::quantity::{Seed, Upr};

/// How truly a vessel is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Workmanship {
    /// Median over the body of RONt of the outer wall about the least-squares circle at 50 UPR, mm.
    pub roundness_mm: f64,
    /// The same of the inner wall over that of the outer.
    pub inner_ratio: f64,
    /// Amplitudes fall with UPR to this power.
    pub slope: f64,
    /// A lobing stronger than its neighbours, and how many times.
    pub lobe: Option<(Upr, f64)>,
    /// The highest UPR.
    pub highest_upr: u16,
    /// Amount of bow in the outer wall's axis, mm.
    pub bow_mm: f64,
    /// Offset of the inner wall at mid-height, mm; it tilts by half as much again from foot to rim.
    pub inner_offset_mm: f64,
    /// Amplitude of the tilt of the rim, mm; it undulates by half as much. The foot has a third of the rim's.
    pub rim_mm: f64,
}

/// Cut-off at which the roundness wanted is meant.
const CUTOFF_UPR: u16 = 50;

impl Workmanship {
    /// Workmanship in which everything goes with the roundness: amplitudes as UPR to the power -1.3 up to 150 UPR, a bow of a
    /// third, an inner offset and a rim tilt of the roundness.
    #[must_use]
    pub const fn of_roundness(roundness_mm: f64) -> Self {
        Self {
            roundness_mm,
            inner_ratio: 1.2,
            slope: 1.3,
            lobe: None,
            highest_upr: 150,
            bow_mm: roundness_mm / 3.0,
            inner_offset_mm: roundness_mm,
            rim_mm: roundness_mm,
        }
    }
}

impl VesselPlan {
    /// With irregularities drawn for this workmanship.
    #[must_use]
    pub fn with_workmanship(self, work: &Workmanship, seed: Seed) -> Self {
        let mut rng = seed.rng();
        let mut azimuth = || TAU * rng.r#gen::<f64>();
        let outer =
            CentreLine::default().with_term(2, work.bow_mm, azimuth()).with_term(3, 0.4 * work.bow_mm, azimuth());
        let inner = CentreLine::offset(work.inner_offset_mm, azimuth())
            .with_term(1, 0.25 * work.inner_offset_mm, azimuth())
            .with_term(2, work.bow_mm, azimuth());
        let lift = |share: f64, phases: [f64; 2]| -> Vec<Ripple> {
            [(1, 1.0), (2, 0.5)]
                .iter()
                .zip(phases)
                .filter_map(|(&(n, part), phase_rad)| {
                    Some(Ripple { upr: Upr::new(n)?, amplitude_mm: share * part * work.rim_mm, phase_rad })
                })
                .collect()
        };
        let (rim, foot) = (lift(1.0, [azimuth(), azimuth()]), lift(1.0 / 3.0, [azimuth(), azimuth()]));
        let mut vessel = self
            .with_centre_line(Wall::Outer, outer)
            .with_centre_line(Wall::Inner, inner)
            .with_rim_lift(rim)
            .with_foot_lift(foot);
        for (stream, wall, wanted) in
            [(1, Wall::Outer, work.roundness_mm), (2, Wall::Inner, work.roundness_mm * work.inner_ratio)]
        {
            let drawn = draw_harmonics(work, seed.derive(stream));
            vessel = vessel.with_harmonics(wall, &drawn);
            let factor = wanted / vessel.median_roundness(wall);
            let scaled: Vec<_> = drawn.iter().map(|harmonic| harmonic.scaled(factor)).collect();
            vessel = vessel.with_harmonics(wall, &scaled);
        }
        vessel
    }

    fn median_roundness(&self, wall: Wall) -> f64 {
        let cutoff = Upr::new(CUTOFF_UPR);
        truth::median(self.body_heights().iter().filter_map(|&z| self.roundness(wall, z, cutoff)).collect())
    }
}

/// Harmonics from 2 UPR up, about 1 mm at 2 UPR: amplitudes scatter by half, change over the height and turn with it.
fn draw_harmonics(work: &Workmanship, seed: Seed) -> Vec<PlannedHarmonic> {
    let mut rng = seed.rng();
    (2..=work.highest_upr)
        .filter_map(Upr::new)
        .map(|upr| {
            let scatter: f64 = StandardNormal.sample(&mut rng);
            let lobe = work.lobe.filter(|(lobe, _)| *lobe == upr).map_or(1.0, |(_, times)| times);
            let amplitude = lobe * (0.5 * scatter).exp() * (0.5 * f64::from(upr.get())).powf(-work.slope);
            let (growth, twist) = (rng.gen_range(-0.3..0.3), rng.gen_range(-0.8..0.8));
            let phase = TAU * rng.r#gen::<f64>();
            PlannedHarmonic::varying(upr, |t| amplitude * (1.0 + growth * t), |t| phase + twist * t)
        })
        .collect()
}
