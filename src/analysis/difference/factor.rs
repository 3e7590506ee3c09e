//! Catalogue columns that part the vessels into levels.

use std::collections::BTreeMap;

use super::super::AnalysisError;
use crate::table::{Column, ColumnData, Table};

/// Vessels a level needs to be tested ("project": two have a spread that says nothing, and one none).
pub(super) const FEWEST_OF_LEVEL: usize = 3;

/// Levels a column may have to be taken unasked ("project": more make a hundred pairs, of which nobody reads one).
const MOST_LEVELS: usize = 8;

/// Share of the vessels that must have a value and be in a level large enough, for a column to be taken unasked: an
/// inventory number is no factor.
const LEAST_SHARE: f64 = 0.5;

/// A catalogue column as a factor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Factor {
    /// The column.
    pub name: String,
    /// Its values, sorted.
    pub levels: Vec<String>,
    /// Each vessel's level, where it has one.
    pub(super) of: BTreeMap<String, usize>,
}

impl Factor {
    fn new(vessels: &[Option<String>], name: &str, values: &[Option<String>]) -> Self {
        let mut levels: Vec<String> = values.iter().flatten().cloned().collect();
        levels.sort_unstable();
        levels.dedup();
        let level = |value: &String| levels.binary_search(value).ok();
        let known = vessels.iter().zip(values);
        let of = known.filter_map(|(id, value)| Some((id.clone()?, level(value.as_ref()?)?))).collect();
        Self { name: name.to_owned(), levels, of }
    }

    /// Whether the column is worth testing unasked.
    fn is_telling(&self, vessels: usize) -> bool {
        let mut counts = vec![0; self.levels.len()];
        self.of.values().for_each(|&level| counts[level] += 1);
        let large = || counts.iter().filter(|&&count| count >= FEWEST_OF_LEVEL);
        let held: usize = large().sum();
        (2..=MOST_LEVELS).contains(&large().count()) && held as f64 >= LEAST_SHARE * vessels as f64
    }
}

/// The factors asked for, or every column of words that is worth testing, in the order of the table.
pub(in crate::analysis) fn factors(vessels: &Table, asked: Option<&[String]>) -> Result<Vec<Factor>, AnalysisError> {
    let ids = vessels.texts("vessel_id")?;
    let of = |column: &Column| match &column.data {
        ColumnData::Text(values) if column.name != "vessel_id" => Some(Factor::new(ids, &column.name, values)),
        _ => None,
    };
    match asked {
        None => Ok(vessels.columns().iter().filter_map(of).filter(|factor| factor.is_telling(ids.len())).collect()),
        Some(names) => {
            let named = |name: &String| {
                let column = vessels.columns().iter().find(|column| column.name == *name);
                column.and_then(of).ok_or_else(|| AnalysisError::NoFactor { name: name.clone() })
            };
            names.iter().map(named).collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn vessels() -> Table {
        let id = |i: usize| format!("v{i}");
        let some = |value: &str| Some(value.to_owned());
        let columns = vec![
            Column::texts("vessel_id", (0..12).map(id)),
            Column::optional_texts("material", (0..12).map(|i| some(if i < 6 { "basalt" } else { "alabaster" }))),
            Column::optional_texts("inventory", (0..12).map(|i| some(&format!("n{i}")))),
            Column::optional_texts("donor", (0..12).map(|i| if i < 4 { some(["ann", "bo"][i % 2]) } else { None })),
            Column::floats("height", (0..12).map(|i| i as f64)),
        ];
        Table::new("vessels", columns).unwrap()
    }

    #[test]
    fn columns_worth_testing_are_taken_unasked() {
        let found = factors(&vessels(), None).unwrap();
        assert_eq!(found.iter().map(|f| f.name.as_str()).collect::<Vec<_>>(), ["material"]);
        assert_eq!(found[0].levels, ["alabaster", "basalt"]);
        assert_eq!((found[0].of["v0"], found[0].of["v11"]), (1, 0));
    }

    #[test]
    fn what_is_asked_for_is_taken_or_refused() {
        let asked = |name: &str| factors(&vessels(), Some(&[name.to_owned()]));
        assert_eq!(asked("donor").unwrap()[0].of.len(), 4);
        assert_eq!(asked("height"), Err(AnalysisError::NoFactor { name: "height".to_owned() }));
        assert_eq!(factors(&vessels(), Some(&[])).unwrap().len(), 0);
    }
}
