//! The program as it is run: exit statuses, messages, resuming, and the same bytes whatever the threads.
#![allow(clippy::unwrap_used)] // a test that cannot go on has failed

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use tempfile::TempDir;

/// Radius and height of a bowl: outer wall from the middle of the foot to the rim, the first 46, and the inner wall back.
fn outline() -> Vec<(f64, f64)> {
    let mut outline: Vec<(f64, f64)> = (0..=4).map(|k| (0.1 * f64::from(k), 0.0)).collect();
    let wall = |t: f64| 0.4 + 0.6 * (t * TAU / 4.0).sin();
    outline.extend((1..=40).map(|k| f64::from(k) / 40.0).map(|t| (wall(t), 0.8 * t)));
    outline.push((0.97, 0.82));
    outline.extend((0..40).rev().map(|k| f64::from(k) / 40.0).map(|t| (wall(t) - 0.06, 0.06 + 0.74 * t)));
    outline.extend((1..=3).rev().map(|k| (0.1 * f64::from(k), 0.06)));
    outline
}

/// A bowl as OBJ: outer wall from the middle of the foot to the rim, inner wall back to the middle of the floor.
///
/// `size` is the radius of the rim in the file's unit, `lobes` the undulations per revolution of a wave of `amplitude`.
fn bowl(size: f64, lobes: f64, amplitude: f64) -> String {
    const SECTORS: usize = 180;
    let outline = outline();
    let mut text = String::from("# made by a test\n");
    let rings: Vec<&(f64, f64)> = outline.iter().skip(1).collect();
    for (radius, height) in &rings {
        for sector in 0..SECTORS {
            let angle = TAU * sector as f64 / SECTORS as f64;
            let r = radius * size + amplitude * (lobes * angle).cos();
            writeln!(text, "v {:.6} {:.6} {:.6}", r * angle.cos(), r * angle.sin(), height * size).unwrap();
        }
    }
    let (bottom, floor) = (rings.len() * SECTORS + 1, rings.len() * SECTORS + 2);
    writeln!(text, "v 0 0 0\nv 0 0 {:.6}", 0.06 * size).unwrap();
    let vertex = |ring: usize, sector: usize| 1 + ring * SECTORS + sector % SECTORS;
    for sector in 0..SECTORS {
        writeln!(text, "f {bottom} {} {}", vertex(0, sector + 1), vertex(0, sector)).unwrap();
        for ring in 0..rings.len() - 1 {
            let (a, b) = (vertex(ring, sector), vertex(ring, sector + 1));
            let (c, d) = (vertex(ring + 1, sector + 1), vertex(ring + 1, sector));
            writeln!(text, "f {a} {b} {c}\nf {a} {c} {d}").unwrap();
        }
        writeln!(text, "f {floor} {} {}", vertex(rings.len() - 1, sector), vertex(rings.len() - 1, sector + 1))
            .unwrap();
    }
    text
}

const HEADER: &str = "vessel_id,file,unit,instrument,u_instrument_mm,material,donor\n";

/// A corpus of bowls in a folder of its own.
struct Corpus {
    folder: TempDir,
    rows: String,
}

impl Corpus {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap(), rows: HEADER.to_owned() }
    }

    /// Bowls `b0`.. of slightly different size and lobing; `b0` is scanned twice.
    fn of_bowls(count: usize) -> Self {
        let mut corpus = Self::new();
        for index in 0..count {
            let text = bowl(50.0 + 3.0 * index as f64, 3.0, 0.05 + 0.01 * index as f64);
            corpus.add(&format!("SHM-{index}"), &format!("b{index}.obj"), "mm", &text);
        }
        corpus.add("SHM-0", "b0 again.obj", "mm", &bowl(50.0, 3.0, 0.051));
        corpus.finish("[reduction]\nheights = 24\ncutoff_upr = 15\nhighest_upr = 20\n")
    }

    fn add(&mut self, vessel: &str, file: &str, unit: &str, text: &str) {
        fs::write(self.path(file), text).unwrap();
        writeln!(self.rows, "{vessel},{file},{unit},arm A,0.01,chlorite,Isolde Marrowby-Finch").unwrap();
    }

    fn finish(self, study: &str) -> Self {
        fs::write(self.path("catalogue.csv"), &self.rows).unwrap();
        fs::write(self.path("study.toml"), format!("catalogue = \"catalogue.csv\"\n{study}")).unwrap();
        self
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, arguments: &[&str]) -> Output {
        let program = env!("CARGO_BIN_EXE_tornus");
        Command::new(program).current_dir(self.folder.path()).args(arguments).output().unwrap()
    }

    fn survey(&self, out: &str, more: &[&str]) -> Output {
        self.run(&[&["survey", "study.toml", "--out", out, "--json"], more].concat())
    }
}

