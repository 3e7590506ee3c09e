//! Statistics that describe partitions and families of tests.
//!
//! - [`adjusted_rand`]: agreement of two partitions beyond chance
//! - [`silhouette`]: how much nearer each observation is to its own group than to the next
//! - [`agglomerative_coefficient`]: how strong the structure of a tree of merges is
//! - [`benjamini_hochberg`]: adjusted p-values that hold the false discovery rate
//! - [`cllr`], [`least_cllr`]: the cost of likelihood ratios whose truth is known, and its least
//! - [`poisson_binomial`], [`uniform_sum_above`]: how many of several unlike chances come true, and how closely
//! - [`cramers_v`]: how far one partition follows from another
//! - [`best_jaccard`]: how much of a group another partition still holds together

mod adjusted_rand;
mod agglomerative;
mod benjamini_hochberg;
mod cllr;
mod cramers_v;
mod jaccard;
mod poisson_binomial;
mod silhouette;

pub use adjusted_rand::adjusted_rand;
pub use agglomerative::agglomerative_coefficient;
pub use benjamini_hochberg::benjamini_hochberg;
pub use cllr::{cllr, least_cllr};
pub use cramers_v::cramers_v;
pub use jaccard::best_jaccard;
pub use poisson_binomial::{poisson_binomial, uniform_sum_above};
pub use silhouette::silhouette;
pub(in crate::analysis) use silhouette::silhouette_by;
