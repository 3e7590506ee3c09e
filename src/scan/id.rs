//! Identifiers of scans and vessels, kept apart so that repeat scans are never counted as vessels.

/// Which scan: unique in a corpus.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ScanId(pub String);

/// Which vessel; several scans may share one.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VesselId(pub String);
