//! A large results folder to measure with: the reduced tables of a small one, copied with scatter.
//!
//! `cargo run --release --example large_corpus -- FROM VESSELS TO [all]` reads the results folder FROM (the demo's, say) and
//! writes to TO a folder of the same study in which every vessel of FROM stands again and again, until there are VESSELS.
//! `tornus compare TO` and what follows it find there what a survey of so many scans would have left. Sections, harmonics,
//! patches and unrolled maps, which only the report reads, are copied with `all` (about 0.2 MB a vessel).
//!
//! No copy equals another: every measure is multiplied, with its uncertainties, by a log-normal factor of its own, and every
//! outline by a smooth one. FROM's documented references are copied too, so that there are far more of them than any corpus
//! has: the screening is measured at its worst.
#![allow(clippy::unwrap_used, missing_docs)]

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::path::Path;

use rand::Rng;
use rand_distr::StandardNormal;
use tornus::Seed;
use tornus::store::{Counts, Folder, Manifest, TableWriter, read_table_if_there, write_table};
use tornus::table::{Column, ColumnData, Table, combine, select_rows, stack};

/// Standard deviation of a measure's logarithm between copies, and of an outline's radius.
const SCATTER: f64 = 0.1;

/// Rows gathered before they go to disk, as a survey does.
const BATCH_ROWS: usize = 1 << 18;

/// Tables of scans that a comparison reads.
const COMPARED: [&str; 5] = ["catalogue", "scans", "scan_measures", "profiles", "profile_arcs"];

/// Tables of scans that only the report reads.
const SHOWN: [&str; 4] = ["sections", "harmonics", "patches", "unrolled"];

/// Columns of a measure that grow with it.
const OF_MEASURE: [&str; 10] = [
    "value",
    "u",
    "detection_limit",
    "u_noise",
    "u_sampling",
    "u_axis",
    "u_set_aside",
    "u_instrument",
    "value_found",
    "u_value_found",
];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [from, vessels, to, rest @ ..] = arguments.as_slice() else {
        panic!("usage: large_corpus FROM VESSELS TO [all]");
    };
    let all = rest.first().is_some_and(|word| word == "all");
    copy(&Folder::new(from), vessels.parse().unwrap(), &Folder::new(to), all);
}

/// Writes `vessels` vessels copied from the results in `from` to `to`.
fn copy(from: &Folder, vessels: usize, to: &Folder, all: bool) {
    let names = COMPARED.into_iter().chain(SHOWN.into_iter().filter(|_| all));
    let known: Vec<Table> = names.filter_map(|name| read_table_if_there(&from.table(name)).unwrap()).collect();
    let named = |name: &str| known.iter().find(|table| table.name() == name).unwrap();
    let vessel_of = texts_by(named("scans"), "scan_id", "vessel_id");
    let mut sorted: Vec<&String> = vessel_of.values().collect();
    sorted.sort_unstable();
    sorted.dedup();
    let copies = vessels.div_ceil(sorted.len());
    let last: Vec<&String> = sorted.iter().copied().take(vessels - (copies - 1) * sorted.len()).collect();
    std::fs::create_dir_all(to.tables()).unwrap();
    let mut files: BTreeMap<String, Gathered> = BTreeMap::new();
    let mut whole: [Vec<Table>; 2] = Default::default();
    for copy in 0..copies {
        let kept = |scan: &str| copy + 1 < copies || vessel_of.get(scan).is_some_and(|vessel| last.contains(&vessel));
        let own: Vec<Table> = known.iter().map(|table| copied(&chosen(table, kept), &vessel_of, copy)).collect();
        let [catalogue, scans, scan_measures] = [&own[0], &own[1], &own[2]];
        let measures = combine::measures(catalogue, scan_measures).unwrap();
        let of_vessels = combine::vessels(catalogue, scans, &measures).unwrap();
        whole[0].push(catalogue.clone());
        whole[1].push(scans.clone());
        for table in own.into_iter().skip(2).chain([measures, of_vessels]) {
            files.entry(table.name().to_owned()).or_default().add(&to.tables(), table);
        }
    }
    files.into_values().for_each(|gathered| gathered.finish(&to.tables()));
    let [catalogue, scans] = whole.map(|pieces| stack(&pieces).unwrap().unwrap());
    write_table(&to.tables(), &catalogue).unwrap();
    write_table(&to.tables(), &scans).unwrap();
    manifest(from, &scans, to);
}

/// The manifest of reduced tables with the study of `from`.
fn manifest(from: &Folder, scans: &Table, to: &Folder) {
    let old = Manifest::read(&from.manifest()).unwrap().unwrap();
    let status = scans.texts("status").unwrap();
    let reduced: Vec<usize> = (0..scans.rows()).filter(|&row| status[row].as_deref() == Some("reduced")).collect();
    let mut vessels: Vec<&Option<String>> =
        reduced.iter().map(|&row| &scans.texts("vessel_id").unwrap()[row]).collect();
    vessels.sort_unstable();
    vessels.dedup();
    let counts = Counts {
        scans: scans.rows(),
        reduced: reduced.len(),
        rejected: scans.rows() - reduced.len(),
        vessels: vessels.len(),
    };
    let made = Manifest { counts, inputs: Vec::new(), outputs: Vec::new(), stage: "reduced".to_owned(), ..old };
    made.write(&to.manifest()).unwrap();
}

