//! Principal components by singular value decomposition, the whole spectrum kept.

use ndarray::{Array1, Array2, Axis};

use crate::math::svd::{symmetric_eigen, thin_svd};

/// Singular values below this share of the greatest are rounding, not spread (rows x columns x 2^-52 is about 1e-12 here).
const RANK_TOLERANCE: f64 = 1e-12;

/// Principal components of a matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct PrincipalComponents {
    /// The mean row.
    pub mean: Array1<f64>,
    /// Components as rows, each of unit length, its largest loading positive.
    pub loadings: Array2<f64>,
    /// Variance along each component, divisor rows - 1.
    pub variances: Array1<f64>,
    /// Share of the total variance of each component.
    pub explained: Array1<f64>,
}

impl PrincipalComponents {
    /// The components of `rows` (observations x variables); `None` if the matrix is not finite or does not converge.
    ///
    /// # Units and shapes
    /// The unit of the variables squared; as many components as the centred matrix has rank, none for fewer than two rows.
    ///
    /// # Example
    /// ```
    /// use ndarray::array;
    /// use tornus::analysis::PrincipalComponents;
    /// let pca = PrincipalComponents::new(&array![[0.0, 0.0], [3.0, 4.0]]).unwrap();
    /// assert!((pca.variances[0] - 12.5).abs() < 1e-12); // two points 5 apart: 2 x 2.5^2 / (2 - 1)
    /// assert!((pca.loadings[[0, 1]] - 0.8).abs() < 1e-12); // along (3, 4) / 5
    /// ```
    ///
    /// # References
    /// Jolliffe 2002, Principal component analysis, 2nd edition, section 3.5 (by singular values).
    #[must_use]
    pub fn new(rows: &Array2<f64>) -> Option<Self> {
        let columns = rows.ncols();
        let mean = rows.mean_axis(Axis(0)).unwrap_or_else(|| Array1::zeros(columns));
        if rows.nrows() < 2 {
            return Some(Self::without_spread(mean));
        }
        let svd = thin_svd((rows - &mean).view())?;
        let scale = rows.iter().fold(0.0_f64, |most, value| most.max(value.abs()));
        let least = RANK_TOLERANCE * scale * (rows.len() as f64).sqrt();
        let rank = svd.singular.iter().take_while(|value| **value > least).count();
        let divisor = (rows.nrows() - 1) as f64;
        let variances: Array1<f64> = svd.singular.iter().take(rank).map(|value| value * value / divisor).collect();
        let total: f64 = svd.singular.iter().map(|value| value * value / divisor).sum();
        let mut loadings = svd.vt.slice(ndarray::s![..rank, ..]).to_owned();
        loadings.rows_mut().into_iter().for_each(largest_positive);
        let explained = variances.mapv(|variance| variance / total);
        Some(Self { mean, loadings, variances, explained })
    }

    /// The components of a population with this mean and covariance; `None` if the matrix is not finite and square.
    #[must_use]
    pub fn of_covariance(mean: Array1<f64>, covariance: &Array2<f64>) -> Option<Self> {
        let eigen = symmetric_eigen(covariance.view())?;
        let greatest = eigen.values.first().copied().unwrap_or_default().max(0.0);
        let rank = eigen.values.iter().take_while(|value| **value > RANK_TOLERANCE * greatest).count();
        let variances = eigen.values.slice(ndarray::s![..rank]).to_owned();
        let mut loadings = eigen.vectors.t().slice(ndarray::s![..rank, ..]).as_standard_layout().to_owned();
        loadings.rows_mut().into_iter().for_each(largest_positive);
        let explained = &variances / variances.sum();
        Some(Self { mean, loadings, variances, explained })
    }

    fn without_spread(mean: Array1<f64>) -> Self {
        let columns = mean.len();
        let none = Array1::zeros(0);
        Self { mean, loadings: Array2::zeros((0, columns)), variances: none.clone(), explained: none }
    }

    /// How many components there are.
    #[must_use]
    pub fn rank(&self) -> usize {
        self.variances.len()
    }

