//! The smooth curve of one row of the unrolled surface, fitted so that handles and damage have no say.

use std::f64::consts::TAU;

use crate::math::robust;

/// Harmonics of the first curve, and of the second, which follows the lobes that the first leaves.
pub(super) const OF_WALL: [usize; 2] = [4, 15];

/// The same of what the vessel stands on: a plane, whose lean all its rows tell together, and then each row's level. More would
/// follow wear, which fades out as lobes do; what the foot is warped by is scatter.
pub(super) const OF_LEAN: [usize; 2] = [1, 1];
pub(super) const OF_LEVEL: [usize; 2] = [0, 0];

/// Quantile of a row's distances that is taken for the level it stands on: wear only takes off.
const STANDING: f64 = 0.7;

/// Columns that a harmonic of the second curve needs.
const COLUMNS_PER_ORDER: usize = 8;

/// Rounds of Tukey's estimate for each curve. Each takes off the share of the row that is heard.
const ROUNDS: [usize; 2] = [9, 5];

/// The second curve starts as the least-squares one through all that lies within this many robust standard deviations of
/// the first (project): what the lobes beyond the first curve's explain is not rejected on its word.
const ACCEPTED: f64 = 6.0;

/// Steps and relative precision of that least-squares curve: without a gap one step is exact, and each of the few waves
/// that fit into a gap takes one more.
const STEPS: usize = 8;
const PRECISE: f64 = 1e-6;

/// Orthonormal waves at the columns' middles: a constant, then cosine and sine of each harmonic.
pub(super) struct Basis {
    columns: usize,
    waves: Vec<Vec<f64>>,
}

/// What is left of a row.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Residuals {
    /// Distance of each cell from the smooth curve, mm; 0 where nothing was seen.
    pub(super) values: Vec<f64>,
    /// Robust standard deviation of the cells seen, mm.
    pub(super) scale: f64,
}

/// The first curve of a row.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Coarse {
    /// Coefficients of the orthonormal waves.
    pub(super) coefficients: Vec<f64>,
    /// Robust standard deviation of the cells about it, mm.
    pub(super) scale: f64,
}

/// One row's cells.
#[derive(Clone, Copy)]
pub(super) struct Row<'a> {
    pub(super) means: &'a [f64],
    pub(super) counts: &'a [u32],
    /// Harmonics of its two curves.
    pub(super) orders: [usize; 2],
    /// Robust standard deviation that is believed at most, mm.
    pub(super) most: f64,
    /// Whether the scatter is told by what lies above the curve: wear only takes off, and where it takes a third of a row it
    /// doubles the scatter of the whole.
    pub(super) above: bool,
}

impl Row<'_> {
    fn seen(&self) -> impl Iterator<Item = usize> {
        (0..self.counts.len()).filter(|&column| self.counts[column] > 0)
    }

    /// Robust standard deviation about a curve of so many unknowns, which take their own share of the scatter away.
    fn scale(&self, curve: &[f64], unknowns: usize) -> Option<f64> {
        let mut left: Vec<f64> = self.seen().map(|c| self.means[c] - curve[c]).collect();
        let count = left.len();
        if self.above && left.iter().any(|left| *left > 0.0) {
            left.retain(|left| *left > 0.0);
        }
        left.iter_mut().for_each(|left| *left = left.abs());
        let freedom = count.checked_sub(unknowns).filter(|freedom| *freedom > 0)?;
        let median = robust::median(&mut left)?;
        Some((median * robust::MAD_TO_STANDARD_DEVIATION * (count as f64 / freedom as f64).sqrt()).min(self.most))
    }

    /// Robust standard deviation of what is another from cell to cell, mm: noise, and nothing that is broad.
    pub(super) fn noise(&self) -> f64 {
        let both = |pair: &[usize]| (self.means[pair[1]] - self.means[pair[0]]).abs();
        let seen: Vec<usize> = self.seen().collect();
        let mut steps: Vec<f64> = seen.windows(2).map(both).collect();
        robust::median(&mut steps).unwrap_or(0.0) * robust::MAD_TO_STANDARD_DEVIATION / 2.0_f64.sqrt()
    }
}

impl Basis {
    pub(super) fn new(columns: usize) -> Self {
        let highest = OF_WALL[1].min(columns / COLUMNS_PER_ORDER).max(OF_WALL[0].min(columns / 6));
        let size = (2.0 / columns as f64).sqrt();
        let wave = |order: usize, shift: f64| {
            let at = |c: usize| size * (TAU * order as f64 * c as f64 / columns as f64 - shift).cos();
            (0..columns).map(at).collect()
        };
        let constant = vec![(1.0 / columns as f64).sqrt(); columns];
        let harmonics = (1..=highest).flat_map(|order| [wave(order, 0.0), wave(order, 0.25 * TAU)]);
        Self { columns, waves: std::iter::once(constant).chain(harmonics).collect() }
    }

