//! Cholesky factor of a matrix whose size is known when the program is compiled: several times as fast as
//! [`cholesky`](super::cholesky) for two or three rows, and for the places where millions are factorised.

/// Lower factor L of a symmetric positive definite matrix L L'.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SmallCholesky<const N: usize> {
    lower: [[f64; N]; N],
    /// 1 / diagonal: a division takes as long as several products.
    inverse_diagonal: [f64; N],
}

impl<const N: usize> SmallCholesky<N> {
    /// Factorises `a`, of which the lower triangle is read; `None` if it is not positive definite.
    ///
    /// # Example
    /// ```
    /// use tornus::math::small_cholesky::SmallCholesky;
    /// let factor = SmallCholesky::new(&[[4.0, 2.0], [2.0, 5.0]]).expect("positive definite");
    /// assert!((factor.log_determinant() - 16.0_f64.ln()).abs() < 1e-15); // 4 x 5 - 2 x 2
    /// assert_eq!(factor.inverse(), [[0.3125, -0.125], [-0.125, 0.25]]); // [[5, -2], [-2, 4]] / 16
    /// ```
    #[must_use]
    #[inline]
    pub fn new(a: &[[f64; N]; N]) -> Option<Self> {
        let mut lower = [[0.0; N]; N];
        let mut inverse_diagonal = [0.0; N];
        for row in 0..N {
            for column in 0..row {
                let rest = a[row][column] - dot(&lower[row][..column], &lower[column][..column]);
                lower[row][column] = rest * inverse_diagonal[column];
            }
            let rest = a[row][row] - dot(&lower[row][..row], &lower[row][..row]);
            if !(rest > 0.0 && rest.is_finite()) {
                return None;
            }
            lower[row][row] = rest.sqrt();
            inverse_diagonal[row] = 1.0 / lower[row][row];
        }
        Some(Self { lower, inverse_diagonal })
    }

    /// The logarithm of the determinant of the matrix. The diagonal's product must be within the range of numbers: for
    /// eight rows, entries from 1e-70 to 1e70.
    #[must_use]
    #[inline]
    pub fn log_determinant(&self) -> f64 {
        2.0 * (0..N).map(|k| self.lower[k][k]).product::<f64>().ln()
    }

    /// L^-1 b, whose square is b' A^-1 b.
    #[must_use]
    #[inline]
    pub fn solve_lower(&self, b: &[f64; N]) -> [f64; N] {
        let mut solved = [0.0; N];
        for row in 0..N {
            solved[row] = (b[row] - dot(&self.lower[row][..row], &solved[..row])) * self.inverse_diagonal[row];
        }
        solved
    }

    /// The inverse of the matrix.
    #[must_use]
    #[inline]
    pub fn inverse(&self) -> [[f64; N]; N] {
        let mut root = [[0.0; N]; N]; // of each column of the factor's inverse, what stands from the diagonal on
        for (column, root) in root.iter_mut().enumerate() {
            root[column] = self.inverse_diagonal[column];
            for row in column + 1..N {
                root[row] = -dot(&self.lower[row][column..row], &root[column..row]) * self.inverse_diagonal[row];
            }
        }
        std::array::from_fn(|row| {
            std::array::from_fn(|column| dot(&root[row][row.max(column)..], &root[column][row.max(column)..]))
        })
    }
}

#[inline]
fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::super::cholesky;
    use super::*;

    #[test]
    fn factor_and_inverse_are_those_of_any_size() {
        // Diagonally dominant, so positive definite.
        let cell = |row: usize, k: usize| if row == k { 6.0 + row as f64 } else { ((row + k) % 3) as f64 - 1.0 };
        let a: [[f64; 5]; 5] = std::array::from_fn(|row| std::array::from_fn(|k| cell(row, k)));
        let found = SmallCholesky::new(&a).unwrap();
        let mut lower = a.as_flattened().to_vec();
        assert!(cholesky::factorise(&mut lower, 5));
        let mut inverse = [0.0; 25];
        cholesky::invert(&lower, 5, &mut inverse);
        assert!((found.log_determinant() - cholesky::log_determinant(&lower, 5)).abs() < 1e-13);
        assert!(found.inverse().as_flattened().iter().zip(inverse).all(|(a, b)| (a - b).abs() < 1e-15));
        let b = [1.0, -2.0, 0.5, 3.0, 0.0];
        let mut solved = b;
        cholesky::solve_lower(&lower, 5, &mut solved);
        assert!(found.solve_lower(&b).iter().zip(solved).all(|(a, b)| (a - b).abs() < 1e-15));
    }

    #[test]
    fn a_matrix_that_is_not_positive_definite_is_refused() {
        assert_eq!(SmallCholesky::new(&[[1.0, 2.0], [2.0, 1.0]]), None);
        assert_eq!(SmallCholesky::new(&[[f64::NAN]]), None);
        assert!(SmallCholesky::new(&[]).is_some());
    }
}
