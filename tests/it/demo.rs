//! The demo corpus: what is planted in it, that it is the same every time, and that the files that ship are its own.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use tornus::Seed;
use tornus::demo::{self, Corpus, Role};

/// Seed of the handful of scans that ships with the program.
const SHIPPED_SEED: u64 = 1;

fn count(corpus: &Corpus, role: Role) -> usize {
    corpus.vessels.iter().filter(|vessel| vessel.role == role).count()
}

/// Every file below a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().chain(fs::read_dir(folder.join("scans")).unwrap()) {
        let path = entry.unwrap().path();
        if path.is_file() {
            found.insert(path.strip_prefix(folder).unwrap().to_path_buf(), fs::read(&path).unwrap());
        }
    }
    found
}

#[test]
fn sixty_vessels_hold_what_is_planted() {
    let corpus = demo::plan(60, Seed::new(1)).unwrap();
    assert_eq!(corpus.vessels.len(), 60);
    let roles = [
        (Role::UnusuallyTrue, 3),
        (Role::Replica, 4),
        (Role::DocumentedModern, 6),
        (Role::TruncatedFile, 1),
        (Role::NotOfRevolution, 1),
        (Role::RealHandlingPiece, 2),
        (Role::Workshop, 43),
    ];
    for (role, wanted) in roles {
        assert_eq!(count(&corpus, role), wanted, "{role:?}");
    }
    let peers = |name: &str| corpus.vessels.iter().filter(|v| v.role == Role::Workshop && v.workshop == name).count();
    assert!(["Reedgate", "Osprey Quay", "Low Marsh"].iter().all(|name| peers(name) >= 12));
    let documented_old = corpus.vessels.iter().filter(|vessel| vessel.reference == "old").count();
    assert!(documented_old >= 5, "{documented_old}");
    assert!(corpus.vessels.iter().any(|vessel| vessel.scans.len() > 1), "no repeat scan");
}

#[test]
fn the_least_corpus_has_every_role_and_fewer_are_refused() {
    let corpus = demo::plan(demo::LEAST_VESSELS, Seed::new(3)).unwrap();
    assert_eq!(corpus.vessels.len(), demo::LEAST_VESSELS);
    assert!(count(&corpus, Role::Workshop) >= 6);
    let refusal = demo::plan(19, Seed::new(3)).unwrap_err();
    assert_eq!(refusal.to_string(), "a demo corpus needs at least 20 vessels: 19");
}

#[test]
fn a_seed_gives_the_same_bytes_on_any_number_of_threads() {
    let written = [1, 3].map(|threads| {
        let folder = tempfile::tempdir().unwrap();
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            let corpus = demo::handful(Seed::new(9)).unwrap();
            demo::write(&corpus, folder.path(), &|_, _| {}).unwrap();
        });
        files(folder.path())
    });
    assert_eq!(written[0], written[1]);
    let other = demo::handful(Seed::new(10)).unwrap();
    assert_ne!(other, demo::handful(Seed::new(9)).unwrap());
}

/// `UPDATE_GOLDEN=1` writes the files that ship anew.
#[test]
fn the_files_that_ship_are_the_generators_own() {
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let corpus = demo::handful(Seed::new(SHIPPED_SEED)).unwrap();
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        demo::write(&corpus, &shipped, &|_, _| {}).unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    demo::write(&corpus, folder.path(), &|_, _| {}).unwrap();
    let (made, shipped) = (files(folder.path()), files(&shipped));
    for (name, bytes) in &made {
        let there = shipped.get(name).unwrap_or_else(|| panic!("{} does not ship", name.display()));
        // Another system's sine may differ in the last bit of a scan or of the truth; names, sizes and words may not.
        let words = name.ends_with("catalogue.csv") || name.ends_with("study.toml");
        assert!(there.len() == bytes.len() && (!words || there == bytes), "{} is not as made", name.display());
    }
    let scans = shipped.iter().filter(|(name, _)| name.starts_with("scans"));
    assert_eq!(scans.count(), made.keys().filter(|name| name.starts_with("scans")).count(), "a scan too many ships");
    let bytes: usize = shipped.values().map(Vec::len).sum();
    assert!(bytes < 2_000_000, "{bytes} bytes ship");
}
