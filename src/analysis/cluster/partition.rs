//! Partitions by the methods that do not know of noise: each chooses its number of groups by its own criterion.
//!
//! Of more vessels than pairs of them can be held, a sample drawn at random is partitioned. By linkage every vessel then goes
//! with the nearest mean of the groups that the sample's tree makes, otherwise with the nearest that was drawn; what that
//! changes is tested beneath.

use ndarray::{Array2, Axis};

use super::super::statistics::agglomerative_coefficient;
use super::choice::{MOST_CHOSEN_ON, drawn, most_groups};
use super::density::{by_density, candidates};
use super::full_mixture::full_mixture;
use super::gap::{self, Gap};
use super::grouping::Choice;
use super::kmeans::kmeans;
use super::linkage::{Merge, average_tree, cut, ward_tree};
use super::method::Method;
use crate::math::kd_tree::KdTree;
use crate::quantity::Seed;

/// The gap statistic, the null of density and the mixture of full covariances are taken on at most this many vessels: the
/// first two ask for the number of groups, not for who is in them, and 20 simulated corpora of more would take most of the
/// time of a comparison.
const MOST_REFERRED_TO: usize = 500;

/// Starts of k-means of the points themselves, and of a reference of the gap statistic.
const KMEANS_STARTS: (usize, usize) = (10, 3);

/// The partition one method makes.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Partition {
    /// Group of each row; `None`: in no group.
    pub(super) labels: Vec<Option<usize>>,
    /// How many groups.
    pub(super) groups: usize,
    /// The candidates, one of them chosen; none where the number was given.
    pub(super) choices: Vec<Choice>,
    /// Agglomerative coefficient, where there is a tree.
    pub(super) agglomerative: Option<f64>,
    /// Vessels the method itself was run on.
    pub(super) sampled: usize,
    /// Share of the vessels with company within reach, by density.
    pub(super) share: Option<f64>,
}

impl Partition {
    /// A partition of all rows, without what led to it.
    pub(super) fn new(labels: Vec<Option<usize>>) -> Self {
        let groups = labels.iter().flatten().max().map_or(0, |most| most + 1);
        Self { sampled: labels.len(), labels, groups, choices: Vec::new(), agglomerative: None, share: None }
    }
}

/// The partition of the rows of `points` by a method, into `fixed` groups or as many as its criterion chooses; `None` where
/// it makes none.
pub(super) fn partition(method: Method, points: &Array2<f64>, fixed: Option<usize>, seed: Seed) -> Option<Partition> {
    partition_of_sample(method, points, fixed, MOST_CHOSEN_ON, seed)
}

fn partition_of_sample(
    method: Method,
    points: &Array2<f64>,
    fixed: Option<usize>,
    most: usize,
    seed: Seed,
) -> Option<Partition> {
    let part = |most: usize, seed: Seed| points.select(Axis(0), &drawn(points.nrows(), most, seed));
    let few = part(MOST_REFERRED_TO, seed.derive(8));
    let part = if method == Method::FullMixture { few.clone() } else { part(most, seed.derive(9)) };
    let mut found = match method {
        Method::Mixture => None,
        Method::FullMixture => by_full_mixture(&part, fixed, seed),
        Method::KMeans => by_kmeans(points, &few, fixed, seed),
        Method::Ward => by_linkage(method, ward_tree, &part, &few, fixed, seed),
        Method::Average => by_linkage(method, average_tree, &part, &few, fixed, seed),
        Method::Density => density(&part, &few, fixed, seed),
    }?;
    if found.labels.len() < points.nrows() {
        found.labels = if matches!(method, Method::Ward | Method::Average) {
            with_nearest_mean(points, &part, &found)
        } else {
            let reach = found.share.and_then(|share| by_density(&part, share)).map(|(_, reach)| reach);
            spread(points, &part, &found.labels, reach)
        };
    }
    Some(found)
}

