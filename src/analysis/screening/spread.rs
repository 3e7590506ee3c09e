//! What readings tell under one normal spread more or less widely: several multiples of a covariance at once.

use super::model::MEASURES;
use crate::analysis::precision::LogReading;
use crate::math::density::{LN_TWO_PI, inverse_mills, normal_log_cdf};

/// Least share of a variance that a bound leaves: keeps rounding from making it negative.
pub(super) const LEAST_KEPT: f64 = 1e-9;

/// A number for each multiple of the covariance.
type Lanes<const N: usize> = [f64; N];

/// Most measures of a vessel; room for so many is had without asking for memory.
const MOST: usize = MEASURES.len();

/// The lower triangle of a covariance among the measures that were read, in the order in which they are taken in.
struct Triangle<const N: usize> {
    measures: usize,
    means: [Lanes<N>; MOST],
    /// Row by row, up to the diagonal.
    cells: [Lanes<N>; start(MOST)],
}

/// Log-densities of `readings` under normals with this mean and each of the `factors` times this covariance (row by row),
/// their measurement variances added.
///
/// The same as [`super::belief::Belief::take_in`] says of each multiple: values first, then bounds. What is left of the
/// measures already taken in is not asked for, so that only the triangle not yet reached is kept up to date.
pub(super) fn log_densities<const N: usize>(
    mean: &[f64],
    covariance: &[f64],
    factors: Lanes<N>,
    readings: &[LogReading],
) -> Lanes<N> {
    let known = |index: &usize| matches!(readings[*index], LogReading::Known { .. });
    let bound = |index: &usize| matches!(readings[*index], LogReading::Below { .. });
    let all = 0..readings.len();
    let (mut order, mut measures) = ([0; MOST], 0);
    for index in all.clone().filter(known).chain(all.filter(bound)) {
        order[measures] = index;
        measures += 1;
    }
    let order = &order[..measures];
    let mut triangle = Triangle { measures, means: [[0.0; N]; MOST], cells: [[0.0; N]; start(MOST)] };
    triangle.fill(mean, covariance, factors, order);
    let (mut log_density, mut determinant) = ([0.0; N], [1.0; N]);
    for (place, &index) in order.iter().enumerate() {
        let (at, spread) = triangle.next(place);
        let (mut step, mut weight) = ([0.0; N], [0.0; N]);
        match readings[index] {
            LogReading::Known { value, variance, .. } => {
                for lane in 0..N {
                    let spread = spread[lane] + variance;
                    weight[lane] = 1.0 / spread;
                    step[lane] = (value - at[lane]) * weight[lane];
                    log_density[lane] -= 0.5 * ((value - at[lane]) * step[lane] + LN_TWO_PI);
                    determinant[lane] *= spread;
                }
            }
            LogReading::Below { limit } => {
                for lane in 0..N {
                    let alpha = (limit - at[lane]) / spread[lane].sqrt();
                    let mills = inverse_mills(alpha);
                    let kept = (1.0 - mills * (alpha + mills)).clamp(LEAST_KEPT, 1.0);
                    weight[lane] = (1.0 - kept) / spread[lane];
                    step[lane] = -mills / spread[lane].sqrt();
                    log_density[lane] += normal_log_cdf(alpha);
                }
            }
            LogReading::Missing => {}
        }
        triangle.shift(place, step, weight);
    }
    // One logarithm for all values: a dozen variances between 1e-6 and 1e3 have a product far from both ends of a float.
    std::array::from_fn(|lane| log_density[lane] - 0.5 * determinant[lane].ln())
}

impl<const N: usize> Triangle<N> {
    /// Mean and covariance of the measures in this order.
    fn fill(&mut self, mean: &[f64], covariance: &[f64], factors: Lanes<N>, order: &[usize]) {
        for (place, row) in order.iter().enumerate() {
            self.means[place] = [mean[*row]; N];
            for (cell, column) in self.cells[start(place)..].iter_mut().zip(&order[..=place]) {
                *cell = factors.map(|factor| factor * covariance[row * mean.len() + column]);
            }
        }
    }

    /// Mean and variance of the measure at this place.
    fn next(&self, place: usize) -> (Lanes<N>, Lanes<N>) {
        (self.means[place], self.cells[start(place) + place])
    }

    /// Moves the means beyond `place` along its column by `step`, and takes `weight` times the column's outer product off.
    fn shift(&mut self, place: usize, step: Lanes<N>, weight: Lanes<N>) {
        for row in place + 1..self.measures {
            let (above, own) = self.cells.split_at_mut(start(row));
            let along = own[place];
            let taken: Lanes<N> = std::array::from_fn(|lane| weight[lane] * along[lane]);
            (0..N).for_each(|lane| self.means[row][lane] += step[lane] * along[lane]);
            for column in place + 1..row {
                let other = above[start(column) + place];
                (0..N).for_each(|lane| own[column][lane] -= taken[lane] * other[lane]);
            }
            (0..N).for_each(|lane| own[row][lane] -= taken[lane] * along[lane]);
        }
    }
}

/// Where a row of a lower triangle begins.
const fn start(row: usize) -> usize {
    row * (row + 1) / 2
}

#[cfg(test)]
mod tests {
    use super::super::belief::Belief;
    use super::*;

    #[test]
    fn each_multiple_has_the_density_that_taking_in_gives() {
        let mean = [0.2, -0.5, 0.1, 1.0];
        let covariance = [1.0, 0.5, 0.2, 0.1, 0.5, 2.0, 0.3, 0.0, 0.2, 0.3, 0.5, 0.1, 0.1, 0.0, 0.1, 0.8];
        let readings = [
            LogReading::Below { limit: -0.2 },
            LogReading::Known { value: 0.7, variance: 0.04, hidden: 0.0 },
            LogReading::Missing,
            LogReading::Known { value: 0.1, variance: 1e-6, hidden: 0.0 },
        ];
        let factors = [0.5, 1.0, 3.0];
        let found = log_densities(&mean, &covariance, factors, &readings);
        for (factor, found) in factors.into_iter().zip(found) {
            let scaled = covariance.iter().map(|cell| factor * cell).collect();
            let wanted = Belief::new(mean.to_vec(), scaled).take_in(&readings).log_density;
            assert!((found - wanted).abs() < 1e-12, "{found} {wanted}");
        }
        let nothing = log_densities(&mean, &covariance, [1.0], &[LogReading::Missing; 4]);
        assert!(nothing[0].abs() < 1e-15);
    }
}
