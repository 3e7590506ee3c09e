//! The smooth curve of one row of the unrolled surface, fitted so that handles and damage have no say.

use std::f64::consts::TAU;

use crate::math::robust;

/// Harmonics of the first curve, and of the second, which follows the lobes that the first leaves.
const ORDERS: [usize; 2] = [4, 15];

/// Columns that a harmonic of the second curve needs.
const COLUMNS_PER_ORDER: usize = 8;

/// Rounds for each curve. Each takes off the share of the row that is heard, so that a gap of a fifth is settled to a
/// millionth; wider ones are left on the course of the first curve, which is what is wanted there.
const ROUNDS: [usize; 2] = [9, 9];

/// Cosines and sines at the columns' middles, harmonic by harmonic.
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

impl Basis {
    pub(super) fn new(columns: usize) -> Self {
        let highest = ORDERS[1].min(columns / COLUMNS_PER_ORDER).max(ORDERS[0].min(columns / 6));
        let wave = |order: usize, shift: f64| {
            (0..columns).map(|c| (TAU * order as f64 * c as f64 / columns as f64 - shift).cos()).collect()
        };
        let waves = (1..=highest).flat_map(|order| [wave(order, 0.0), wave(order, 0.25 * TAU)]).collect();
        Self { columns, waves }
    }

    /// The curve of the harmonics up to `order` through a whole row.
    fn curve(&self, row: &[f64], order: usize) -> Vec<f64> {
        let columns = self.columns as f64;
        let mut curve = vec![row.iter().sum::<f64>() / columns; self.columns];
        for wave in self.waves.iter().take(2 * order) {
            let part = 2.0 / columns * wave.iter().zip(row).map(|(a, b)| a * b).sum::<f64>();
            curve.iter_mut().zip(wave).for_each(|(value, wave)| *value += part * wave);
        }
        curve
    }

    /// The row's distances from its smooth curve; `None` where half the row or more was not seen.
    ///
    /// Tukey's estimate by pseudo-values (Huber & Dutter 1974, from memory): each round fits the curve to the last one plus
    /// what Tukey's function leaves of the residuals. The harmonics are orthogonal on whole rows, so that no equations are
    /// solved, and a place that was not seen, or is far off, goes on as its neighbours do.
    pub(super) fn residuals(&self, means: &[f64], counts: &[u32]) -> Option<Residuals> {
        let seen: Vec<usize> = (0..self.columns).filter(|&c| counts[c] > 0).collect();
        if 2 * seen.len() < self.columns {
            return None;
        }
        let spread = |curve: &[f64]| {
            let mut left: Vec<f64> = seen.iter().map(|&c| (means[c] - curve[c]).abs()).collect();
            robust::median(&mut left).map(|median| median * robust::MAD_TO_STANDARD_DEVIATION)
        };
        // The curve takes its own unknowns' share of the scatter away.
        let freedom = |order: usize| {
            let order = order.min(self.waves.len() / 2);
            (seen.len() as f64 / (seen.len() - 2 * order - 1) as f64).sqrt()
        };
        let mut values: Vec<f64> = seen.iter().map(|&c| means[c]).collect();
        // The median is the start: a least-squares start would bend towards the damage.
        let mut curve = vec![robust::median(&mut values)?; self.columns];
        let mut scale = spread(&curve)?;
        for (order, rounds) in ORDERS.into_iter().zip(ROUNDS) {
            for _ in 0..rounds {
                if scale <= 0.0 {
                    break;
                }
                let mut pseudo = curve.clone();
                for &c in &seen {
                    let left = means[c] - curve[c];
                    pseudo[c] += left * robust::tukey_weight(left / scale, robust::TUKEY_95);
                }
                curve = self.curve(&pseudo, order);
                scale = freedom(order) * spread(&curve)?;
            }
        }
        let mut values = vec![0.0; self.columns];
        seen.iter().for_each(|&c| values[c] = means[c] - curve[c]);
        Some(Residuals { values, scale })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lug_does_not_bend_the_curve_of_a_lobed_row() {
        let columns = 180;
        let wall = |c: usize| 0.3 * (TAU * 3.0 * c as f64 / 180.0).cos() + 0.05 * (TAU * 9.0 * c as f64 / 180.0).sin();
        let means: Vec<f64> = (0..columns).map(|c| wall(c) + if (40..55).contains(&c) { 4.0 } else { 0.0 }).collect();
        let found = Basis::new(columns).residuals(&means, &vec![3; columns]).unwrap();
        for (c, residual) in found.values.iter().enumerate() {
            let truth = if (40..55).contains(&c) { 4.0 } else { 0.0 };
            // A hundredth of the lobes: a twelfth of the row is bridged.
            assert!((residual - truth).abs() < 0.02, "column {c}: {residual}");
        }
    }

    #[test]
    fn half_a_row_says_nothing() {
        let counts: Vec<u32> = (0..60).map(|c| u32::from(c < 29)).collect();
        assert_eq!(Basis::new(60).residuals(&[0.0; 60], &counts), None);
    }
}
