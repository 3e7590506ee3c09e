//! A study, checked.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::keys::{KEYS, StudyKey, keys_of, sections};
use super::nearest::nearest;
use super::raw::{RawGroups, RawReduction, RawStudy};
use super::statements::read_statements;
use super::study_error::StudyError;
use crate::analysis::form::FormChoice;
use crate::analysis::proportion::Statements;
use crate::analysis::shortlist::ShortlistParams;
use crate::analysis::{CompareParams, Groups};
use crate::quantity::Seed;
use crate::reduction::ReductionParams;

/// Which rows of the catalogue take part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Select {
    /// The column looked at.
    pub column: String,
    /// The values whose rows take part.
    pub values: Vec<String>,
}

/// A study: what to reduce and compare, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    raw: RawStudy,
    folder: PathBuf,
    reduction: ReductionParams,
    compare: CompareParams,
    shortlist: ShortlistParams,
    statements: Option<Statements>,
}

impl Study {
    /// Reads and checks a study file.
    ///
    /// # Errors
    /// [`StudyError`] if it cannot be read, has an unknown key, or a value is out of range.
    pub fn read(path: &Path) -> Result<Self, StudyError> {
        let bytes = fs::read(path).map_err(|source| StudyError::Io { path: path.to_path_buf(), source })?;
        let text = std::str::from_utf8(&bytes)
            .map_err(|error| StudyError::NotText { line: line_at(&bytes, error.valid_up_to()) })?;
        Self::parse(text, path.parent().unwrap_or(Path::new("")))?.with_statements_file()
    }

