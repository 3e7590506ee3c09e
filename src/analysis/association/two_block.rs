//! Two blocks of variables measured on the same items: do they vary together?

use ndarray::{Array1, Array2, Axis};

use super::super::permutation::{Arrangements, Draws, PermutationTest, permutation_test};
use crate::math::svd::thin_svd;
use crate::quantity::Seed;

/// How two blocks vary together.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoBlock {
    /// RV coefficient: 0 where no variable of one block goes with one of the other, 1 where the blocks are alike but for a
    /// turn and a scale.
    pub rv: f64,
    /// The mean of that coefficient over all rearrangements, which in a small corpus is far from 0.
    pub rv_by_chance: f64,
    /// Share of the squared covariance between the blocks that the first pair of directions holds.
    pub share: f64,
    /// Correlation of the scores along the first pair.
    pub correlation: f64,
    /// Direction in the first block, of unit length.
    pub x_weights: Array1<f64>,
    /// Direction in the second block, of unit length, its weights' sum not negative.
    pub y_weights: Array1<f64>,
    /// Scores of the items along them, strata's means taken off.
    pub x_scores: Array1<f64>,
    /// Scores in the second block.
    pub y_scores: Array1<f64>,
    /// The squared covariance between the blocks, and with it the RV coefficient, against its rearrangements.
    pub test: PermutationTest,
}

/// Two-block partial least squares of items x variables; `None` if the numbers of items differ, or a block does not vary.
///
/// The pair of directions is the one along which the blocks' covariance is greatest: first singular vectors of the matrix
/// of covariances. Items are exchanged only within `strata`, whose means are taken off both blocks first.
///
/// # Units and shapes
/// Variables are not scaled: each block should have one unit. RV and correlation have none.
///
/// # Uncertainty
/// A p from draws is known to sqrt(p (1 - p) / draws). Noise in either block makes the coefficients too small, never p too
/// small.
///
/// # Example
/// One variable each: RV is the squared correlation. Of (0, 1, 2) and (0, 2, 1) that is (1 / 2)^2; of the six orders of three
/// numbers the correlations are 1, 1/2, 1/2, -1/2, -1/2, -1, so that all are at least as far from 0.
/// ```
/// use ndarray::array;
/// use tornus::Seed;
/// use tornus::analysis::association::two_block;
/// use tornus::analysis::permutation::Draws;
/// let (x, y) = (array![[0.0], [1.0], [2.0]], array![[0.0], [2.0], [1.0]]);
/// let found = two_block(&x, &y, None, Draws::new(99), Seed::new(1)).ok_or("three items tell nothing")?;
/// assert!((found.rv - 0.25).abs() < 1e-12 && (found.correlation - 0.5).abs() < 1e-12);
/// assert_eq!(found.test.p(), 1.0);
/// assert!((found.rv_by_chance - 0.5).abs() < 1e-12); // (1 + 1 + 4 / 4) / 6
/// # Ok::<(), &str>(())
/// ```
///
/// # References
/// Rohlf & Corti 2000, Use of two-block partial least-squares to study covariation in shape, Systematic Biology 49, 740 to 753
/// (the method and its test); Robert & Escoufier 1976, A unifying tool for linear multivariate statistical methods: the
/// RV-coefficient; Kazi-Aoual et al. 1995, Refined approximations to permutation tests for multivariate inference (the mean
/// over rearrangements). From memory, see the identities tested.
#[must_use]
pub fn two_block(
    x: &Array2<f64>,
    y: &Array2<f64>,
    strata: Option<&[usize]>,
    draws: Draws,
    seed: Seed,
) -> Option<TwoBlock> {
    let items = x.nrows();
    let one = vec![0; items];
    let strata = strata.unwrap_or(&one);
    if y.nrows() != items || strata.len() != items {
        return None;
    }
    let (x, y) = (centred(x, strata), centred(y, strata));
    let own = |block: &Array2<f64>| squares(&block.t().dot(block));
    let scale = (own(&x) * own(&y)).sqrt();
    if scale <= 0.0 || !scale.is_finite() {
        return None;
    }
    let covariance = x.t().dot(&y);
    let svd = thin_svd(covariance.view())?;
    let (mut x_weights, mut y_weights) = (svd.u.column(0).to_owned(), svd.vt.row(0).to_owned());
    // Weights of both signs: the block grows with the score as a whole.
    if y_weights.sum() < 0.0 {
        x_weights.mapv_inplace(|w| -w);
        y_weights.mapv_inplace(|w| -w);
    }
    let (x_scores, y_scores) = (x.dot(&x_weights), y.dot(&y_weights));
    let arrangements = Arrangements::within((0..items).collect(), strata)?;
    let test = permutation_test(&arrangements, draws, seed, |rows| squares(&x.t().dot(&y.select(Axis(0), rows))));
    let spread = (x_scores.dot(&x_scores) * y_scores.dot(&y_scores)).sqrt();
    Some(TwoBlock {
        rv: squares(&covariance) / scale,
        rv_by_chance: by_chance(&x, &y, strata) / scale,
        share: svd.singular[0] * svd.singular[0] / squares(&covariance).max(f64::MIN_POSITIVE),
        correlation: if spread > 0.0 { x_scores.dot(&y_scores) / spread } else { 0.0 },
        x_weights,
        y_weights,
        x_scores,
        y_scores,
        test,
    })
}

fn squares(values: &Array2<f64>) -> f64 {
    values.iter().map(|value| value * value).sum()
}

/// Columns less their means within each stratum.
fn centred(values: &Array2<f64>, strata: &[usize]) -> Array2<f64> {
    let mut centred = values.clone();
    for rows in of_strata(strata) {
        if let Some(mean) = values.select(Axis(0), &rows).mean_axis(Axis(0)) {
            rows.iter().for_each(|&row| centred.row_mut(row).scaled_add(-1.0, &mean));
        }
    }
    centred
}