/// Rows of one table on their way to a file.
#[derive(Default)]
struct Gathered {
    writer: Option<TableWriter>,
    pieces: Vec<Table>,
}

impl Gathered {
    fn add(&mut self, folder: &Path, piece: Table) {
        self.pieces.push(piece);
        if self.pieces.iter().map(Table::rows).sum::<usize>() >= BATCH_ROWS {
            self.flush(folder);
        }
    }

    fn flush(&mut self, folder: &Path) {
        let Some(batch) = stack(&std::mem::take(&mut self.pieces)).unwrap() else { return };
        let writer = self.writer.get_or_insert_with(|| TableWriter::create(folder, &batch).unwrap());
        writer.append(&batch).unwrap();
    }

    fn finish(mut self, folder: &Path) {
        self.flush(folder);
        self.writer.into_iter().for_each(|writer| drop(writer.finish().unwrap()));
    }
}

/// The rows of the scans to keep.
fn chosen(table: &Table, kept: impl Fn(&str) -> bool) -> Table {
    let scans = table.texts("scan_id").unwrap();
    let rows: Vec<usize> = (0..table.rows()).filter(|&row| kept(scans[row].as_deref().unwrap())).collect();
    select_rows(table, &rows).unwrap()
}

/// A table's copy of this number: other identifiers, scattered values.
fn copied(table: &Table, vessel_of: &BTreeMap<String, String>, copy: usize) -> Table {
    let scans = table.texts("scan_id").unwrap();
    let measures = table.has("measure").then(|| table.texts("measure").unwrap());
    let factor = |row: usize| match (table.name(), measures) {
        ("scan_measures", Some(measures)) => {
            let words =
                format!("{copy} {} {}", vessel_of[scans[row].as_deref().unwrap()], measures[row].as_deref().unwrap());
            (SCATTER * normals(&words)[0]).exp()
        }
        _ => 1.0,
    };
    let factors: Vec<f64> = match table.name() {
        "profiles" => outlines(table, vessel_of, copy),
        _ => (0..table.rows()).map(factor).collect(),
    };
    let column = |column: &Column| {
        let grows = match table.name() {
            "profiles" => column.name == "radius_mm",
            _ => OF_MEASURE.contains(&column.name.as_str()),
        };
        let data = match &column.data {
            ColumnData::Text(values) if ["scan_id", "vessel_id"].contains(&column.name.as_str()) => {
                ColumnData::Text(values.iter().map(|id| id.as_ref().map(|id| format!("{copy:05}-{id}"))).collect())
            }
            ColumnData::Float(values) if grows => ColumnData::Float(
                values.iter().zip(&factors).map(|(value, factor)| value.map(|v| v * factor)).collect(),
            ),
            other => other.clone(),
        };
        Column { name: column.name.clone(), data }
    };
    Table::new(table.name(), table.columns().iter().map(column).collect()).unwrap()
}

/// By row, what an outline's radius is multiplied by: the same at one height of one vessel, smooth along it.
fn outlines(profiles: &Table, vessel_of: &BTreeMap<String, String>, copy: usize) -> Vec<f64> {
    let scans = profiles.texts("scan_id").unwrap();
    let heights = profiles.floats("height_mm").unwrap();
    let mut tops: BTreeMap<&str, (f64, [f64; 3])> = BTreeMap::new();
    for (scan, height) in scans.iter().zip(heights) {
        let scan = scan.as_deref().unwrap();
        let drawn = || (0.0, normals(&format!("{copy} {} outline", vessel_of[scan])));
        let top = &mut tops.entry(scan).or_insert_with(drawn).0;
        *top = top.max(height.unwrap_or(0.0));
    }
    let factor = |(scan, height): (&Option<String>, &Option<f64>)| {
        let (top, waves) = tops[scan.as_deref().unwrap()];
        let along = height.unwrap_or(0.0) / top.max(1.0);
        let waves = waves.iter().enumerate().map(|(k, wave)| wave / (k + 1) as f64 * (PI * k as f64 * along).cos());
        (SCATTER * waves.sum::<f64>()).exp()
    };
    scans.iter().zip(heights).map(factor).collect()
}

/// Three standard normal numbers that these words stand for.
fn normals(words: &str) -> [f64; 3] {
    let hash = tornus::store::hash_bytes(words.as_bytes());
    let mut rng = Seed::new(u64::from_str_radix(&hash[..16], 16).unwrap()).rng();
    std::array::from_fn(|_| rng.sample(StandardNormal))
}

fn texts_by(table: &Table, key: &str, value: &str) -> BTreeMap<String, String> {
    let pairs = table.texts(key).unwrap().iter().zip(table.texts(value).unwrap());
    pairs.map(|(key, value)| (key.clone().unwrap(), value.clone().unwrap())).collect()
}
