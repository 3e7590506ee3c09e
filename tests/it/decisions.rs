//! The decisions from a folder of results, as the program is run: shortlist, proportions, screening.
#![allow(clippy::unwrap_used)] // a test that cannot go on has failed

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use tornus::store::read_table;

fn tornus(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tornus")).args(arguments).output().unwrap()
}

fn refused(output: &Output, words: &str) {
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains(words) && said.contains("error"), "{said}");
}

#[test]
fn decisions_follow_from_a_folder_of_results() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let made = tornus(&["demo", "--vessels", "20", "--seed", "4", "--out", out]);
    assert_eq!(made.status.code(), Some(1), "{}", String::from_utf8_lossy(&made.stderr)); // two scans must be refused
    let results = folder.path().join("results");
    let results = results.to_str().unwrap();
    let table = |name: &str| read_table(&Path::new(results).join(format!("tables/{name}.parquet"))).unwrap();

    for budget in [0.0, 150.0, 400.0] {
        let done = tornus(&["shortlist", results, "--budget", &budget.to_string()]);
        assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
        let list = table("shortlist");
        let costs = list.floats("cost").unwrap().iter().zip(list.flags("chosen").unwrap());
        let spent: f64 = costs.filter(|(_, chosen)| **chosen == Some(true)).filter_map(|(cost, _)| *cost).sum();
        assert!(spent <= budget, "{spent} of {budget}");
        assert!(list.texts("grounds").unwrap().iter().flatten().all(|grounds| !grounds.is_empty()));
    }
    refused(&tornus(&["shortlist", results, "--budget=-4"]), "budget must be 0 or more: -4");

    let statements = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/statements.toml");
    let done = tornus(&["proportions", results, "--statements", statements]);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let told = table("proportions");
    assert!(told.rows() >= 1);
    assert!(told.floats("p").unwrap().iter().flatten().all(|p| (0.0..=1.0).contains(p)));
    let bad = folder.path().join("bad.toml");
    fs::write(&bad, "[[statement]]\nname = \"a\"\nfoo = 1\n").unwrap();
    refused(&tornus(&["proportions", results, "--statements", bad.to_str().unwrap()]), "line 3: unknown key `foo`");

    let before = fs::read(Path::new(results).join("tables/screening.parquet")).unwrap();
    assert_eq!(tornus(&["screen", results]).status.code(), Some(0));
    assert_eq!(fs::read(Path::new(results).join("tables/screening.parquet")).unwrap(), before);
}
