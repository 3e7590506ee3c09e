//! The two-level normal model: items vary about their population, measurements of an item about the item.

use super::belief::Belief;
use crate::math::cholesky;

/// A population of items, each measured several times.
///
/// Level one is the measurement, with the covariance `within` of a single one; level two the items, with mean and
/// covariance `between`. Screening uses the same two levels, with each vessel's own measurement variances.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoLevelModel {
    mean: Vec<f64>,
    within: Vec<f64>,
    between: Vec<f64>,
}

/// Measurements of one item: their mean, one number per variable, and how many there were.
#[derive(Clone, Copy, Debug)]
pub struct Measurements<'a> {
    /// Mean of the measurements.
    pub mean: &'a [f64],
    /// How many.
    pub count: usize,
}

/// Why a two-level model cannot be estimated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum TwoLevelError {
    /// Items or repeats are too few to tell the two levels apart.
    #[error("a two-level model needs 2 items of 2 measurements each, there are {items} of {measurements}")]
    TooFew {
        /// Items.
        items: usize,
        /// Measurements per item.
        measurements: usize,
    },
    /// Items differ in the number of measurements, or measurements in the number of variables.
    #[error("measurements of item {item} differ in number from those before")]
    Unequal {
        /// The item, from 0.
        item: usize,
    },
    /// A covariance is not positive definite: variables depend on each other, or items vary less than repeats.
    #[error("the covariance {level} items is not positive definite")]
    NotPositive {
        /// `within` or `between`.
        level: &'static str,
    },
}

impl TwoLevelModel {
    /// Estimates the model from items of equally many measurements by the analysis of variance.
    ///
    /// # Units and shapes
    /// `items[i][j]` holds the variables of measurement j of item i.
    ///
    /// # Errors
    /// [`TwoLevelError`]: too few items or measurements, unequal numbers, a covariance that is not positive definite.
    ///
    /// # References
    /// Aitken & Lucy 2004, Evaluation of trace evidence in the form of multivariate data, doi:10.1046/j.0035-9254.2003.05271.x,
    /// section 3.
    pub fn estimate(items: &[Vec<Vec<f64>>]) -> Result<Self, TwoLevelError> {
        let count = items.first().map_or(0, Vec::len);
        let variables = items.first().and_then(|item| item.first()).map_or(0, Vec::len);
        if items.len() < 2 || count < 2 {
            return Err(TwoLevelError::TooFew { items: items.len(), measurements: count });
        }
        let unequal = |item: &Vec<Vec<f64>>| item.len() != count || item.iter().any(|m| m.len() != variables);
        if let Some(item) = items.iter().position(unequal) {
            return Err(TwoLevelError::Unequal { item });
        }
        let means: Vec<Vec<f64>> = items.iter().map(|item| mean_of(item, variables)).collect();
        let mean = mean_of(&means, variables);
        let mut within = vec![0.0; variables * variables];
        for (item, centre) in items.iter().zip(&means) {
            item.iter().for_each(|measurement| add_outer(&mut within, measurement, centre));
        }
        let mut between = vec![0.0; variables * variables];
        means.iter().for_each(|centre| add_outer(&mut between, centre, &mean));
        within.iter_mut().for_each(|value| *value /= (items.len() * (count - 1)) as f64);
        for (value, noise) in between.iter_mut().zip(&within) {
            *value = *value / (items.len() - 1) as f64 - noise / count as f64;
        }
        for (level, matrix) in [("within", &within), ("between", &between)] {
            if !cholesky::factorise(&mut matrix.clone(), variables) {
                return Err(TwoLevelError::NotPositive { level });
            }
        }
        Ok(Self { mean, within, between })
    }

