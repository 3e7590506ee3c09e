//! Noise that errs alike over some millimetres: registration, filtering, the light's speckle.
//!
//! Such noise adds to the low harmonics of a section as much as to the high ones, where a point's own noise is averaged
//! away. Along the height it changes within millimetres, while the lobes of a turned wall change smoothly: the third
//! differences of each harmonic's coefficients over the height hold the one and not the other. A wall whose own surface
//! changes within a few millimetres of height cannot be told from such noise in one scan; its change counts as noise.

use std::f64::consts::TAU;
use std::ops::RangeInclusive;

use super::wall::Wall;
use crate::quantity::Upr;
use crate::section::{BandFit, MeridianPoint};

/// Correlation lengths tried, mm: below the least the noise is as good as white, above the greatest as good as form.
const SHORTEST_MM: f64 = 0.4;
const LONGEST_MM: f64 = 8.0;
const LENGTHS: u32 = 14;

/// Distances along the wall over which coefficients are compared, mm at most, and how many.
const FARTHEST_MM: f64 = 8.0;
const LAGS: usize = 10;

/// Harmonics compared, at most: higher ones hold nothing of noise that is correlated over a millimetre.
const HIGHEST: usize = 60;

/// Fewer sections say nothing of how noise changes with height.
const FEWEST_SECTIONS: usize = 12;

/// The correlated part is believed if it stands out of its own scatter this many times (project).
const SIGNIFICANT: f64 = 3.0;

/// Change of the length's logarithm over which the likelihood's curvature is taken; a half or a double of it changes the
/// power's uncertainty by less than a tenth.
const DOUBT: f64 = 0.1;

/// Standard deviations beyond which a mean square counts less (Huber's weights, here to one side).
const OUTLYING: f64 = 2.0;

/// Squares of a third difference's coefficients 1, -3, 3, -1, and the products of those 1, 2 and 3 apart, summed twice.
const THIRD: [f64; 4] = [20.0, -30.0, 12.0, -2.0];

/// Noise whose correlation over a distance d is exp(-d2 / (2 length2)).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Correlation {
    /// Variance along the normal of one harmonic coefficient times the radius of its section, mm3.
    power: f64,
    length_mm: f64,
    /// Relative standard uncertainty of the power.
    u_relative: f64,
}

impl Correlation {
    /// From the sections of the bodies of both walls.
    pub(super) fn of(walls: &[Wall], bodies: &[&[usize]]) -> Self {
        Self::told(&walls.iter().zip(bodies).flat_map(|(wall, body)| excess(wall, body)).collect::<Vec<Excess>>())
    }

    fn told(excess: &[Excess]) -> Self {
        let step = (LONGEST_MM / SHORTEST_MM).ln() / f64::from(LENGTHS - 1);
        let at = |log_length: f64| fitted(excess, log_length.exp());
        let grid = (0..LENGTHS).map(|index| SHORTEST_MM.ln() + f64::from(index) * step);
        let told = grid.filter_map(|log_length| Some((log_length, at(log_length).filter(Likely::is_significant)?)));
        let Some((middle, _)) = told.min_by(|a, b| a.1.unlikely.total_cmp(&b.1.unlikely)) else {
            return Self::default();
        };
        // A third difference goes with the third power of the distance over the length, its square with the sixth: a length off
        // by a twentieth makes the power a quarter too great, so that the grid's best is not good enough.
        let unlikely = |log_length: f64| at(log_length).map_or(f64::INFINITY, |likely| likely.unlikely);
        let best = lowest(unlikely, middle - step, middle + step);
        // What changes over a longer way still, as the edges of a gap's bridge do, is not told from form.
        if best >= LONGEST_MM.ln() {
            return Self::default();
        }
        at(best).map_or(Self::default(), |likely| likely.with_doubt_of_length([best - DOUBT, best + DOUBT].map(at)))
    }

    /// Standard deviation of a point along the normal, mm.
    pub(super) fn standard_deviation(&self) -> f64 {
        // A coefficient has the variance 2 root(2 pi) length / (2 pi radius) of a point's.
        if self.length_mm > 0.0 { (self.power * TAU.sqrt() / (2.0 * self.length_mm)).sqrt() } else { 0.0 }
    }

    /// Correlation length, mm; 0 where none was found.
    pub(super) const fn length_mm(&self) -> f64 {
        self.length_mm
    }

    /// Variance of one coefficient of a harmonic of the section of a wall at a place of its meridian, mm2: a wall that leans
    /// shows an error along its normal as a greater one along the radius.
    pub(super) fn variance(&self, upr: usize, place: &MeridianPoint) -> f64 {
        self.along_normal(upr, place.radius) / place.steepness.powi(2)
    }

    /// Variance of a section's mean along the normal, mm2.
    pub(super) fn mean_variance(&self, radius: f64) -> f64 {
        0.5 * self.along_normal(0, radius)
    }

