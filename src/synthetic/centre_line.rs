//! The line of a wall's section centres.

/// Where the centres of a wall's sections lie, over height: an offset, a tilt and two bends.
///
/// Legendre polynomials of degree 0 to 3 over the whole height, so that over the whole height the bends change neither
/// the least-squares position nor the least-squares direction of the line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CentreLine {
    /// Coefficients of the x coordinate, mm: offset at mid-height, half the shift over the height, bow, S-bend.
    pub x_mm: [f64; 4],
    /// Coefficients of the y coordinate, mm.
    pub y_mm: [f64; 4],
}

impl CentreLine {
    /// Offset at mid-height (mm) in the direction `azimuth_rad`.
    #[must_use]
    pub fn offset(offset_mm: f64, azimuth_rad: f64) -> Self {
        Self::default().with_term(0, offset_mm, azimuth_rad)
    }

    /// The same line with `amount_mm` in the direction `azimuth_rad` added to the term of `degree` (0 offset, 1 tilt as half
    /// the shift from foot to rim, 2 bow, 3 S-bend; other degrees change nothing).
    #[must_use]
    pub fn with_term(mut self, degree: usize, amount_mm: f64, azimuth_rad: f64) -> Self {
        if let (Some(x), Some(y)) = (self.x_mm.get_mut(degree), self.y_mm.get_mut(degree)) {
            *x += amount_mm * azimuth_rad.cos();
            *y += amount_mm * azimuth_rad.sin();
        }
        self
    }

    /// The centre at `t`, -1 at the foot and 1 at the rim, mm.
    #[must_use]
    pub fn at(&self, t: f64) -> [f64; 2] {
        let basis = [1.0, t, 0.5 * (3.0 * t * t - 1.0), 0.5 * (5.0 * t * t - 3.0) * t];
        let sum = |series: &[f64; 4]| series.iter().zip(basis).map(|(c, b)| c * b).sum();
        [sum(&self.x_mm), sum(&self.y_mm)]
    }

    /// The straight part: offset and tilt alone.
    #[must_use]
    pub fn straight_part(&self) -> Self {
        let keep = |series: &[f64; 4]| [series[0], series[1], 0.0, 0.0];
        Self { x_mm: keep(&self.x_mm), y_mm: keep(&self.y_mm) }
    }
}
