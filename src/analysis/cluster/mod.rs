//! Groups of vessels: the one folder that names the clustering packages.
//!
//! - [`Grouping`]: groups of one space, their number chosen, with probabilities and stability
//! - [`Evidence`]: what is known of each vessel's place: normals in information form, one noise per vessel
//! - `mixture`, `choice`: Gaussian mixtures that take each vessel's noise out, and how many groups by BIC
//! - `kmeans`, `ward`, `full_mixture`: other methods, reported for agreement
//! - `gap`: the number of groups of the methods that have no likelihood
//! - `stability`: what is left of each group when the corpus is drawn again

mod choice;
mod evidence;
mod full_mixture;
mod gap;
mod grouping;
mod kmeans;
mod mixture;
mod stability;
mod ward;

pub use evidence::Evidence;
pub(super) use grouping::group;
pub use grouping::{Choice, Grouping, OtherPartition};
pub use kmeans::{KMeansPartition, kmeans};
pub use mixture::{CovarianceFamily, Mixture, MixtureFit, fit_mixture};
pub use ward::{Merge, average_tree, cut, ward_tree};
