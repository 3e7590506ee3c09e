//! What a perfect measurement finds in one section.

use std::f64::consts::TAU;

use super::{VesselPlan, Wall};
use crate::quantity::Upr;

/// One harmonic of a planned section: `amplitude cos(n theta - phase)`, azimuth in the vessel's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrueHarmonic {
    /// Amplitude, mm.
    pub amplitude_mm: f64,
    /// Phase, rad.
    pub phase_rad: f64,
}

/// Points per undulation of the highest harmonic: with parabolas through the extremes the range is then right to about a
/// thousandth of that harmonic's amplitude (16 left four times ten to the minus five of the range in a crowded spectrum).
const POINTS_PER_UNDULATION: usize = 32;

/// Harmonics beyond this many times the cut-off pass at less than a fifteenth and set no pace.
const HIGHEST_IN_CUTOFFS: usize = 2;

/// The least number of points about a profile.
const LEAST_POINTS: usize = 2048;

impl VesselPlan {
    /// Mean radius of a wall at a height, mm; `None` where the wall does not reach.
    #[must_use]
    pub fn radius(&self, wall: Wall, height_mm: f64) -> Option<f64> {
        self.arc_at_height(wall, height_mm).map(|arc| self.meridian().at(arc).radius_mm)
    }

    /// Centre of a wall's section at a height, mm; `None` where the wall does not reach.
    #[must_use]
    pub fn centre(&self, wall: Wall, height_mm: f64) -> Option<[f64; 2]> {
        self.arc_at_height(wall, height_mm).map(|arc| self.centre_at(arc))
    }

    /// A harmonic of a wall's section at a height; `None` where the wall does not reach.
    #[must_use]
    pub fn harmonic(&self, wall: Wall, height_mm: f64, upr: Upr) -> Option<TrueHarmonic> {
        let arc = self.arc_at_height(wall, height_mm)?;
        let [cosine, sine] = self.harmonic_parts(arc).get(usize::from(upr.get())).copied().unwrap_or_default();
        Some(TrueHarmonic { amplitude_mm: cosine.hypot(sine), phase_rad: sine.atan2(cosine) })
    }

    /// RONt of a wall's section about its least-squares circle, mm, after a Gaussian filter at `cutoff`; unfiltered if `None`.
    ///
    /// # Example
    /// Three lobes of amplitude 0.1 mm: RONt is 0.2 mm unfiltered, and half of that at a cut-off of 3 UPR, where half passes.
    /// ```
    /// use tornus::Upr;
    /// use tornus::synthetic::{Corner, Meridian, PlannedHarmonic, VesselPlan, Wall};
    /// let corners = [Corner::new(40.0, 0.0, 1.0), Corner::new(40.0, 80.0, 0.0)];
    /// let three = Upr::new(3).ok_or("3 is no harmonic")?;
    /// let cup = VesselPlan::new(Meridian::from_corners(&corners, 0, 5.0, 5.0, 0.0)?)
    ///     .with_harmonics(Wall::Outer, &[PlannedHarmonic::constant(three, 0.1, 0.0)]);
    /// let ront = cup.roundness(Wall::Outer, 40.0, None).ok_or("no wall there")?;
    /// assert!((ront - 0.2).abs() < 1e-5);
    /// let filtered = cup.roundness(Wall::Outer, 40.0, Some(three)).ok_or("no wall there")?;
    /// assert!((filtered - 0.1).abs() < 1e-5);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # References
    /// ISO 12181-1 (RONt, LSCI); ISO 16610-21 (Gaussian transmission, one half at the cut-off).
    #[must_use]
    pub fn roundness(&self, wall: Wall, height_mm: f64, cutoff: Option<Upr>) -> Option<f64> {
        let profile = self.profile(self.arc_at_height(wall, height_mm)?, cutoff);
        Some(range_about_circle(&profile))
    }

