//! The variance of a placement parted among factors and covariates.

use std::collections::BTreeMap;

use ndarray::{Array1, Array2, Axis};

use super::arrangement::Arrangements;
use super::placement::Placement;
use super::test::{Draws, PermutationTest, permutation_test};
use crate::quantity::Seed;

/// A column whose part outside the terms before it is less than this share of its length repeats them.
const REPEATED: f64 = 1e-9;

/// What a part of the variance may go with: a factor, a covariate, or how one changes with another.
#[derive(Clone, Debug, PartialEq)]
pub struct Term {
    columns: Array2<f64>,
}

impl Term {
    /// A factor, given each observation's level.
    #[must_use]
    pub fn factor(levels: &[usize]) -> Self {
        let mut known = levels.to_vec();
        known.sort_unstable();
        known.dedup();
        let indicator = |(row, level): (usize, usize)| f64::from(u8::from(levels[row] == known[level]));
        Self { columns: Array2::from_shape_fn((levels.len(), known.len()), indicator) }
    }

    /// A covariate.
    #[must_use]
    pub fn covariate(values: &[f64]) -> Self {
        Self { columns: Array1::from(values.to_vec()).insert_axis(Axis(1)) }
    }

    /// How the effect of one term changes with the other; both should stand before it.
    #[must_use]
    pub fn interaction(&self, other: &Self) -> Self {
        let (own, others) = (self.columns.ncols(), other.columns.ncols());
        let rows = self.columns.nrows().min(other.columns.nrows());
        let product = |(row, k): (usize, usize)| self.columns[[row, k / others]] * other.columns[[row, k % others]];
        Self { columns: Array2::from_shape_fn((rows, own * others), product) }
    }
}

/// What one term has of the variance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TermTest {
    /// Degrees of freedom; 0 if the terms before it say the same.
    pub freedom: usize,
    /// Sum of squares, after the terms before it.
    pub sum_of_squares: f64,
    /// Mean square over the residual mean square; `None` without degrees of freedom or residual.
    pub f: Option<f64>,
    /// The ratio against its rearrangements; `None` without a ratio.
    pub test: Option<PermutationTest>,
}

/// The variance of a placement parted among terms.
#[derive(Clone, Debug, PartialEq)]
pub struct VarianceByTerms {
    /// The terms in their order.
    pub terms: Vec<TermTest>,
    /// What no term has.
    pub residual: f64,
    /// Its degrees of freedom.
    pub residual_freedom: usize,
    /// The whole.
    pub total: f64,
}

/// Parts the variance of a placement among `terms`, each after those before it, and tests each by rearranging observations.
///
/// With one factor and measured variables this is the multivariate analysis of variance by permutation; with distances it is
/// its distance-based form. `strata`, one per observation, hold what must not be exchanged; put the strata as a factor
/// first, so that a term is judged by its variance within them. `None` if the numbers of observations differ.
///
/// # Units and shapes
/// Squared units of the placement.
///
/// # Example
/// Four observations at 0, 2, 10 and 12, two and two: group means 1 and 11 about 6, so 4 x 5^2 = 100 between and 4 x 1^2
/// within; F = (100 / 1) / (4 / 2) = 50.
/// ```
/// use ndarray::array;
/// use tornus::Seed;
/// use tornus::analysis::permutation::{Draws, Placement, Term, variance_by_terms};
/// let placed = Placement::of_variables(&array![[0.0], [2.0], [10.0], [12.0]]).unwrap();
/// let found = variance_by_terms(&placed, &[Term::factor(&[0, 0, 1, 1])], None, Draws::MOST, Seed::new(1)).unwrap();
/// assert!((found.terms[0].f.unwrap() - 50.0).abs() < 1e-9);
/// assert_eq!(found.terms[0].test.unwrap().p(), 2.0 / 6.0); // of six arrangements two part them so
/// ```
///
/// # References
/// Anderson 2001, A new method for non-parametric multivariate analysis of variance, doi:10.1111/j.1442-9993.2001.01070.pp.x;
/// McArdle & Anderson 2001, Fitting multivariate models to community data (the general form).
#[must_use]
pub fn variance_by_terms(
    placement: &Placement,
    terms: &[Term],
    strata: Option<&[usize]>,
    draws: Draws,
    seed: Seed,
) -> Option<VarianceByTerms> {
    let n = placement.observations();
    if terms.iter().any(|term| term.columns.nrows() != n) || strata.is_some_and(|strata| strata.len() != n) {
        return None;
    }
    let (basis, freedoms) = orthonormal(terms, n);
    let one = vec![0; n];
    let arrangements = Arrangements::within(alike(terms, n), strata.unwrap_or(&one))?;
    let total = placement.sum_of_squares();
    let parts = Parts { placement, basis: &basis, freedoms: &freedoms, total };
    let sums = parts.sums(&(0..n).collect::<Vec<_>>());
    let residual = total - sums.iter().sum::<f64>();
    let tested = |k: usize| {
        let f = parts.ratio(&sums, k);
        let statistic = |rows: &[usize]| parts.ratio(&parts.sums(rows), k).unwrap_or_default();
        let test = f.map(|_| permutation_test(&arrangements, draws, seed.derive(k as u64), statistic));
        TermTest { freedom: freedoms[k], sum_of_squares: sums[k], f, test }
    };
    Some(VarianceByTerms {
        terms: (0..terms.len()).map(tested).collect(),
        residual,
        residual_freedom: parts.residual_freedom(),
        total,
    })
}

struct Parts<'a> {
    placement: &'a Placement,
    /// Observations x degrees of freedom, the terms' columns one after another.
    basis: &'a Array2<f64>,
    freedoms: &'a [usize],
    total: f64,
}

