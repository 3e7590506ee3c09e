//! Statements about a corpus.
pub mod form; pub mod precision; pub mod statistics; pub mod cluster;
mod corpus; mod error; mod params; mod pca;
pub use corpus::CompareInput; pub use error::AnalysisError; pub use params::*; pub use pca::PrincipalComponents;