fn status(output: &Output) -> i32 {
    output.status.code().unwrap()
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

fn summary(output: &Output) -> serde_json::Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {}", said(output)))
}

#[track_caller]
fn assert_status(output: &Output, expected: i32) {
    assert_eq!(status(output), expected, "{}", said(output));
}

#[track_caller]
fn assert_refused(output: &Output, words: &[&str]) {
    assert_status(output, 2);
    for word in words {
        assert!(said(output).contains(word), "{word:?} is not said in: {}", said(output));
    }
}

/// Every file of a results folder but the log, with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fn visit(root: &Path, folder: &Path, found: &mut BTreeMap<String, Vec<u8>>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
            if path.is_dir() {
                visit(root, &path, found);
            } else if name != "log.jsonl" && name != ".lock" {
                found.insert(name, fs::read(&path).unwrap());
            }
        }
    }
    let mut found = BTreeMap::new();
    visit(folder, folder, &mut found);
    found
}

#[track_caller]
fn assert_same(a: &Path, b: &Path) {
    let (a, b) = (files(a), files(b));
    assert_eq!(a.keys().collect::<Vec<_>>(), b.keys().collect::<Vec<_>>());
    for (name, bytes) in &a {
        assert!(*bytes == b[name], "{name} differs");
    }
}

#[test]
fn a_survey_leaves_everything_it_promises() {
    let corpus = Corpus::of_bowls(3);
    let output = corpus.survey("out", &["--csv"]);
    assert_status(&output, 0);
    let value = summary(&output);
    assert_eq!(value["counts"], serde_json::json!({"scans": 4, "reduced": 4, "rejected": 0, "vessels": 3}));
    let files = files(&corpus.path("out"));
    for name in [
        "manifest.json",
        "columns.csv",
        "report.html",
        "tables/catalogue.parquet",
        "tables/scans.parquet",
        "tables/sections.parquet",
        "tables/harmonics.parquet",
        "tables/profiles.parquet",
        "tables/scan_measures.parquet",
        "tables/measures.parquet",
        "tables/vessels.parquet",
        "tables/vessels.csv",
        "reduced/b0_again.scan",
    ] {
        assert!(files.contains_key(name), "{name} is not among {:?}", files.keys());
    }
    let vessels = String::from_utf8_lossy(&files["tables/vessels.csv"]).into_owned();
    assert!(vessels.contains("Isolde Marrowby-Finch"), "{vessels}");
    let manifest = String::from_utf8_lossy(&files["manifest.json"]).into_owned();
    assert!(!manifest.contains(&*corpus.folder.path().to_string_lossy()), "no path of this machine: {manifest}");
}

