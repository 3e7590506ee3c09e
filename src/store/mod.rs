//! Results on disk: tables as Parquet and CSV, per-scan commits to resume from, the manifest and the log.
//!
//! - [`Folder`], [`FolderLock`]: where everything lies in a results folder, and the right to write there
//! - [`write_table`], [`read_table`], [`TableWriter`]: [`Table`](crate::table::Table) to Parquet and back, same bytes for
//!   the same table; [`KeyedTable`]: the rows of a few scans of a table too large to hold
//! - [`write_csv`], [`write_columns`]: the same as CSV, and the description of every column
//! - [`Commits`], [`Commit`], [`CommitKey`]: one file per reduced scan, so that a run killed at any moment resumes
//! - [`Manifest`]: what was reduced from what, with which parameters
//! - [`Log`]: what happened when; the only file that holds times
//! - [`write_atomic`], [`write_remade`]: a file appears whole or not at all
//!
//! The only place that knows Parquet.

mod atomic;
mod commit;
mod csv_table;
mod error;
mod folder;
mod frame;
mod hash;
mod keyed;
mod log;
mod manifest;
mod parquet;
mod stack;

pub use atomic::{write_atomic, write_remade};
pub use commit::{Commit, CommitKey, Commits, Status};
pub use csv_table::{write_columns, write_csv};
pub use error::StoreError;
pub use folder::{Folder, FolderLock};
pub use hash::{hash_bytes, hash_file};
pub use keyed::KeyedTable;
pub use log::Log;
pub use manifest::{Counts, Input, Manifest, Output, SCHEMA_VERSION};
pub use parquet::{TableWriter, read_columns, read_part, read_pieces, read_table, read_table_if_there, write_table};
pub use stack::stack_commits;