/// The same method once more on these rows of `points`, into as many groups; by density, as dense ones.
///
/// A row drawn twice is taken once: two vessels in one place would be a dense place.
pub(super) fn again(
    method: Method,
    like: &Partition,
    points: &Array2<f64>,
    rows: &[usize],
    seed: Seed,
) -> Option<Vec<Option<usize>>> {
    let mut distinct = rows.to_vec();
    distinct.sort_unstable();
    distinct.dedup();
    let part = points.select(Axis(0), &distinct);
    let all = |labels: Vec<usize>| labels.into_iter().map(Some).collect();
    let labels: Vec<Option<usize>> = match method {
        Method::Mixture => return None,
        Method::FullMixture => all(full_mixture(&part, like.groups, seed)?.labels),
        Method::KMeans => all(kmeans(&part, like.groups, KMEANS_STARTS.1, seed)?.labels),
        Method::Ward => all(cut(&ward_tree(&part), part.nrows(), like.groups)),
        Method::Average => all(cut(&average_tree(&part), part.nrows(), like.groups)),
        Method::Density => by_density(&part, like.share?)?.0,
    };
    Some(rows.iter().map(|row| distinct.binary_search(row).ok().and_then(|at| labels[at])).collect())
}

/// Labels of all `points` from those of a part: that of the nearest in it, none beyond `reach`.
fn spread(
    points: &Array2<f64>,
    part: &Array2<f64>,
    labels: &[Option<usize>],
    reach: Option<f64>,
) -> Vec<Option<usize>> {
    let tree = KdTree::new(part);
    let near = |square: f64| reach.is_none_or(|reach| square <= reach * reach);
    let one = |row| tree.nearest(row, 1, None).first().filter(|n| near(n.square)).and_then(|n| labels[n.row]);
    points.rows().into_iter().map(one).collect()
}

/// Labels of all `points`, drawn or not, from the groups of a part: that of the nearest mean.
///
/// The nearest that was drawn may itself be astray where groups meet, and takes the vessels about it along; a mean is not.
fn with_nearest_mean(points: &Array2<f64>, part: &Array2<f64>, found: &Partition) -> Vec<Option<usize>> {
    let (mut means, mut counts) = (Array2::<f64>::zeros((found.groups, part.ncols())), vec![0.0; found.groups]);
    for (row, label) in part.rows().into_iter().zip(&found.labels).filter_map(|(row, label)| Some((row, (*label)?))) {
        means.row_mut(label).scaled_add(1.0, &row);
        counts[label] += 1.0;
    }
    means.rows_mut().into_iter().zip(&counts).for_each(|(mut mean, count)| mean.mapv_inplace(|sum| sum / count));
    spread(points, &means, &(0..found.groups).map(Some).collect::<Vec<_>>(), None)
}

fn whole(labels: Vec<usize>, choices: Vec<Choice>, agglomerative: Option<f64>) -> Partition {
    Partition { choices, agglomerative, ..Partition::new(labels.into_iter().map(Some).collect()) }
}

fn by_kmeans(points: &Array2<f64>, few: &Array2<f64>, fixed: Option<usize>, seed: Seed) -> Option<Partition> {
    let partitions = |points: &Array2<f64>, most: usize, seed: Seed| -> Vec<Vec<usize>> {
        let one = |groups: usize| kmeans(points, groups, KMEANS_STARTS.1, seed.derive(groups as u64)).map(|f| f.labels);
        (1..=most).map_while(one).collect()
    };
    let (groups, choices) = number(Method::KMeans, few, fixed, seed, partitions);
    Some(whole(kmeans(points, groups, KMEANS_STARTS.0, seed.derive(7))?.labels, choices, None))
}

