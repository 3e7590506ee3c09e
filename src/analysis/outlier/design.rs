//! What a vessel's precision may depend on, as the columns of a regression.

use std::collections::BTreeSet;

use ndarray::Array2;

use crate::math::robust::quantile;

/// Knots of hardness at most, and vessels wanted for each ("project").
const MOST_KNOTS: usize = 5;
const VESSELS_PER_KNOT: usize = 10;

/// What is known of one vessel beside its precision.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::analysis) struct Circumstances {
    /// Its form group, where there is more than one.
    pub(in crate::analysis) form_group: Option<usize>,
    /// Scores along the first form components, where there is one form group.
    pub(in crate::analysis) form_scores: Vec<f64>,
    /// Its size, mm.
    pub(in crate::analysis) size_mm: Option<f64>,
    /// Its material.
    pub(in crate::analysis) material: Option<String>,
    /// Hardness of its material on Mohs' scale.
    pub(in crate::analysis) mohs: Option<f64>,
    /// The instrument it was scanned with.
    pub(in crate::analysis) instrument: Option<String>,
}

/// Columns that stand for one circumstance: vessels x columns.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Block {
    pub(super) word: &'static str,
    pub(super) columns: Array2<f64>,
}

/// The columns of several blocks side by side.
pub(super) fn joined(blocks: &[&Block], vessels: usize) -> Array2<f64> {
    let columns: Vec<_> = blocks.iter().flat_map(|block| block.columns.columns()).collect();
    Array2::from_shape_fn((vessels, columns.len()), |(row, column)| columns[column][row])
}

/// The blocks these circumstances make: numbers standardised, a missing number at the mean, groups and instruments one
/// column each; what does not vary makes none.
pub(super) fn blocks(vessels: &[Circumstances]) -> Vec<Block> {
    let scores = vessels.iter().map(|v| v.form_scores.len()).max().unwrap_or_default();
    let mut form = indicators(vessels, |v| v.form_group);
    form.extend((0..scores).filter_map(|k| standardised(vessels, |v| v.form_scores.get(k).copied())));
    let size = standardised(vessels, |v| v.size_mm.filter(|s| *s > 0.0).map(f64::ln));
    let material = hardness(vessels);
    let instrument = indicators(vessels, |v| v.instrument.clone());
    [("form", form), ("size", size.into_iter().collect()), ("material", material), ("instrument", instrument)]
        .into_iter()
        .filter(|(_, columns)| !columns.is_empty())
        .map(|(word, columns)| {
            let shape = (vessels.len(), columns.len());
            Block { word, columns: Array2::from_shape_fn(shape, |(row, column)| columns[column][row]) }
        })
        .collect()
}

fn standardised(vessels: &[Circumstances], value: impl Fn(&Circumstances) -> Option<f64>) -> Option<Vec<f64>> {
    let values: Vec<Option<f64>> = vessels.iter().map(value).collect();
    let count = values.iter().flatten().count() as f64;
    let mean = values.iter().flatten().sum::<f64>() / count;
    let spread = (values.iter().flatten().map(|v| (v - mean) * (v - mean)).sum::<f64>() / count).sqrt();
    (spread > 1e-9 * (1.0 + mean.abs()))
        .then(|| values.iter().map(|v| v.map_or(0.0, |v| (v - mean) / spread)).collect())
}

/// The material: by its hardness where the catalogue knows that of most vessels, else by its name.
///
/// The usual level runs straight between knots of hardness, since from soft to hard stone the tools change by steps. A
/// vessel of unknown hardness stands between all knots.
fn hardness(vessels: &[Circumstances]) -> Vec<Vec<f64>> {
    let mut known: Vec<f64> = vessels.iter().filter_map(|v| v.mohs).collect();
    if 2 * known.len() < vessels.len() {
        return indicators(vessels, |v| v.material.clone());
    }
    let wanted = (vessels.len() / VESSELS_PER_KNOT).clamp(2, MOST_KNOTS);
    let share = |k: usize| k as f64 / (wanted - 1) as f64;
    let mut knots: Vec<f64> = (0..wanted).filter_map(|k| quantile(&mut known, share(k))).collect();
    knots.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    if knots.len() < 2 {
        return Vec::new();
    }
    let column = |k: usize| {
        let hat = |mohs: f64| {
            let rise = knots.get(k.wrapping_sub(1)).map_or(1.0, |before| (mohs - before) / (knots[k] - before));
            let fall = knots.get(k + 1).map_or(1.0, |after| (after - mohs) / (after - knots[k]));
            rise.min(fall).clamp(0.0, 1.0)
        };
        vessels.iter().map(|v| v.mohs.map_or(1.0 / knots.len() as f64, hat)).collect()
    };
    (0..knots.len()).map(column).collect()
}

fn indicators<K: Ord + Clone>(vessels: &[Circumstances], key: impl Fn(&Circumstances) -> Option<K>) -> Vec<Vec<f64>> {
    let keys: Vec<Option<K>> = vessels.iter().map(key).collect();
    let levels: BTreeSet<&K> = keys.iter().flatten().collect();
    if levels.len() < 2 {
        return Vec::new();
    }
    levels.iter().map(|level| keys.iter().map(|k| f64::from(u8::from(k.as_ref() == Some(*level)))).collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_vary_makes_no_column() {
        let same =
            vec![Circumstances { mohs: Some(3.0), instrument: Some("arm".into()), ..Circumstances::default() }; 3];
        assert!(blocks(&same).is_empty());
    }

    #[test]
    fn missing_sizes_stand_at_the_mean() {
        let vessel = |size_mm| Circumstances { size_mm, ..Circumstances::default() };
        let one = std::f64::consts::E;
        let found = blocks(&[vessel(Some(1.0)), vessel(None), vessel(Some(one * one))]);
        let column = found[0].columns.column(0).to_vec(); // logarithms 0 and 2: mean 1, spread 1
        assert!(column.iter().zip([-1.0, 0.0, 1.0]).all(|(found, wanted)| (found - wanted).abs() < 1e-12));
        assert_eq!(found[0].word, "size");
    }

    #[test]
    fn hardness_runs_straight_between_knots_and_an_unknown_one_stands_between_all() {
        let vessel = |mohs| Circumstances { mohs, ..Circumstances::default() };
        let found = blocks(&[vessel(Some(2.0)), vessel(None), vessel(Some(3.0)), vessel(Some(6.0))]);
        // Two knots, at the least and the greatest: 3 is a quarter of the way.
        assert_eq!(found[0].columns.column(0).to_vec(), [1.0, 0.5, 0.75, 0.0]);
        assert_eq!(found[0].columns.column(1).to_vec(), [0.0, 0.5, 0.25, 1.0]);
    }

    #[test]
    fn the_name_of_the_material_stands_in_for_its_hardness() {
        let vessel = |name: &str| Circumstances { material: Some(name.into()), ..Circumstances::default() };
        let found = blocks(&[vessel("diorite"), vessel("basalt"), vessel("diorite")]);
        assert_eq!((found[0].word, found[0].columns.column(1).to_vec()), ("material", vec![1.0, 0.0, 1.0]));
    }
}
