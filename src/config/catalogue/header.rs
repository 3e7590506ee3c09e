//! The header row: which column is which.

use super::Problem;
use crate::config::nearest;

/// The columns the program reads, the required ones first.
pub(super) const KNOWN: [&str; 14] = [
    "vessel_id",
    "file",
    "unit",
    "content",
    "instrument",
    "u_instrument_mm",
    "up",
    "stands_on_foot",
    "material",
    "mohs",
    "density_g_cm3",
    "reference",
    "ct_cost",
    "setting",
];

/// How many of [`KNOWN`] must be there.
const REQUIRED: usize = 3;

/// The names of the columns, trimmed; a nameless column has the name of nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Header {
    pub(super) names: Vec<String>,
}

impl Header {
    /// Checks the header row.
    pub(super) fn new(names: Vec<String>) -> Result<Self, Vec<Problem>> {
        let problem = |column: &str, what: String| Problem { line: 1, column: column.to_owned(), what };
        if let [only] = names.as_slice()
            && only.contains([';', '\t'])
        {
            return Err(vec![problem("", "expected columns separated by commas, found semicolons or tabs".to_owned())]);
        }
        let mut problems = Vec::new();
        for (index, name) in names.iter().enumerate().filter(|(_, name)| !name.is_empty()) {
            if names[..index].contains(name) {
                problems.push(problem(name, "this column is there twice".to_owned()));
            }
        }
        for required in KNOWN.iter().take(REQUIRED).filter(|required| !names.iter().any(|name| name == **required)) {
            let meant = nearest(required, names.iter().map(String::as_str));
            let hint = meant.map(|name| format!("; is `{name}` meant to be it?")).unwrap_or_default();
            problems.push(problem(required, format!("this column is missing{hint}")));
        }
        if problems.is_empty() { Ok(Self { names }) } else { Err(problems) }
    }

    /// Where a column stands.
    pub(super) fn index(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|known| known == name)
    }

    /// The columns that are only carried through, in order.
    pub(super) fn carried(&self) -> impl Iterator<Item = (usize, &str)> {
        let unknown = |name: &str| !name.is_empty() && !KNOWN.contains(&name);
        self.names.iter().enumerate().map(|(index, name)| (index, name.as_str())).filter(move |(_, name)| unknown(name))
    }

    /// A column that looks like a known one misspelt, with the known one.
    pub(super) fn doubtful(&self) -> Vec<(&str, &'static str)> {
        let absent: Vec<&'static str> = KNOWN.into_iter().filter(|known| self.index(known).is_none()).collect();
        self.carried().filter_map(|(_, name)| Some((name, nearest(name, absent.iter().copied())?))).collect()
    }
}