fn by_linkage(
    method: Method,
    tree_of: fn(&Array2<f64>) -> Vec<Merge>,
    part: &Array2<f64>,
    few: &Array2<f64>,
    fixed: Option<usize>,
    seed: Seed,
) -> Option<Partition> {
    let partitions = |points: &Array2<f64>, most: usize, _: Seed| -> Vec<Vec<usize>> {
        let tree = tree_of(points);
        (1..=most).map(|groups| cut(&tree, points.nrows(), groups)).collect()
    };
    let (groups, choices) = number(method, few, fixed, seed, partitions);
    let tree = tree_of(part);
    let merges: Vec<_> = tree.iter().map(|merge| (merge.first, merge.second, merge.height)).collect();
    let coefficient = agglomerative_coefficient(part.nrows(), &merges);
    Some(whole(cut(&tree, part.nrows(), groups), choices, coefficient))
}

/// The number of groups, given or by the gap statistic.
fn number<P>(method: Method, few: &Array2<f64>, fixed: Option<usize>, seed: Seed, partitions: P) -> (usize, Vec<Choice>)
where
    P: Fn(&Array2<f64>, usize, Seed) -> Vec<Vec<usize>> + Sync,
{
    if let Some(groups) = fixed {
        return (groups, Vec::new());
    }
    let gaps: Vec<Gap> = gap::gaps(few, most_groups(few.nrows()), seed, partitions);
    let chosen = gap::chosen(&gaps);
    let choice = |(index, gap): (usize, &Gap)| Choice {
        method: method.words().to_owned(),
        groups: index + 1,
        criterion: "gap",
        value: gap.gap,
        chosen: index + 1 == chosen,
    };
    (chosen, gaps.iter().enumerate().map(choice).collect())
}

fn by_full_mixture(part: &Array2<f64>, fixed: Option<usize>, seed: Seed) -> Option<Partition> {
    let numbers = fixed.map_or(1..=most_groups(part.nrows()), |groups| groups..=groups);
    let fits: Vec<_> =
        numbers.filter_map(|groups| Some((groups, full_mixture(part, groups, seed.derive(groups as u64))?))).collect();
    let better = |best: usize, next: usize| if fits[next].1.bic > fits[best].1.bic { next } else { best };
    let best = (0..fits.len()).reduce(better)?;
    let choice = |(index, (groups, fit)): (usize, &(usize, super::full_mixture::FullMixture))| Choice {
        method: Method::FullMixture.words().to_owned(),
        groups: *groups,
        criterion: "bic",
        value: fit.bic,
        chosen: index == best,
    };
    Some(whole(fits[best].1.labels.clone(), fits.iter().enumerate().map(choice).collect(), None))
}

/// Density finds its own number of groups; of a given number, the best of that number or nothing.
fn density(part: &Array2<f64>, few: &Array2<f64>, fixed: Option<usize>, seed: Seed) -> Option<Partition> {
    let (found, best) = candidates(few, seed.derive(5));
    let chosen = fixed.map_or(best, |groups| found.iter().position(|candidate| candidate.groups == groups));
    if fixed.is_some_and(|groups| groups > 1) && chosen.is_none() {
        return None;
    }
    let choices = found.iter().enumerate().map(|(index, candidate)| Choice {
        method: Method::Density.words().to_owned(),
        groups: candidate.groups,
        criterion: "silhouette",
        value: candidate.value,
        chosen: Some(index) == chosen,
    });
    let choices = choices.collect();
    let Some(chosen) = chosen else { return Some(whole(vec![0; part.nrows()], choices, None)) };
    let share = found[chosen].share;
    let (labels, _) = by_density(part, share)?;
    Some(Partition { choices, share: Some(share), ..Partition::new(labels) })
}

#[cfg(test)]
mod tests {
    use super::super::choice::choose;
    use super::super::evidence::Evidence;
    use super::*;
    use crate::analysis::statistics::adjusted_rand;
    use rand::Rng;
    use rand_distr::StandardNormal;

