//! What is known of each vessel's place in a space of few dimensions.

use ndarray::Array2;

use crate::math::cholesky;
use crate::math::density::LN_TWO_PI;

/// Most dimensions of a space in which groups are looked for.
pub(super) const MOST_DIMENSIONS: usize = 8;

/// A vector of at most [`MOST_DIMENSIONS`] components; only the first few are in use.
pub(super) type Small = [f64; MOST_DIMENSIONS];

/// A square matrix of that size, row by row with the stride of its own dimension.
pub(super) type SmallSquare = [f64; MOST_DIMENSIONS * MOST_DIMENSIONS];

/// Least noise of a point, as a share of the spread of all points: keeps the information finite.
const LEAST_NOISE: f64 = 1e-4;

/// Normals in information form: for each vessel the precision J and the shift h of exp(-z'Jz/2 + h'z).
///
/// A direction in which nothing is known has no information, so vessels with missing or bounded measures need no
/// imputation.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    pub(super) dimensions: usize,
    /// The best single place of each vessel, vessels x dimensions: for starts, k-means and trees.
    pub(super) points: Array2<f64>,
    /// One precision for all vessels, or one each.
    precisions: Vec<SmallSquare>,
    shifts: Vec<Small>,
    /// Logarithm of the factor in front of each vessel's exponential.
    constants: Vec<f64>,
    /// Log-density of vessels that belong to no group, where such are allowed for.
    stray_log_density: Option<f64>,
}

impl Evidence {
    /// Points with one standard uncertainty per dimension, the same for all vessels.
    ///
    /// # Shapes
    /// `points` is vessels x dimensions, at most eight of them used; `noise` has one value per dimension.
    #[must_use]
    pub fn from_points(points: &Array2<f64>, noise: &[f64]) -> Self {
        let dimensions = points.ncols().min(MOST_DIMENSIONS);
        let points = points.slice(ndarray::s![.., ..dimensions]).to_owned();
        let spread = points.iter().fold(0.0_f64, |most, value| most.max(value.abs())).max(f64::MIN_POSITIVE);
        let mut precision = [0.0; MOST_DIMENSIONS * MOST_DIMENSIONS];
        let mut constant = -0.5 * dimensions as f64 * LN_TWO_PI;
        for k in 0..dimensions {
            let u = noise.get(k).copied().unwrap_or_default().max(LEAST_NOISE * spread);
            precision[k * dimensions + k] = 1.0 / (u * u);
            constant -= u.ln();
        }
        let shift_of = |row: usize| {
            let mut shift = [0.0; MOST_DIMENSIONS];
            let mut square = 0.0;
            for k in 0..dimensions {
                shift[k] = precision[k * dimensions + k] * points[[row, k]];
                square += shift[k] * points[[row, k]];
            }
            (shift, constant - 0.5 * square)
        };
        let (shifts, constants) = (0..points.nrows()).map(shift_of).unzip();
        Self { dimensions, precisions: vec![precision], shifts, constants, points, stray_log_density: None }
    }

    /// Evidence from one precision and shift per vessel; the best single places are those expected in a population that is
    /// standard normal.
    pub(in crate::analysis) fn from_information(dimensions: usize, information: Vec<(Vec<f64>, Vec<f64>)>) -> Self {
        let dimensions = dimensions.min(MOST_DIMENSIONS);
        let mut points = Array2::zeros((information.len(), dimensions));
        let mut precisions = Vec::with_capacity(information.len());
        let mut shifts = Vec::with_capacity(information.len());
        for (row, (precision, shift)) in information.into_iter().enumerate() {
            let mut small = ([0.0; MOST_DIMENSIONS * MOST_DIMENSIONS], [0.0; MOST_DIMENSIONS]);
            small.0[..dimensions * dimensions].copy_from_slice(&precision[..dimensions * dimensions]);
            small.1[..dimensions].copy_from_slice(&shift[..dimensions]);
            expected(small.0, &small.1, dimensions).iter().enumerate().for_each(|(k, place)| points[[row, k]] = *place);
            precisions.push(small.0);
            shifts.push(small.1);
        }
        let constants = vec![0.0; shifts.len()];
        Self { dimensions, points, precisions, shifts, constants, stray_log_density: None }
    }