    /// Checks the text of a study whose relative paths start at `folder`.
    ///
    /// # Errors
    /// [`StudyError`] if a key is unknown or missing, or a value out of range.
    ///
    /// # Example
    /// ```
    /// use std::path::Path;
    /// use tornus::config::Study;
    /// let study = Study::parse("catalogue = 'catalogue.csv'", Path::new("harbour")).expect("a whole study");
    /// assert_eq!(study.catalogue(), Path::new("harbour/catalogue.csv"));
    /// assert_eq!(study.reduction().heights(), 128); // the default
    /// let wrong = Study::parse("catalogue = 'c.csv'\n[reduction]\nhieghts = 64", Path::new("")).unwrap_err();
    /// assert_eq!(wrong.to_string(), "line 3: unknown key `hieghts` in [reduction], did you mean `heights`?");
    /// ```
    pub fn parse(text: &str, folder: &Path) -> Result<Self, StudyError> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let table = DeTable::parse(text).map_err(Box::new)?;
        refuse_unknown_keys(text, table.get_ref())?;
        let raw: RawStudy = toml::from_str(text).map_err(Box::new)?;
        Self::check(raw, folder)
    }

    /// The study of scans named one by one, without a catalogue: every parameter at its default.
    ///
    /// # Errors
    /// None in practice: the defaults are in range.
    pub fn without_catalogue() -> Result<Self, StudyError> {
        Self::parse("catalogue = ''", Path::new(""))
    }

    /// The study as a manifest recorded it.
    ///
    /// # Errors
    /// [`StudyError`] if it is not a study, or a value is out of range.
    pub fn from_record(record: &Value) -> Result<Self, StudyError> {
        Self::check(serde_json::from_value(record.clone())?, Path::new(""))
    }

    fn check(raw: RawStudy, folder: &Path) -> Result<Self, StudyError> {
        let RawReduction { heights, cutoff_upr, highest_upr } = raw.reduction;
        let reduction = ReductionParams::new(heights, cutoff_upr, highest_upr)?;
        let groups: Groups = match &raw.compare.groups {
            RawGroups::Number(number) => number.to_string().parse()?,
            RawGroups::Word(word) => word.parse()?,
        };
        let shortlist = ShortlistParams::new(raw.shortlist.terms())?;
        if raw.select.as_ref().is_some_and(|select| select.values.is_empty()) {
            let found = "no value".to_owned();
            return Err(StudyError::OutOfRange { key: "[select] values", expected: "at least one value", found });
        }
        let path = PathBuf::from(&raw.proportions.statements);
        let statements = raw.proportions.text.as_deref().map(read_statements).transpose();
        let statements = statements.map_err(|source| StudyError::Statements { path, source })?;
        let compare = CompareParams::new(groups)
            .with_factors(raw.compare.factors.clone())
            .with_form(raw.compare.form.parse()?)
            .with_form_method(raw.compare.form_method.parse()?);
        Ok(Self { reduction, compare, shortlist, statements, folder: folder.to_path_buf(), raw })
    }

    /// Reads the statements file the study names.
    fn with_statements_file(self) -> Result<Self, StudyError> {
        if self.raw.proportions.statements.is_empty() {
            return Ok(self);
        }
        let path = self.folder.join(&self.raw.proportions.statements);
        self.with_statements(&path)
    }

    /// The same study with the statements of another file.
    ///
    /// # Errors
    /// [`StudyError`] if the file cannot be read or used.
    pub fn with_statements(mut self, path: &Path) -> Result<Self, StudyError> {
        let refused = |source| StudyError::Io { path: path.to_path_buf(), source };
        let text = fs::read_to_string(path).map_err(refused)?;
        let statements = read_statements(&text);
        let of_file = |source| StudyError::Statements { path: path.to_path_buf(), source };
        self.statements = Some(statements.map_err(of_file)?);
        // Only the name: no path of the machine stands in a record.
        self.raw.proportions.statements =
            path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        self.raw.proportions.text = Some(text);
        Ok(self)
    }

    /// The catalogue file.
    #[must_use]
    pub fn catalogue(&self) -> PathBuf {
        self.folder.join(&self.raw.catalogue)
    }

    /// The title of the report; empty for none.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.raw.title
    }

    /// Where every random draw starts.
    #[must_use]
    pub const fn seed(&self) -> Seed {
        Seed::new(self.raw.seed)
    }

    /// Whether scans may lie outside the catalogue's folder.
    #[must_use]
    pub const fn allow_outside(&self) -> bool {
        self.raw.allow_outside
    }

    /// Which rows take part; `None` for all.
    #[must_use]
    pub fn select(&self) -> Option<Select> {
        self.raw.select.as_ref().map(|raw| Select { column: raw.column.clone(), values: raw.values.clone() })
    }

    /// How scans are reduced.
    #[must_use]
    pub const fn reduction(&self) -> &ReductionParams {
        &self.reduction
    }

    /// How vessels are compared.
    #[must_use]
    pub const fn compare(&self) -> &CompareParams {
        &self.compare
    }

    /// What a shortlist may cost, and on what terms.
    #[must_use]
    pub const fn shortlist(&self) -> &ShortlistParams {
        &self.shortlist
    }

    /// What is claimed of proportions; `None` for nothing.
    #[must_use]
    pub const fn statements(&self) -> Option<&Statements> {
        self.statements.as_ref()
    }

    /// The same study with another budget for the shortlist.
    ///
    /// # Errors
    /// [`StudyError`] if the budget is negative or not finite.
    pub fn with_budget(mut self, budget: f64) -> Result<Self, StudyError> {
        self.raw.shortlist.budget = budget;
        self.shortlist = ShortlistParams::new(self.raw.shortlist.terms())?;
        Ok(self)
    }

    /// The same study with another number of groups.
    #[must_use]
    pub fn with_groups(mut self, groups: Groups) -> Self {
        self.raw.compare.groups = match groups {
            Groups::Auto => RawGroups::Word("auto".to_owned()),
            Groups::Number(number) => RawGroups::Number(i64::from(number.get())),
        };
        self.compare = self.compare.with_groups(groups);
        self
    }

    /// The same study with forms compared by something else.
    #[must_use]
    pub fn with_form(mut self, form: FormChoice) -> Self {
        form.word().clone_into(&mut self.raw.compare.form);
        self.compare = self.compare.with_form(form);
        self
    }

    /// Every resolved parameter as `section.key` and value, in the order of [`KEYS`](super::KEYS).
    ///
    /// # Errors
    /// As [`Study::record`].
    pub fn parameters(&self) -> Result<Vec<(String, String)>, StudyError> {
        let record = self.record()?;
        let value = |key: &StudyKey| {
            let section = if key.section.is_empty() { Some(&record) } else { record.get(key.section) };
            let name =
                if key.section.is_empty() { key.name.to_owned() } else { format!("{}.{}", key.section, key.name) };
            let words = match section?.get(key.name)? {
                Value::String(word) => word.clone(),
                other => other.to_string(),
            };
            Some((name, words))
        };
        Ok(KEYS.iter().filter_map(value).collect())
    }

    /// Every resolved parameter, for the manifest; a path that is not relative is left at its file name.
    ///
    /// # Errors
    /// [`StudyError::Recorded`] never in practice: the study is plain data.
    pub fn record(&self) -> Result<Value, StudyError> {
        let mut raw = self.raw.clone();
        let written = Path::new(&raw.catalogue);
        if written.is_absolute() {
            raw.catalogue = written.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        }
        Ok(serde_json::to_value(raw)?)
    }
}

