//! Whether levels scatter alike about their own means.

use ndarray::Array2;

use super::super::permutation::{Arrangements, Draws, PermutationTest, permutation_test};
use crate::quantity::Seed;

/// Fewer observations are not tested: what few are off their means by hangs together too closely to be exchanged. Among two
/// levels of four, scatter that is equal was called unequal at the 5 % level in 8.7 % of 1,500 corpora.
const FEWEST: usize = 10;

/// Tests whether the rows of `values` scatter alike in all levels `of` them, exchanged within `strata` where there are such,
/// whose means are taken off first; `None` of fewer than ten rows or of one level.
///
/// What rows are off the means of their levels by is rearranged, and in each arrangement the means of the levels are taken
/// off again: distances from means that were estimated are shorter than from true ones and hang together within a level, in
/// the arrangements as in what was seen. Rearranging the distances themselves is too eager in small levels (12 % at the 5 %
/// level among three levels of three in three dimensions).
///
/// # References
/// Anderson 2006, Distance-based tests for homogeneity of multivariate dispersions, doi:10.1111/j.1541-0420.2005.00440.x
/// (permutation of least-squares residuals; here with means for centres).
pub(super) fn equal_scatter(
    values: &Array2<f64>,
    of: &[usize],
    strata: Option<&[usize]>,
    seed: Seed,
) -> Option<PermutationTest> {
    let one = vec![0; of.len()];
    let strata = strata.unwrap_or(&one);
    if of.len() < FEWEST || values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let mut rests = values.clone();
    centre(&mut rests, strata);
    centre(&mut rests, of);
    let arrangements = Arrangements::within(of.to_vec(), strata)?;
    let statistic = |levels: &[usize]| ratio(&mut distances(&rests, levels), levels, strata);
    let seen = statistic(of);
    (seen > 0.0).then(|| permutation_test(&arrangements, Draws::affordable(of.len()), seed, statistic))
}

/// Distance of each row from the mean of its level.
///
/// A mean of n rows is drawn towards each of them, so that distances from it are too short by sqrt((n - 1) / n).
fn distances(rests: &Array2<f64>, of: &[usize]) -> Array2<f64> {
    let mut centred = rests.clone();
    let counts = centre(&mut centred, of);
    let distance = |row: usize| {
        let n = counts[of[row]];
        (centred.row(row).dot(&centred.row(row)) * n / (n - 1.0).max(1.0)).sqrt()
    };
    Array2::from_shape_fn((of.len(), 1), |(row, _)| distance(row))
}

/// Sum of squares of distances between levels over that within them, the means of the strata taken off first; 0 where
/// nothing differs between levels.
fn ratio(distances: &mut Array2<f64>, of: &[usize], strata: &[usize]) -> f64 {
    centre(distances, strata);
    let square = |distances: &Array2<f64>| distances.iter().map(|d| d * d).sum::<f64>();
    let whole = square(distances);
    centre(distances, of);
    let within = square(distances);
    (whole - within).max(0.0) / within.max(f64::EPSILON * whole).max(f64::MIN_POSITIVE)
}

/// Takes the mean of each class off its rows; gives the classes' sizes.
fn centre(values: &mut Array2<f64>, of: &[usize]) -> Vec<f64> {
    let classes = of.iter().max().map_or(0, |most| most + 1);
    let (mut counts, mut sums) = (vec![0.0; classes], Array2::<f64>::zeros((classes, values.ncols())));
    for (row, &class) in values.rows().into_iter().zip(of) {
        counts[class] += 1.0;
        sums.row_mut(class).scaled_add(1.0, &row);
    }
    for (mut row, &class) in values.rows_mut().into_iter().zip(of) {
        row.scaled_add(-1.0 / counts[class], &sums.row(class));
    }
    counts
}

#[cfg(test)]
mod tests {
    use rand::Rng;
    use rand_distr::StandardNormal;

    use super::*;

    fn normals(rows: usize, dimensions: usize, seed: Seed) -> Array2<f64> {
        let mut rng = seed.rng();
        Array2::from_shape_fn((rows, dimensions), |_| rng.sample::<f64, _>(StandardNormal))
    }

    /// Levels of three to six vessels that scatter alike are called unequal about as often as stated; `TORNUS_FULL=1` takes
    /// 5,000 corpora instead of 150.
    #[test]
    fn small_levels_that_scatter_alike_are_seldom_called_unequal() {
        let corpora: u64 = if std::env::var_os("TORNUS_FULL").is_some() { 5_000 } else { 150 };
        let designs: [&[usize]; 4] = [&[3, 4, 6], &[5, 5], &[4, 4, 4], &[3, 30]];
        for (design, dimensions) in designs.iter().flat_map(|design| [(design, 1), (design, 3)]) {
            let of: Vec<usize> = design.iter().enumerate().flat_map(|(level, count)| vec![level; *count]).collect();
            let small = |corpus: &u64| {
                let values = normals(of.len(), dimensions, Seed::new(3).derive(*corpus));
                equal_scatter(&values, &of, None, Seed::new(4)).is_some_and(|test| test.p() <= 0.05)
            };
            let share = (0..corpora).filter(small).count() as f64 / corpora as f64;
            // Independent numpy found 5.2 to 7.3 % of 1,500 corpora; four standard deviations of a share are allowed beyond.
            let allowed = 0.073 + 4.0 * (0.073 * 0.927 / corpora as f64).sqrt();
            assert!(share <= allowed, "levels of {design:?}, {dimensions} dimensions: {share}");
        }
    }

    #[test]
    fn unequal_scatter_is_found_and_too_few_are_not_tested() {
        let of: Vec<usize> = (0..24).map(|row| row % 2).collect();
        let mut values = normals(24, 2, Seed::new(5));
        values.rows_mut().into_iter().skip(1).step_by(2).for_each(|mut row| row *= 0.1);
        assert!(equal_scatter(&values, &of, None, Seed::new(6)).unwrap().p() < 0.01);
        let few = values.slice(ndarray::s![..8, ..]).to_owned();
        assert_eq!(equal_scatter(&few, &of[..8], None, Seed::new(6)), None);
        assert_eq!(equal_scatter(&Array2::zeros((24, 2)), &of, None, Seed::new(6)), None, "nothing scatters");
    }
}