    /// Variance of one coefficient along the normal, mm2.
    fn along_normal(&self, upr: usize, radius: f64) -> f64 {
        if radius > 0.0 { self.power / radius * self.passed(upr, radius) } else { 0.0 }
    }

    /// Standard uncertainty of a section's RONt for not knowing the power, mm, where noise of all kinds shows `limit_mm`: the
    /// correction goes with the root of the noise's power.
    pub(super) fn of_range(&self, wall: &Wall, height_mm: f64, cutoff: Upr, limit_mm: f64) -> f64 {
        let place = wall.heights.band(height_mm);
        let known = place.and_then(|index| Some((wall.fits[index].as_ref()?, wall.meridian[index].as_ref()?)));
        let Some((fit, meridian)) = known else { return 0.0 };
        let (mut shared, mut all) = (0.0, 0.0);
        for (upr, factor) in (1..=usize::from(cutoff.get())).zip(&fit.harmonics.cos_factor).skip(1) {
            shared += self.variance(upr, meridian);
            all += fit.noise * fit.noise * factor;
        }
        let share: f64 = if all > 0.0 { shared / all } else { 0.0 };
        0.5 * limit_mm * share.min(1.0) * self.u_relative
    }

    /// How many sections `step_mm` apart err alike: the variance of their mean is that many times as large.
    pub(super) fn alike(&self, step_mm: f64) -> f64 {
        (TAU.sqrt() * self.length_mm / step_mm).max(1.0)
    }

    /// What is left at a harmonic of the power at 0 UPR.
    fn passed(&self, upr: usize, radius: f64) -> f64 {
        (-0.5 * (upr as f64 * self.length_mm / radius).powi(2)).exp()
    }

    /// Puts the correlated part into the variances of a wall's coefficients.
    pub(super) fn enter(&self, wall: &mut Wall) {
        for index in 0..wall.heights.count {
            let Some(meridian) = wall.meridian[index] else { continue };
            for fit in wall.fits_at(index) {
                let unit = fit.noise.powi(2);
                if unit <= 0.0 {
                    continue;
                }
                let harmonics = &mut fit.harmonics;
                harmonics.mean_variance_factor += 0.5 * self.variance(0, &meridian) / unit;
                for factors in [&mut harmonics.cos_factor, &mut harmonics.sin_factor] {
                    for (index, factor) in factors.iter_mut().enumerate() {
                        *factor += self.variance(index + 1, &meridian) / unit;
                    }
                }
            }
        }
    }
}

/// What a harmonic's coefficients along the normal differ by over a distance, beside the points' own noise.
struct Excess {
    upr: usize,
    radius: f64,
    distance_mm: f64,
    /// Mean square of the third difference over 20, mm2.
    square: f64,
    /// What the points' noise alone would make of it, mm2.
    noise: f64,
    /// How many independent differences that is the mean of.
    independent: f64,
}

impl Excess {
    /// One over the variance of the mean square if it were `expected`; less where it is far beyond that, because the wall's own
    /// form changes there.
    fn weight(&self, expected: f64) -> f64 {
        let expected = expected.max(f64::MIN_POSITIVE);
        let beyond = (self.square / expected - 1.0) * (0.5 * self.independent).sqrt();
        self.independent / expected.powi(2) * if beyond > OUTLYING { OUTLYING / beyond } else { 1.0 }
    }
}

/// The excess at each harmonic and distance of one wall.
fn excess(wall: &Wall, body: &[usize]) -> Vec<Excess> {
    if body.len() < FEWEST_SECTIONS {
        return Vec::new();
    }
    let (first, last) = (body[0], body[body.len() - 1]);
    let known: Vec<_> = body.iter().filter_map(|&i| Some((wall.meridian[i]?, wall.fits[i].as_ref()?))).collect();
    let count = known.len().max(1) as f64;
    let radius = known.iter().map(|(meridian, _)| meridian.radius).sum::<f64>() / count;
    let step = wall.heights.step * known.iter().map(|(meridian, _)| 1.0 / meridian.steepness).sum::<f64>() / count;
    // Where few sections have a harmonic, few differences speak of it: one coarse section must not silence the others.
    let highest = known.iter().map(|(_, fit)| fit.harmonics.highest()).max().unwrap_or(0).min(HIGHEST);
    let most = ((FARTHEST_MM / step) as usize).min((last - first) / 4);
    let mut lags: Vec<usize> = (0..LAGS).map(|i| 1 + i * most.saturating_sub(1) / (LAGS - 1)).collect();
    lags.dedup();
    let mut all = Vec::new();
    for upr in 2..=highest {
        for &lag in lags.iter().filter(|lag| **lag <= most) {
            all.extend(third_differences(wall, first..=last, upr, lag).map(|(square, noise, pairs)| {
                // A third difference spans three lags: those that start within them share their sections.
                let independent = (pairs / (3.0 * lag as f64)).max(1.0);
                Excess { upr, radius, distance_mm: lag as f64 * step, square, noise, independent }
            }));
        }
    }
    all
}