    /// Natural logarithm of the likelihood ratio that two sets of measurements are of one item against two items.
    ///
    /// Both numerator and denominator are exact normal densities; the variables are first turned so that measurements are
    /// independent with unit variance, which cancels from the ratio.
    ///
    /// # Errors
    /// [`TwoLevelError::NotPositive`] never after [`TwoLevelModel::estimate`].
    ///
    /// # References
    /// Aitken & Lucy 2004, equations for normally distributed item means.
    pub fn ln_ratio_one_item(
        &self,
        control: Measurements<'_>,
        recovered: Measurements<'_>,
    ) -> Result<f64, TwoLevelError> {
        let n = self.mean.len();
        let mut lower = self.within.clone();
        if !cholesky::factorise(&mut lower, n) {
            return Err(TwoLevelError::NotPositive { level: "within" });
        }
        let whitened = |values: &[f64]| {
            let mut white = values.to_vec();
            cholesky::solve_lower(&lower, n, &mut white);
            white
        };
        let population = Belief::new(whitened(&self.mean), self.whitened_between(&lower));
        let take_in = |belief: &mut Belief, measurements: Measurements<'_>| -> f64 {
            let variance = 1.0 / measurements.count.max(1) as f64;
            let values = whitened(measurements.mean);
            values.iter().enumerate().map(|(index, value)| belief.observe(index, *value, variance)).sum()
        };
        let mut item = population.clone();
        take_in(&mut item, control);
        Ok(take_in(&mut item, recovered) - take_in(&mut population.clone(), recovered))
    }

    /// L^-1 B L^-T, where L is the factor of the covariance within and B the covariance between.
    fn whitened_between(&self, lower: &[f64]) -> Vec<f64> {
        let n = self.mean.len();
        let half = whitened_rows(lower, &self.between, n);
        let turned: Vec<f64> = (0..n * n).map(|at| half[(at % n) * n + at / n]).collect();
        whitened_rows(lower, &turned, n)
    }
}

/// Solves L x = row for every row of a matrix held row by row.
fn whitened_rows(lower: &[f64], matrix: &[f64], n: usize) -> Vec<f64> {
    let mut rows = matrix.to_vec();
    rows.chunks_mut(n).for_each(|row| cholesky::solve_lower(lower, n, row));
    rows
}

fn mean_of(rows: &[Vec<f64>], variables: usize) -> Vec<f64> {
    (0..variables).map(|k| rows.iter().map(|row| row[k]).sum::<f64>() / rows.len() as f64).collect()
}

fn add_outer(sum: &mut [f64], value: &[f64], centre: &[f64]) {
    let n = centre.len();
    for row in 0..n {
        for column in 0..n {
            sum[row * n + column] += (value[row] - centre[row]) * (value[column] - centre[column]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_variable_by_hand() {
        // Unit variance within and between, mean 0; single measurements 1 and 1.
        // One item: covariance [[2, 1], [1, 2]], determinant 3, square 2/3. Two items: variance 2 each, squares 1/2 + 1/2.
        let model = TwoLevelModel { mean: vec![0.0], within: vec![1.0], between: vec![1.0] };
        let one = Measurements { mean: &[1.0], count: 1 };
        let found = model.ln_ratio_one_item(one, one).unwrap();
        let wanted = -0.5 * (3.0_f64.ln() + 2.0 / 3.0) + 0.5 * (4.0_f64.ln() + 1.0);
        assert!((found - wanted).abs() < 1e-12, "{found} {wanted}");
    }

    #[test]
    fn too_little_is_refused() {
        let item = |values: &[f64]| values.iter().map(|v| vec![*v]).collect::<Vec<_>>();
        assert_eq!(
            TwoLevelModel::estimate(&[item(&[1.0, 2.0])]),
            Err(TwoLevelError::TooFew { items: 1, measurements: 2 })
        );
        let unequal = TwoLevelModel::estimate(&[item(&[1.0, 2.0]), item(&[1.0])]);
        assert_eq!(unequal, Err(TwoLevelError::Unequal { item: 1 }));
        let alike = TwoLevelModel::estimate(&[item(&[1.0, 2.0]), item(&[2.0, 1.0])]);
        assert_eq!(alike, Err(TwoLevelError::NotPositive { level: "between" }));
    }
}
