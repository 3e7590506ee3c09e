//! Where everything lies in a results folder.

use std::path::{Path, PathBuf};

/// A results folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Folder {
    root: PathBuf,
}

impl Folder {
    /// The results folder at `root`, which need not exist yet.
    #[must_use]
    pub fn new(root: impl Into<PathBuf>) -> Self {
        Self { root: root.into() }
    }

    /// The folder itself.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// `tables/`: the published tables.
    #[must_use]
    pub fn tables(&self) -> PathBuf {
        self.root.join("tables")
    }

    /// `tables/NAME.parquet`.
    #[must_use]
    pub fn table(&self, name: &str) -> PathBuf {
        self.tables().join(format!("{name}.parquet"))
    }

    /// `reduced/`: one file per reduced scan.
    #[must_use]
    pub fn reduced(&self) -> PathBuf {
        self.root.join("reduced")
    }

    /// `manifest.json`.
    #[must_use]
    pub fn manifest(&self) -> PathBuf {
        self.root.join("manifest.json")
    }

    /// `columns.csv`.
    #[must_use]
    pub fn columns(&self) -> PathBuf {
        self.root.join("columns.csv")
    }

    /// `log.jsonl`.
    #[must_use]
    pub fn log(&self) -> PathBuf {
        self.root.join("log.jsonl")
    }

    /// `report.html`.
    #[must_use]
    pub fn report(&self) -> PathBuf {
        self.root.join("report.html")
    }

    /// `figures/`.
    #[must_use]
    pub fn figures(&self) -> PathBuf {
        self.root.join("figures")
    }

    /// `sheets/`.
    #[must_use]
    pub fn sheets(&self) -> PathBuf {
        self.root.join("sheets")
    }
}
