//! Cholesky factor of a small symmetric matrix held row by row in a slice; nothing is allocated.

/// Replaces the symmetric positive definite `a` (row by row, `n` x `n`) by its lower factor; false if it is not
/// positive definite, and `a` is then spoilt.
///
/// # Example
/// ```
/// use tornus::math::cholesky::factorise;
/// let mut a = [4.0, 2.0, 2.0, 5.0];
/// assert!(factorise(&mut a, 2));
/// assert_eq!(a, [2.0, 0.0, 1.0, 2.0]); // [[2, 0], [1, 2]] times its transpose is [[4, 2], [2, 5]]
/// ```
#[must_use]
pub fn factorise(a: &mut [f64], n: usize) -> bool {
    for row in 0..n {
        for column in 0..=row {
            let mut sum = a[row * n + column];
            for k in 0..column {
                sum -= a[row * n + k] * a[column * n + k];
            }
            if row == column {
                if !(sum > 0.0 && sum.is_finite()) {
                    return false;
                }
                a[row * n + row] = sum.sqrt();
            } else {
                a[row * n + column] = sum / a[column * n + column];
                a[column * n + row] = 0.0;
            }
        }
    }
    true
}

/// The logarithm of the determinant of the matrix whose factor is `lower`.
#[must_use]
pub fn log_determinant(lower: &[f64], n: usize) -> f64 {
    2.0 * (0..n).map(|i| lower[i * n + i].ln()).sum::<f64>()
}

/// Replaces `b` by the solution x of lower x = b.
pub fn solve_lower(lower: &[f64], n: usize, b: &mut [f64]) {
    for row in 0..n {
        let mut sum = b[row];
        for k in 0..row {
            sum -= lower[row * n + k] * b[k];
        }
        b[row] = sum / lower[row * n + row];
    }
}

/// Replaces `b` by the solution x of a x = b, where `lower` is the factor of a.
pub fn solve(lower: &[f64], n: usize, b: &mut [f64]) {
    solve_lower(lower, n, b);
    for row in (0..n).rev() {
        let mut sum = b[row];
        for k in row + 1..n {
            sum -= lower[k * n + row] * b[k];
        }
        b[row] = sum / lower[row * n + row];
    }
}

/// The inverse of a, where `lower` is its factor, written into `inverse` row by row.
pub fn invert(lower: &[f64], n: usize, inverse: &mut [f64]) {
    // Row `column` of what is above the diagonal becomes column `column` of the factor's inverse R, so that both loops run
    // along rows; then a^-1 = R'R, of which the cell (row, column) needs R's rows from the later of both on.
    for column in 0..n {
        inverse[column * n + column] = 1.0 / lower[column * n + column];
        for row in column + 1..n {
            let known = &inverse[column * n + column..column * n + row];
            let sum: f64 = lower[row * n + column..row * n + row].iter().zip(known).map(|(l, r)| l * r).sum();
            inverse[column * n + row] = -sum / lower[row * n + row];
        }
    }
    for row in 0..n {
        for column in row..n {
            let (first, second) =
                (&inverse[row * n + column..(row + 1) * n], &inverse[column * n + column..(column + 1) * n]);
            let sum: f64 = first.iter().zip(second).map(|(a, b)| a * b).sum();
            inverse[column * n + row] = sum;
        }
        for column in row..n {
            inverse[row * n + column] = inverse[column * n + row];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solution_and_inverse_agree_with_the_matrix() {
        let a = [4.0, 1.0, 0.5, 1.0, 3.0, -0.25, 0.5, -0.25, 2.0];
        let mut lower = a;
        assert!(factorise(&mut lower, 3));
        let mut inverse = [0.0; 9];
        invert(&lower, 3, &mut inverse);
        for row in 0..3 {
            for column in 0..3 {
                let product: f64 = (0..3).map(|k| a[row * 3 + k] * inverse[k * 3 + column]).sum();
                let wanted = if row == column { 1.0 } else { 0.0 };
                assert!((product - wanted).abs() < 1e-14);
            }
        }
        // 4 (6 - 1/16) - 1 (2 + 1/8) + 1/2 (-1/4 - 3/2) = 23.75 - 2.125 - 0.875
        assert!((log_determinant(&lower, 3) - 20.75_f64.ln()).abs() < 1e-14);
    }

    #[test]
    fn a_matrix_that_is_not_positive_definite_is_refused() {
        assert!(!factorise(&mut [1.0, 2.0, 2.0, 1.0], 2));
        assert!(!factorise(&mut [f64::NAN], 1));
        assert!(factorise(&mut [], 0));
    }
}