/// Points digitised along a meridian, in space or as a profile, have the form of the vessel they were taken from.
#[test]
fn digitised_meridians_join_the_forms_of_the_scans() {
    let mut corpus = Corpus::new();
    let mut rows = "vessel_id,file,unit,content\n".to_owned();
    for (index, size) in [50.0, 56.0].into_iter().enumerate() {
        corpus.add("", &format!("scan{index}.obj"), "mm", &bowl(size, 3.0, 0.05));
        writeln!(rows, "SHM-{index},scan{index}.obj,mm,").unwrap();
    }
    // The same bowl, six times the unit in centimetres: at an azimuth of 0.7, landmark by landmark, and as radius and height.
    let (mut space, mut flat) = ("Name,X,Y,Z\n".to_owned(), "r,z\n".to_owned());
    for (radius, height) in outline().into_iter().take(46) {
        let (r, z) = (6.0 * radius, 6.0 * height);
        writeln!(space, "L,{:.5},{:.5},{:.5}", r * 0.7_f64.cos(), r * 0.7_f64.sin(), z + 4.0).unwrap();
        writeln!(flat, "{r:.5},{z:.5}").unwrap();
    }
    fs::write(corpus.path("space.csv"), space).unwrap();
    fs::write(corpus.path("flat.csv"), flat).unwrap();
    writeln!(rows, "SHM-7,space.csv,cm,profile\nSHM-8,flat.csv,cm,").unwrap();
    corpus.rows = rows;
    let corpus = corpus.finish("[reduction]\nheights = 24\ncutoff_upr = 15\nhighest_upr = 20\n");
    assert_status(&corpus.survey("out", &["--csv"]), 0);
    let mut reader = csv::Reader::from_path(corpus.path("out/tables/form_scores.csv")).unwrap();
    let column = |name: &str, header: &csv::StringRecord| header.iter().position(|found| found == name).unwrap();
    let header = reader.headers().unwrap().clone();
    let (id, size) = (column("vessel_id", &header), column("centroid_size_mm", &header));
    let found: BTreeMap<String, f64> =
        reader.records().map(Result::unwrap).map(|row| (row[id].to_owned(), row[size].parse().unwrap())).collect();
    assert_eq!(found.keys().collect::<Vec<_>>(), ["SHM-0", "SHM-1", "SHM-7", "SHM-8"]);
    for (vessel, times) in [("SHM-1", 56.0 / 50.0), ("SHM-7", 60.0 / 50.0), ("SHM-8", 60.0 / 50.0)] {
        // The wall is scanned to hundredths of a millimetre; where foot and rim begin moves the size by a few thousandths.
        assert!((found[vessel] / found["SHM-0"] / times - 1.0).abs() < 0.005, "{vessel}: {found:?}");
    }
    // Of the drawings only the outer wall is known: no half-section, and the reason stands beside it.
    assert_status(&corpus.run(&["compare", "out", "--form", "half-section", "--csv"]), 0);
    let clusters = fs::read_to_string(corpus.path("out/tables/clusters.csv")).unwrap();
    let told = |line: &&str| line.starts_with("SHM-7") && line.contains("its interior is not seen");
    assert!(clusters.lines().any(|line| told(&line)), "{clusters}");
    assert_refused(&corpus.run(&["compare", "out", "--form", "inside"]), &["half-section"]);
}

#[test]
fn every_column_is_described() {
    let corpus = Corpus::of_bowls(3);
    assert_status(&corpus.survey("out", &[]), 0);
    let text = fs::read_to_string(corpus.path("out/columns.csv")).unwrap();
    let strange =
        |line: &&str| line.contains("not described") || (line.contains("carried through") && !line.contains(",donor,"));
    let strange: Vec<&str> = text.lines().filter(strange).collect();
    assert!(strange.is_empty(), "columns nobody describes: {strange:#?}");
}

#[test]
fn threads_do_not_change_a_byte() {
    let corpus = Corpus::of_bowls(3);
    assert_status(&corpus.survey("one", &["--threads", "1"]), 0);
    assert_status(&corpus.survey("two", &["--threads", "2"]), 0);
    assert_same(&corpus.path("one"), &corpus.path("two"));
}

