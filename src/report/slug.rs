//! Names that are safe as anchors and file names.

use std::collections::BTreeSet;

/// Longest slug without its number.
const LONGEST: usize = 60;

/// Names that stand for devices on some systems and cannot be files.
const DEVICES: [&str; 12] =
    ["con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "lpt1", "lpt2", "lpt3", "lpt4"];

/// One slug per name, all different: lower-case letters, digits and hyphens.
///
/// Compared without regard to case, since some file systems do not tell cases apart.
pub(super) fn slugs<'a>(names: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let mut taken = BTreeSet::new();
    names
        .into_iter()
        .map(|name| {
            let base = slug(name);
            let numbered = (2..).map(|n: usize| format!("{base}-{n}"));
            let free = std::iter::once(base.clone()).chain(numbered).find(|candidate| !taken.contains(candidate));
            let chosen = free.unwrap_or(base);
            taken.insert(chosen.clone());
            chosen
        })
        .collect()
}

fn slug(name: &str) -> String {
    let mut slug = String::new();
    for letter in name.chars().take(LONGEST) {
        match letter {
            'a'..='z' | '0'..='9' => slug.push(letter),
            'A'..='Z' => slug.push(letter.to_ascii_lowercase()),
            _ if !slug.is_empty() && !slug.ends_with('-') => slug.push('-'),
            _ => {}
        }
    }
    let trimmed = slug.trim_end_matches('-');
    match trimmed {
        "" => "vessel".to_owned(),
        name if DEVICES.contains(&name) => format!("vessel-{name}"),
        name => name.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slugs_are_plain_and_all_different() {
        let found = slugs(["SH 1907/3", "sh-1907-3", "<script>", "Krug \u{e4}\u{f6}", "\u{e4}", "", "sh-1907-3-2"]);
        assert_eq!(found, ["sh-1907-3", "sh-1907-3-2", "script", "krug", "vessel", "vessel-2", "sh-1907-3-2-2"]);
        assert_eq!(slugs(["NUL"]), ["vessel-nul"]);
    }
}
