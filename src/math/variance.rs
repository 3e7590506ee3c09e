//! Mean and spread of numbers, and the one-way analysis of variance.

/// Mean, standard deviation and lag-1 autocorrelation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moments {
    /// Arithmetic mean.
    pub mean: f64,
    /// Sample standard deviation (n - 1).
    pub standard_deviation: f64,
    /// Lag-1 autocorrelation: sum of products of neighbours' deviations over the sum of squares; 0 without spread.
    pub lag1_autocorrelation: f64,
}

/// The moments of `values`; `None` of fewer than two.
///
/// Two passes: the deviations are from a mean that the second pass has corrected, so that large common offsets cost
/// no more digits than the values themselves have lost.
///
/// # Example
/// ```
/// use tornus::math::variance::moments;
/// let found = moments(&[1.0, 2.0, 3.0, 4.0]).unwrap(); // sum of squares 5, over n - 1 = 3
/// assert_eq!(found.mean, 2.5);
/// assert!((found.standard_deviation - (5.0_f64 / 3.0).sqrt()).abs() < 1e-15);
/// ```
#[must_use]
pub fn moments(values: &[f64]) -> Option<Moments> {
    if values.len() < 2 {
        return None;
    }
    let (mean, squares) = mean_and_squares(values);
    let products: f64 = values.windows(2).map(|pair| (pair[0] - mean) * (pair[1] - mean)).sum();
    let lag1_autocorrelation = if squares > 0.0 { products / squares } else { 0.0 };
    Some(Moments { mean, standard_deviation: (squares / (values.len() - 1) as f64).sqrt(), lag1_autocorrelation })
}

/// Mean and sum of squared deviations of at least one value.
fn mean_and_squares(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let first = values[0];
    let rough = first + values.iter().map(|value| value - first).sum::<f64>() / count;
    let mut rest = 0.0;
    let mut squares = 0.0;
    for value in values {
        let deviation = value - rough;
        rest += deviation;
        squares += deviation * deviation;
    }
    (rough + rest / count, squares - rest * rest / count)
}

/// One-way analysis of variance with the components of variance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneWay {
    /// Number of groups.
    pub groups: usize,
    /// Number of values.
    pub count: usize,
    /// Sum of squares between groups.
    pub between_squares: f64,
    /// Sum of squares within groups.
    pub within_squares: f64,
    /// Mean square between, over groups - 1.
    pub between_mean_square: f64,
    /// Mean square within, over count - groups.
    pub within_mean_square: f64,
    /// Their ratio F; `None` where nothing varies within.
    pub ratio: Option<f64>,
    /// Standard deviation within groups: repeatability s_r.
    pub within_deviation: f64,
    /// Standard deviation between groups with the part of the repeatability taken off: s_L, 0 if that is negative.
    pub between_deviation: f64,
}

/// One-way analysis of variance of `groups`; `None` unless two groups hold values and one holds more than one.
///
/// # References
/// ISO 5725-2 (s_r, s_L, with the mean group size n - sum n_i^2 / n over groups - 1); clauses not checked.
///
/// # Example
/// ```
/// use tornus::math::variance::one_way;
/// // means 1 and 5, each group +-1: between 2 x 2 x 4 = 16 on 1, within 4 on 2
/// let found = one_way(&[vec![0.0, 2.0], vec![4.0, 6.0]]).unwrap();
/// assert_eq!((found.between_squares, found.within_squares, found.ratio), (16.0, 4.0, Some(8.0)));
/// assert!((found.between_deviation - 7.0_f64.sqrt()).abs() < 1e-15); // (16 - 2) / 2
/// ```
#[must_use]
pub fn one_way(groups: &[Vec<f64>]) -> Option<OneWay> {
    let held: Vec<&Vec<f64>> = groups.iter().filter(|group| !group.is_empty()).collect();
    let count: usize = held.iter().map(|group| group.len()).sum();
    if held.len() < 2 || count <= held.len() {
        return None;
    }
    let offset = held[0][0];
    let parts: Vec<(f64, f64, f64)> = held
        .iter()
        .map(|group| {
            let shifted: Vec<f64> = group.iter().map(|value| value - offset).collect();
            let (mean, squares) = mean_and_squares(&shifted);
            (group.len() as f64, mean, squares)
        })
        .collect();
    let total = count as f64;
    let grand = parts.iter().map(|(n, mean, _)| n * mean).sum::<f64>() / total;
    let between_squares: f64 = parts.iter().map(|(n, mean, _)| n * (mean - grand) * (mean - grand)).sum();
    let within_squares: f64 = parts.iter().map(|(_, _, squares)| squares).sum();
    let between_mean_square = between_squares / (held.len() - 1) as f64;
    let within_mean_square = within_squares / (count - held.len()) as f64;
    let group_size = (total - parts.iter().map(|(n, _, _)| n * n).sum::<f64>() / total) / (held.len() - 1) as f64;
    Some(OneWay {
        groups: held.len(),
        count,
        between_squares,
        within_squares,
        between_mean_square,
        within_mean_square,
        ratio: (within_mean_square > 0.0).then(|| between_mean_square / within_mean_square),
        within_deviation: within_mean_square.sqrt(),
        between_deviation: ((between_mean_square - within_mean_square) / group_size).max(0.0).sqrt(),
    })
}