#[test]
fn a_run_that_was_killed_resumes_with_the_same_bytes() {
    let corpus = Corpus::of_bowls(3);
    assert_status(&corpus.survey("whole", &[]), 0);
    assert_status(&corpus.survey("killed", &[]), 0);
    fs::remove_file(corpus.path("killed/reduced/b1.scan")).unwrap();
    fs::write(corpus.path("killed/reduced/.unfinished-b1"), b"half").unwrap();
    fs::write(corpus.path("killed/reduced/b2.scan"), b"{\"cut").unwrap();
    fs::remove_dir_all(corpus.path("killed/tables")).unwrap();
    fs::remove_file(corpus.path("killed/manifest.json")).unwrap();
    let again = corpus.survey("killed", &[]);
    assert_status(&again, 0);
    assert_eq!(summary(&again)["unchanged"], false);
    assert_same(&corpus.path("whole"), &corpus.path("killed"));
}

#[test]
fn a_second_run_has_nothing_to_do_until_something_changes() {
    let corpus = Corpus::of_bowls(3);
    assert_status(&corpus.survey("out", &[]), 0);
    let before = files(&corpus.path("out"));
    let again = corpus.survey("out", &[]);
    assert_eq!(summary(&again)["unchanged"], true);
    assert!(before == files(&corpus.path("out")));
    // A table that was touched is made again.
    fs::write(corpus.path("out/tables/scans.parquet"), b"spoilt").unwrap();
    assert_eq!(summary(&corpus.survey("out", &[]))["unchanged"], false);
    assert!(before == files(&corpus.path("out")));
    // A file that changed is reduced again.
    fs::write(corpus.path("b1.obj"), bowl(61.0, 5.0, 0.2)).unwrap();
    assert_eq!(summary(&corpus.survey("out", &[]))["unchanged"], false);
    let changed = files(&corpus.path("out"));
    assert!(before["reduced/b1.scan"] != changed["reduced/b1.scan"]);
    assert!(before["reduced/b2.scan"] == changed["reduced/b2.scan"]);
    assert_status(&corpus.survey("out", &["--fresh"]), 0);
    assert!(changed == files(&corpus.path("out")));
}

#[test]
fn a_changed_unit_or_parameter_is_reduced_again_and_a_dropped_scan_leaves() {
    let corpus = Corpus::of_bowls(3);
    assert_status(&corpus.survey("out", &[]), 0);
    let before = files(&corpus.path("out"));
    let rows = corpus.rows.replace("b1.obj,mm", "b1.obj,cm");
    let without: String =
        rows.lines().filter(|line| !line.contains("b2.obj")).map(|line| format!("{line}\n")).collect();
    fs::write(corpus.path("catalogue.csv"), without).unwrap();
    assert_status(&corpus.survey("out", &[]), 0);
    let after = files(&corpus.path("out"));
    assert!(before["reduced/b1.scan"] != after["reduced/b1.scan"]);
    assert!(before["reduced/b0.scan"] == after["reduced/b0.scan"]);
    assert!(!after.contains_key("reduced/b2.scan"));
    let csv = corpus.run(&["survey", "study.toml", "--out", "out", "--csv"]);
    assert_status(&csv, 0);
    assert!(!fs::read_to_string(corpus.path("out/tables/scans.csv")).unwrap().contains("SHM-2"));
    let study = fs::read_to_string(corpus.path("study.toml")).unwrap().replace("heights = 24", "heights = 16");
    fs::write(corpus.path("study.toml"), study).unwrap();
    assert_status(&corpus.survey("out", &[]), 0);
    assert!(after["reduced/b0.scan"] != files(&corpus.path("out"))["reduced/b0.scan"]);
}

#[test]
fn shares_joined_are_the_whole() {
    let corpus = Corpus::of_bowls(3);
    assert_status(&corpus.run(&["reduce", "study.toml", "--out", "whole"]), 0);
    assert_status(&corpus.run(&["reduce", "study.toml", "--out", "s1", "--shard", "1/2"]), 0);
    assert_status(&corpus.run(&["reduce", "study.toml", "--out", "s2", "--shard", "2/2"]), 0);
    assert_status(&corpus.run(&["gather", "s2", "s1", "--out", "joined"]), 0);
    let (whole, joined) = (files(&corpus.path("whole")), files(&corpus.path("joined")));
    for (name, bytes) in whole.iter().filter(|(name, _)| *name != "manifest.json") {
        assert!(*bytes == joined[name], "{name} differs");
    }
    assert_status(&corpus.run(&["compare", "joined"]), 0);
    assert_status(&corpus.run(&["screen", "joined"]), 0);
    assert_status(&corpus.run(&["report", "joined"]), 0);
    assert_status(&corpus.survey("survey", &[]), 0);
    let (joined, survey) = (files(&corpus.path("joined")), files(&corpus.path("survey")));
    for (name, bytes) in survey.iter().filter(|(name, _)| name.starts_with("tables/")) {
        assert!(*bytes == joined[name], "{name} differs");
    }
    assert!(joined.contains_key("report.html"));
}

