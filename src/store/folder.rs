//! Where everything lies in a results folder.

use std::fs::{self, File, TryLockError};
use std::path::{Path, PathBuf};

use super::StoreError;
use super::atomic::clear_unfinished;

/// A results folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Folder {
    root: PathBuf,
}

/// The right to write into a results folder; given back when it is dropped, or when the process ends in whatever way.
#[derive(Debug)]
pub struct FolderLock {
    _file: File,
}

impl Folder {
    /// The results folder at `root`, which need not exist yet.
    #[must_use]
    pub fn new(root: impl Into<PathBuf>) -> Self {
        Self { root: root.into() }
    }

    /// Makes the folder if need be, takes the right to write into it, and clears what a killed run left unfinished.
    ///
    /// # Errors
    /// [`StoreError::Busy`] if another run has the right, [`StoreError::Io`] if the folder cannot be written.
    pub fn lock(&self) -> Result<FolderLock, StoreError> {
        fs::create_dir_all(&self.root).map_err(StoreError::io("make folder", &self.root))?;
        let path = self.root.join(".lock");
        let file = File::create(&path).map_err(StoreError::io("write", &path))?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(StoreError::Busy { path: self.root.clone() }),
            Err(TryLockError::Error(error)) => return Err(StoreError::io("lock", &path)(error)),
        }
        for folder in [self.root.clone(), self.reduced(), self.tables(), self.figures(), self.sheets()] {
            clear_unfinished(&folder)?;
        }
        Ok(FolderLock { _file: file })
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