/// Mean square over 20 of the third differences of a harmonic's coefficients `lag` sections apart, the same for the
/// points' noise alone, and their number.
fn third_differences(wall: &Wall, sections: RangeInclusive<usize>, upr: usize, lag: usize) -> Option<(f64, f64, f64)> {
    let (mut square, mut noise, mut count) = (0.0, 0.0, 0.0);
    for start in *sections.start()..=sections.end().saturating_sub(3 * lag) {
        let measured = |i: usize| {
            let fit = wall.fits.get(start + i * lag)?.as_ref().filter(|fit| fit.harmonics.highest() >= upr)?;
            Some((fit, wall.meridian[start + i * lag]?.steepness))
        };
        let four = [0, 1, 2, 3].map(measured);
        let [Some(a), Some(b), Some(c), Some(d)] = four else { continue };
        let steepness = [a.1, b.1, c.1, d.1];
        let [a, b, c, d] = [a.0, b.0, c.0, d.0];
        // One steepness for all four: a lobe that is the same at every height must leave nothing.
        let along_normal = 0.25 * steepness.iter().sum::<f64>();
        let cosine = |fit: &BandFit| fit.harmonics.cos[upr - 1];
        let sine = |fit: &BandFit| fit.harmonics.sin[upr - 1];
        for third in [
            cosine(a) - 3.0 * cosine(b) + 3.0 * cosine(c) - cosine(d),
            sine(a) - 3.0 * sine(b) + 3.0 * sine(c) - sine(d),
        ] {
            square += (third * along_normal).powi(2) / THIRD[0];
            count += 1.0;
        }
        for (fit, coefficient) in [(a, 1.0), (b, 9.0), (c, 9.0), (d, 1.0)] {
            let factors = fit.harmonics.cos_factor[upr - 1] + fit.harmonics.sin_factor[upr - 1];
            noise += coefficient * (fit.noise * along_normal).powi(2) * factors / THIRD[0];
        }
    }
    (count > 0.0).then(|| (square / count, noise / count, count))
}

/// Rounds in which the power and the weights that follow from it agree.
const ROUNDS: usize = 12;

/// The likeliest power at a correlation length, if there is any.
///
/// A mean square of few differences is spread as chi-square. Weighed by itself, the smaller it happens to be the more it
/// would count, and the power would come out too small by a third; so that it is weighed by what is expected of it.
fn fitted(excess: &[Excess], length_mm: f64) -> Option<Likely> {
    let unit = Correlation { power: 1.0, length_mm, u_relative: 0.0 };
    let shape = |e: &Excess| {
        let alike = |times: f64| (-0.5 * (times * e.distance_mm / length_mm).powi(2)).exp();
        let over = (THIRD[0] + THIRD[1] * alike(1.0) + THIRD[2] * alike(2.0) + THIRD[3] * alike(3.0)) / THIRD[0];
        unit.along_normal(e.upr, e.radius) * over
    };
    let shapes: Vec<f64> = excess.iter().map(shape).collect();
    let terms = || excess.iter().zip(&shapes);
    if excess.len() < 3 {
        return None;
    }
    let mut power = terms().map(|(e, _)| e.independent * (e.square - e.noise)).sum::<f64>()
        / terms().map(|(e, shape)| e.independent * shape).sum::<f64>();
    let mut information = 0.0;
    for _ in 0..ROUNDS {
        let (mut square, mut product) = (0.0, 0.0);
        for (e, shape) in terms() {
            let weight = e.weight(e.noise + power.max(0.0) * shape);
            square += weight * shape * shape;
            product += weight * shape * (e.square - e.noise);
        }
        power = product / square;
        information = square;
    }
    if power.is_nan() || power <= 0.0 {
        return None;
    }
    let expected = |e: &Excess, shape: f64| e.noise + power * shape;
    let left = |(e, shape): (&Excess, &f64)| e.weight(expected(e, *shape)) * (e.square - expected(e, *shape)).powi(2);
    let spread = (terms().map(left).sum::<f64>() / (excess.len() - 2) as f64 / information).sqrt();
    let unlikely = |(e, shape): (&Excess, &f64)| {
        let expected = expected(e, *shape).max(f64::MIN_POSITIVE);
        e.independent * (expected.ln() + e.square / expected)
    };
    let correlation = Correlation { power, length_mm, u_relative: spread / power };
    Some(Likely { correlation, unlikely: terms().map(unlikely).sum() })
}

/// The correlation of a length.
struct Likely {
    /// Its uncertainty is that of the power alone, the length given.
    correlation: Correlation,
    /// Minus twice the log-likelihood.
    unlikely: f64,
}