    /// Radii at equally spaced azimuths, filtered.
    fn profile(&self, arc: f64, cutoff: Option<Upr>) -> Vec<f64> {
        let mut terms = self.harmonic_parts(arc);
        if let Some(cutoff) = cutoff {
            for (n, term) in terms.iter_mut().enumerate() {
                let passed = transmission(n as f64, cutoff);
                *term = term.map(|part| passed * part);
            }
        }
        let highest =
            cutoff.map_or(terms.len(), |cutoff| terms.len().min(HIGHEST_IN_CUTOFFS * usize::from(cutoff.get())));
        let count = LEAST_POINTS.max((POINTS_PER_UNDULATION * highest).next_multiple_of(LANES));
        let radius = self.meridian().at(arc).radius_mm;
        (0..count / LANES).flat_map(|chunk| evaluate(&terms, chunk * LANES, count)).map(|sum| radius + sum).collect()
    }
}

/// Points evaluated side by side, so that one does not wait for the other's multiplications.
const LANES: usize = 8;

/// Sums of the harmonics at `LANES` of `count` equally spaced azimuths: Horner's rule in exp(i theta).
fn evaluate(terms: &[[f64; 2]], first: usize, count: usize) -> [f64; LANES] {
    let (mut cosine, mut sine) = ([0.0; LANES], [0.0; LANES]);
    for lane in 0..LANES {
        (sine[lane], cosine[lane]) = (TAU * (first + lane) as f64 / count as f64).sin_cos();
    }
    let (mut re, mut im) = ([0.0; LANES], [0.0; LANES]);
    for [a, b] in terms.iter().rev() {
        for lane in 0..LANES {
            let (x, y) = (re[lane], im[lane]);
            re[lane] = x * cosine[lane] - y * sine[lane] + a;
            im[lane] = x * sine[lane] + y * cosine[lane] - b;
        }
    }
    re
}

/// Gaussian transmission: 2^-(n/cutoff)^2, one half at the cut-off.
fn transmission(n: f64, cutoff: Upr) -> f64 {
    let ratio = n / f64::from(cutoff.get());
    (-(ratio * ratio)).exp2()
}

/// Range of the distances from the centre of the least-squares circle, for radii at equally spaced azimuths.
fn range_about_circle(radii: &[f64]) -> f64 {
    let count = radii.len() as f64;
    let points: Vec<[f64; 2]> = radii
        .iter()
        .enumerate()
        .map(|(index, radius)| {
            let (sine, cosine) = (TAU * index as f64 / count).sin_cos();
            [radius * cosine, radius * sine]
        })
        .collect();
    let centre = least_squares_centre(&points);
    let distances: Vec<f64> = points.iter().map(|[x, y]| (x - centre[0]).hypot(y - centre[1])).collect();
    peak(&distances) + peak(&distances.iter().map(|distance| -distance).collect::<Vec<_>>())
}

/// Centre of the least-squares circle through points at nearly even azimuths: Gauss-Newton on the geometric distances.
fn least_squares_centre(points: &[[f64; 2]]) -> [f64; 2] {
    let count = points.len() as f64;
    let mut centre = [0.0, 0.0];
    // At even azimuths the normal equations are diagonal to first order in deviation over radius, by which each round
    // shrinks the error: 6 rounds reach 1e-12 of it for a deviation of a hundredth of the radius.
    for _ in 0..6 {
        let mut step = [0.0, 0.0];
        let mean = points.iter().map(|[x, y]| (x - centre[0]).hypot(y - centre[1])).sum::<f64>() / count;
        for [x, y] in points {
            let (dx, dy) = (x - centre[0], y - centre[1]);
            let distance = dx.hypot(dy);
            let residual = (distance - mean) / distance;
            step = [step[0] + residual * dx, step[1] + residual * dy];
        }
        centre = [centre[0] + 2.0 * step[0] / count, centre[1] + 2.0 * step[1] / count];
    }
    centre
}

/// Greatest value of a closed curve sampled evenly: the highest of the parabolas through its local maxima.
fn peak(values: &[f64]) -> f64 {
    let count = values.len();
    let tops = (0..count).map(|index| {
        let (before, top, after) = (values[(index + count - 1) % count], values[index], values[(index + 1) % count]);
        let bend = before - 2.0 * top + after;
        // Only a local maximum has its parabola's top within half a spacing; a flat one needs none.
        if before <= top && after <= top && bend < 0.0 { top - (after - before).powi(2) / (8.0 * bend) } else { top }
    });
    tops.max_by(f64::total_cmp).unwrap_or(0.0)
}
