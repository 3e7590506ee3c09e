//! One scan: its file, its reduction, its rows; whatever goes wrong is a reason in the ledger, not the end of the run.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use super::corpus::Job;
use super::failure::{Failure, chain};
use super::reduce_drawn::{drawn, reduce_drawn};
use crate::config::Study;
use crate::format::{self, Limits, Opened};
use crate::quantity::{LengthUnit, Seed};
use crate::reduction::{Reduction, Step, reduce};
use crate::scan::Scan;
use crate::store::{CommitKey, hash_bytes};
use crate::table::{Column, Table, TableError, scan_columns, scan_tables};

/// The name of the one-row table that a scan adds to `scans`.
pub(super) const SCAN_ROW: &str = "scan";

/// What came of one scan.
pub(super) struct ReducedScan {
    /// Hash of the file; `None` if it cannot be read.
    pub(super) file_hash: Option<String>,
    /// Why it was rejected; `None` if it was reduced.
    pub(super) reason: Option<String>,
    /// Whether the same file would be rejected or reduced again in the same way, so that it need not be tried again.
    pub(super) lasting: bool,
    /// Its share of every table, [`SCAN_ROW`] first.
    pub(super) tables: Vec<Table>,
}

/// Reduces one scan; the machine's faults are reasons too.
pub(super) fn reduce_scan(path: &Path, job: &Job, study: &Study) -> Result<ReducedScan, Failure> {
    if let Some(drawn) = drawn(path, job) {
        return reduce_drawn(path, job, drawn);
    }
    let opened = match caught(|| format::open(path, job.unit, &Limits::default())) {
        Ok(Ok(opened)) => opened,
        Ok(Err(error)) => return unread(path, &chain(&error), true),
        Err(fault) => return unread(path, &fault, false),
    };
    let seed = scan_seed(study.seed(), &job.scan_id);
    let (reduction, reason, lasting) = match caught(|| reduce(&opened.scan, study.reduction(), &job.declared, seed)) {
        Ok(Ok(reduction)) => (Some(reduction), None, true),
        Ok(Err(rejection)) => {
            let hint = if rejection.step == Step::Scan { unit_hint(&opened.scan, job.unit) } else { None };
            let hint = hint.map(|hint| format!("; {hint}")).unwrap_or_default();
            (None, Some(format!("{rejection}{hint}")), true)
        }
        Err(fault) => (None, Some(fault), false),
    };
    let mut tables = vec![scan_row(Some(&opened), reason.as_deref(), reduction.as_ref())?];
    if let Some(reduction) = &reduction {
        let rows = scan_tables(&job.scan_id, reduction)?;
        tables.extend([
            rows.sections,
            rows.harmonics,
            rows.profiles,
            rows.profile_arcs,
            rows.patches,
            rows.scan_measures,
            rows.unrolled,
        ]);
    }
    Ok(ReducedScan { file_hash: Some(opened.blake3), reason, lasting, tables })
}

/// A scan without a file.
pub(super) fn missing_scan(reason: &str) -> Result<ReducedScan, Failure> {
    let tables = vec![scan_row(None, Some(reason), None)?];
    Ok(ReducedScan { file_hash: None, reason: Some(reason.to_owned()), lasting: false, tables })
}

pub(super) fn unread(path: &Path, reason: &str, lasting: bool) -> Result<ReducedScan, Failure> {
    let file_hash = format::hash_file(path).ok();
    let lasting = lasting && file_hash.is_some();
    let mut row = scan_row(None, Some(reason), None)?;
    if let Some(hash) = &file_hash {
        row = with_hash(&row, hash)?;
    }
    Ok(ReducedScan { file_hash, reason: Some(reason.to_owned()), lasting, tables: vec![row] })
}

/// What a scan's rows depend on.
pub(super) fn commit_key(job: &Job, file_hash: &str, study: &Study) -> CommitKey {
    let (reduction, declared) = (study.reduction(), job.declared);
    let lines = [
        format!("unit = {}", job.unit),
        format!("content = {:?}, {}", job.drawn, job.scanned),
        format!("up = {:?}", declared.up),
        format!("stands_on_foot = {}", declared.stands_on_foot),
        format!("u_instrument_mm = {:?}", declared.u_instrument_mm),
        format!("seed = {}", study.seed().get()),
        format!("heights = {}", reduction.heights()),
        format!("cutoff_upr = {}", reduction.cutoff().get()),
        format!("highest_upr = {}", reduction.highest().get()),
    ];
    CommitKey::new(&job.scan_id, file_hash, &lines)
}

/// A scan's own seed: of its name, so that neither order nor company changes its result.
fn scan_seed(seed: Seed, scan_id: &str) -> Seed {
    // The first 64 bits of a hash in hexadecimal: always a number.
    let item = hash_bytes(scan_id.as_bytes()).get(..16).and_then(|digits| u64::from_str_radix(digits, 16).ok());
    seed.derive(item.unwrap_or_default())
}

