//! What there is to reduce: from a study's catalogue, or from scans named one by one.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::args::Shard;
use super::failure::Failure;
use crate::analysis::AnalysisError;
use crate::config::{Catalogue, Located, Study, scan_ids, sources};
use crate::outline::Drawn;
use crate::quantity::LengthUnit;
use crate::reduction::Declared;
use crate::store::hash_bytes;
use crate::table::combine::SCAN_COLUMNS;
use crate::table::{Column, Table, select_rows};

/// One scan to reduce.
#[derive(Clone, Debug)]
pub(super) struct Job {
    pub(super) scan_id: String,
    pub(super) vessel_id: String,
    pub(super) file: String,
    pub(super) source: Located,
    pub(super) unit: LengthUnit,
    /// What of the vessel a digitised curve follows, as the catalogue says.
    pub(super) drawn: Option<Drawn>,
    /// Whether the catalogue says that the file is a scan.
    pub(super) scanned: bool,
    pub(super) declared: Declared,
}

/// Scans, sorted by `scan_id`, with the catalogue table in the same order.
#[derive(Debug)]
pub(super) struct Corpus {
    pub(super) study: Study,
    pub(super) jobs: Vec<Job>,
    pub(super) catalogue: Table,
    pub(super) catalogue_blake3: Option<String>,
    pub(super) notes: Vec<String>,
}

impl Corpus {
    /// The scans of a study.
    pub(super) fn of_study(path: &Path) -> Result<Self, Failure> {
        let study = Study::read(path).map_err(|error| {
            Failure::from(error).with_hint(format!("in {}; `tornus describe study` lists every key", path.display()))
        })?;
        let file = study.catalogue();
        let folder = file.parent().unwrap_or(Path::new("")).to_path_buf();
        let in_catalogue = |error| {
            Failure::from(error).with_hint(format!("in {}; every line named must be put right", file.display()))
        };
        let bytes = fs::read(&file).map_err(|error| {
            Failure::new(format!("cannot read catalogue {}: {error}", file.display()))
                .with_hint(format!("named in {}, relative to it", path.display()))
        })?;
        let catalogue = Catalogue::parse(&bytes, study.select().as_ref()).map_err(in_catalogue)?;
        let located = sources(&catalogue, &folder, study.allow_outside()).map_err(in_catalogue)?;
        let rows = catalogue.entries().iter().zip(catalogue.scan_ids()).zip(located);
        let mut jobs: Vec<Job> = rows
            .map(|((entry, scan_id), source)| Job {
                scan_id: scan_id.clone(),
                vessel_id: entry.vessel_id.clone(),
                file: entry.file.clone(),
                source,
                unit: entry.unit,
                drawn: entry.drawn,
                scanned: entry.scanned,
                declared: entry.declared(),
            })
            .collect();
        jobs.sort_by(|a, b| a.scan_id.cmp(&b.scan_id));
        let notes = catalogue.notes().to_vec();
        let table = catalogue.table()?;
        check_factors(&study, &table).map_err(|failure| failure.with_hint(format!("in {}", path.display())))?;
        Ok(Self { study, jobs, catalogue: table, catalogue_blake3: Some(hash_bytes(&bytes)), notes })
    }

    /// Scans without a catalogue: each is a vessel of its own.
    pub(super) fn of_scans(paths: &[PathBuf], unit: LengthUnit) -> Result<Self, Failure> {
        let mut known = BTreeSet::new();
        for path in paths {
            // A path that leads nowhere cannot be compared; it is rejected as a scan.
            if fs::canonicalize(path).is_ok_and(|true_path| !known.insert(true_path)) {
                return Err(Failure::new(format!("{} is named twice", path.display())));
            }
        }
        let files: Vec<String> = paths.iter().map(|path| written(path)).collect();
        let ids = scan_ids(&files.iter().map(String::as_str).collect::<Vec<_>>());
        let mut jobs: Vec<Job> = ids
            .into_iter()
            .zip(paths)
            .zip(files)
            .map(|((scan_id, path), file)| Job {
                vessel_id: scan_id.clone(),
                scan_id,
                file,
                source: Located::There(path.clone()),
                unit,
                drawn: None,
                scanned: false,
                declared: Declared::default(),
            })
            .collect();
        jobs.sort_by(|a, b| a.scan_id.cmp(&b.scan_id));
        let words = |value: fn(&Job) -> &str| jobs.iter().map(value).collect::<Vec<_>>();
        let nothing = || jobs.iter().map(|_| None);
        let catalogue = Table::new(
            "catalogue",
            vec![
                Column::texts("scan_id", words(|job| &job.scan_id)),
                Column::texts("vessel_id", words(|job| &job.vessel_id)),
                Column::texts("file", words(|job| &job.file)),
                Column::texts("unit", words(|job| job.unit.symbol())),
                Column::optional_texts("instrument", nothing()),
                Column::optional_floats("u_instrument_mm", jobs.iter().map(|_| None)),
            ],
        )?;
        let study = Study::without_catalogue()?;
        Ok(Self { study, jobs, catalogue, catalogue_blake3: None, notes: Vec::new() })
    }

    /// The share of one machine.
    pub(super) fn share(self, shard: Shard) -> Result<Self, Failure> {
        let kept: Vec<usize> = (0..self.jobs.len()).filter(|&index| shard.holds(index)).collect();
        if kept.is_empty() {
            let (part, parts, scans) = (shard.part, shard.parts, self.jobs.len());
            return Err(Failure::new(format!("share {part}/{parts} of {scans} scans holds none")));
        }
        let jobs = kept.iter().map(|&index| self.jobs[index].clone()).collect();
        Ok(Self { jobs, catalogue: select_rows(&self.catalogue, &kept)?, ..self })
    }
}

/// Refuses columns to compare by that are not there: a run would find out after reading every scan.
fn check_factors(study: &Study, catalogue: &Table) -> Result<(), Failure> {
    let of_vessels = |name: &str| name != "vessel_id" && !SCAN_COLUMNS.contains(&name);
    let is_factor = |name: &str| of_vessels(name) && catalogue.texts(name).is_ok();
    let unknown = study.compare().factors().unwrap_or_default().iter().find(|name| !is_factor(name));
    unknown.map_or(Ok(()), |name| Err(AnalysisError::NoFactor { name: name.clone() }.into()))
}

/// A path as the tables name it: as typed, but nothing of this machine's folders.
fn written(path: &Path) -> String {
    if path.is_absolute() {
        path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    } else {
        path.to_string_lossy().into_owned()
    }
}