    /// The same, allowing for vessels that belong to no group and lie anywhere in the box that holds the points.
    ///
    /// # References
    /// Banfield & Raftery 1993, Model-based Gaussian and non-Gaussian clustering (a Poisson noise term).
    #[must_use]
    pub fn with_strays(mut self) -> Self {
        let extent = |column: ndarray::ArrayView1<'_, f64>| {
            let low = column.iter().copied().fold(f64::INFINITY, f64::min);
            column.iter().copied().fold(f64::NEG_INFINITY, f64::max) - low
        };
        let log_volume: f64 = self.points.columns().into_iter().map(|column| extent(column).ln()).sum();
        self.stray_log_density = (log_volume.is_finite() && self.dimensions > 0).then_some(-log_volume);
        self
    }

    pub(super) fn stray_log_density(&self) -> Option<f64> {
        self.stray_log_density
    }

    /// How many vessels there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.shifts.len()
    }

    /// Whether there is no vessel.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.shifts.is_empty()
    }

    pub(super) fn shared(&self) -> bool {
        self.precisions.len() == 1
    }

    pub(super) fn precision(&self, row: usize) -> &SmallSquare {
        &self.precisions[if self.shared() { 0 } else { row }]
    }

    pub(super) fn shift(&self, row: usize) -> &Small {
        &self.shifts[row]
    }

    pub(super) fn constant(&self, row: usize) -> f64 {
        self.constants[row]
    }

    /// The evidence of these vessels, repetitions allowed.
    pub(super) fn select(&self, rows: &[usize]) -> Self {
        let precisions = if self.shared() {
            self.precisions.clone()
        } else {
            rows.iter().map(|&row| self.precisions[row]).collect()
        };
        Self {
            dimensions: self.dimensions,
            points: self.points.select(ndarray::Axis(0), rows),
            precisions,
            shifts: rows.iter().map(|&row| self.shifts[row]).collect(),
            constants: rows.iter().map(|&row| self.constants[row]).collect(),
            stray_log_density: self.stray_log_density,
        }
    }

    /// The evidence that vessels at `truth` would give with the same noise, `normals` being standard normal numbers.
    pub(super) fn repeated_at(&self, truth: &Array2<f64>, normals: &Array2<f64>) -> Self {
        let n = self.dimensions;
        let mut repeated = self.clone();
        for row in 0..self.len() {
            let precision = *self.precision(row);
            let mut lower = precision;
            let most = (0..n).map(|k| precision[k * n + k]).fold(0.0, f64::max);
            (0..n).for_each(|k| lower[k * n + k] += 1e-9 * most + f64::MIN_POSITIVE);
            let regular = cholesky::factorise(&mut lower, n);
            for k in 0..n {
                let told: f64 = (0..n).map(|j| precision[k * n + j] * truth[[row, j]]).sum();
                let noise: f64 =
                    if regular { (0..=k).map(|j| lower[k * n + j] * normals[[row, j]]).sum() } else { 0.0 };
                repeated.shifts[row][k] = told + noise;
            }
        }
        repeated.points.assign(truth);
        repeated
    }
}

/// The place expected of a vessel whose population is standard normal: (J + 1)^-1 h.
fn expected(mut precision: SmallSquare, shift: &Small, n: usize) -> Vec<f64> {
    (0..n).for_each(|k| precision[k * n + k] += 1.0);
    let mut place = shift[..n].to_vec();
    if cholesky::factorise(&mut precision[..n * n], n) {
        cholesky::solve(&precision[..n * n], n, &mut place);
    }
    place
}
