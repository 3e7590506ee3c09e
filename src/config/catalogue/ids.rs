//! Names for scans.

use std::collections::BTreeMap;

/// The name of each scan: its file's name without suffixes that name a format or a compression.
///
/// Letters, digits, `.`, `-` and `_` are kept, anything else becomes `_`, so that a name is a file name everywhere. Where two
/// files would share a name (letter case not counted), all of them take their folders and suffixes into it; should they
/// still clash, the later ones get a number.
///
/// # Example
/// ```
/// use tornus::config::scan_ids;
/// assert_eq!(scan_ids(&["scans/bowl 1.ply.gz", "jar.v2.stl"]), ["bowl_1", "jar.v2"]);
/// assert_eq!(scan_ids(&["a/bowl.ply", "b/bowl.ply"]), ["a_bowl.ply", "b_bowl.ply"]);
/// ```
#[must_use]
pub fn scan_ids(files: &[&str]) -> Vec<String> {
    let short: Vec<String> = files.iter().map(|file| portable(stem(file))).collect();
    let clashes = counts(&short);
    let long = |(file, short): (&&str, &String)| {
        if clashes[&short.to_lowercase()] > 1 { portable(file) } else { short.clone() }
    };
    let chosen: Vec<String> = files.iter().zip(&short).map(long).collect();
    let mut used: BTreeMap<String, usize> = BTreeMap::new();
    let mut names = Vec::with_capacity(chosen.len());
    for name in chosen {
        let mut unique = name.clone();
        let mut number = 1;
        while used.contains_key(&unique.to_lowercase()) {
            number += 1;
            unique = format!("{name}-{number}");
        }
        used.insert(unique.to_lowercase(), number);
        names.push(unique);
    }
    names
}

fn counts(names: &[String]) -> BTreeMap<String, usize> {
    let mut found = BTreeMap::new();
    for name in names {
        *found.entry(name.to_lowercase()).or_default() += 1;
    }
    found
}

fn stem(file: &str) -> &str {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let without = |name: &'_ str, suffixes: &[&str]| -> usize {
        let lower = name.to_ascii_lowercase();
        suffixes.iter().find(|suffix| lower.ends_with(**suffix)).map_or(name.len(), |suffix| name.len() - suffix.len())
    };
    let packed = &name[..without(name, &[".gz", ".zst"])];
    let bare = &packed
        [..without(packed, &[".stl", ".ply", ".obj", ".xyz", ".csv", ".txt", ".asc", ".pts", ".glb", ".gltf", ".e57"])];
    if bare.is_empty() { name } else { bare }
}

fn portable(name: &str) -> String {
    let kept = |c: char| if c.is_alphanumeric() || matches!(c, '.' | '-' | '_') { c } else { '_' };
    let plain: String = name.chars().map(kept).collect();
    let plain = plain.trim_start_matches('.').to_owned(); // a leading dot would hide the file
    if plain.is_empty() { "scan".to_owned() } else { plain }
}

#[cfg(test)]
mod tests {
    use super::scan_ids;

    #[test]
    fn names_are_unique_whatever_the_files_are_called() {
        let files =
            ["a/x.stl", "b/x.stl", "B/x.stl", "a_x.stl", "X.ply", "..", "...stl", "ä b.stl", "x?y.stl", "x*y.stl"];
        let names = scan_ids(&files);
        for (index, name) in names.iter().enumerate() {
            assert!(!names[..index].iter().any(|other| other.eq_ignore_ascii_case(name)), "{names:?}");
            assert!(!name.contains(['/', '\\', '?', '*', ' ']) && !name.starts_with('.'), "{name}");
        }
    }

    #[test]
    fn a_row_more_does_not_rename_others_unless_they_clash() {
        assert_eq!(scan_ids(&["a/x.stl", "a/y.stl"])[0], scan_ids(&["a/x.stl"])[0]);
    }
}