#[test]
fn a_refused_comparison_leaves_the_results_as_they_were() {
    let corpus = Corpus::of_bowls(3);
    assert_status(&corpus.survey("out", &[]), 0);
    let before = files(&corpus.path("out"));
    assert_refused(&corpus.run(&["compare", "out", "--groups", "9"]), &["9"]);
    assert_refused(&corpus.run(&["compare", "out", "--groups", "many"]), &["auto"]);
    assert!(before == files(&corpus.path("out")));
    assert_status(&corpus.run(&["report", "out"]), 0);
    assert!(before == files(&corpus.path("out")), "the report of the same tables is the same report");
}

#[test]
fn rejected_scans_are_listed_and_change_the_status() {
    let mut corpus = Corpus::new();
    corpus.add("A", "a.obj", "mm", &bowl(50.0, 3.0, 0.05));
    corpus.add("B", "giant.obj", "m", &bowl(50.0, 3.0, 0.05));
    corpus.add("C", "cut.obj", "mm", "v 1 2\n");
    corpus.add("D", "gone.obj", "mm", "");
    let corpus = corpus.finish("");
    fs::remove_file(corpus.path("gone.obj")).unwrap();
    let output = corpus.survey("out", &[]);
    assert_status(&output, 1);
    let value = summary(&output);
    let reasons: BTreeMap<&str, &str> = value["rejected"]
        .as_array()
        .unwrap()
        .iter()
        .map(|scan| (scan["scan_id"].as_str().unwrap(), scan["reason"].as_str().unwrap()))
        .collect();
    assert_eq!(reasons.keys().copied().collect::<Vec<_>>(), ["cut", "giant", "gone"]);
    assert!(reasons["giant"].contains("would make sense in mm"), "{reasons:?}");
    assert!(reasons["gone"].contains("not found"), "{reasons:?}");
    assert_status(&corpus.survey("out", &[]), 1);
    // The file turns up: it is reduced, and the others are left alone.
    fs::write(corpus.path("gone.obj"), bowl(52.0, 3.0, 0.05)).unwrap();
    assert_eq!(summary(&corpus.survey("out", &[]))["counts"]["reduced"], 2);
}

#[test]
fn one_file_under_two_names_is_pointed_out() {
    let mut corpus = Corpus::new();
    corpus.add("A", "a.obj", "mm", &bowl(50.0, 3.0, 0.05));
    corpus.add("B", "b.obj", "mm", &bowl(50.0, 3.0, 0.05));
    let output = corpus.finish("").survey("out", &[]);
    assert_status(&output, 0);
    assert!(said(&output).contains("a and b hold the same bytes"), "{}", said(&output));
}

#[test]
fn shares_that_contradict_each_other_are_not_joined() {
    let corpus = Corpus::of_bowls(2);
    assert_status(&corpus.run(&["reduce", "study.toml", "--out", "s1"]), 0);
    fs::write(corpus.path("b1.obj"), bowl(61.0, 5.0, 0.2)).unwrap();
    assert_status(&corpus.run(&["reduce", "study.toml", "--out", "s2"]), 0);
    assert_refused(&corpus.run(&["gather", "s1", "s2", "--out", "joined"]), &["scan b1", "s1 and s2"]);
    let study = fs::read_to_string(corpus.path("study.toml")).unwrap().replace("heights = 24", "heights = 16");
    fs::write(corpus.path("study.toml"), study).unwrap();
    assert_status(&corpus.run(&["reduce", "study.toml", "--out", "s2"]), 0);
    assert_refused(&corpus.run(&["gather", "s1", "s2", "--out", "joined"]), &["another reduction"]);
    assert_refused(&corpus.run(&["gather", "s1", "s1", "--out", "s1"]), &["the same"]);
    assert!(!corpus.path("joined").exists());
}

