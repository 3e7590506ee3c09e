//! What the report says that no table knows.

/// What the report says that no table knows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReportFacts {
    /// The study's title; empty for none.
    pub title: String,
    /// Version of the program.
    pub program_version: String,
    /// Version of the published tables.
    pub schema_version: u32,
    /// The seed of every random draw.
    pub seed: u64,
    /// The command that makes these results again; empty if it is not known.
    pub command: String,
    /// Every parameter of the study as key and value, in the order to be shown.
    pub parameters: Vec<(String, String)>,
}

impl ReportFacts {
    /// The word a parameter holds, by its whole key.
    pub(super) fn word(&self, key: &str) -> Option<&str> {
        let found = self.parameters.iter().find(|(name, _)| name == key);
        found.map(|(_, value)| value.trim_matches('"'))
    }

    /// The number a parameter holds, by the last part of its key.
    pub(super) fn number(&self, key: &str) -> Option<f64> {
        let found = self.parameters.iter().find(|(name, _)| name.rsplit('.').next() == Some(key));
        found.and_then(|(_, value)| value.parse().ok()).filter(|v: &f64| v.is_finite())
    }
}
