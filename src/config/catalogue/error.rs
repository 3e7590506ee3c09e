//! What is wrong with a catalogue.

use std::fmt;
use std::io;
use std::path::PathBuf;

/// One thing wrong with a catalogue.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The line of the file, from 1.
    pub line: u64,
    /// The column; empty where the whole line is meant.
    pub column: String,
    /// What was expected and what stands there.
    pub what: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.column.is_empty() {
            write!(f, "line {}: {}", self.line, self.what)
        } else {
            write!(f, "line {}, column {}: {}", self.line, self.column, self.what)
        }
    }
}

/// Why a catalogue cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum CatalogueError {
    /// The file cannot be read.
    #[error("cannot read catalogue {}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// Lines that cannot be used, all of them.
    #[error("{}", listed(.0))]
    Problems(Vec<Problem>),
}

/// How many problems a message lists; the rest are counted.
const LISTED: usize = 20;

fn listed(problems: &[Problem]) -> String {
    let mut lines: Vec<String> = problems.iter().take(LISTED).map(Problem::to_string).collect();
    if problems.len() > LISTED {
        lines.push(format!("and {} more", problems.len() - LISTED));
    }
    lines.join("\n")
}