    fn unknowns(&self, order: usize) -> usize {
        (2 * order + 1).min(self.waves.len())
    }

    /// The first curve; `None` where half the row or more was not seen.
    ///
    /// Tukey's estimate by pseudo-values (Huber & Dutter 1974, from memory): each round fits the curve to the last one plus
    /// what Tukey's function leaves of the residuals. The waves are orthonormal on whole rows, so that no equations are
    /// solved, and a place that was not seen, or is far off, goes on as its neighbours do. It starts from the row's median -
    /// a least-squares start would bend towards the damage - or from a curve given.
    pub(super) fn coarse(&self, row: Row<'_>, start: Option<&[f64]>) -> Option<Coarse> {
        let mut values: Vec<f64> = row.seen().map(|c| row.means[c]).collect();
        if 2 * values.len() < self.columns {
            return None;
        }
        let median = robust::median(&mut values)?;
        let start = start.map_or_else(|| vec![median * (self.columns as f64).sqrt()], <[f64]>::to_vec);
        let scale = row.scale(&self.curve(&start), 1)?;
        let first = Coarse { coefficients: start, scale };
        self.tukey(row, first, self.unknowns(row.orders[0]), ROUNDS[0])
    }

    /// A row's distances without a first harmonic.
    pub(super) fn without(&self, row: Row<'_>, [cos, sin]: [f64; 2]) -> Vec<f64> {
        let first = self.curve(&[0.0, cos, sin]);
        row.means.iter().zip(&first).map(|(mean, first)| mean - first).collect()
    }

    /// Where to start on a row that the vessel stands on: a level that wear over half the row cannot lower.
    pub(super) fn standing(&self, row: Row<'_>) -> Option<Vec<f64>> {
        let mut values: Vec<f64> = row.seen().map(|c| row.means[c]).collect();
        Some(vec![robust::quantile(&mut values, STANDING)? * (self.columns as f64).sqrt()])
    }

    /// The row's distances from its smooth curve, which begins with the first one.
    pub(super) fn residuals(&self, row: Row<'_>, coarse: &Coarse) -> Option<Residuals> {
        let unknowns = self.unknowns(row.orders[1]);
        let curve = self.curve(&coarse.coefficients);
        let mut accepted = vec![0.0; self.columns];
        let near = |c: &usize| (row.means[*c] - curve[*c]).abs() <= ACCEPTED * coarse.scale;
        row.seen().filter(near).for_each(|c| accepted[c] = 1.0);
        let coefficients = self.least_squares(row.means, &accepted, &coarse.coefficients, unknowns);
        let scale = row.scale(&self.curve(&coefficients), unknowns)?;
        let fine = self.tukey(row, Coarse { coefficients, scale }, unknowns, ROUNDS[1])?;
        let curve = self.curve(&fine.coefficients);
        let mut values = vec![0.0; self.columns];
        row.seen().for_each(|c| values[c] = row.means[c] - curve[c]);
        Some(Residuals { values, scale: fine.scale })
    }

    fn tukey(&self, row: Row<'_>, start: Coarse, unknowns: usize, rounds: usize) -> Option<Coarse> {
        let Coarse { mut coefficients, mut scale } = start;
        for _ in 0..rounds {
            if scale <= 0.0 {
                break;
            }
            let curve = self.curve(&coefficients);
            let mut heard = vec![0.0; self.columns];
            for c in row.seen() {
                let left = row.means[c] - curve[c];
                heard[c] = left * robust::tukey_weight(left / scale, robust::TUKEY_95);
            }
            let step = self.coefficients(&heard, unknowns);
            coefficients.resize(unknowns, 0.0);
            coefficients.iter_mut().zip(step).for_each(|(coefficient, step)| *coefficient += step);
            scale = row.scale(&self.curve(&coefficients), unknowns)?;
        }
        Some(Coarse { coefficients, scale })
    }

