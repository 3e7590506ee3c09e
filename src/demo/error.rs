//! Why a demo corpus cannot be made.

use std::io;
use std::path::PathBuf;

use crate::scan::ScanError;
use crate::synthetic::OutlineError;

/// Why a demo corpus cannot be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DemoError {
    /// Too few vessels for every planted role.
    #[error("a demo corpus needs at least {least} vessels: {found}")]
    TooFew {
        /// The least number.
        least: usize,
        /// The number asked for.
        found: usize,
    },
    /// The recipe that ships with the program cannot be read.
    #[error("demo recipe cannot be used")]
    Recipe(#[from] toml::de::Error),
    /// The recipe names something it does not describe.
    #[error("demo recipe does not describe {0:?}")]
    Undescribed(String),
    /// A vessel's outline cannot be.
    #[error("vessel {id} cannot be made")]
    Outline {
        /// The vessel.
        id: String,
        /// Why not.
        source: OutlineError,
    },
    /// A scan holds nothing.
    #[error("scan {file} cannot be made")]
    Scan {
        /// The file.
        file: String,
        /// Why not.
        source: ScanError,
    },
    /// A file cannot be written.
    #[error("cannot write {}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
}