impl Parts<'_> {
    fn residual_freedom(&self) -> usize {
        self.basis.nrows().saturating_sub(1 + self.basis.ncols())
    }

    /// Sum of squares of each term, with row `rows[i]` of the design at observation i.
    fn sums(&self, rows: &[usize]) -> Vec<f64> {
        let along = self.basis.select(Axis(0), rows).t().dot(&self.placement.coordinates);
        let square = |row: usize| -> f64 {
            along.row(row).iter().enumerate().map(|(k, value)| self.placement.signed(k, value * value)).sum()
        };
        let mut next = 0;
        let mut sums = Vec::with_capacity(self.freedoms.len());
        for freedom in self.freedoms {
            sums.push((next..next + freedom).map(square).sum());
            next += freedom;
        }
        sums
    }

    /// The ratio of mean squares of a term. A residual of nothing but rounding makes it infinite, not undefined.
    fn ratio(&self, sums: &[f64], k: usize) -> Option<f64> {
        let (freedom, left) = (self.freedoms[k], self.residual_freedom());
        if freedom == 0 || left == 0 || self.total <= 0.0 {
            return None;
        }
        let residual = (self.total - sums.iter().sum::<f64>()).max(f64::EPSILON * self.total);
        Some((sums[k] / freedom as f64) / (residual / left as f64))
    }
}

/// An orthonormal basis of the terms, each after the constant and the terms before it, and how many columns each adds.
fn orthonormal(terms: &[Term], n: usize) -> (Array2<f64>, Vec<usize>) {
    let constant = Array1::from_elem(n, 1.0 / (n.max(1) as f64).sqrt());
    let mut basis = vec![constant];
    let mut freedoms = Vec::with_capacity(terms.len());
    for term in terms {
        let before = basis.len();
        for column in term.columns.columns() {
            let mut rest = column.to_owned();
            let length = rest.dot(&rest).sqrt();
            // Twice: once leaves behind rounding in the directions taken away ("twice is enough", Parlett, from memory).
            for _ in 0..2 {
                for known in &basis {
                    let along = known.dot(&rest);
                    rest.scaled_add(-along, known);
                }
            }
            let left = rest.dot(&rest).sqrt();
            if left > REPEATED * length {
                basis.push(rest / left);
            }
        }
        freedoms.push(basis.len() - before);
    }
    let columns = basis.len() - 1;
    (Array2::from_shape_fn((n, columns), |(row, column)| basis[column + 1][row]), freedoms)
}

/// The first observation with the same values in every term: rows of the design that are one and the same.
fn alike(terms: &[Term], n: usize) -> Vec<usize> {
    let mut first: BTreeMap<Vec<u64>, usize> = BTreeMap::new();
    let design = |row: usize| terms.iter().flat_map(|term| term.columns.row(row).to_vec()).map(f64::to_bits).collect();
    (0..n).map(|row| *first.entry(design(row)).or_insert(row)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    fn test(values: &Array2<f64>, levels: &[usize], strata: Option<&[usize]>) -> TermTest {
        let placed = Placement::of_variables(values).unwrap();
        let terms = match strata {
            Some(strata) => vec![Term::factor(strata), Term::factor(levels)],
            None => vec![Term::factor(levels)],
        };
        let found = variance_by_terms(&placed, &terms, strata, Draws::new(999), Seed::new(7)).unwrap();
        let parts: f64 = found.terms.iter().map(|term| term.sum_of_squares).sum::<f64>() + found.residual;
        assert!((parts - found.total).abs() < 1e-9 * found.total.max(1.0));
        found.terms.last().copied().unwrap()
    }

    #[test]
    fn nothing_to_part_is_no_test() {
        assert_eq!(test(&array![[1.0], [2.0], [3.0]], &[0, 0, 0], None).f, None);
        assert_eq!(test(&array![[1.0], [1.0], [1.0]], &[0, 1, 1], None).f, None, "no variance");
        assert_eq!(test(&array![[1.0], [4.0]], &[0, 1], None).f, None, "no residual");
        let perfect = test(&array![[1.0], [1.0], [4.0], [4.0]], &[0, 0, 1, 1], None);
        assert!((perfect.test.unwrap().p() - 2.0 / 6.0).abs() < 1e-15);
    }

    #[test]
    fn an_instrument_that_shifts_is_no_difference_between_levels() {
        // Levels 0 and 1 differ by what instrument 1 adds, and not within either instrument.
        let values = array![[0.0], [1.0], [2.0], [1.0], [11.0], [10.0], [12.0], [11.0]];
        let (levels, instruments) = ([0, 0, 0, 1, 0, 1, 1, 1], [0, 0, 0, 0, 1, 1, 1, 1]);
        let (free, within) = (test(&values, &levels, None), test(&values, &levels, Some(&instruments)));
        assert!(within.test.unwrap().p() > 0.5 && free.f.unwrap() > within.f.unwrap());
        // 4 arrangements within either instrument.
        assert_eq!(within.test.unwrap().arrangements, 16);
        // A factor that is the instrument leaves nothing within it.
        assert_eq!(test(&values, &instruments, Some(&instruments)).freedom, 0);
    }

    #[test]
    fn thread_count_and_order_of_columns_change_nothing() {
        let values = Array2::from_shape_fn((40, 3), |(i, j)| ((i * 7 + j * 13) % 11) as f64);
        let levels: Vec<usize> = (0..40).map(|i| i % 3).collect();
        let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        assert_eq!(one.install(|| test(&values, &levels, None)), test(&values, &levels, None));
    }
}