#[test]
fn nothing_reduced_is_status_two() {
    let mut corpus = Corpus::new();
    corpus.add("A", "a.obj", "mm", "v 1 2\n");
    let corpus = corpus.finish("");
    assert_status(&corpus.survey("out", &[]), 2);
}

#[test]
fn a_bad_study_is_refused_with_a_hint() {
    let corpus = Corpus::of_bowls(1);
    fs::write(corpus.path("study.toml"), "catalogue = 'catalogue.csv'\n[reduction]\nhieghts = 3\n").unwrap();
    assert_refused(&corpus.survey("out", &[]), &["line 3", "`hieghts` in [reduction]", "did you mean `heights`?"]);
    fs::write(corpus.path("study.toml"), "catalogue = 'nowhere.csv'\n").unwrap();
    assert_refused(&corpus.survey("out", &[]), &["nowhere.csv"]);
    for factor in ["colour", "file", "u_instrument_mm"] {
        let text = format!("catalogue = 'catalogue.csv'\n[compare]\nfactors = ['donor', '{factor}']\n");
        fs::write(corpus.path("study.toml"), text).unwrap();
        assert_refused(&corpus.survey("out", &[]), &["[compare] factors", factor, "study.toml"]);
    }
    assert_refused(&corpus.run(&["survey", "no-study.toml"]), &["no-study.toml"]);
    assert!(!corpus.path("out").exists(), "a refused study must leave nothing behind");
}

#[test]
fn a_bad_catalogue_is_refused_line_by_line() {
    let corpus = Corpus::of_bowls(2);
    let refuse = |rows: &str, words: &[&str]| {
        fs::write(corpus.path("catalogue.csv"), rows).unwrap();
        assert_refused(&corpus.survey("out", &[]), words);
    };
    let rows = |more: &str| format!("vessel_id,file,unit\nA,b0.obj,mm\n{more}");
    refuse(&rows("B,b1.obj,ft\n"), &["line 3, column unit", "mm, cm, m or in", "\"ft\""]);
    refuse(&rows("B,b0.obj,mm\n"), &["line 3, column file", "line 2"]);
    refuse(&rows("B,./b0.obj,mm\n"), &["line 3, column file", "line 2"]);
    refuse(&rows("B,../x.obj,mm\n"), &["line 3, column file", "allow_outside"]);
    refuse(&rows(",b1.obj\n"), &["line 3", "3 cells"]);
    refuse(&rows(",b1.obj,mm\n"), &["line 3, column vessel_id"]);
    refuse("vessel,file,unit\nA,b0.obj,mm\n", &["column vessel_id", "missing"]);
    refuse("vessel_id;file;unit\nA;b0.obj;mm\n", &["commas"]);
    refuse("", &["header"]);
    refuse("vessel_id,file,unit\n", &["at least one scan"]);
    refuse("vessel_id,file,unit,mohs\nA,b0.obj,mm,\"2,5\"\n", &["line 2, column mohs", "decimal point"]);
    refuse(
        "vessel_id,file,unit,material\nA,b0.obj,mm,chlorite\nA,b1.obj,mm,serpentine\n",
        &["line 3, column material"],
    );
    fs::write(corpus.path("catalogue.csv"), b"vessel_id,file,unit\nA,b0.obj,mm\nB\xff,b1.obj,mm\n").unwrap();
    assert_refused(&corpus.survey("out", &[]), &["line 3", "UTF-8"]);
}

