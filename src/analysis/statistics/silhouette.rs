//! How much nearer each observation is to its own group than to the next.

use ndarray::Array2;

/// The silhouette of every observation (rows of `points`, Euclidean distance), -1 to 1.
///
/// An observation alone in its group has 0; with fewer than two groups there is none: an empty list.
///
/// # Example
/// ```
/// use ndarray::array;
/// use tornus::analysis::statistics::silhouette;
/// let widths = silhouette(&array![[0.0], [1.0], [5.0]], &[0, 0, 1]);
/// assert!((widths[0] - 0.8).abs() < 1e-12); // own group at 1, the other at 5: (5 - 1) / 5
/// assert!((widths[1] - 0.75).abs() < 1e-12); // (4 - 1) / 4
/// assert_eq!(widths[2], 0.0); // alone
/// ```
///
/// # References
/// Rousseeuw 1987, Silhouettes: a graphical aid to the interpretation and validation of cluster analysis.
#[must_use]
pub fn silhouette(points: &Array2<f64>, labels: &[usize]) -> Vec<f64> {
    let points = points.as_standard_layout();
    let (dimensions, values) = (points.ncols(), points.as_slice().unwrap_or_default());
    let at = |row: usize| &values[row * dimensions..(row + 1) * dimensions];
    let distance =
        |row: usize, other: usize| at(row).iter().zip(at(other)).map(|(a, b)| (a - b) * (a - b)).sum::<f64>().sqrt();
    silhouette_by(labels, distance)
}

/// The same of observations whose distances are known.
pub(in crate::analysis) fn silhouette_by(labels: &[usize], distance: impl Fn(usize, usize) -> f64) -> Vec<f64> {
    let groups = labels.iter().max().map_or(0, |most| most + 1);
    let mut sizes = vec![0_usize; groups];
    for &label in labels {
        sizes[label] += 1;
    }
    if sizes.iter().filter(|size| **size > 0).count() < 2 {
        return Vec::new();
    }
    let mut sums = vec![0.0; groups];
    let one = |(row, &own): (usize, &usize)| {
        if sizes[own] < 2 {
            return 0.0;
        }
        sums.fill(0.0);
        labels.iter().enumerate().for_each(|(other, &label)| sums[label] += distance(row, other));
        width(&sums, &sizes, own)
    };
    labels.iter().enumerate().map(one).collect()
}

/// From the sums of the distances to each group's members.
fn width(sums: &[f64], sizes: &[usize], own: usize) -> f64 {
    let within = sums[own] / (sizes[own] - 1) as f64;
    let next = (0..sizes.len())
        .filter(|&group| group != own && sizes[group] > 0)
        .map(|group| sums[group] / sizes[group] as f64)
        .fold(f64::INFINITY, f64::min);
    let greater = within.max(next);
    if greater > 0.0 { (next - within) / greater } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn one_group_has_no_silhouette_and_twins_have_nought() {
        assert!(silhouette(&array![[0.0], [1.0]], &[0, 0]).is_empty());
        assert_eq!(silhouette(&array![[0.0], [0.0], [0.0], [0.0]], &[0, 0, 1, 1]), vec![0.0; 4]);
    }
}