impl Likely {
    fn is_significant(&self) -> bool {
        self.correlation.u_relative * SIGNIFICANT < 1.0
    }

    /// With what not knowing the length leaves open of the power, from the same at [`DOUBT`] to either side: the length's
    /// variance is two over the curvature of minus twice the log-likelihood, and the power follows the length.
    ///
    /// In 60 simulations each of seven walls the error of the power's logarithm was 0.5 to 1.4 times this, root mean square, and
    /// 3 to 8 times the part that is left with the length given.
    fn with_doubt_of_length(self, sides: [Option<Self>; 2]) -> Correlation {
        let [Some(shorter), Some(longer)] = sides else { return self.correlation };
        let curvature = (shorter.unlikely + longer.unlikely - 2.0 * self.unlikely) / (DOUBT * DOUBT);
        let slope = (longer.correlation.power / shorter.correlation.power).ln() / (2.0 * DOUBT);
        // A length that nothing is known of lies evenly between the shortest and the longest.
        let nothing_known = (LONGEST_MM / SHORTEST_MM).ln() / 12.0_f64.sqrt();
        let u_length = if curvature > 0.0 { (2.0 / curvature).sqrt().min(nothing_known) } else { nothing_known };
        Correlation { u_relative: self.correlation.u_relative.hypot(slope * u_length), ..self.correlation }
    }
}

/// Where a function with one valley is lowest, by thirds.
fn lowest(f: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    /// Two thirds to this power is a thousandth: far below what any scan tells of a length.
    const CUTS: usize = 17;
    let (mut low, mut high) = (low, high);
    for _ in 0..CUTS {
        let third = (high - low) / 3.0;
        if f(low + third) < f(high - third) { high -= third } else { low += third }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use rand_distr::{Distribution, StandardNormal};

    use super::*;
    use crate::quantity::Seed;

    /// Third differences of simulated coefficients of a wall of 40 mm radius, sections 0.6 mm apart, noise of 0.05 mm over 3 mm.
    fn simulated(length: f64, seed: u64) -> (f64, Vec<Excess>) {
        const RADIUS: f64 = 40.0;
        const STEP: f64 = 0.6;
        let mut rng = Seed::new(seed).rng();
        let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
        let power = 0.05_f64.powi(2) * 2.0 * length / TAU.sqrt();
        let mut all = Vec::new();
        for upr in 2..=40 {
            let amplitude = (power / RADIUS).sqrt() * (-0.25 * (upr as f64 * length / RADIUS).powi(2)).exp();
            // A sum of waves of random wave number has the Gaussian correlation (Bochner).
            let coefficients: Vec<Vec<f64>> = (0..2)
                .map(|_| {
                    let waves: Vec<[f64; 3]> = (0..100).map(|_| [normal() / length, normal(), normal()]).collect();
                    let at = |z: f64| -> f64 {
                        waves.iter().map(|[k, a, b]| a * (k * z).cos() + b * (k * z).sin()).sum::<f64>() / 10.0
                    };
                    (0..100).map(|i| amplitude * at(STEP * f64::from(i)) + 0.002 * normal()).collect()
                })
                .collect();
            for lag in (1..=13).step_by(2) {
                let thirds = coefficients.iter().flat_map(|c| {
                    (0..c.len() - 3 * lag).map(move |i| c[i] - 3.0 * (c[i + lag] - c[i + 2 * lag]) - c[i + 3 * lag])
                });
                let squares: Vec<f64> = thirds.map(|third| third * third / THIRD[0]).collect();
                all.push(Excess {
                    upr,
                    radius: RADIUS,
                    distance_mm: lag as f64 * STEP,
                    square: squares.iter().sum::<f64>() / squares.len() as f64,
                    noise: 4e-6,
                    independent: squares.len() as f64 / (3.0 * lag as f64),
                });
            }
        }
        (power, all)
    }

    #[test]
    fn the_power_is_unbiased_and_its_uncertainty_holds() {
        const TRIALS: u64 = 40;
        // Lengths between two of the grid's.
        for length in [1.4, 3.05] {
            let found: Vec<f64> = (0..TRIALS)
                .map(|seed| {
                    let (power, excess) = simulated(length, seed);
                    let found = Correlation::told(&excess);
                    (found.power / power).ln() / found.u_relative
                })
                .collect();
            let mean = found.iter().sum::<f64>() / TRIALS as f64;
            let square = found.iter().map(|z| z * z).sum::<f64>() / TRIALS as f64;
            // A mean of forty scatters by a sixth; the scatter of the scatter is a ninth of it.
            assert!(mean.abs() < 0.6, "{length}: mean {mean}");
            assert!((0.5..1.6).contains(&square.sqrt()), "{length}: root mean square {}", square.sqrt());
        }
    }
}