fn refuse_unknown_keys(text: &str, table: &DeTable<'_>) -> Result<(), StudyError> {
    for (key, value) in table {
        let name: &str = key.get_ref();
        match value.get_ref() {
            DeValue::Table(section) if sections().contains(&name) => {
                for inner in section.keys() {
                    refuse_unless_known(text, inner, Some(name), keys_of(name).collect())?;
                }
            }
            _ => refuse_unless_known(text, key, None, keys_of("").chain(sections()).collect())?,
        }
    }
    Ok(())
}

fn refuse_unless_known(
    text: &str,
    key: &Spanned<std::borrow::Cow<'_, str>>,
    section: Option<&str>,
    known: Vec<&'static str>,
) -> Result<(), StudyError> {
    let name: &str = key.get_ref();
    if known.contains(&name) {
        return Ok(());
    }
    Err(StudyError::UnknownKey {
        line: line_at(text.as_bytes(), key.span().start),
        key: name.to_owned(),
        section: section.map(str::to_owned),
        suggestion: nearest(name, known),
    })
}

/// The line, from 1, of the byte at `offset`.
pub(super) fn line_at(bytes: &[u8], offset: usize) -> usize {
    1 + bytes.iter().take(offset).filter(|&&byte| byte == b'\n').count()
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::super::KEYS;
    use super::Study;

    fn refusal(text: &str) -> String {
        Study::parse(text, Path::new("")).unwrap_err().to_string()
    }

    #[test]
    fn documented_defaults_are_the_defaults() {
        let mut text = String::from("catalogue = 'c.csv'\n");
        let mut section = "";
        for key in KEYS.iter().filter(|key| !key.default.is_empty()) {
            if key.section != section {
                section = key.section;
                text += &format!("[{section}]\n");
            }
            text += &format!("{} = {}\n", key.name, key.default);
        }
        let written = Study::parse(&text, Path::new("")).unwrap().record().unwrap();
        let left_out = Study::parse("catalogue = 'c.csv'", Path::new("")).unwrap().record().unwrap();
        // A whole number is as good as a real one for the budget.
        assert_eq!(written, left_out, "{text}");
    }

    #[test]
    fn unknown_keys_are_refused_with_the_nearest_known() {
        assert_eq!(refusal("catalog = 'c.csv'"), "line 1: unknown key `catalog`, did you mean `catalogue`?");
        assert_eq!(
            refusal("catalogue = 'c'\n[reductoin]\nheights = 9"),
            "line 2: unknown key `reductoin`, did you mean `reduction`?"
        );
        assert_eq!(refusal("catalogue = 'c'\n[compare]\nzzz = 1"), "line 3: unknown key `zzz` in [compare]");
    }

    #[test]
    fn values_out_of_range_say_what_was_expected() {
        let study = |rest: &str| format!("catalogue = 'c'\n{rest}");
        assert!(refusal(&study("[reduction]\nheights = 4")).contains("heights must be 8 to 1024: 4"));
        assert!(refusal(&study("[compare]\ngroups = 0")).contains("\"auto\" or 1 to 255"));
        assert!(refusal(&study("[compare]\ngroups = 'many'")).contains("many"));
        assert!(
            refusal(&study("[compare]\nform = 'inside'"))
                .contains("\"half-section\", \"tangent-angle\" or \"silhouette\": \"inside\"")
        );
        assert!(refusal(&study("[shortlist]\nbudget = nan")).contains("budget must be 0 or more"));
        assert!(refusal(&study("[select]\ncolumn = 'a'\nvalues = []")).contains("at least one value"));
        assert!(refusal(&study("seed = -1")).contains("line 2"));
        assert!(refusal("seed = 1").contains("catalogue"));
    }

    #[test]
    fn a_recorded_study_is_the_same_study() {
        let study = Study::parse(
            "catalogue = 'c.csv'\n[compare]\ngroups = 3\nform = 'half-section'\n[select]\ncolumn = 'donor'\nvalues = ['x']",
            Path::new(""),
        );
        let study = study.unwrap();
        assert_eq!(Study::from_record(&study.record().unwrap()).unwrap(), study);
    }

    #[test]
    fn an_absolute_path_does_not_reach_the_record() {
        let study = Study::parse("catalogue = '/somewhere/private/c.csv'", Path::new("x")).unwrap();
        assert_eq!(study.record().unwrap()["catalogue"], "c.csv");
    }
}
