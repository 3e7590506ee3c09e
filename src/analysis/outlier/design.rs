//! What a vessel's precision may depend on, as the columns of a regression.

use std::collections::BTreeSet;

use ndarray::Array2;

/// What is known of one vessel beside its precision.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::analysis) struct Circumstances {
    /// Its form group, where there is more than one.
    pub(in crate::analysis) form_group: Option<usize>,
    /// Scores along the first form components, where there is one form group.
    pub(in crate::analysis) form_scores: Vec<f64>,
    /// Its size, mm.
    pub(in crate::analysis) size_mm: Option<f64>,
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
    let hardness = standardised(vessels, |v| v.mohs);
    // The square as well: from soft to medium stone the tools change more than from medium to hard.
    let curved = hardness.as_ref().map(|h| h.iter().map(|x| x * x - 1.0).collect::<Vec<_>>());
    let material: Vec<_> = hardness.into_iter().chain(curved.filter(|c| varies(c))).collect();
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

/// Whether a column's values differ.
fn varies(column: &[f64]) -> bool {
    let mean = column.iter().sum::<f64>() / column.len() as f64;
    column.iter().any(|value| (value - mean).abs() > 1e-6)
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
    fn missing_numbers_stand_at_the_mean() {
        let vessel = |mohs| Circumstances { mohs, ..Circumstances::default() };
        let found = blocks(&[vessel(Some(2.0)), vessel(None), vessel(Some(4.0))]);
        assert_eq!(found[0].columns.column(0).to_vec(), [-1.0, 0.0, 1.0]); // mean 3, spread 1
        assert_eq!(found[0].word, "material");
    }
}
