//! Results on disk: what is written comes back, whole or not at all.
#![allow(clippy::unwrap_used)] // a test that cannot go on has failed

use std::collections::BTreeSet;
use std::fs;

use tornus::store::{
    Commit, CommitKey, Commits, Counts, Folder, KeyedTable, Manifest, SCHEMA_VERSION, Status, StoreError, TableWriter,
    read_table, read_table_if_there, stack_commits, write_columns, write_csv, write_table,
};
use tornus::table::{Column, Table};

fn mixed() -> Table {
    Table::new(
        "mixed",
        vec![
            Column::optional_texts(
                "scan_id",
                [Some("a".to_owned()), None, Some(String::new()), Some("Krug, groß".to_owned())],
            ),
            Column::optional_floats("height_mm", [Some(1.5), None, Some(-0.0), Some(f64::MIN_POSITIVE)]),
            Column::optional_integers("upr", [Some(i64::MAX), None, Some(0), Some(i64::MIN)]),
            Column::optional_flags("body", [Some(true), None, Some(false), Some(true)]),
        ],
    )
    .unwrap()
}

fn empty() -> Table {
    let columns = vec![
        Column::texts("scan_id", Vec::<String>::new()),
        Column::floats("x", []),
        Column::integers("n", []),
        Column::optional_flags("flag", []),
    ];
    Table::new("empty", columns).unwrap()
}

#[test]
fn every_type_comes_back_with_its_gaps() {
    let folder = tempfile::tempdir().unwrap();
    for table in [mixed(), empty()] {
        let path = write_table(folder.path(), &table).unwrap();
        assert_eq!(read_table(&path).unwrap(), table);
    }
}

#[test]
fn the_rows_of_a_few_keys_are_read_without_the_others() {
    let folder = tempfile::tempdir().unwrap();
    // Three keys in runs of 20,000 rows, the first again at the end: further apart than is read in one go.
    let keys = ["a", "b", "c", "a"];
    let rows = 20_000;
    let names = (0..keys.len() * rows).map(|row| keys[row / rows]);
    let numbers = (0..keys.len() * rows).map(|row| row as i64);
    let table = Table::new("t", vec![Column::texts("scan_id", names), Column::integers("n", numbers)]).unwrap();
    let keyed = KeyedTable::open(&write_table(folder.path(), &table).unwrap(), "scan_id").unwrap();
    let read = |keys: &[&str]| keyed.read(keys).unwrap().map(|table| table.integers("n").unwrap().to_vec());
    let numbers = |range: std::ops::Range<i64>| range.map(Some);
    assert_eq!(read(&["b"]).unwrap(), numbers(20_000..40_000).collect::<Vec<_>>());
    assert_eq!(read(&["a"]).unwrap(), numbers(0..20_000).chain(numbers(60_000..80_000)).collect::<Vec<_>>());
    assert_eq!(read(&["c", "b"]).unwrap(), numbers(20_000..60_000).collect::<Vec<_>>());
    assert!(read(&["d"]).is_none() && read(&[]).is_none());
}

#[test]
fn the_same_table_gives_the_same_bytes() {
    let (one, two) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let first = fs::read(write_table(one.path(), &mixed()).unwrap()).unwrap();
    let second = fs::read(write_table(two.path(), &mixed()).unwrap()).unwrap();
    assert_eq!(first, second);
}

#[test]
fn an_unfinished_file_is_never_read_and_is_cleared() {
    let folder = tempfile::tempdir().unwrap();
    let results = Folder::new(folder.path());
    fs::create_dir(results.reduced()).unwrap();
    let half = results.reduced().join(".unfinished-x1.scan");
    fs::write(&half, b"half a scan").unwrap();
    assert!(Commits::new(results.reduced()).read(".unfinished-x1").unwrap().is_none());
    results.lock().unwrap();
    assert!(!half.exists());
}

#[test]
fn a_writer_that_is_dropped_leaves_no_table() {
    let folder = tempfile::tempdir().unwrap();
    let mut writer = TableWriter::create(folder.path(), &mixed()).unwrap();
    writer.append(&mixed()).unwrap();
    drop(writer);
    assert_eq!(read_table_if_there(&folder.path().join("mixed.parquet")).unwrap(), None);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn a_damaged_table_is_an_error_that_names_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = write_table(folder.path(), &mixed()).unwrap();
    let bytes = fs::read(&path).unwrap();
    for length in [0, 3, bytes.len() / 2, bytes.len() - 1] {
        fs::write(&path, &bytes[..length]).unwrap();
        let message = read_table(&path).unwrap_err().to_string();
        assert!(message.contains("mixed.parquet"), "{message}");
    }
}

fn scan_rows(scan_id: &str, values: &[f64]) -> Table {
    let columns =
        vec![Column::texts("scan_id", values.iter().map(|_| scan_id)), Column::floats("x", values.iter().copied())];
    Table::new("rows", columns).unwrap()
}

fn commit(scan_id: &str, status: Status) -> Commit {
    let key = CommitKey::new(scan_id, "hash", &["unit = mm".to_owned()]);
    Commit { scan_id: scan_id.to_owned(), key, file_hash: "hash".to_owned(), status }
}

fn ids(names: &[&str]) -> BTreeSet<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

