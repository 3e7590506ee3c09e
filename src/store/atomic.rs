//! Files that appear whole or not at all.

use std::fs;
use std::io::Write;
use std::path::Path;

use tempfile::NamedTempFile;

use super::StoreError;

/// What the name of an unfinished file starts with; such files are never read and are cleared by the next run.
pub(crate) const UNFINISHED: &str = ".unfinished-";

/// Writes `bytes` to `path`: a reader sees the old file or the new one, never a part.
///
/// Folders on the way are made. The bytes are on the disk before the name changes, so that a power cut does not leave an
/// empty file under the final name.
///
/// # Errors
/// [`StoreError::Io`] if a folder or file cannot be made, or the disk is full.
pub fn write_atomic(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    let mut file = unfinished(path)?;
    file.write_all(bytes).map_err(StoreError::io("write", path))?;
    finish(file, path)
}

/// Writes `bytes` to `path` as [`write_atomic`] does, but for one thing: a power cut soon afterwards may leave an empty file.
///
/// For files that are made in thousands, each of which would wait for the disk, and whose hashes the manifest holds: a survey
/// makes those that differ again.
///
/// # Errors
/// As [`write_atomic`].
pub fn write_remade(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    let mut file = unfinished(path)?;
    file.write_all(bytes).map_err(StoreError::io("write", path))?;
    name(file, path)
}

/// A file beside `path` that nobody reads yet.
pub(crate) fn unfinished(path: &Path) -> Result<NamedTempFile, StoreError> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(folder).map_err(StoreError::io("make folder", folder))?;
    tempfile::Builder::new().prefix(UNFINISHED).tempfile_in(folder).map_err(StoreError::io("write into", folder))
}

/// Puts an unfinished file on the disk and gives it its name.
pub(crate) fn finish(file: NamedTempFile, path: &Path) -> Result<(), StoreError> {
    file.as_file().sync_data().map_err(StoreError::io("write", path))?;
    name(file, path)
}

fn name(file: NamedTempFile, path: &Path) -> Result<(), StoreError> {
    set_readable(file.path()).map_err(StoreError::io("write", path))?;
    file.persist(path).map_err(|refused| StoreError::io("write", path)(refused.error))?;
    Ok(())
}

/// Temporary files are private to their maker; results are for colleagues too.
#[cfg(unix)]
fn set_readable(path: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(path, fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn set_readable(_path: &Path) -> std::io::Result<()> {
    Ok(())
}

/// Removes what a killed run left unfinished in `folder`; other files stay. A folder that is not there is clean.
pub(crate) fn clear_unfinished(folder: &Path) -> Result<(), StoreError> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(StoreError::io("read", folder)(error)),
    };
    for entry in entries {
        let entry = entry.map_err(StoreError::io("read", folder))?;
        if entry.file_name().to_string_lossy().starts_with(UNFINISHED) {
            fs::remove_file(entry.path()).map_err(StoreError::io("remove", &entry.path()))?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{clear_unfinished, write_atomic, write_remade};
    use std::fs;

    #[test]
    fn a_second_write_replaces_the_first_and_leaves_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep/er/file.txt");
        write_atomic(&path, b"first").unwrap();
        write_atomic(&path, b"second").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"second");
        write_remade(&path, b"third").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"third");
        assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1);
    }

    #[test]
    fn only_unfinished_files_are_cleared() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(".unfinished-abc"), b"half").unwrap();
        fs::write(folder.path().join("whole"), b"whole").unwrap();
        clear_unfinished(folder.path()).unwrap();
        assert!(folder.path().join("whole").exists());
        assert!(!folder.path().join(".unfinished-abc").exists());
        clear_unfinished(&folder.path().join("not there")).unwrap();
    }
}