    /// Scores of `rows`, one column per component.
    #[must_use]
    pub fn scores(&self, rows: &Array2<f64>) -> Array2<f64> {
        (rows - &self.mean).dot(&self.loadings.t())
    }

    /// The row that lies `deviations` standard deviations from the mean along a component.
    #[must_use]
    pub fn drawn_back(&self, component: usize, deviations: f64) -> Array1<f64> {
        let step = deviations * self.variances[component].sqrt();
        &self.mean + &(&self.loadings.row(component) * step)
    }

    /// The least number of components that hold `share` of the variance, at most `most`.
    #[must_use]
    pub fn holding(&self, share: f64, most: usize) -> usize {
        let mut sum = 0.0;
        let needed = self.explained.iter().take_while(|part| {
            let wanting = sum < share;
            sum += **part;
            wanting
        });
        needed.count().min(most)
    }
}

/// Turns a vector so that its largest component, the first of equals, is positive.
fn largest_positive(mut row: ndarray::ArrayViewMut1<'_, f64>) {
    let mut largest = 0.0_f64;
    for value in row.iter() {
        // A hair's breadth, so that equals that differ by rounding keep their first.
        if value.abs() > largest.abs() * (1.0 + 1e-9) {
            largest = *value;
        }
    }
    if largest < 0.0 {
        row.mapv_inplace(|value| -value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn one_row_has_no_components() {
        assert_eq!(PrincipalComponents::new(&array![[1.0, 2.0]]).unwrap().rank(), 0);
        assert_eq!(PrincipalComponents::new(&array![[1.0, 2.0], [1.0, 2.0]]).unwrap().rank(), 0);
    }

    #[test]
    fn scores_are_uncorrelated_and_carry_the_variance() {
        let rows = Array2::from_shape_fn((12, 4), |(i, j)| ((i * i + 3 * j * i + j) % 7) as f64);
        let pca = PrincipalComponents::new(&rows).unwrap();
        let scores = pca.scores(&rows);
        let covariance = scores.t().dot(&scores) / 11.0;
        for ((i, j), value) in covariance.indexed_iter() {
            let wanted = if i == j { pca.variances[i] } else { 0.0 };
            assert!((value - wanted).abs() < 1e-10);
        }
        assert!((pca.explained.sum() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_components_sign_is_its_largest_loadings_whatever_the_rows_order() {
        // Rows along (1, -2): the unit vector is (1, -2) / root 5 or its opposite, of which -2 must come out positive.
        let rows = array![[0.0, 0.0], [1.0, -2.0], [3.0, -6.0]];
        for order in [[0, 1, 2], [2, 1, 0], [1, 2, 0]] {
            let pca = PrincipalComponents::new(&rows.select(Axis(0), &order)).unwrap();
            let loadings = [pca.loadings[[0, 0]], pca.loadings[[0, 1]]];
            assert!((loadings[0] + 0.2_f64.sqrt()).abs() < 1e-12 && (loadings[1] - 0.8_f64.sqrt()).abs() < 1e-12);
        }
        // Of equals the first: (1, -1) / root 2.
        let pca = PrincipalComponents::new(&array![[0.0, 0.0], [-1.0, 1.0]]).unwrap();
        assert!(pca.loadings[[0, 0]] > 0.0 && pca.loadings[[0, 1]] < 0.0);
    }

    #[test]
    fn a_form_drawn_back_scores_its_deviations() {
        let rows = array![[0.0, 1.0], [2.0, 0.0], [4.0, -3.0]];
        let pca = PrincipalComponents::new(&rows).unwrap();
        let drawn = pca.drawn_back(0, 2.0).insert_axis(Axis(0));
        assert!((pca.scores(&drawn)[[0, 0]] - 2.0 * pca.variances[0].sqrt()).abs() < 1e-12);
        assert_eq!(pca.holding(0.5, 9), 1);
        assert_eq!(pca.holding(1.0 - 1e-15, 1), 1);
    }
}
