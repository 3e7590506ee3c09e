//! Many variables on one number.

use ndarray::{Array1, Array2, Axis};

use super::super::permutation::{Draws, PermutationTest, Placement, Term, variance_by_terms};
use crate::quantity::Seed;

/// How variables change with one number.
#[derive(Clone, Debug, PartialEq)]
pub struct Regression {
    /// Share of the variables' variance that goes with the number.
    pub r2: f64,
    /// The mean of that share over all rearrangements, 1 / (items - 1).
    pub r2_by_chance: f64,
    /// Change of each variable for a step of 1 of the number.
    pub slopes: Array1<f64>,
    /// The variables' means.
    pub means: Array1<f64>,
    /// The number's mean.
    pub centre: f64,
    /// Scores of the items along the slopes.
    pub scores: Array1<f64>,
    /// Their correlation with the number.
    pub correlation: f64,
    /// The ratio of mean squares against its rearrangements.
    pub test: PermutationTest,
}

/// Regression of items x variables on a number; `None` if their counts differ, or either does not vary.
///
/// # Units and shapes
/// Slopes in the variables' unit over the number's.
///
/// # Uncertainty
/// A p from draws is known to sqrt(p (1 - p) / draws). Noise of the number makes slopes too flat.
///
/// # Example
/// A variable that is the number doubled, sum of squares 8, and one that goes no way with it, sum of squares 6/9.
/// ```
/// use ndarray::array;
/// use tornus::Seed;
/// use tornus::analysis::association::regression_on;
/// use tornus::analysis::permutation::Draws;
/// let forms = array![[-2.0, 1.0 / 3.0], [0.0, -2.0 / 3.0], [2.0, 1.0 / 3.0]];
/// let found = regression_on(&forms, &[-1.0, 0.0, 1.0], Draws::new(99), Seed::new(1)).ok_or("three items tell nothing")?;
/// assert!((found.slopes[0] - 2.0).abs() < 1e-12 && found.slopes[1].abs() < 1e-12);
/// assert!((found.r2 - 8.0 / (8.0 + 6.0 / 9.0)).abs() < 1e-12);
/// # Ok::<(), &str>(())
/// ```
///
/// # References
/// Drake & Klingenberg 2008, The pace of morphological change, doi:10.1098/rspb.2007.0937 (scores along the slopes); Anderson
/// 2001 (the test). From memory.
#[must_use]
pub fn regression_on(values: &Array2<f64>, number: &[f64], draws: Draws, seed: Seed) -> Option<Regression> {
    let items = values.nrows();
    if number.len() != items || items < 3 {
        return None;
    }
    let means = values.mean_axis(Axis(0))?;
    let centre = number.iter().sum::<f64>() / items as f64;
    let steps: Array1<f64> = number.iter().map(|value| value - centre).collect();
    let parted = variance_by_terms(&Placement::of_variables(values)?, &[Term::covariate(number)], None, draws, seed)?;
    let term = parted.terms.first()?;
    let test = term.test?;
    let centred = values - &means;
    let slopes = centred.t().dot(&steps) / steps.dot(&steps);
    let length = slopes.dot(&slopes).sqrt();
    let scores = if length > 0.0 { centred.dot(&slopes) / length } else { Array1::zeros(items) };
    let spread = (scores.dot(&scores) * steps.dot(&steps)).sqrt();
    Some(Regression {
        r2: term.sum_of_squares / parted.total,
        r2_by_chance: 1.0 / (items - 1) as f64,
        correlation: if spread > 0.0 { scores.dot(&steps) / spread } else { 0.0 },
        slopes,
        means,
        centre,
        scores,
        test,
    })
}

impl Regression {
    /// The variables where the number has this value.
    #[must_use]
    pub fn predicted(&self, number: f64) -> Array1<f64> {
        &self.means + &(&self.slopes * (number - self.centre))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn what_lies_on_a_line_is_all_explained() {
        let number = [1.0, 2.0, 4.0, 7.0, 9.0];
        let values = Array2::from_shape_fn((5, 2), |(i, k)| number[i] * [0.5, -2.0][k] + 3.0);
        let found = regression_on(&values, &number, Draws::new(99), Seed::new(1)).unwrap();
        assert!((found.r2 - 1.0).abs() < 1e-12 && (found.correlation - 1.0).abs() < 1e-12);
        let predicted = found.predicted(10.0);
        assert!((predicted[0] - 8.0).abs() < 1e-12 && (predicted[1] + 17.0).abs() < 1e-12);
        // Of 120 orders the one that was seen.
        assert_eq!((found.test.as_large, found.test.arrangements), (1, 120));
    }

    #[test]
    fn the_share_by_chance_is_the_mean_over_all_orders() {
        let values = array![[3.0, 1.0], [1.0, 4.0], [2.0, 2.0], [7.0, 0.0]];
        let number: [f64; 4] = [0.0, 1.0, 5.0, 2.0];
        let mut shares = Vec::new();
        for order in 0..256_usize {
            let places = [order % 4, order / 4 % 4, order / 16 % 4, order / 64];
            if (0..4).all(|place| places.contains(&place)) {
                let moved = places.map(|place| number[place]);
                shares.push(regression_on(&values, &moved, Draws::new(9), Seed::new(1)).unwrap().r2);
            }
        }
        assert_eq!(shares.len(), 24);
        assert!((shares.iter().sum::<f64>() / 24.0 - 1.0 / 3.0).abs() < 1e-12);
    }

    #[test]
    fn nothing_to_regress_is_nothing() {
        let on = |values: &Array2<f64>, number: &[f64]| regression_on(values, number, Draws::new(9), Seed::new(1));
        assert_eq!(on(&array![[1.0], [2.0], [3.0], [5.0]], &[4.0; 4]), None);
        assert_eq!(on(&array![[1.0], [1.0], [1.0], [1.0]], &[1.0, 2.0, 3.0, 4.0]), None);
        assert_eq!(on(&array![[1.0], [2.0]], &[1.0, 2.0]), None);
    }
}