#[test]
fn rows_are_chosen_by_a_column() {
    let corpus = Corpus::of_bowls(3);
    let study = fs::read_to_string(corpus.path("study.toml")).unwrap();
    let choose = |column: &str, values: &str| {
        fs::write(corpus.path("study.toml"), format!("{study}[select]\ncolumn = '{column}'\nvalues = {values}\n"))
            .unwrap();
        corpus.survey("out", &[])
    };
    assert_eq!(summary(&choose("vessel_id", "['SHM-1', 'SHM-2']"))["counts"]["scans"], 2);
    assert_refused(&choose("vessel_id", "['nobody']"), &["chooses no row"]);
    assert_refused(&choose("doner", "['x']"), &["did you mean `donor`?"]);
}

#[test]
fn scans_named_one_by_one_need_a_unit() {
    let corpus = Corpus::of_bowls(2);
    assert_refused(&corpus.run(&["reduce", "b0.obj", "--out", "out"]), &["--unit"]);
    assert_refused(&corpus.run(&["reduce", "b0.obj", "--unit", "ft", "--out", "out"]), &["mm, cm, m or in"]);
    assert_refused(&corpus.run(&["reduce", "study.toml", "--unit", "mm", "--out", "out"]), &["leave --unit out"]);
    assert_refused(&corpus.run(&["reduce", "study.toml", "--shard", "3/2", "--out", "out"]), &["I/N"]);
    assert_status(&corpus.run(&["reduce", "b0.obj", "b1.obj", "--unit", "mm", "--out", "out"]), 0);
    assert!(corpus.path("out/tables/vessels.parquet").exists());
    assert_refused(
        &corpus.run(&["reduce", "b0.obj", "./b0.obj", "--unit", "mm", "--out", "out"]),
        &["b0.obj", "twice"],
    );
}

#[test]
fn a_check_says_what_a_run_would_do_and_writes_nothing() {
    let corpus = Corpus::of_bowls(2);
    let check = || corpus.run(&["check", "study.toml", "--json"]);
    let output = check();
    assert_status(&output, 0);
    assert_eq!(summary(&output)["to_reduce"], 3);
    assert!(!corpus.path("study-results").exists());
    assert_status(&corpus.run(&["survey", "study.toml"]), 0);
    assert_eq!(summary(&check())["reduced_already"], 3);
    fs::remove_file(corpus.path("b1.obj")).unwrap();
    let output = check();
    assert_status(&output, 1);
    assert_eq!(summary(&output)["wrong"][0]["scan_id"], "b1");
}

#[test]
fn measures_tables_and_keys_are_described() {
    let corpus = Corpus::new();
    let describe = |name: &str| corpus.run(&["describe", name]);
    for (name, word) in [
        ("roundness_outer", "ISO 12181-1"),
        ("sections", "ront_mzci_mm"),
        ("sections.ront_mzci_mm", "minimum zone"),
        ("study", "cutoff_upr"),
    ] {
        let output = describe(name);
        assert_status(&output, 0);
        assert!(said(&output).contains(word), "{name}: {}", said(&output));
    }
    assert_refused(&describe("roundnes_outer"), &["did you mean `roundness_outer`?"]);
    assert_refused(&describe("xyzzy"), &["tornus describe"]);
    let all = corpus.run(&["describe"]);
    assert_status(&all, 0);
    assert!(said(&all).contains("capacity") && said(&all).contains("harmonics"));
}

#[test]
fn completions_and_help_are_there_for_every_command() {
    let corpus = Corpus::new();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let output = corpus.run(&["completions", shell]);
        assert_status(&output, 0);
        assert!(said(&output).contains("survey"), "{shell}");
    }
    for command in ["demo", "survey", "reduce", "gather", "compare", "report", "check", "describe", "completions"] {
        let output = corpus.run(&[command, "--help"]);
        assert_status(&output, 0);
        assert!(said(&output).contains("Example"), "{command}: {}", said(&output));
    }
    assert_refused(&corpus.run(&["survye"]), &["survey"]);
    assert_refused(&corpus.run(&["compare", "nowhere"]), &["no results in nowhere"]);
    assert_refused(&corpus.run(&["describe", "--threads", "0"]), &["at least 1"]);
}
