//! Groups of vessels: the one folder that names the clustering packages.
//!
//! - [`Grouping`]: groups of one space, their number chosen, with probabilities and stability
//! - [`Evidence`]: what is known of each vessel's place: normals in information form, one noise per vessel
//! - `mixture`, `choice`: Gaussian mixtures that take each vessel's noise out, and how many groups by BIC
//! - [`Method`]: the ways of grouping; `kmeans`, `linkage`, `full_mixture`, `density`: those beside the mixture
//! - `partition`: what each of them makes of a corpus, of a large one through a sample
//! - `gap`: the number of groups of the methods that have no likelihood
//! - `stability`: what is left of each group when the corpus is drawn again

mod choice;
mod density;
mod evidence;
mod expectation;
mod full_mixture;
mod gap;
mod grouping;
mod kmeans;
mod linkage;
mod method;
mod mixture;
mod partition;
mod stability;

pub(super) use choice::drawn;
pub use evidence::Evidence;
pub(super) use grouping::group;
pub use grouping::{Choice, Grouping, OtherPartition};
pub use kmeans::{KMeansPartition, kmeans};
pub use linkage::{Merge, average_tree, cut, ward_tree};
pub use method::{Method, UnknownMethod};
pub use mixture::{CovarianceFamily, Mixture, MixtureFit, fit_mixture};
