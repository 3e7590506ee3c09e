//! Where the catalogue's files are, and whether they may be read.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Component, Path, PathBuf};

use super::{Catalogue, CatalogueError, Problem};

/// A scan's file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Located {
    /// It is there.
    There(PathBuf),
    /// It is not, or cannot be looked at; why.
    Missing(String),
}

/// The file written as `file` in a catalogue that lies in `folder`.
///
/// # Errors
/// What was expected and found, if the file lies outside the folder (by `..`, by an absolute path or through a link) and
/// `allow_outside` does not give leave.
pub fn locate(folder: &Path, file: &str, allow_outside: bool) -> Result<Located, String> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let outside = || {
        format!(
            "expected a file in the catalogue's folder, found {file:?}, which lies outside; set allow_outside = true in the study to read it"
        )
    };
    let path = folder.join(file);
    let (true_folder, true_path) = (fs::canonicalize(folder), fs::canonicalize(&path));
    match (true_folder, true_path) {
        (Ok(true_folder), Ok(true_path)) => {
            if !allow_outside && !true_path.starts_with(&true_folder) {
                return Err(outside());
            }
            if true_path.is_dir() {
                return Ok(Located::Missing("expected a file, found a folder".to_owned()));
            }
            Ok(Located::There(path))
        }
        _ if !allow_outside && leaves(file) => Err(outside()),
        (Err(error), _) | (_, Err(error)) => Ok(Located::Missing(reason(&error, file))),
    }
}

/// The files of all rows, in their order.
///
/// # Errors
/// [`CatalogueError::Problems`] for files outside the folder, and for one file behind two names.
pub fn sources(catalogue: &Catalogue, folder: &Path, allow_outside: bool) -> Result<Vec<Located>, CatalogueError> {
    let (mut located, mut problems) = (Vec::new(), Vec::new());
    let mut first: BTreeMap<PathBuf, u64> = BTreeMap::new();
    for entry in catalogue.entries() {
        let problem = |what| Problem { line: entry.line, column: "file".to_owned(), what };
        match locate(folder, &entry.file, allow_outside) {
            Ok(found) => {
                if let Located::There(path) = &found
                    && let Ok(true_path) = fs::canonicalize(path)
                    && let Some(line) = first.insert(true_path, entry.line)
                {
                    let file = &entry.file;
                    problems.push(problem(format!("expected each file once, found {file:?}, the file of line {line}")));
                }
                located.push(found);
            }
            Err(what) => problems.push(problem(what)),
        }
    }
    if problems.is_empty() { Ok(located) } else { Err(CatalogueError::Problems(problems)) }
}

fn reason(error: &std::io::Error, file: &str) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound if file.contains('\\') => {
            "file not found; folders are separated by /, not by \\".to_owned()
        }
        std::io::ErrorKind::NotFound => "file not found".to_owned(),
        _ => format!("cannot read file: {error}"),
    }
}

/// Whether a path leaves its folder by its words alone.
fn leaves(file: &str) -> bool {
    let mut depth = 0_i64;
    for component in Path::new(file).components() {
        match component {
            Component::Prefix(_) | Component::RootDir => return true,
            Component::ParentDir => depth -= 1,
            Component::CurDir => {}
            Component::Normal(_) => depth += 1,
        }
        if depth < 0 {
            return true;
        }
    }
    false
}

/// A path without `.` and `x/..`, to recognise one file written two ways.
pub(super) fn plain(file: &str) -> String {
    let mut parts: Vec<String> = Vec::new();
    for component in Path::new(file).components() {
        match component {
            Component::CurDir => {}
            Component::ParentDir if parts.last().is_some_and(|part| part != "..") => {
                parts.pop();
            }
            other => parts.push(other.as_os_str().to_string_lossy().into_owned()),
        }
    }
    parts.join("/")
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::{Located, leaves, locate, plain};

    #[test]
    fn paths_leave_by_words() {
        for (file, expected) in
            [("a.stl", false), ("a/../b.stl", false), ("../a.stl", true), ("a/../../b", true), ("/a", true)]
        {
            assert_eq!(leaves(file), expected, "{file}");
        }
        assert_eq!(plain("./a/../b/c.stl"), "b/c.stl");
    }

    #[test]
    fn a_missing_file_is_missing_and_an_outside_one_refused() {
        let root = tempfile::tempdir().unwrap();
        let folder = root.path().join("corpus");
        fs::create_dir(&folder).unwrap();
        fs::write(root.path().join("out.stl"), b"x").unwrap();
        fs::write(folder.join("in.stl"), b"x").unwrap();
        assert!(matches!(locate(&folder, "in.stl", false), Ok(Located::There(_))));
        assert!(matches!(locate(&folder, "no.stl", false), Ok(Located::Missing(_))));
        assert!(locate(&folder, "../out.stl", false).is_err());
        assert!(locate(&folder, "../not-there.stl", false).is_err());
        assert!(matches!(locate(&folder, "../out.stl", true), Ok(Located::There(_))));
        assert!(matches!(locate(&folder, ".", false), Ok(Located::Missing(_))));
    }

    #[cfg(unix)]
    #[test]
    fn a_link_does_not_lead_outside() {
        let root = tempfile::tempdir().unwrap();
        let folder = root.path().join("corpus");
        fs::create_dir(&folder).unwrap();
        fs::write(root.path().join("out.stl"), b"x").unwrap();
        std::os::unix::fs::symlink(root.path().join("out.stl"), folder.join("link.stl")).unwrap();
        assert!(locate(&folder, "link.stl", false).is_err());
        assert!(matches!(locate(&folder, "link.stl", true), Ok(Located::There(_))));
    }
}
