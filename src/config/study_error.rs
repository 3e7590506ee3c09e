//! What is wrong with a study file.

use std::io;
use std::path::PathBuf;

use super::statements::StatementsError;
use crate::analysis::UnknownGroups;
use crate::analysis::cluster::UnknownMethod;
use crate::analysis::form::UnknownForm;
use crate::analysis::shortlist::CtTermError;
use crate::reduction::ParamError;

/// Why a study cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StudyError {
    /// The file cannot be read.
    #[error("cannot read study {}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// The file is not UTF-8 text.
    #[error("study is not UTF-8 text, first at line {line}")]
    NotText {
        /// The first line that is not.
        line: usize,
    },
    /// A key or section nobody knows.
    #[error("{}", unknown(*line, key, section.as_deref(), *suggestion))]
    UnknownKey {
        /// Where it stands.
        line: usize,
        /// The key as written.
        key: String,
        /// The section it stands in; `None` at the top.
        section: Option<String>,
        /// The known key it was probably meant to be.
        suggestion: Option<&'static str>,
    },
    /// Not TOML, a missing key, or a value of the wrong type.
    #[error("{}", .0.to_string().trim_end())]
    Toml(#[from] Box<toml::de::Error>),
    /// A parameter of the reduction is out of range.
    #[error("[reduction] {0}")]
    Reduction(#[from] ParamError),
    /// The number of groups is neither `auto` nor a number in range.
    #[error("[compare] {0}")]
    Groups(#[from] UnknownGroups),
    /// What forms are compared by is no such thing.
    #[error("[compare] {0}")]
    Form(#[from] UnknownForm),
    /// The way of grouping forms is none that is known.
    #[error("[compare] form_method: {0}")]
    FormMethod(#[from] UnknownMethod),
    /// A term of the shortlist is out of range.
    #[error("[shortlist] {0}")]
    Shortlist(#[from] CtTermError),
    /// The statements file cannot be used.
    #[error("statements {}: {source}", path.display())]
    Statements {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: StatementsError,
    },
    /// Another value is out of range.
    #[error("{key} must be {expected}: {found}")]
    OutOfRange {
        /// The key, with its section.
        key: &'static str,
        /// What it must be.
        expected: &'static str,
        /// What it is.
        found: String,
    },
    /// The study recorded in a manifest cannot be understood.
    #[error("study recorded in the manifest cannot be used")]
    Recorded(#[from] serde_json::Error),
}

fn unknown(line: usize, key: &str, section: Option<&str>, suggestion: Option<&str>) -> String {
    let place = section.map(|section| format!(" in [{section}]")).unwrap_or_default();
    let hint = suggestion.map(|known| format!(", did you mean `{known}`?")).unwrap_or_default();
    format!("line {line}: unknown key `{key}`{place}{hint}")
}
