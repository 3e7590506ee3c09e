//! Observations as points, of measured variables or of a matrix of distances.

use ndarray::{Array2, Axis};

use crate::math::svd::symmetric_eigen;

/// Eigenvalues below this share of the greatest are rounding (as for principal components).
const RANK_TOLERANCE: f64 = 1e-12;

/// Observations as points; distances that no points can have (Bray-Curtis among them) need some imaginary coordinates, whose
/// squares count negatively.
#[derive(Clone, Debug, PartialEq)]
pub struct Placement {
    pub(super) coordinates: Array2<f64>,
    /// How many of the coordinates, the first ones, are real.
    real: usize,
}

impl Placement {
    /// Observations x variables, all real; `None` if a value is not finite.
    #[must_use]
    pub fn of_variables(variables: &Array2<f64>) -> Option<Self> {
        if variables.iter().any(|value| !value.is_finite()) {
            return None;
        }
        let mean = variables.mean_axis(Axis(0));
        let coordinates = mean.map_or_else(|| variables.clone(), |mean| variables - &mean);
        Some(Self { real: coordinates.ncols(), coordinates })
    }

    /// Principal coordinates of a square matrix of distances; `None` if it is not square, finite and symmetric.
    ///
    /// # Example
    /// Two observations 2 apart lie 1 to either side of their centre: the sum of squares is 2.
    /// ```
    /// use ndarray::array;
    /// use tornus::analysis::permutation::Placement;
    /// let placed = Placement::of_distances(&array![[0.0, 2.0], [2.0, 0.0]]).unwrap();
    /// assert!((placed.sum_of_squares() - 2.0).abs() < 1e-12);
    /// ```
    ///
    /// # References
    /// Gower 1966, Some distance properties of latent root and vector methods, doi:10.1093/biomet/53.3-4.325; imaginary
    /// coordinates as in McArdle & Anderson 2001, Ecology 82, 290 to 297.
    #[must_use]
    pub fn of_distances(distances: &Array2<f64>) -> Option<Self> {
        let (rows, columns) = distances.dim();
        let symmetric = || distances.indexed_iter().all(|((i, j), d)| (d - distances[[j, i]]).abs() <= 1e-12 * d.abs());
        if rows != columns || distances.iter().any(|d| !d.is_finite()) || !symmetric() {
            return None;
        }
        let halves = distances.mapv(|distance| -0.5 * distance * distance);
        let means = halves.mean_axis(Axis(0)).unwrap_or_default();
        let overall = means.mean().unwrap_or_default();
        let centred = Array2::from_shape_fn((rows, rows), |(i, j)| halves[[i, j]] - means[i] - means[j] + overall);
        let eigen = symmetric_eigen(centred.view())?;
        let greatest = eigen.values.iter().fold(0.0_f64, |most, value| most.max(value.abs()));
        let kept = |k: &usize| eigen.values[*k].abs() > RANK_TOLERANCE * greatest;
        let (real, imaginary): (Vec<usize>, Vec<usize>) = (0..rows).filter(kept).partition(|&k| eigen.values[k] > 0.0);
        let order = [real.as_slice(), imaginary.as_slice()].concat();
        let coordinates = Array2::from_shape_fn((rows, order.len()), |(row, column)| {
            eigen.vectors[[row, order[column]]] * eigen.values[order[column]].abs().sqrt()
        });
        Some(Self { coordinates, real: real.len() })
    }

    /// How many observations there are.
    #[must_use]
    pub fn observations(&self) -> usize {
        self.coordinates.nrows()
    }

    /// Sum of squared distances from the centre of all.
    #[must_use]
    pub fn sum_of_squares(&self) -> f64 {
        self.coordinates.columns().into_iter().enumerate().map(|(k, c)| self.signed(k, c.dot(&c))).sum()
    }

    /// A square along coordinate `k`, negative along an imaginary one.
    pub(super) fn signed(&self, k: usize, square: f64) -> f64 {
        if k < self.real { square } else { -square }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn distances_of_points_give_the_points_back() {
        let points: Array2<f64> = array![[0.0, 0.0], [3.0, 4.0], [6.0, 0.0], [1.0, 1.0]];
        let distance = |(i, j): (usize, usize)| (&points.row(i) - &points.row(j)).mapv(|d| d * d).sum().sqrt();
        let of_distances = Placement::of_distances(&Array2::from_shape_fn((4, 4), distance)).unwrap();
        let of_variables = Placement::of_variables(&points).unwrap();
        assert!((of_distances.sum_of_squares() - of_variables.sum_of_squares()).abs() < 1e-10);
        assert_eq!((of_distances.real, of_distances.coordinates.ncols()), (2, 2), "a plane is a plane");
    }

    #[test]
    fn distances_that_break_the_triangle_have_imaginary_coordinates() {
        let placed = Placement::of_distances(&array![[0.0, 1.0, 5.0], [1.0, 0.0, 1.0], [5.0, 1.0, 0.0]]).unwrap();
        assert!(placed.real < placed.coordinates.ncols());
        // The sum of squares about the centre is that of the squared distances over the number of observations.
        assert!((placed.sum_of_squares() - (1.0 + 25.0 + 1.0) / 3.0).abs() < 1e-12);
        assert_eq!(Placement::of_distances(&array![[0.0, 1.0], [2.0, 0.0]]), None);
        assert_eq!(Placement::of_variables(&array![[f64::NAN]]), None);
    }
}
