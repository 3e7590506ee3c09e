//! What can go wrong with results on disk.

use std::io;
use std::path::PathBuf;

use crate::table::TableError;

/// Why results could not be written or read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// The operating system refused.
    #[error("cannot {action} {}", path.display())]
    Io {
        /// What was tried: `read`, `write`, ...
        action: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// A Parquet file cannot be written, or is damaged.
    #[error("{}: {reason}", path.display())]
    Parquet {
        /// The file.
        path: PathBuf,
        /// What the Parquet reader or writer says.
        reason: String,
    },
    /// A column holds a type that no table of this program has.
    #[error("{}: column {column} holds an unknown type: {found}", path.display())]
    UnknownType {
        /// The file.
        path: PathBuf,
        /// The column.
        column: String,
        /// Its type.
        found: String,
    },
    /// A table breaks its own rules.
    #[error("{}", path.display())]
    Table {
        /// The file.
        path: PathBuf,
        /// Which rule.
        source: TableError,
    },
    /// A JSON file cannot be understood.
    #[error("{}: not the expected JSON", path.display())]
    Json {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: serde_json::Error,
    },
    /// A CSV file cannot be written.
    #[error("cannot write {}", path.display())]
    Csv {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: csv::Error,
    },
    /// A commit is shorter or longer than it says, or its bytes have changed.
    #[error("{}: damaged commit", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
    },
    /// Another run writes into the folder.
    #[error("another run is writing into {}", path.display())]
    Busy {
        /// The results folder.
        path: PathBuf,
    },
    /// Results of another version of the tables.
    #[error("{}: schema version {found}, this program reads {expected}", path.display())]
    SchemaVersion {
        /// The manifest.
        path: PathBuf,
        /// The version found.
        found: u32,
        /// The version this program writes.
        expected: u32,
    },
}

impl StoreError {
    /// A closure that turns an I/O error into one with its path.
    pub(crate) fn io(action: &'static str, path: &std::path::Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_path_buf();
        move |source| Self::Io { action, path, source }
    }
}