    /// The weighted least-squares coefficients, from a start, by conjugate gradients.
    fn least_squares(&self, means: &[f64], weights: &[f64], start: &[f64], unknowns: usize) -> Vec<f64> {
        let mut coefficients = start.to_vec();
        coefficients.resize(unknowns, 0.0);
        let weighted = |curve: &[f64]| -> Vec<f64> { curve.iter().zip(weights).map(|(a, w)| a * w).collect() };
        let curve = self.curve(&coefficients);
        let off: Vec<f64> = means.iter().zip(&curve).map(|(mean, curve)| mean - curve).collect();
        let mut left = self.coefficients(&weighted(&off), unknowns);
        let mut way = left.clone();
        let mut size = dot(&left, &left);
        let enough = PRECISE * PRECISE * size;
        for _ in 0..STEPS {
            if size <= enough || size <= 0.0 {
                break;
            }
            let ahead = self.coefficients(&weighted(&self.curve(&way)), unknowns);
            let step = size / dot(&way, &ahead).max(f64::MIN_POSITIVE);
            add(&mut coefficients, step, &way);
            add(&mut left, -step, &ahead);
            let next = dot(&left, &left);
            let turned = next / size;
            size = next;
            way.iter_mut().zip(&left).for_each(|(way, left)| *way = left + turned * *way);
        }
        coefficients
    }

    fn coefficients(&self, row: &[f64], unknowns: usize) -> Vec<f64> {
        self.waves[..unknowns].iter().map(|wave| dot(wave, row)).collect()
    }

    fn curve(&self, coefficients: &[f64]) -> Vec<f64> {
        let mut curve = vec![0.0; self.columns];
        self.waves.iter().zip(coefficients).for_each(|(wave, coefficient)| add(&mut curve, *coefficient, wave));
        curve
    }
}

/// `values + factor * more`.
fn add(values: &mut [f64], factor: f64, more: &[f64]) {
    values.iter_mut().zip(more).for_each(|(value, more)| *value += factor * more);
}

/// The product, summed in four lanes so that it runs four at a time.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut lanes = [0.0; 4];
    let (a, b) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a.remainder().iter().zip(b.remainder()).map(|(a, b)| a * b).sum();
    for (a, b) in a.zip(b) {
        for lane in 0..4 {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    lanes.iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lug_does_not_bend_the_curve_of_a_lobed_row() {
        let columns = 180;
        let wall = |c: usize| 0.3 * (TAU * 3.0 * c as f64 / 180.0).cos() + 0.05 * (TAU * 9.0 * c as f64 / 180.0).sin();
        let means: Vec<f64> = (0..columns).map(|c| wall(c) + if (40..55).contains(&c) { 4.0 } else { 0.0 }).collect();
        let row = Row { means: &means, counts: &vec![3; columns], orders: OF_WALL, most: f64::INFINITY, above: false };
        let basis = Basis::new(columns);
        let found = basis.residuals(row, &basis.coarse(row, None).unwrap()).unwrap();
        for (c, residual) in found.values.iter().enumerate() {
            let truth = if (40..55).contains(&c) { 4.0 } else { 0.0 };
            // A hundredth of the lobes: a twelfth of the row is bridged.
            assert!((residual - truth).abs() < 0.02, "column {c}: {residual}");
        }
    }

    #[test]
    fn wear_over_two_fifths_of_a_row_does_not_roughen_it() {
        let columns = 180;
        // 31 is coprime to 180: evenly spread over 0.02 mm, whose robust standard deviation is 0.005 x 1.4826. What wear leaves
        // within the scatter is a tenth of its place.
        let wear = |c: usize| 0.3 * (1.0 - (c as f64 / 36.0 - 1.0).abs()).max(0.0);
        let means: Vec<f64> = (0..columns).map(|c| 0.02 * ((c * 31) % 180) as f64 / 180.0 - wear(c)).collect();
        let row = Row { means: &means, counts: &vec![3; columns], orders: OF_LEVEL, most: f64::INFINITY, above: true };
        let basis = Basis::new(columns);
        let scale = |row: Row<'_>| basis.residuals(row, &basis.coarse(row, None).unwrap()).unwrap().scale;
        let (above, both) = (scale(row), scale(Row { above: false, ..row }));
        assert!((above / (0.005 * robust::MAD_TO_STANDARD_DEVIATION) - 1.0).abs() < 0.2, "{above}");
        assert!(both > 1.3 * above, "{both} and {above}");
    }

    #[test]
    fn half_a_row_says_nothing() {
        let counts: Vec<u32> = (0..60).map(|c| u32::from(c < 29)).collect();
        assert_eq!(
            Basis::new(60).coarse(
                Row { means: &[0.0; 60], counts: &counts, orders: OF_WALL, most: f64::INFINITY, above: false },
                None
            ),
            None
        );
    }
}
