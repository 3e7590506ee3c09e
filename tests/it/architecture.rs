//! The rules of the house, read off the source: who may import whom, which package has which room, what stands nowhere.
//!
//! Each rule is a function from sources to broken places, and is itself tried on a source that breaks it.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Longest file, lines with tests.
const LONGEST_FILE: usize = 600;

/// Which modules a module may import; a module that is missing here is itself a broken rule.
const IMPORTS: &[(&str, &[&str])] = &[
    ("math", &[]),
    ("quantity", &[]),
    ("scan", &["quantity", "math"]),
    ("outline", &["math", "quantity"]),
    ("format", &["outline", "scan", "quantity"]),
    ("axis", &["scan", "math", "quantity"]),
    ("profile", &["axis", "scan", "math", "quantity"]),
    ("section", &["profile", "axis", "scan", "math", "quantity"]),
    ("roundness", &["section", "math", "quantity"]),
    ("deviation", &["roundness", "section", "profile", "axis", "math", "quantity"]),
    ("reduction", &["deviation", "roundness", "section", "profile", "axis", "scan", "math", "quantity"]),
    ("table", &["reduction", "outline", "quantity"]),
    ("store", &["table", "reduction", "scan", "quantity"]),
    ("synthetic", &["scan", "quantity"]),
    ("demo", &["synthetic", "format", "scan", "quantity"]),
    ("analysis", &["table", "math", "quantity"]),
    ("figure", &["analysis", "table", "reduction", "roundness", "profile", "section", "quantity"]),
    ("report", &["figure", "analysis", "table", "reduction", "quantity"]),
    ("config", &["analysis", "table", "reduction", "outline", "quantity"]),
    (
        "cli",
        &[
            "analysis",
            "config",
            "demo",
            "figure",
            "format",
            "outline",
            "quantity",
            "reduction",
            "report",
            "scan",
            "store",
            "table",
        ],
    ),
];

/// Where a word of code may stand: the word, and the beginnings of the paths that may use it.
const ROOMS: &[(&str, &[&str])] = &[
    ("polars", &["store/"]),
    ("clap", &["cli/", "main.rs"]),
    ("clap_complete", &["cli/"]),
    ("indicatif", &["cli/"]),
    ("linfa", &["analysis/cluster/"]),
    ("linfa_clustering", &["analysis/cluster/"]),
    ("plotters", &["figure/"]),
    ("toml", &["config/", "demo/"]),
    ("csv::", &["config/", "store/", "demo/", "format/"]),
    ("serde", &["config/", "store/", "report/", "cli/", "demo/"]),
    ("std::fs", &["format/open.rs", "config/", "store/", "cli/", "demo/"]),
    ("println!", &["cli/"]),
    ("print!", &["cli/"]),
    ("eprintln!", &["cli/", "main.rs"]),
    ("SystemTime::now", &["cli/"]),
    ("Instant::now", &["cli/"]),
    ("process::exit", &["cli/", "main.rs"]),
    ("unsafe", &[]),
    (".unwrap()", &[]),
    ("thread_rng", &[]),
    ("from_entropy", &[]),
    ("todo!", &[]),
    ("unimplemented!", &[]),
    ("dbg!", &[]),
];

/// Words no public name holds, with the word of the glossary that stands for them.
const GLOSSARY: &[(&str, &str)] = &[
    ("sigma", "standard_uncertainty, or the name of the spread it is"),
    ("err", "deviation, or Error for a Rust error"),
    ("tol", "the name of the limit it is"),
    ("frequency", "upr"),
    ("slice", "section"),
    ("ring", "section or circle"),
    ("utils", "the one concept the file holds"),
    ("helper", "the verb of what it does"),
    ("manager", "the noun of what it is"),
    ("forgery", "no word: the program screens and does not accuse"),
    ("authentic", "no word: the program screens and does not authenticate"),
];

/// One file under `src/`.
struct Source {
    /// Path below `src/`, with `/`.
    path: String,
    /// The whole text.
    text: String,
}

impl Source {
    fn new(path: &str, text: &str) -> Self {
        Self { path: path.to_owned(), text: text.to_owned() }
    }