#[test]
fn commits_stack_in_sorted_order_whatever_the_order_of_writing() {
    let folder = tempfile::tempdir().unwrap();
    let commits = Commits::new(folder.path().join("reduced"));
    for (name, values) in [("c", &[3.0][..]), ("a", &[1.0, 1.5]), ("stale", &[9.0])] {
        commits.write(&commit(name, Status::Reduced), &[empty(), scan_rows(name, values)]).unwrap();
    }
    commits.write(&commit("b", Status::Rejected("too small".to_owned())), &[]).unwrap();
    let wanted = ids(&["a", "b", "c"]);
    assert_eq!(stack_commits(&commits, &wanted, "rows", folder.path()).unwrap(), 3);
    let table = read_table(&folder.path().join("rows.parquet")).unwrap();
    assert_eq!(table.floats("x").unwrap(), [Some(1.0), Some(1.5), Some(3.0)]);
    commits.retain(&wanted).unwrap();
    assert_eq!(commits.scan_ids().unwrap(), ["a", "b", "c"]);
    assert_eq!(commits.read("b").unwrap().unwrap().status, Status::Rejected("too small".to_owned()));
    assert_eq!(stack_commits(&commits, &ids(&["b"]), "rows", folder.path()).unwrap(), 0);
    assert!(!folder.path().join("rows.parquet").exists(), "a table without rows must not keep older rows");
}

#[test]
fn a_commit_cut_anywhere_is_no_commit() {
    let folder = tempfile::tempdir().unwrap();
    let commits = Commits::new(folder.path().to_path_buf());
    commits.write(&commit("a", Status::Reduced), &[scan_rows("a", &[1.0])]).unwrap();
    let path = folder.path().join("a.scan");
    let bytes = fs::read(&path).unwrap();
    for length in 0..bytes.len() {
        fs::write(&path, &bytes[..length]).unwrap();
        assert_eq!(commits.read("a").unwrap(), None, "cut at {length}");
    }
    let mut flipped = bytes.clone();
    let last = flipped.len() - 20;
    flipped[last] ^= 1;
    fs::write(&path, &flipped).unwrap();
    assert!(matches!(commits.table("a", "rows"), Err(StoreError::Damaged { .. })));
}

#[test]
fn a_key_changes_with_everything_it_stands_for() {
    let lines = |unit: &str| vec![format!("unit = {unit}")];
    let key = CommitKey::new("a", "hash", &lines("mm"));
    assert_eq!(key, CommitKey::new("a", "hash", &lines("mm")));
    assert_ne!(key, CommitKey::new("b", "hash", &lines("mm")));
    assert_ne!(key, CommitKey::new("a", "other", &lines("mm")));
    assert_ne!(key, CommitKey::new("a", "hash", &lines("cm")));
}

#[test]
fn csv_keeps_every_digit_and_leaves_gaps_empty() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(write_csv(folder.path(), &mixed()).unwrap()).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "scan_id,height_mm,upr,body");
    assert_eq!(lines[1], "a,1.5,9223372036854775807,true");
    assert_eq!(lines[2], ",,,");
    assert!(lines[4].starts_with("\"Krug, groß\","));
    assert_eq!(lines[4].split(',').nth(2).unwrap().parse::<f64>().unwrap(), f64::MIN_POSITIVE);
}

#[test]
fn columns_csv_has_a_line_per_column() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("columns.csv");
    let table = Table::new("profiles", vec![Column::floats("radius_mm", [1.0]), Column::floats("u_radius_mm", [0.1])]);
    write_columns(&path, &[table.unwrap()]).unwrap();
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.starts_with("table,column,unit,type,meaning,source\nprofiles,radius_mm,mm,float,"), "{text}");
    assert!(text.contains("profiles,u_radius_mm,mm,float,standard uncertainty of radius_mm,JCGM 100 (GUM)"), "{text}");
}

#[test]
fn a_manifest_comes_back_and_another_schema_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("manifest.json");
    assert_eq!(Manifest::read(&path).unwrap(), None);
    let manifest = Manifest {
        schema_version: SCHEMA_VERSION,
        program_version: "0.0.0".to_owned(),
        command: "tornus reduce a.stl".to_owned(),
        study: serde_json::json!({"seed": 1}),
        catalogue_blake3: None,
        inputs: Vec::new(),
        counts: Counts { scans: 2, reduced: 1, rejected: 1, vessels: 1 },
        stage: "reduced".to_owned(),
        outputs: Vec::new(),
    };
    manifest.write(&path).unwrap();
    assert_eq!(Manifest::read(&path).unwrap(), Some(manifest.clone()));
    let other = Manifest { schema_version: SCHEMA_VERSION + 1, ..manifest };
    other.write(&path).unwrap();
    assert!(matches!(Manifest::read(&path), Err(StoreError::SchemaVersion { .. })));
}

/// 10,000 scans must be bearable: a thousand commits take about 2 s to write and 0.2 s to stack; ten times that is allowed.
#[test]
fn a_thousand_commits_stack_quickly() {
    let folder = tempfile::tempdir().unwrap();
    let commits = Commits::new(folder.path().join("reduced"));
    let names: BTreeSet<String> = (0..1000).map(|n| format!("s{n:05}")).collect();
    let start = std::time::Instant::now();
    for name in &names {
        commits.write(&commit(name, Status::Reduced), &[scan_rows(name, &[1.0; 35])]).unwrap();
    }
    assert_eq!(stack_commits(&commits, &names, "rows", folder.path()).unwrap(), 35_000);
    assert!(start.elapsed().as_secs() < 60, "{:?}", start.elapsed());
}

#[test]
fn two_runs_do_not_write_into_one_folder() {
    let folder = tempfile::tempdir().unwrap();
    let results = Folder::new(folder.path().join("out"));
    let lock = results.lock().unwrap();
    assert!(matches!(results.lock(), Err(StoreError::Busy { .. })));
    drop(lock);
    results.lock().unwrap();
}
