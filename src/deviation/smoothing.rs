//! The likely shape behind noisy values: an orthonormal basis whose coefficients are kept, block by block, by what they
//! hold above the noise.

use std::ops::Range;

/// A block is kept where its power exceeds the noise's by this many standard deviations of the noise's power over
/// root 2: about one block of noise in twelve survives, and moving it to 3 changes no test's outcome.
const KEEP: f64 = 2.0;
/// Share of a column's length that must be left after the earlier columns are taken out, or it counts as spanned by them.
const INDEPENDENT: f64 = 1e-6;
/// Blocks of one order each before their size doubles.
const SINGLE_BLOCKS: usize = 4;

/// An orthonormal basis over given places, in blocks from smooth to rough.
#[derive(Debug)]
pub(super) struct Basis {
    columns: Vec<Vec<f64>>,
    blocks: Vec<Range<usize>>,
}

impl Basis {
    /// Polynomials up to `highest` degree over `places`; one block per degree, then doubling.
    pub(super) fn polynomials(places: &[f64], highest: usize) -> Self {
        let (low, high) = places.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &z| (l.min(z), h.max(z)));
        let half = if high > low { (high - low) / 2.0 } else { 1.0 };
        let unit: Vec<f64> = places.iter().map(|z| (z - (low + high) / 2.0) / half).collect();
        let mut basis = Self { columns: vec![], blocks: vec![] };
        for order in orders(highest.min(places.len().saturating_sub(1))) {
            let start = basis.columns.len();
            for degree in order {
                // From the last column, not from a power: powers of high degree are too nearly dependent.
                let column = match basis.columns.last() {
                    Some(last) if degree > 0 => last.iter().zip(&unit).map(|(c, z)| c * z).collect(),
                    _ => vec![1.0; unit.len()],
                };
                basis.push(column);
            }
            basis.close(start);
        }
        basis
    }

    /// Waves up to `highest` undulations per revolution at `azimuths`; cosine and sine of an order share a block.
    pub(super) fn harmonics(azimuths: &[f64], highest: usize) -> Self {
        let mut basis = Self { columns: vec![], blocks: vec![] };
        for order in orders(highest) {
            let start = basis.columns.len();
            for upr in order {
                basis.push(azimuths.iter().map(|a| (upr as f64 * a).cos()).collect());
                if upr > 0 {
                    basis.push(azimuths.iter().map(|a| (upr as f64 * a).sin()).collect());
                }
            }
            basis.close(start);
        }
        basis
    }

    /// Adds what a column holds beside the earlier ones; twice, for what rounding leaves.
    fn push(&mut self, mut column: Vec<f64>) {
        let length = norm(&column);
        for _ in 0..2 {
            for earlier in &self.columns {
                let shared = dot(earlier, &column);
                column.iter_mut().zip(earlier).for_each(|(c, e)| *c -= shared * e);
            }
        }
        let left = norm(&column);
        if left > INDEPENDENT * length {
            column.iter_mut().for_each(|c| *c /= left);
            self.columns.push(column);
        }
    }

    fn close(&mut self, start: usize) {
        if self.columns.len() > start {
            self.blocks.push(start..self.columns.len());
        }
    }

    /// The shape behind `values` with white noise of `variance`; what the basis does not reach is one block more.
    ///
    /// # References
    /// Cai 1999, Adaptive wavelet estimation: a block thresholding and oracle inequality approach,
    /// doi:10.1214/aos/1018031262 (block shrinkage; DOI from memory).
    pub(super) fn denoised(&self, values: &[f64], variance: f64) -> Vec<f64> {
        self.denoised_from(values, values.len() as f64 * variance, |_| variance)
    }

    /// The same with noise that may err alike at neighbouring places: `whole` is the sum of the values' variances, `of` the
    /// variance of a column's coefficient.
    pub(super) fn denoised_from(&self, values: &[f64], whole: f64, of: impl Fn(&[f64]) -> f64) -> Vec<f64> {
        if whole <= 0.0 {
            return values.to_vec();
        }
        let coefficients = self.coefficients(values);
        let variances: Vec<f64> = self.columns.iter().map(|column| of(column)).collect();
        let mut rest = values.to_vec();
        self.add(&coefficients, -1.0, &mut rest);
        let power = rest.iter().map(|r| r * r).sum::<f64>();
        let size = values.len().saturating_sub(self.columns.len()) as f64;
        let beyond = (whole - variances.iter().sum::<f64>()).max(0.0);
        let share = kept(power, size, beyond / size.max(1.0));
        let mut shape: Vec<f64> = rest.iter().map(|r| share * r).collect();
        for block in &self.blocks {
            let power = coefficients[block.clone()].iter().map(|c| c * c).sum::<f64>();
            let size = block.len() as f64;
            let share = kept(power, size, variances[block.clone()].iter().sum::<f64>() / size);
            for k in block.clone() {
                let c = share * coefficients[k];
                shape.iter_mut().zip(&self.columns[k]).for_each(|(s, b)| *s += c * b);
            }
        }
        shape
    }

    fn coefficients(&self, values: &[f64]) -> Vec<f64> {
        self.columns.iter().map(|column| dot(column, values)).collect()
    }

    fn add(&self, coefficients: &[f64], sign: f64, to: &mut [f64]) {
        for (c, column) in coefficients.iter().zip(&self.columns) {
            to.iter_mut().zip(column).for_each(|(t, b)| *t += sign * c * b);
        }
    }
}

