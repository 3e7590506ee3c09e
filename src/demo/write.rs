//! A corpus on disk.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use super::corpus::{Corpus, CorpusScan, CorpusVessel, ScanSource};
use super::recipe::Recipe;
use super::tables::{self, CATALOGUE, SCAN_TRUTH, TRUTH};
use super::{DemoError, Role};
use crate::quantity::Upr;
use crate::synthetic::{self, VesselPlan};

/// The cut-off of the roundness in the truth, as in the study.
const CUTOFF_UPR: u16 = 50;

/// What the demo claims of proportions.
const STATEMENTS: &str = include_str!("../../demo-data/statements.toml");

/// The rows one vessel contributes.
struct Rows {
    truth: Vec<String>,
    scans: Vec<Vec<String>>,
}

/// Writes a corpus below `folder`, which is made: `scans/`, `catalogue.csv`, `study.toml`, `statements.toml`, `truth.csv` and
/// `truth_scans.csv`; `progress` is told how many vessels of how many are done. Returns the path of the study. The same
/// corpus gives the same bytes, on any number of threads.
///
/// # Errors
/// [`DemoError`] at the first vessel that cannot be made or file that cannot be written.
pub fn write(corpus: &Corpus, folder: &Path, progress: &(dyn Fn(usize, usize) + Sync)) -> Result<PathBuf, DemoError> {
    let recipe = Recipe::read()?;
    let scans = folder.join("scans");
    fs::create_dir_all(&scans).map_err(|source| DemoError::Io { path: scans, source })?;
    let done = AtomicUsize::new(0);
    let rows: Vec<Rows> = corpus
        .vessels
        .par_iter()
        .map(|vessel| {
            let rows = write_vessel(&recipe, vessel, folder)?;
            progress(done.fetch_add(1, Ordering::Relaxed) + 1, corpus.vessels.len());
            Ok(rows)
        })
        .collect::<Result<_, DemoError>>()?;
    let all_scans = || corpus.vessels.iter().flat_map(|vessel| vessel.scans.iter().map(move |scan| (vessel, scan)));
    let catalogue = all_scans().map(|(vessel, scan)| tables::catalogue_row(vessel, scan)).collect();
    write_table(&folder.join("catalogue.csv"), &CATALOGUE, catalogue)?;
    let (truth, scans): (Vec<_>, Vec<_>) = rows.into_iter().map(|rows| (rows.truth, rows.scans)).unzip();
    write_table(&folder.join("truth.csv"), &TRUTH, truth)?;
    write_table(&folder.join("truth_scans.csv"), &SCAN_TRUTH, scans.concat())?;
    let study = folder.join("study.toml");
    fs::write(&study, tables::study(corpus)).map_err(|source| DemoError::Io { path: study.clone(), source })?;
    write_bytes(&folder.join("statements.toml"), STATEMENTS.as_bytes())?;
    Ok(study)
}

fn write_vessel(recipe: &Recipe, vessel: &CorpusVessel, folder: &Path) -> Result<Rows, DemoError> {
    let made = vessel.make.map(|make| make.vessel()).transpose();
    let made = made.map_err(|source| DemoError::Outline { id: vessel.id.clone(), source })?;
    vessel.scans.par_iter().try_for_each(|scan| write_scan(scan, made.as_ref(), folder))?;
    let known = made.as_ref().filter(|_| vessel.role.measurable());
    let truth = known.zip(Upr::new(CUTOFF_UPR)).map(|(made, cutoff)| made.truth(cutoff));
    let peers = recipe.workshop.iter().find(|workshop| workshop.name == vessel.workshop);
    let times_truer = match (vessel.role, peers, &truth) {
        (Role::UnusuallyTrue, Some(peers), Some(truth)) => Some(peers.roundness_mm / truth.roundness_outer_mm),
        _ => None,
    };
    let scans = vessel.scans.iter().filter_map(|scan| tables::scan_truth_row(vessel, scan, known)).collect();
    Ok(Rows { truth: tables::truth_row(vessel, times_truer, truth.as_ref()), scans })
}

fn write_scan(scan: &CorpusScan, made: Option<&VesselPlan>, folder: &Path) -> Result<(), DemoError> {
    let path = folder.join(&scan.file);
    let bytes = match (&scan.source, made) {
        (ScanSource::Shipped(bytes), _) => return write_bytes(&path, bytes),
        (ScanSource::Planned { .. }, None) => return Ok(()),
        (ScanSource::Planned { plan, format, seed, share_written }, Some(made)) => {
            let scanned =
                made.scan(plan, *seed).map_err(|source| DemoError::Scan { file: scan.file.clone(), source })?;
            let mut bytes = Vec::new();
            synthetic::write(&mut bytes, &scanned, *format, scan.unit)
                .map_err(|source| DemoError::Io { path: path.clone(), source })?;
            let kept = (share_written * bytes.len() as f64) as usize;
            bytes.truncate(kept.min(bytes.len()));
            bytes
        }
    };
    write_bytes(&path, &bytes)
}

fn write_bytes(path: &Path, bytes: &[u8]) -> Result<(), DemoError> {
    let written = File::create(path).and_then(|mut file| file.write_all(bytes));
    written.map_err(|source| DemoError::Io { path: path.to_path_buf(), source })
}

fn write_table(path: &Path, header: &[&str], rows: Vec<Vec<String>>) -> Result<(), DemoError> {
    let written = File::create(path).and_then(|file| {
        let mut writer = csv::Writer::from_writer(BufWriter::new(file));
        writer.write_record(header).map_err(io::Error::other)?;
        for row in rows {
            writer.write_record(row).map_err(io::Error::other)?;
        }
        writer.flush()
    });
    written.map_err(|source| DemoError::Io { path: path.to_path_buf(), source })
}
