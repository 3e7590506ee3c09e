//! Linear least squares with covariance.

use nalgebra::{DMatrix, DVector};

/// The answer to a linear least-squares problem.
#[derive(Clone, Debug, PartialEq)]
pub struct LinearFit {
    /// The coefficients.
    pub coefficients: DVector<f64>,
    /// (A'A)^-1: times the variance of one value, the covariance of the coefficients.
    pub covariance_factor: DMatrix<f64>,
    /// Sum of the squared residuals.
    pub residual_sum_squares: f64,
    /// Values less coefficients.
    pub degrees_of_freedom: usize,
}

/// Why a linear least-squares problem has no answer.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LinearError {
    /// Rows and values differ in number.
    #[error("{rows} rows do not match {values} values")]
    LengthMismatch {
        /// Rows of the design.
        rows: usize,
        /// How many values.
        values: usize,
    },
    /// A number is not finite.
    #[error("design or value is not finite in row {row}")]
    NotFinite {
        /// The row.
        row: usize,
    },
    /// Fewer values than coefficients.
    #[error("{coefficients} coefficients need as many values, there are {count}")]
    UnderDetermined {
        /// How many values.
        count: usize,
        /// How many coefficients.
        coefficients: usize,
    },
    /// Columns depend on each other to within rounding.
    #[error("column {column} depends on those before it")]
    Singular {
        /// The first such column.
        column: usize,
    },
}

/// Coefficients that make the sum of squares of `values` - `design` x coefficients least.
///
/// By orthogonal (QR) decomposition of the columns scaled to unit length, with one step of refinement on the residual.
///
/// # Units and shapes
/// `design` is values x coefficients; weighted problems scale rows and values by the root of the weight.
///
/// # Errors
/// [`LinearError`]: lengths differ; a number not finite; too few values; dependent columns.
///
/// # Example
/// ```
/// use nalgebra::{DMatrix, DVector};
/// use tornus::math::least_squares::solve;
/// // a line through (0, 1), (1, 3), (2, 5)
/// let design = DMatrix::from_row_slice(3, 2, &[1.0, 0.0, 1.0, 1.0, 1.0, 2.0]);
/// let line = solve(&design, &DVector::from_row_slice(&[1.0, 3.0, 5.0]))?;
/// assert!((line.coefficients[0] - 1.0).abs() < 1e-14 && (line.coefficients[1] - 2.0).abs() < 1e-14);
/// # Ok::<(), tornus::math::least_squares::LinearError>(())
/// ```
///
/// # References
/// Golub 1965, Numerical methods for solving linear least squares problems.
pub fn solve(design: &DMatrix<f64>, values: &DVector<f64>) -> Result<LinearFit, LinearError> {
    let (rows, columns) = design.shape();
    check(design, values)?;
    let scales: Vec<f64> = design.column_iter().map(|column| column.norm()).collect();
    let mut scaled = design.clone();
    for (column, &scale) in scales.iter().enumerate() {
        let positive = scale > 0.0;
        if !positive {
            return Err(LinearError::Singular { column });
        }
        scaled.column_mut(column).unscale_mut(scale);
    }
    let decomposition = scaled.clone().qr();
    let triangle = decomposition.r();
    let stands = |column: usize| triangle[(column, column)].abs() > rows as f64 * f64::EPSILON;
    if let Some(column) = (0..columns).find(|&column| !stands(column)) {
        return Err(LinearError::Singular { column });
    }
    let project = |right: &DVector<f64>| -> Option<DVector<f64>> {
        let mut turned = right.clone();
        decomposition.q_tr_mul(&mut turned);
        triangle.solve_upper_triangular(&turned.rows(0, columns).into_owned())
    };
    let singular = LinearError::Singular { column: columns - 1 };
    let first = project(values).ok_or(singular)?;
    let correction = project(&(values - &scaled * &first)).ok_or(singular)?;
    let mut coefficients = first + correction;
    let residual = values - &scaled * &coefficients;
    let inverse = triangle.solve_upper_triangular(&DMatrix::identity(columns, columns)).ok_or(singular)?;
    let mut covariance_factor = &inverse * inverse.transpose();
    for row in 0..columns {
        coefficients[row] /= scales[row];
        for column in 0..columns {
            covariance_factor[(row, column)] /= scales[row] * scales[column];
        }
    }
    Ok(LinearFit {
        coefficients,
        covariance_factor,
        residual_sum_squares: residual.norm_squared(),
        degrees_of_freedom: rows - columns,
    })
}

fn check(design: &DMatrix<f64>, values: &DVector<f64>) -> Result<(), LinearError> {
    let (rows, columns) = design.shape();
    if rows != values.len() {
        return Err(LinearError::LengthMismatch { rows, values: values.len() });
    }
    if columns == 0 || rows < columns {
        return Err(LinearError::UnderDetermined { count: rows, coefficients: columns });
    }
    let finite = |row: &usize| values[*row].is_finite() && design.row(*row).iter().all(|x| x.is_finite());
    match (0..rows).find(|row| !finite(row)) {
        Some(row) => Err(LinearError::NotFinite { row }),
        None => Ok(()),
    }
}

impl LinearFit {
    /// Residual standard deviation; `None` without degrees of freedom.
    #[must_use]
    pub fn residual_deviation(&self) -> Option<f64> {
        (self.degrees_of_freedom > 0).then(|| (self.residual_sum_squares / self.degrees_of_freedom as f64).sqrt())
    }

    /// Covariance of the coefficients with the residual variance for that of one value; `None` without degrees of freedom.
    #[must_use]
    pub fn covariance(&self) -> Option<DMatrix<f64>> {
        self.residual_deviation().map(|deviation| &self.covariance_factor * (deviation * deviation))
    }
}