/// The shape behind a map whose rows lie over `across` and whose columns over `along`: blocks of both, noise of `variance`
/// in every coefficient of the rows, nothing kept beyond the basis of the rows.
pub(super) fn denoised_map(rows: &[Vec<f64>], along: &Basis, across: &Basis, variance: f64) -> Vec<Vec<f64>> {
    if variance <= 0.0 {
        return rows.to_vec();
    }
    let by_row: Vec<Vec<f64>> = rows.iter().map(|row| across.coefficients(row)).collect();
    let mut shaped = vec![vec![0.0; across.columns.len()]; rows.len()];
    for wide in &across.blocks {
        let columns: Vec<Vec<f64>> = wide.clone().map(|k| by_row.iter().map(|row| row[k]).collect()).collect();
        let seen: Vec<Vec<f64>> = columns.iter().map(|column| along.coefficients(column)).collect();
        for block in &along.blocks {
            let power = seen.iter().flat_map(|c| &c[block.clone()]).map(|c| c * c).sum::<f64>();
            let share = kept(power, (wide.len() * block.len()) as f64, variance);
            if share <= 0.0 {
                continue;
            }
            for (coefficients, k) in seen.iter().zip(wide.clone()) {
                for l in block.clone() {
                    let c = share * coefficients[l];
                    shaped.iter_mut().zip(&along.columns[l]).for_each(|(row, b)| row[k] += c * b);
                }
            }
        }
    }
    rows.iter()
        .zip(&shaped)
        .map(|(row, coefficients)| {
            let mut out = vec![0.0; row.len()];
            across.add(coefficients, 1.0, &mut out);
            out
        })
        .collect()
}

/// Share of a block above its noise, 0 where it hardly exceeds it.
fn kept(power: f64, size: f64, variance: f64) -> f64 {
    let noise = size * variance;
    if size > 0.0 && power > noise * (1.0 + KEEP / size.sqrt()) { 1.0 - noise / power } else { 0.0 }
}

/// Orders 0 to `highest` in groups: one each, then doubling.
fn orders(highest: usize) -> impl Iterator<Item = Range<usize>> {
    let (mut start, mut length) = (0, 1);
    std::iter::from_fn(move || {
        if start > highest {
            return None;
        }
        let group = start..(start + length).min(highest + 1);
        start = group.end;
        if start > SINGLE_BLOCKS {
            length *= 2;
        }
        Some(group)
    })
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn norm(a: &[f64]) -> f64 {
    dot(a, a).sqrt()
}

#[cfg(test)]
mod tests {
    use super::super::correction::normal;
    use super::*;
    use crate::quantity::Seed;

    fn places() -> Vec<f64> {
        (0..100).map(f64::from).collect()
    }

    #[test]
    fn the_basis_is_orthonormal() {
        for basis in [Basis::polynomials(&places(), 24), Basis::harmonics(&places(), 10)] {
            for (i, a) in basis.columns.iter().enumerate() {
                for (j, b) in basis.columns.iter().enumerate() {
                    assert!((dot(a, b) - f64::from(u8::from(i == j))).abs() < 1e-12);
                }
            }
        }
    }

    #[test]
    fn orders_are_grouped_without_a_gap() {
        let groups: Vec<Range<usize>> = orders(20).collect();
        assert_eq!(groups, [0..1, 1..2, 2..3, 3..4, 4..5, 5..7, 7..11, 11..19, 19..21]);
    }

    #[test]
    fn hardly_any_noise_changes_hardly_anything() {
        let rough: Vec<f64> = places().iter().map(|i| (i * i).sin()).collect();
        for (a, b) in Basis::polynomials(&places(), 24).denoised(&rough, 1e-20).iter().zip(&rough) {
            assert!((a - b).abs() < 1e-9);
        }
    }

    #[test]
    fn a_wave_survives_and_most_of_the_noise_goes() {
        let mut rng = Seed::new(1).rng();
        let wave: Vec<f64> = places().iter().map(|i| 5.0 * (0.05 * i).sin()).collect();
        let noisy: Vec<f64> = wave.iter().map(|w| w + normal(&mut rng)).collect();
        let shape = Basis::polynomials(&places(), 24).denoised(&noisy, 1.0);
        let left: f64 = shape.iter().zip(&wave).map(|(d, w)| (d - w).powi(2)).sum();
        assert!(left < 20.0, "{left}"); // of 100
    }

    #[test]
    fn a_map_keeps_what_its_rows_share() {
        let mut rng = Seed::new(2).rng();
        let azimuths: Vec<f64> = (0..36).map(|i| std::f64::consts::TAU * f64::from(i) / 36.0).collect();
        let rows: Vec<Vec<f64>> =
            (0..30).map(|_| azimuths.iter().map(|a| a.cos() + normal(&mut rng)).collect()).collect();
        let (along, across) = (Basis::polynomials(&places()[..30], 12), Basis::harmonics(&azimuths, 17));
        let shape = denoised_map(&rows, &along, &across, 1.0);
        let left: f64 =
            shape.iter().flat_map(|row| row.iter().zip(&azimuths)).map(|(s, a)| (s - a.cos()).powi(2)).sum();
        assert!(left < 30.0, "{left}"); // of 1080
    }
}
