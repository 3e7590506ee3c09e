//! What a study asks for and what its catalogue says of each scan, checked before anything is computed.
//!
//! - [`Study`]: the study file (TOML): every key known, every value in range
//! - [`KEYS`], [`StudyKey`]: every key with its default and meaning
//! - [`Catalogue`], [`Entry`]: the catalogue file (CSV), one row per scan
//! - [`read_statements`], [`StatementsError`]: the statements file (TOML), what is claimed of proportions
//! - [`StudyError`], [`CatalogueError`]: what is wrong, where, and what was expected
//! - [`nearest`]: the known word a mistyped one was probably meant to be

mod catalogue;
mod keys;
mod nearest;
mod raw;
mod statements;
mod study;
mod study_error;

pub use catalogue::{Catalogue, CatalogueError, Entry, Located, Problem, locate, scan_ids, sources};
pub use keys::{KEYS, StudyKey};
pub use nearest::nearest;
pub use statements::{StatementsError, read_statements};
pub use study::{Select, Study};
pub use study_error::StudyError;
