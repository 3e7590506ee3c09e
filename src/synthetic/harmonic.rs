//! Harmonics of a wall: amplitude and phase that change smoothly with height.

use std::f64::consts::PI;

use crate::quantity::Upr;

/// Degree of the polynomials in height plus one.
const TERMS: usize = 4;

/// One harmonic of a wall: `a(z) cos(n theta - phase(z))`, held as the polynomials of its cosine and sine parts over height.
///
/// The polynomials are Chebyshev series of degree 3 in `t`, which runs from -1 at the foot to 1 at the rim.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlannedHarmonic {
    upr: Upr,
    cosine: [f64; TERMS],
    sine: [f64; TERMS],
}

impl PlannedHarmonic {
    /// The same amplitude (mm) and phase (rad) at every height.
    #[must_use]
    pub fn constant(upr: Upr, amplitude_mm: f64, phase_rad: f64) -> Self {
        Self::varying(upr, |_| amplitude_mm, |_| phase_rad)
    }

    /// Amplitude (mm) and phase (rad) as functions of `t`, -1 at the foot and 1 at the rim.
    ///
    /// The harmonic planned is the cubic through the four Chebyshev nodes, and that cubic is the truth; the functions are
    /// met to the extent that they are smooth.
    #[must_use]
    pub fn varying(upr: Upr, amplitude_mm: impl Fn(f64) -> f64, phase_rad: impl Fn(f64) -> f64) -> Self {
        let (mut cosine, mut sine) = ([0.0; TERMS], [0.0; TERMS]);
        let terms = TERMS as f64;
        for node in 0..TERMS {
            let angle = PI * (node as f64 + 0.5) / terms;
            let t = angle.cos();
            let (amplitude, phase) = (amplitude_mm(t), phase_rad(t));
            for term in 0..TERMS {
                let weight = if term == 0 { 1.0 } else { 2.0 } / terms * (term as f64 * angle).cos();
                cosine[term] += weight * amplitude * phase.cos();
                sine[term] += weight * amplitude * phase.sin();
            }
        }
        Self { upr, cosine, sine }
    }

    /// The same harmonic, `factor` times as strong.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self { upr: self.upr, cosine: self.cosine.map(|c| factor * c), sine: self.sine.map(|s| factor * s) }
    }

    /// Undulations per revolution.
    #[must_use]
    pub fn upr(&self) -> Upr {
        self.upr
    }

    /// Cosine and sine part at `t`, mm.
    #[must_use]
    pub fn parts(&self, t: f64) -> [f64; 2] {
        let basis = chebyshev(t);
        let sum = |series: &[f64; TERMS]| series.iter().zip(basis).map(|(c, b)| c * b).sum();
        [sum(&self.cosine), sum(&self.sine)]
    }
}

/// One undulation about a circle, as of a rim's height: `amplitude cos(upr theta - phase)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ripple {
    /// Undulations per revolution; 1 is a tilt.
    pub upr: Upr,
    /// Amplitude, mm.
    pub amplitude_mm: f64,
    /// Phase, rad.
    pub phase_rad: f64,
}

impl Ripple {
    /// The value at azimuth `theta`, mm.
    #[must_use]
    pub fn at(&self, theta: f64) -> f64 {
        self.amplitude_mm * (f64::from(self.upr.get()) * theta - self.phase_rad).cos()
    }
}

fn chebyshev(t: f64) -> [f64; TERMS] {
    let second = 2.0 * t * t - 1.0;
    [1.0, t, second, 2.0 * t * second - t]
}

/// All harmonics of a wall, laid out for evaluation at many points.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct HarmonicField {
    /// Entry n holds the series of the cosine part, then that of the sine part, of n UPR.
    series: Vec<[f64; 2 * TERMS]>,
}

impl HarmonicField {
    pub(super) fn new(harmonics: &[PlannedHarmonic]) -> Self {
        let highest = harmonics.iter().map(|harmonic| usize::from(harmonic.upr.get())).max();
        let mut series = vec![[0.0; 2 * TERMS]; highest.map_or(0, |highest| highest + 1)];
        for harmonic in harmonics {
            let row = &mut series[usize::from(harmonic.upr.get())];
            for term in 0..TERMS {
                row[term] += harmonic.cosine[term];
                row[TERMS + term] += harmonic.sine[term];
            }
        }
        Self { series }
    }

    /// Sum of the harmonics at height coordinate `t` and azimuth `theta`: Horner's rule in exp(i theta).
    pub(super) fn at(&self, t: f64, theta: f64) -> f64 {
        let basis = chebyshev(t);
        let (sine, cosine) = theta.sin_cos();
        let (mut re, mut im) = (0.0, 0.0);
        for row in self.series.iter().rev() {
            let a = row[0] + row[1] * basis[1] + row[2] * basis[2] + row[3] * basis[3];
            let b = row[4] + row[5] * basis[1] + row[6] * basis[2] + row[7] * basis[3];
            (re, im) = (re * cosine - im * sine + a, re * sine + im * cosine - b);
        }
        re
    }

    /// Adds `share` of the cosine and sine parts at `t` to `sums`, whose entry n belongs to n UPR.
    pub(super) fn add_parts(&self, t: f64, share: f64, sums: &mut [[f64; 2]]) {
        let basis = chebyshev(t);
        let sum = |series: &[f64]| series.iter().zip(basis).map(|(c, b)| c * b).sum::<f64>();
        for (row, sums) in self.series.iter().zip(sums) {
            sums[0] += share * sum(&row[..TERMS]);
            sums[1] += share * sum(&row[TERMS..]);
        }
    }

    /// The highest UPR planned; 0 without harmonics.
    pub(super) fn highest(&self) -> u16 {
        u16::try_from(self.series.len().saturating_sub(1)).unwrap_or(u16::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn upr(n: u16) -> Upr {
        Upr::new(n).unwrap()
    }

    #[test]
    fn constant_harmonic_is_its_cosine_everywhere() {
        let field = HarmonicField::new(&[PlannedHarmonic::constant(upr(3), 0.1, 0.4)]);
        for step in 0..50 {
            let (t, theta) = (f64::from(step) / 25.0 - 1.0, f64::from(step) * 0.13);
            assert!((field.at(t, theta) - 0.1 * (3.0 * theta - 0.4).cos()).abs() < 1e-15);
        }
    }

    #[test]
    fn linear_amplitude_is_met_exactly() {
        let harmonic = PlannedHarmonic::varying(upr(2), |t| 0.2 + 0.1 * t, |_| 0.0);
        let [cosine, sine] = harmonic.parts(0.5);
        assert!((cosine - 0.25).abs() < 1e-15 && sine.abs() < 1e-15);
    }
}
