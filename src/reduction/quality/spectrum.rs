//! How long a kernel is, by how fast the sections' harmonics vanish with their number.
//!
//! A Gaussian kernel of standard deviation s leaves exp(-(n s / R)^2) of the power of n undulations on a circle of radius R, of
//! form and of noise alike, so that the power's logarithm falls along a line in (n / R)^2 down to what the sections' own fits
//! leave.

use crate::math::robust;
use crate::quantity::Estimate;
use crate::reduction::wall::Wall;

/// The lowest harmonic looked at: lower ones are strong or weak by the vessel's making (project).
const LOWEST: usize = 8;

/// Harmonics are looked at down to this many times the power that the highest quarter has (project; from 4 to 10 the kernels
/// found grow by a tenth).
const ABOVE_FLOOR: f64 = 4.0;

/// Power of form before smoothing is taken to fall as UPR to minus this: between noise, which is alike, and turned and thrown
/// work, which is near 2 to 3. With 0 kernels come out longer by a seventh, with 2 shorter by a fifth to a quarter.
const FALL: f64 = 1.0;

/// Fewer harmonics say nothing of a kernel: of all, and above the floor.
const FEWEST: usize = 20;
const FEWEST_ABOVE: usize = 6;

/// A harmonic counts that this share of the sections has.
const SEEN_BY: f64 = 1.0 / 3.0;

/// Variance of the kernel that explains how fast the harmonics of the body's sections grow weaker, mm2.
///
/// Short kernels come out too long where form grows weaker by itself, long ones too short where the fits' own errors are all that
/// is left of the higher harmonics: of R / 50 the simulated are found 1.4 times, of R / 25 0.9 times, of R / 12 0.6 times.
/// `None` where too few harmonics stand out.
pub(super) fn kernel_variance(wall: &Wall, sections: &[usize]) -> Option<Estimate> {
    let (power, radius) = powers(wall, sections)?;
    told(&power, radius)
}

/// The same from the power of each harmonic, beginning with none, on a circle.
fn told(power: &[Option<f64>], radius: f64) -> Option<Estimate> {
    let known: Vec<(usize, f64)> =
        power.iter().enumerate().skip(LOWEST).filter_map(|(n, power)| Some((n, (*power)?))).collect();
    if known.len() < FEWEST {
        return None;
    }
    let highest = &known[known.len() - known.len() / 4..];
    let floor = robust::median(&mut highest.iter().map(|(_, power)| *power).collect::<Vec<_>>())?;
    let stands_out = |middle: usize| {
        let near = &known[middle.saturating_sub(2)..(middle + 3).min(known.len())];
        near.iter().map(|(_, power)| power).sum::<f64>() >= ABOVE_FLOOR * floor * near.len() as f64
    };
    let count = (0..known.len()).take_while(|middle| stands_out(*middle)).count();
    if count < FEWEST_ABOVE || floor <= 0.0 {
        return None;
    }
    let rows = known[..count].iter();
    let row = |(n, power): &(usize, f64)| {
        let upr = *n as f64;
        [(upr / radius).powi(2), (power - floor).max(floor).ln() + FALL * upr.ln()]
    };
    fall(&rows.map(row).collect::<Vec<_>>())
}

/// Mean power along the normal of each harmonic, counted as on a circle of the body's median radius, and that radius, mm.
fn powers(wall: &Wall, sections: &[usize]) -> Option<(Vec<Option<f64>>, f64)> {
    let known: Vec<_> = sections.iter().filter_map(|&i| Some((wall.meridian[i]?, wall.fits[i].as_ref()?))).collect();
    let radius = robust::median(&mut known.iter().map(|(place, _)| place.radius).collect::<Vec<_>>())?;
    let highest = known.iter().map(|(_, fit)| fit.harmonics.highest()).max()?;
    let mut sums = vec![(0.0, 0_usize); highest + 1];
    for (place, fit) in &known {
        for (index, (cos, sin)) in fit.harmonics.cos.iter().zip(&fit.harmonics.sin).enumerate() {
            let alike = (index + 1) as f64 * radius / place.radius;
            if let Some((sum, count)) = sums.get_mut(alike.round() as usize) {
                *sum += (cos * cos + sin * sin) * place.steepness.powi(2);
                *count += 1;
            }
        }
    }
    let fewest = SEEN_BY * known.len() as f64;
    let mean = |(sum, count): (f64, usize)| (count as f64 >= fewest && sum > 0.0).then(|| sum / count as f64);
    Some((sums.into_iter().map(mean).collect(), radius))
}

/// By how much the second falls with the first: least squares.
fn fall(rows: &[[f64; 2]]) -> Option<Estimate> {
    let count = rows.len() as f64;
    let [x, y] = [0, 1].map(|part| rows.iter().map(|row| row[part]).sum::<f64>() / count);
    let square: f64 = rows.iter().map(|row| (row[0] - x).powi(2)).sum();
    let slope = rows.iter().map(|row| (row[0] - x) * (row[1] - y)).sum::<f64>() / square;
    let left: f64 = rows.iter().map(|row| (row[1] - y - slope * (row[0] - x)).powi(2)).sum();
    Estimate::new(-slope, (left / (count - 2.0) / square).sqrt()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Power of 1 / n and a floor of a millionth, of 100 harmonics on a circle of 50 mm, after a kernel.
    fn smoothed(kernel_mm: f64) -> Vec<Option<f64>> {
        let at = |n: f64| (-(n * kernel_mm / 50.0).powi(2)).exp() / n.max(1.0) + 1e-6;
        (0..=100).map(|n| Some(at(f64::from(n)))).collect()
    }

    #[test]
    fn the_kernel_is_told_by_how_fast_harmonics_vanish() {
        for kernel_mm in [1.0, 2.0, 4.0_f64] {
            let found = told(&smoothed(kernel_mm), 50.0).unwrap().value().sqrt();
            // The shortest has not come down to the floor by the last harmonic: a twentieth too long.
            assert!((found / kernel_mm - 1.0).abs() < 0.06, "{found} of {kernel_mm}");
        }
    }

    #[test]
    fn harmonics_that_do_not_stand_out_tell_nothing() {
        assert_eq!(told(&[Some(1.0); 101], 50.0), None);
        assert_eq!(told(&smoothed(2.0)[..20], 50.0), None);
    }
}