/// The rows of each stratum.
fn of_strata(strata: &[usize]) -> Vec<Vec<usize>> {
    let mut rows: Vec<usize> = (0..strata.len()).collect();
    rows.sort_by_key(|&row| (strata[row], row));
    rows.chunk_by(|&a, &b| strata[a] == strata[b]).map(<[usize]>::to_vec).collect()
}

/// Mean over all rearrangements of the squared covariance between blocks that are centred within strata.
///
/// Rearranged within a stratum of n items, two centred rows meet with mean 0 and a mean square of 1 / (n - 1) of the product
/// of their sums of squares; strata are independent.
fn by_chance(x: &Array2<f64>, y: &Array2<f64>, strata: &[usize]) -> f64 {
    let sum = |block: &Array2<f64>, rows: &[usize]| squares(&block.select(Axis(0), rows));
    let several = of_strata(strata).into_iter().filter(|rows| rows.len() > 1);
    several.map(|rows| sum(x, &rows) * sum(y, &rows) / (rows.len() - 1) as f64).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    fn blocks() -> (Array2<f64>, Array2<f64>) {
        let x = Array2::from_shape_fn((6, 3), |(i, j)| ((i * 5 + j * 7 + i * j) % 11) as f64);
        let y = Array2::from_shape_fn((6, 2), |(i, j)| ((i * 3 + j * 2 + i * i) % 7) as f64);
        (x, y)
    }

    fn found(x: &Array2<f64>, y: &Array2<f64>, strata: Option<&[usize]>) -> TwoBlock {
        two_block(x, y, strata, Draws::new(99), Seed::new(1)).unwrap()
    }

    /// Closed form: a block with itself, turned, scaled and shifted, has RV 1; its first pair is its first component.
    #[test]
    fn a_block_goes_with_itself() {
        let (x, _) = blocks();
        let turned = x.dot(&array![[0.6, 0.8, 0.0], [-0.8, 0.6, 0.0], [0.0, 0.0, 1.0]]) * 3.0 + 5.0;
        for other in [&x, &turned] {
            let found = found(&x, other, None);
            assert!((found.rv - 1.0).abs() < 1e-12 && (found.correlation - 1.0).abs() < 1e-9);
            // Of 720 orders only the one that was seen, unless two rows are the same.
            assert_eq!((found.test.as_large, found.test.arrangements), (1, 720));
        }
        let pca = crate::analysis::PrincipalComponents::new(&x).unwrap();
        let along = found(&x, &x, None).x_weights.dot(&pca.loadings.row(0));
        assert!((along.abs() - 1.0).abs() < 1e-9);
    }

    /// Closed form: blocks whose columns are orthogonal have RV 0.
    #[test]
    fn orthogonal_blocks_do_not_go_together() {
        let x = array![[1.0], [1.0], [-1.0], [-1.0]];
        let y = array![[1.0, 2.0], [-1.0, -2.0], [1.0, 0.5], [-1.0, -0.5]];
        let found = found(&x, &y, None);
        assert!(found.rv < 1e-24 && found.test.p() > 0.999, "{found:?}");
    }

    /// What chance brings, in closed form and by all 720 orders.
    #[test]
    fn chance_is_the_mean_over_all_orders() {
        let (x, y) = blocks();
        for strata in [[0; 6], [0, 1, 0, 1, 1, 0]] {
            let (a, b) = (centred(&x, &strata), centred(&y, &strata));
            let all: Vec<Vec<usize>> =
                orders(6).into_iter().filter(|o| (0..6).all(|i| strata[o[i]] == strata[i])).collect();
            let one = |order: &Vec<usize>| squares(&a.t().dot(&b.select(Axis(0), order)));
            let mean = all.iter().map(one).sum::<f64>() / all.len() as f64;
            assert!((by_chance(&a, &b, &strata) / mean - 1.0).abs() < 1e-9, "{strata:?}");
            let found = found(&x, &y, Some(&strata));
            assert_eq!((found.test.arrangements, found.test.exact), (all.len(), true));
            let large = all.iter().filter(|order| one(order) >= found.test.observed * (1.0 - 1e-9)).count();
            assert_eq!(found.test.as_large, large);
        }
    }

    fn orders(items: usize) -> Vec<Vec<usize>> {
        if items == 0 {
            return vec![Vec::new()];
        }
        let put = |order: &Vec<usize>, place: usize| {
            let mut order = order.clone();
            order.insert(place, items - 1);
            order
        };
        orders(items - 1).iter().flat_map(|order| (0..items).map(move |place| put(order, place))).collect()
    }

    #[test]
    fn what_instruments_add_is_no_association() {
        // Both blocks are raised in the second stratum, and go no way within either.
        let x = array![[0.0], [1.0], [0.0], [1.0], [10.0], [11.0], [10.0], [11.0]];
        let y = array![[0.0], [0.0], [1.0], [1.0], [10.0], [10.0], [11.0], [11.0]];
        let strata = [0, 0, 0, 0, 1, 1, 1, 1];
        assert!(found(&x, &y, None).rv > 0.9);
        assert!(found(&x, &y, Some(&strata)).rv < 1e-20);
    }

    #[test]
    fn what_does_not_vary_is_not_tested() {
        let (x, y) = blocks();
        let test = |x: &Array2<f64>, y: &Array2<f64>| two_block(x, y, None, Draws::new(9), Seed::new(1));
        assert_eq!(test(&x, &Array2::ones((6, 2))), None);
        assert_eq!(test(&x, &Array2::zeros((5, 2))), None);
        assert_eq!(test(&Array2::zeros((6, 0)), &y), None);
    }
}
