//! The catalogue: one row per scan; rows with one `vessel_id` are repeat scans of that vessel.

mod entry;
mod error;
mod header;
mod ids;
mod locate;
mod read;
mod table;

pub use entry::Entry;
pub use error::{CatalogueError, Problem};
pub use ids::scan_ids;
pub use locate::{Located, locate, sources};
pub use read::Catalogue;
