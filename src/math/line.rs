//! The least-squares line of points (x, y) over z, each with its own variance.

use nalgebra::{Matrix2, Point3, Vector2};

/// The line x = offset.x + slope.x (z - height), y likewise, at the weighted mean height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineFit {
    /// Weighted mean of z, where offset and slope are uncorrelated.
    pub height: f64,
    /// (x, y) at `height`.
    pub offset: Vector2<f64>,
    /// d(x, y)/dz.
    pub slope: Vector2<f64>,
    /// 1 / sum of weights: the variance of each offset for weights 1 / variance.
    pub offset_variance: f64,
    /// 1 / sum of w (z - height)^2: the variance of each slope for weights 1 / variance.
    pub slope_variance: f64,
    /// Weighted sum of the squared residuals in x and y.
    pub residual_sum_squares: f64,
    /// Points with a weight above 0.
    pub count: usize,
}

/// Why points have no line.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LineError {
    /// Points and weights differ in number.
    #[error("{points} points do not match {weights} weights")]
    LengthMismatch {
        /// How many points.
        points: usize,
        /// How many weights.
        weights: usize,
    },
    /// A coordinate is not finite, or a weight is negative or not finite.
    #[error("coordinate or weight is not usable at point {index}")]
    NotFinite {
        /// Index of the point.
        index: usize,
    },
    /// Fewer than two heights carry weight.
    #[error("a line over z needs points at two heights")]
    Degenerate,
}

/// The line of least weighted squares of the residuals in x and y; without `weights` all are 1.
///
/// # Errors
/// [`LineError`]: lengths differ; a number not usable; fewer than two heights.
///
/// # Example
/// ```
/// use nalgebra::Point3;
/// use tornus::math::line::fit;
/// let points = [Point3::new(1.0, 0.0, 0.0), Point3::new(2.0, 0.0, 10.0), Point3::new(3.0, 0.0, 20.0)];
/// let line = fit(&points, None)?;
/// assert!((line.slope.x - 0.1).abs() < 1e-15 && (line.offset.x - 2.0).abs() < 1e-15);
/// assert!((line.slope_variance - 1.0 / 200.0).abs() < 1e-15); // heights -10, 0, 10 about their mean
/// # Ok::<(), tornus::math::line::LineError>(())
/// ```
pub fn fit(points: &[Point3<f64>], weights: Option<&[f64]>) -> Result<LineFit, LineError> {
    if let Some(weights) = weights
        && weights.len() != points.len()
    {
        return Err(LineError::LengthMismatch { points: points.len(), weights: weights.len() });
    }
    let weight = |index: usize| weights.map_or(1.0, |weights| weights[index]);
    let usable = |i: usize| points[i].iter().all(|c| c.is_finite()) && weight(i).is_finite() && weight(i) >= 0.0;
    if let Some(index) = (0..points.len()).find(|&i| !usable(i)) {
        return Err(LineError::NotFinite { index });
    }
    let total: f64 = (0..points.len()).map(weight).sum();
    let weighty = total > 0.0;
    if !weighty {
        return Err(LineError::Degenerate);
    }
    let mean = |value: &dyn Fn(&Point3<f64>) -> f64| -> f64 {
        points.iter().enumerate().map(|(i, point)| weight(i) * value(point)).sum::<f64>() / total
    };
    let (height, offset) = (mean(&|p| p.z), Vector2::new(mean(&|p| p.x), mean(&|p| p.y)));
    let (mut spread, mut moment) = (0.0, Vector2::zeros());
    let mut reach = 0.0_f64;
    for (index, point) in points.iter().enumerate() {
        let z = point.z - height;
        spread += weight(index) * z * z;
        moment += weight(index) * z * (point.xy().coords - offset);
        reach = reach.max(point.z.abs());
    }
    let has_extent = spread > total * (1e-14 * reach).powi(2);
    if !has_extent {
        return Err(LineError::Degenerate);
    }
    let slope = moment / spread;
    let residual = |point: &Point3<f64>| point.xy().coords - offset - (point.z - height) * slope;
    let residual_sum_squares =
        points.iter().enumerate().map(|(i, point)| weight(i) * residual(point).norm_squared()).sum();
    Ok(LineFit {
        height,
        offset,
        slope,
        offset_variance: 1.0 / total,
        slope_variance: 1.0 / spread,
        residual_sum_squares,
        count: (0..points.len()).filter(|&i| weight(i) > 0.0).count(),
    })
}

impl LineFit {
    /// (x, y) at height `z`.
    #[must_use]
    pub fn at(&self, z: f64) -> Vector2<f64> {
        self.offset + (z - self.height) * self.slope
    }

    /// Covariance of (offset, slope) of either coordinate at height `z`, for weights 1 / variance.
    #[must_use]
    pub fn covariance_at(&self, z: f64) -> Matrix2<f64> {
        let arm = z - self.height;
        let cross = arm * self.slope_variance;
        Matrix2::new(self.offset_variance + arm * cross, cross, cross, self.slope_variance)
    }

    /// Greatest distance of a point from the line, across z: half the straightness deviation about it.
    #[must_use]
    pub fn greatest_distance(&self, points: &[Point3<f64>]) -> f64 {
        points.iter().map(|point| (point.xy().coords - self.at(point.z)).norm()).fold(0.0, f64::max)
    }
}