    /// `rows` places of six groups in three dimensions, `apart` standard deviations from one to the next.
    fn six(rows: usize, apart: f64, seed: u64) -> (Array2<f64>, Vec<usize>) {
        const AT: [[f64; 3]; 6] =
            [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 1.0, 0.0], [0.0, 1.0, 1.0]];
        let mut rng = Seed::new(seed).rng();
        let place = |(row, k): (usize, usize)| apart * AT[row % 6][k] + rng.sample::<f64, _>(StandardNormal);
        (Array2::from_shape_fn((rows, 3), place), (0..rows).map(|row| row % 6).collect())
    }

    fn known(labels: &[Option<usize>]) -> Vec<usize> {
        labels.iter().map(|label| label.unwrap_or(usize::MAX)).collect()
    }

    #[test]
    fn on_clean_data_every_method_finds_the_same_groups() {
        let (points, truth) = six(120, 12.0, 1);
        let clean = Evidence::from_points(&points, &[0.0; 3]);
        let mixture = choose(&clean, None, Seed::new(2)).unwrap().fit.labels().into_iter().map(Some).collect();
        let mut all = vec![(Method::Mixture, Partition::new(mixture))];
        let others = Method::ALL.into_iter().filter(|method| *method != Method::Mixture);
        all.extend(others.map(|method| (method, partition(method, &points, None, Seed::new(2)).unwrap())));
        for (method, found) in all {
            let rows: Vec<usize> = (0..120).filter(|&row| found.labels[row].is_some()).collect();
            let own: Vec<usize> = rows.iter().filter_map(|&row| found.labels[row]).collect();
            let wanted: Vec<usize> = rows.iter().map(|&row| truth[row]).collect();
            assert!(adjusted_rand(&wanted, &own) > 0.99, "{method:?}: {} groups", found.groups);
            assert!(rows.len() > 100, "{method:?} leaves {} out", 120 - rows.len());
        }
    }

    /// What sampling changes: 2,000 vessels by the whole tree and by the tree of 500 of them.
    ///
    /// Labels of the two differ where two groups meet. By another package's trees (scipy, four draws each; least in brackets) the
    /// two agree at 0.86 (0.84) by Ward's and 0.81 (0.72) by average linkage where groups are 4 standard deviations apart, 0.95
    /// (0.94) at 5, 0.985 (0.977) at 6 and 1 at 8, while the agreement with the truth is not the whole tree's but greater, by 0.05
    /// to 0.1, 0.02, 0.01 and 0: the mean of a group is surer than the tree's own joints. Half as much again below the least is
    /// allowed for other draws.
    #[test]
    fn the_tree_of_a_sample_divides_as_the_whole_tree_does() {
        for (apart, least) in [(4.0, [0.76, 0.58]), (6.0, [0.979, 0.966])] {
            for (method, least, seed) in [(Method::Ward, least[0], 1), (Method::Average, least[1], 2)] {
                let (points, truth) = six(2_000, apart, seed);
                let of = |most: usize| partition_of_sample(method, &points, Some(6), most, Seed::new(3)).unwrap();
                let (whole, part) = (of(2_000), of(500));
                assert_eq!(whole.labels.len(), part.labels.len());
                let agreement = adjusted_rand(&known(&whole.labels), &known(&part.labels));
                let lost = adjusted_rand(&truth, &known(&whole.labels)) - adjusted_rand(&truth, &known(&part.labels));
                assert!(agreement >= least, "{method:?} at {apart}: {agreement}");
                assert!(lost <= 0.0, "{method:?} at {apart}: {lost}");
            }
        }
    }

    #[test]
    fn a_vessel_drawn_twice_is_in_one_group() {
        let (points, _) = six(60, 12.0, 4);
        let like = partition(Method::Average, &points, None, Seed::new(5)).unwrap();
        let rows: Vec<usize> = (0..60).map(|row| row / 2).collect();
        let found = again(Method::Average, &like, &points, &rows, Seed::new(6)).unwrap();
        assert!(found.chunks(2).all(|pair| pair[0].is_some() && pair[0] == pair[1]));
    }
}