    /// First folder or file below `src/`.
    fn module(&self) -> &str {
        self.path.split('/').next().unwrap_or(&self.path).trim_end_matches(".rs")
    }

    fn is_root(&self) -> bool {
        matches!(self.path.as_str(), "lib.rs" | "main.rs")
    }

    /// The code that runs outside tests, without comments and texts.
    fn code(&self) -> String {
        if self.path.ends_with("tests.rs") || self.path.contains("/tests/") {
            return String::new();
        }
        without_tests(&without_comments_and_texts(&self.text))
    }
}

fn sources() -> Vec<Source> {
    fn walk(folder: &Path, root: &Path, found: &mut Vec<Source>) {
        let mut entries: Vec<_> = fs::read_dir(folder).expect("src/ is there").flatten().map(|e| e.path()).collect();
        entries.sort();
        for path in entries {
            if path.is_dir() {
                walk(&path, root, found);
            } else if path.extension().is_some_and(|suffix| suffix == "rs") {
                let below = path.strip_prefix(root).expect("walked from the root").to_string_lossy().replace('\\', "/");
                found.push(Source { path: below, text: fs::read_to_string(&path).expect("sources are UTF-8") });
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    walk(&root, &root, &mut found);
    found
}

/// The text with comments and the content of string and character literals blanked.
fn without_comments_and_texts(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let at = |i: usize| chars.get(i).copied().unwrap_or(' ');
    let mut out = String::with_capacity(text.len());
    let mut i = 0;
    while i < chars.len() {
        let word_before = i > 0 && (at(i - 1).is_alphanumeric() || at(i - 1) == '_');
        if at(i) == '/' && at(i + 1) == '/' {
            while i < chars.len() && at(i) != '\n' {
                i += 1;
            }
        } else if at(i) == '/' && at(i + 1) == '*' {
            let mut depth = 0;
            loop {
                let pair = (at(i), at(i + 1));
                depth += i32::from(pair == ('/', '*')) - i32::from(pair == ('*', '/'));
                i += if pair == ('/', '*') || pair == ('*', '/') { 2 } else { 1 };
                if depth == 0 || i >= chars.len() {
                    break;
                }
            }
        } else if at(i) == 'r'
            && !word_before
            && (at(i + 1) == '"' || (at(i + 1) == '#' && matches!(at(i + 2), '"' | '#')))
        {
            let hashes = chars[i + 1..].iter().take_while(|&&c| c == '#').count();
            i += 2 + hashes;
            while i < chars.len() && !(at(i) == '"' && (1..=hashes).all(|h| at(i + h) == '#')) {
                i += 1;
            }
            i += 1 + hashes;
            out.push_str("\"\"");
        } else if at(i) == '"' {
            i += 1;
            while i < chars.len() && at(i) != '"' {
                i += if at(i) == '\\' { 2 } else { 1 };
            }
            i += 1;
            out.push_str("\"\"");
        } else if at(i) == '\'' && (at(i + 1) == '\\' || at(i + 2) == '\'') {
            i += if at(i + 1) == '\\' { 3 } else { 2 };
            while i < chars.len() && at(i) != '\'' {
                i += 1;
            }
            i += 1;
            out.push_str("' '");
        } else {
            out.push(at(i));
            i += 1;
        }
    }
    out
}

/// Code without the items marked `#[cfg(test)]`.
fn without_tests(code: &str) -> String {
    let mut out = String::new();
    let mut rest = code;
    while let Some(start) = rest.find("#[cfg(test)]") {
        out.push_str(&rest[..start]);
        let (mut depth, mut end) = (0_i32, rest.len());
        for (i, c) in rest[start..].char_indices() {
            depth += i32::from(c == '{') - i32::from(c == '}');
            if depth == 0 && (c == '}' || c == ';') {
                end = start + i + 1;
                break;
            }
        }
        rest = &rest[end..];
    }
    out + rest
}

/// Places where `word` stands as a word of its own.
fn holds(code: &str, word: &str) -> bool {
    let part = |c: char| c.is_alphanumeric() || c == '_';
    code.match_indices(word).any(|(i, _)| {
        let before = code[..i].chars().next_back().is_some_and(|c| part(c) && word.starts_with(part));
        let after = code[i + word.len()..].chars().next().is_some_and(|c| part(c) && word.ends_with(part));
        !before && !after
    })
}

/// What follows `crate::` anywhere in the code, braces opened.
fn imported(code: &str) -> Vec<String> {
    let ident = |s: &str| s.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut found = Vec::new();
    for (i, _) in code.match_indices("crate::") {
        let rest = &code[i + "crate::".len()..];
        if !rest.starts_with('{') {
            found.push(ident(rest));
            continue;
        }
        let mut depth = 0;
        let mut start = true;
        for (j, c) in rest.char_indices() {
            match c {
                '{' => depth += 1,
                '}' => depth -= 1,
                ',' if depth == 1 => start = true,
                c if depth == 1 && start && c.is_alphanumeric() => {
                    found.push(ident(&rest[j..]));
                    start = false;
                }
                _ => {}
            }
            if depth == 0 {
                break;
            }
        }
    }
    found
}

fn wrong_imports(sources: &[Source]) -> Vec<String> {
    let table: BTreeMap<&str, &[&str]> = IMPORTS.iter().copied().collect();
    let mut broken = Vec::new();
    for source in sources.iter().filter(|s| !s.is_root()) {
        let Some(allowed) = table.get(source.module()) else {
            broken.push(format!("{}: a module without a line in the import table", source.path));
            continue;
        };
        for name in imported(&source.code()) {
            if name != source.module() && !allowed.contains(&name.as_str()) {
                broken.push(format!("{}: may not import crate::{name}", source.path));
            }
        }
    }
    broken
}

fn words_out_of_their_room(sources: &[Source]) -> Vec<String> {
    let mut broken = Vec::new();
    for source in sources {
        let code = source.code();
        for (word, rooms) in ROOMS {
            if !rooms.iter().any(|room| source.path.starts_with(room)) && holds(&code, word) {
                broken.push(format!("{}: {word} has no place here", source.path));
            }
        }
    }
    broken
}

fn long_files(sources: &[Source]) -> Vec<String> {
    let lines = |s: &Source| s.text.lines().count();
    sources.iter().filter(|s| lines(s) > LONGEST_FILE).map(|s| format!("{}: {} lines", s.path, lines(s))).collect()
}

fn banned_names(sources: &[Source]) -> Vec<String> {
    let mut broken = Vec::new();
    for source in sources {
        for line in source.code().lines() {
            let Some(rest) = line.trim_start().strip_prefix("pub ") else { continue };
            let name = rest
                .trim_start_matches("const ")
                .split(|c: char| !(c.is_alphanumeric() || c == '_'))
                .find(|w| !w.is_empty() && !["fn", "struct", "enum", "mod", "type", "trait", "use"].contains(w));
            let Some(name) = name.filter(|_| !rest.starts_with("use ")) else { continue };
            for (word, instead) in GLOSSARY {
                if words(name).iter().any(|part| part == word) {
                    broken.push(format!("{}: {name}: not {word} but {instead}", source.path));
                }
            }
        }
    }
    broken
}

/// The words of a name, lower case: `RadialSigma` and `radial_sigma` are `radial`, `sigma`.
fn words(name: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    for c in name.chars() {
        if c == '_' || (c.is_uppercase() && words.last().is_some_and(|w| w.ends_with(char::is_lowercase))) {
            words.push(String::new());
        }
        if c != '_' {
            words.last_mut().expect("never empty").extend(c.to_lowercase());
        }
    }
    words
}

#[test]
fn the_source_keeps_the_rules() {
    let sources = sources();
    assert!(sources.len() > 50, "the source was not found");
    let mut broken = Vec::new();
    for rule in [wrong_imports, words_out_of_their_room, long_files, banned_names] {
        broken.extend(rule(&sources));
    }
    assert!(broken.is_empty(), "{} broken rules:\n{}", broken.len(), broken.join("\n"));
}

#[test]
fn the_import_table_has_no_circle() {
    for (i, (module, allowed)) in IMPORTS.iter().enumerate() {
        for name in *allowed {
            let place = IMPORTS.iter().position(|(other, _)| other == name);
            assert!(place.is_some_and(|p| p < i), "{module} imports {name}, which does not stand above it");
        }
    }
}

#[test]
fn there_is_one_integration_binary() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    for entry in fs::read_dir(tests).expect("tests/ is there").flatten() {
        let path = entry.path();
        assert!(path.extension().is_none_or(|suffix| suffix != "rs"), "{} is a binary of its own", path.display());
    }
    let manifest = include_str!("../../Cargo.toml");
    assert_eq!(manifest.matches("[[test]]").count(), 1);
}

fn check(rule: fn(&[Source]) -> Vec<String>, path: &str, text: &str, broken: usize) {
    let found = rule(&[Source::new(path, text)]);
    assert_eq!(found.len(), broken, "{path}: {text}: {found:?}");
}

#[test]
fn a_wrong_import_is_found() {
    check(wrong_imports, "math/circle.rs", "use crate::scan::Scan;", 1);
    check(wrong_imports, "math/circle.rs", "use crate::{\n    scan::{Scan, ScanId},\n    math::svd,\n};", 1);
    check(wrong_imports, "scan/mod.rs", "use crate::quantity::Seed;", 0);
    check(wrong_imports, "scan/mod.rs", "fn f() { crate::cli::run() }", 1);
    check(wrong_imports, "scan/mod.rs", "/// See crate::cli.\n// crate::cli\nconst A: &str = \"crate::cli\";", 0);
    check(wrong_imports, "scan/mod.rs", "#[cfg(test)]\nmod tests {\n    use crate::synthetic::vessel;\n}\n", 0);
    check(wrong_imports, "cellar/mod.rs", "", 1);
    check(wrong_imports, "scan/mod.rs", "use crate::Estimate;", 1); // one way: through quantity
}

#[test]
fn a_word_out_of_its_room_is_found() {
    let rule = words_out_of_their_room;
    check(rule, "analysis/mod.rs", "use polars::prelude::*;", 1);
    check(rule, "store/mod.rs", "use polars::prelude::*;", 0);
    check(rule, "analysis/form/mod.rs", "use linfa::Dataset;", 1);
    check(rule, "axis/mod.rs", "fn f(x: Option<f64>) -> f64 { x.unwrap() }", 1);
    check(rule, "axis/mod.rs", "fn f(x: Option<f64>) -> f64 { x.unwrap_or(1.0) }", 0);
    check(rule, "axis/mod.rs", "#[cfg(test)]\nmod tests { fn f() { g('}').unwrap() } }", 0);
    check(rule, "axis/mod.rs", "#[cfg(test)]\nuse a::b;\nfn f() { g().unwrap() }", 1);
    check(rule, "axis/mod.rs", "fn f<'a>(x: &'a str) { println!(\"{x}\") }", 1);
    check(rule, "axis/mod.rs", "fn f() { unsafe { g() } }", 1);
    check(rule, "axis/mod.rs", "#![forbid(unsafe_code)] /* unsafe /* nested */ unsafe */", 0);
    check(rule, "axis/mod.rs", "const A: &str = r#\"unsafe \"quoted\" unsafe\"#; const B: char = '\"';", 0);
}

#[test]
fn a_long_file_is_found() {
    check(long_files, "axis/mod.rs", &"\n".repeat(600), 0);
    check(long_files, "axis/mod.rs", &"\n".repeat(601), 1);
}

#[test]
fn a_banned_name_is_found() {
    check(banned_names, "axis/mod.rs", "pub fn noise_sigma() -> f64 {}", 1);
    check(banned_names, "axis/mod.rs", "pub struct RadialSigma(f64);", 1);
    check(banned_names, "axis/mod.rs", "    pub tol: f64,", 1);
    check(
        banned_names,
        "axis/mod.rs",
        "pub const fn tolerance_grade() {}\nlet sigma = 1.0; // local symbols are free",
        0,
    );
    check(banned_names, "axis/mod.rs", "pub use helper::a;", 0);
}
