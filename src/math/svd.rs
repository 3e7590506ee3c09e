//! Singular values of a thin matrix and eigenvalues of a symmetric one: the crossing between ndarray and nalgebra.

use nalgebra::DMatrix;
use ndarray::{Array1, Array2, ArrayView2};

/// How many sweeps the iteration may take before it is given up; it needs about 2 per column ("common practice, no source").
const MOST_ITERATIONS: usize = 10_000;

/// The thin singular value decomposition a = u diag(singular) vt.
#[derive(Clone, Debug, PartialEq)]
pub struct ThinSvd {
    /// Left vectors as columns, rows x rank.
    pub u: Array2<f64>,
    /// Singular values, greatest first; min(rows, columns) of them.
    pub singular: Array1<f64>,
    /// Right vectors as rows, rank x columns.
    pub vt: Array2<f64>,
}

/// Eigenvalues and eigenvectors of a symmetric matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct SymmetricEigen {
    /// Eigenvalues, greatest first.
    pub values: Array1<f64>,
    /// Eigenvectors as columns, in the order of the values.
    pub vectors: Array2<f64>,
}

/// The thin singular value decomposition of a finite matrix; `None` if it is not finite or does not converge.
///
/// A matrix much taller than wide is first reduced to its triangular factor, which has the same right vectors and
/// costs rows x columns^2 once.
///
/// # Example
/// ```
/// use ndarray::array;
/// use tornus::math::svd::thin_svd;
/// let svd = thin_svd(array![[3.0, 0.0], [0.0, -4.0]].view()).unwrap();
/// assert!((svd.singular[0] - 4.0).abs() < 1e-12); // the absolute values of the diagonal, greatest first
/// assert!((svd.singular[1] - 3.0).abs() < 1e-12);
/// ```
///
/// # References
/// Chan 1982, An improved algorithm for computing the singular value decomposition (the triangular factor first).
#[must_use]
pub fn thin_svd(a: ArrayView2<'_, f64>) -> Option<ThinSvd> {
    let (rows, columns) = a.dim();
    if a.iter().any(|v| !v.is_finite()) {
        return None;
    }
    if rows == 0 || columns == 0 {
        return Some(ThinSvd {
            u: Array2::zeros((rows, 0)),
            singular: Array1::zeros(0),
            vt: Array2::zeros((0, columns)),
        });
    }
    let matrix = to_nalgebra(a);
    if rows > 2 * columns {
        let (q, r) = matrix.qr().unpack();
        let inner = sorted_svd(r)?;
        return Some(ThinSvd { u: from_nalgebra(&(q * to_nalgebra(inner.u.view()))), ..inner });
    }
    sorted_svd(matrix)
}

/// Eigenvalues and eigenvectors of a symmetric finite matrix; `None` if it is not square, not finite or does not converge.
///
/// # Example
/// ```
/// use ndarray::array;
/// use tornus::math::svd::symmetric_eigen;
/// let eigen = symmetric_eigen(array![[2.0, 1.0], [1.0, 2.0]].view()).unwrap();
/// assert!((eigen.values[0] - 3.0).abs() < 1e-12); // 2 + 1 along (1, 1)
/// assert!((eigen.values[1] - 1.0).abs() < 1e-12); // 2 - 1 along (1, -1)
/// ```
#[must_use]
pub fn symmetric_eigen(a: ArrayView2<'_, f64>) -> Option<SymmetricEigen> {
    let (rows, columns) = a.dim();
    if rows != columns || a.iter().any(|v| !v.is_finite()) {
        return None;
    }
    if rows == 0 {
        return Some(SymmetricEigen { values: Array1::zeros(0), vectors: Array2::zeros((0, 0)) });
    }
    let eigen = nalgebra::SymmetricEigen::try_new(to_nalgebra(a), f64::EPSILON, MOST_ITERATIONS)?;
    let order = descending(eigen.eigenvalues.as_slice());
    let values = order.iter().map(|&i| eigen.eigenvalues[i]).collect();
    let vectors = Array2::from_shape_fn((rows, rows), |(row, column)| eigen.eigenvectors[(row, order[column])]);
    Some(SymmetricEigen { values, vectors })
}

fn sorted_svd(matrix: DMatrix<f64>) -> Option<ThinSvd> {
    let svd = nalgebra::SVD::try_new(matrix, true, true, f64::EPSILON, MOST_ITERATIONS)?;
    let (u, vt) = (svd.u?, svd.v_t?);
    let order = descending(svd.singular_values.as_slice());
    let rank = order.len();
    Some(ThinSvd {
        u: Array2::from_shape_fn((u.nrows(), rank), |(row, column)| u[(row, order[column])]),
        singular: order.iter().map(|&i| svd.singular_values[i]).collect(),
        vt: Array2::from_shape_fn((rank, vt.ncols()), |(row, column)| vt[(order[row], column)]),
    })
}

fn descending(values: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&i, &j| values[j].total_cmp(&values[i]).then(i.cmp(&j)));
    order
}

fn to_nalgebra(a: ArrayView2<'_, f64>) -> DMatrix<f64> {
    DMatrix::from_fn(a.nrows(), a.ncols(), |row, column| a[(row, column)])
}

fn from_nalgebra(a: &DMatrix<f64>) -> Array2<f64> {
    Array2::from_shape_fn(a.shape(), |(row, column)| a[(row, column)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    fn rebuilds(a: &Array2<f64>) {
        let svd = thin_svd(a.view()).unwrap();
        let rebuilt = svd.u.dot(&Array2::from_diag(&svd.singular)).dot(&svd.vt);
        for (found, wanted) in rebuilt.iter().zip(a) {
            assert!((found - wanted).abs() < 1e-10, "{found} is not {wanted}");
        }
        let gram = svd.u.t().dot(&svd.u);
        for ((row, column), value) in gram.indexed_iter() {
            let wanted = if row == column && svd.singular[row] > 1e-10 { 1.0 } else { 0.0 };
            assert!(svd.singular[row].min(svd.singular[column]) <= 1e-10 || (value - wanted).abs() < 1e-10);
        }
    }

    #[test]
    fn wide_tall_and_deficient_matrices_are_rebuilt() {
        rebuilds(&array![[1.0, 2.0, 3.0, 4.0], [0.5, -1.0, 2.0, 0.0]]);
        rebuilds(&Array2::from_shape_fn((9, 2), |(i, j)| ((i * 7 + j * 3) % 5) as f64 - 1.5));
        rebuilds(&array![[1.0, 2.0], [2.0, 4.0], [3.0, 6.0]]);
        rebuilds(&Array2::zeros((4, 3)));
    }

    #[test]
    fn nothing_decomposes_into_nothing_and_infinity_not_at_all() {
        assert_eq!(thin_svd(Array2::zeros((0, 3)).view()).unwrap().singular.len(), 0);
        assert!(thin_svd(array![[f64::NAN]].view()).is_none());
        assert!(symmetric_eigen(array![[1.0, 2.0]].view()).is_none());
    }
}
