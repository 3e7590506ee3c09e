//! The mean of a smooth function of a random number from its values at a few places.

use ndarray::Array2;

use super::svd::symmetric_eigen;

/// Places and weights for the mean over a gamma distribution of this shape (> 0) and scale 1: exact for polynomials up to degree
/// 2N - 1. `None` only if the shape is no number.
///
/// # Example
/// ```
/// use tornus::math::quadrature::gauss_gamma;
/// let [(low, of_low), (high, of_high)] = gauss_gamma::<2>(1.0).unwrap(); // the exponential: roots of x^2 - 4 x + 2
/// assert!((low - (2.0 - 2.0_f64.sqrt())).abs() < 1e-12 && (high - (2.0 + 2.0_f64.sqrt())).abs() < 1e-12);
/// assert!((of_low * low + of_high * high - 1.0).abs() < 1e-12); // its mean
/// ```
///
/// # References
/// Golub & Welsch 1969, Calculation of Gauss quadrature rules, doi:10.1090/S0025-5718-69-99647-1; generalised Laguerre
/// polynomials.
#[must_use]
pub fn gauss_gamma<const N: usize>(shape: f64) -> Option<[(f64, f64); N]> {
    let cell = |(row, column): (usize, usize)| {
        let later = row.max(column) as f64;
        match row.abs_diff(column) {
            0 => 2.0 * later + shape,
            1 => (later * (later - 1.0 + shape)).sqrt(),
            _ => 0.0,
        }
    };
    let eigen = symmetric_eigen(Array2::from_shape_fn((N, N), cell).view())?;
    // Greatest first; from the least on they come.
    Some(std::array::from_fn(|k| (eigen.values[N - 1 - k], eigen.vectors[[0, N - 1 - k]].powi(2))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_those_of_the_gamma_distribution() {
        // E x^k = shape (shape + 1) ... (shape + k - 1).
        for shape in [0.7, 6.0, 253.0] {
            let rule = gauss_gamma::<4>(shape).unwrap();
            let mut wanted = 1.0;
            for power in 0..8 {
                let found: f64 = rule.iter().map(|(x, weight)| weight * x.powi(power)).sum();
                assert!((found / wanted - 1.0).abs() < 1e-10, "{shape} {power}: {found} {wanted}");
                wanted *= shape + f64::from(power);
            }
        }
    }

    #[test]
    fn no_shape_no_rule() {
        assert_eq!(gauss_gamma::<4>(f64::NAN), None);
    }
}