/// Runs a step whose panics must not end the survey.
fn caught<T>(step: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(step))
        .map_err(|fault| format!("internal fault, please report: {}", words(fault.as_ref())))
}

fn words(fault: &(dyn Any + Send)) -> &str {
    fault
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| fault.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("no message")
}

/// Sizes a vessel may have: from a thimble to a storage jar taller than a man, mm; common practice, no source.
const PLAUSIBLE_MM: std::ops::RangeInclusive<f64> = 20.0..=2000.0;

/// Which unit would make sense, where the extent in the stated one does not.
fn unit_hint(scan: &Scan, stated: LengthUnit) -> Option<String> {
    let extent_mm = largest_extent_mm(scan);
    if PLAUSIBLE_MM.contains(&extent_mm) {
        return None;
    }
    let in_file = extent_mm / stated.millimetres();
    let fitting: Vec<String> = LengthUnit::ALL
        .into_iter()
        .filter(|unit| PLAUSIBLE_MM.contains(&(in_file * unit.millimetres())))
        .map(|unit| format!("{unit} ({:.0} mm)", in_file * unit.millimetres()))
        .collect();
    if fitting.is_empty() {
        return None;
    }
    Some(format!("the unit is stated as {stated}; it would make sense in {}", fitting.join(" or ")))
}

fn largest_extent_mm(scan: &Scan) -> f64 {
    let mut extent = 0.0_f64;
    for axis in 0..3 {
        let values = || scan.vertices().iter().map(|vertex| vertex[axis]);
        if let (Some(least), Some(greatest)) = (values().min_by(f64::total_cmp), values().max_by(f64::total_cmp)) {
            extent = extent.max(greatest - least);
        }
    }
    extent
}

/// The scan's row of `scans`, without what the catalogue knows.
fn scan_row(opened: Option<&Opened>, reason: Option<&str>, reduction: Option<&Reduction>) -> Result<Table, TableError> {
    let count = |value: fn(&Scan) -> usize| opened.map(|opened| value(&opened.scan) as i64);
    let mut columns = vec![
        Column::optional_texts("blake3", [opened.map(|opened| opened.blake3.clone())]),
        Column::optional_texts("format", [opened.map(|opened| opened.format.word().to_owned())]),
        Column::optional_integers("triangles", [count(|scan| scan.triangles().len())]),
        Column::optional_integers("points", [count(|scan| scan.vertices().len())]),
        Column::texts("status", [if reduction.is_some() { "reduced" } else { "rejected" }]),
        Column::optional_texts("reason", [reason.map(str::to_owned)]),
    ];
    columns.extend(scan_columns(reduction));
    Table::new(SCAN_ROW, columns)
}

fn with_hash(row: &Table, hash: &str) -> Result<Table, TableError> {
    let mut columns = row.columns().to_vec();
    if let Some(column) = columns.iter_mut().find(|column| column.name == "blake3") {
        *column = Column::texts("blake3", [hash]);
    }
    Table::new(SCAN_ROW, columns)
}

#[cfg(test)]
mod tests {
    use nalgebra::Point3;

    use super::{caught, scan_seed, unit_hint};
    use crate::quantity::{LengthUnit, Seed};
    use crate::scan::Scan;

    fn scan(extent_mm: f64) -> Scan {
        Scan::from_points(vec![Point3::origin(), Point3::new(0.0, extent_mm, 1.0)]).unwrap()
    }

    #[test]
    fn an_absurd_size_names_the_units_that_make_sense() {
        // 250 in the file, stated in m, is 250 m; in mm it is 250 mm, and 2500 or 6350 mm in cm and in are too large.
        let hint = unit_hint(&scan(250_000.0), LengthUnit::Metre).unwrap();
        assert_eq!(hint, "the unit is stated as m; it would make sense in mm (250 mm)");
        assert_eq!(unit_hint(&scan(250.0), LengthUnit::Millimetre), None);
        let hint = unit_hint(&scan(0.5), LengthUnit::Millimetre).unwrap(); // 1 mm, along z
        assert_eq!(hint, "the unit is stated as mm; it would make sense in m (1000 mm) or in (25 mm)");
    }

    #[test]
    fn a_fault_becomes_a_reason() {
        let hook = std::panic::take_hook();
        std::panic::set_hook(Box::new(|_| {}));
        let reason = caught(|| panic!("row {}", 3)).map(|()| "").unwrap_err();
        std::panic::set_hook(hook);
        assert_eq!(reason, "internal fault, please report: row 3");
    }

    #[test]
    fn seeds_follow_the_name() {
        assert_eq!(scan_seed(Seed::new(1), "a"), scan_seed(Seed::new(1), "a"));
        assert_ne!(scan_seed(Seed::new(1), "a"), scan_seed(Seed::new(1), "b"));
        assert_ne!(scan_seed(Seed::new(1), "a"), scan_seed(Seed::new(2), "a"));
    }
}
