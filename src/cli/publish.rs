//! From commits to published tables.

use std::collections::BTreeSet;
use std::fs;

use super::failure::Failure;
use super::reduce_scan::SCAN_ROW;
use super::reduce_scans::Standing;
use crate::store::{Commits, Folder, StoreError, read_table_if_there, stack_commits, write_table};
use crate::table::{Column, Table, combine, stack, stack_wide};

/// Tables made of the scans' own rows, one below the other.
const STACKED: [&str; 7] =
    ["sections", "harmonics", "profiles", "profile_arcs", "patches", "scan_measures", "unrolled"];

/// What stands in `scans` before and among the columns a scan's own row has.
const FROM_CATALOGUE: [&str; 5] = ["scan_id", "vessel_id", "file", "unit", "instrument"];

/// The published order of the first columns of `scans`.
const FIRST: [&str; 11] = [
    "scan_id",
    "vessel_id",
    "file",
    "blake3",
    "format",
    "unit",
    "triangles",
    "points",
    "instrument",
    "status",
    "reason",
];

/// The table `scans`: what the catalogue and the scans' own rows say, in the order of the catalogue table.
pub(super) fn scans_table(catalogue: &Table, standings: &[Standing], commits: &Commits) -> Result<Table, Failure> {
    let mut rows = Vec::with_capacity(standings.len());
    for standing in standings {
        let row = match &standing.row {
            Some(row) => Some(row.clone()),
            None => commits.table(&standing.input.scan_id, SCAN_ROW)?,
        };
        rows.push(row.ok_or_else(|| Failure::new(format!("no row for scan {}", standing.input.scan_id)))?);
    }
    let own = stack(&rows)?.ok_or_else(|| Failure::new("no scans"))?;
    let known = catalogue.columns().iter().filter(|column| FROM_CATALOGUE.contains(&column.name.as_str()));
    let mut columns: Vec<Column> = known.chain(own.columns()).cloned().collect();
    let place = |column: &Column| FIRST.iter().position(|name| *name == column.name).unwrap_or(FIRST.len());
    columns.sort_by_key(place); // stable: the other columns keep their order
    Ok(Table::new("scans", columns)?)
}

/// Writes every table that needs no comparison: the catalogue, the scans' and the vessels'.
pub(super) fn publish(folder: &Folder, commits: &Commits, catalogue: &Table, scans: &Table) -> Result<(), Failure> {
    let tables = folder.tables();
    write_table(&tables, catalogue)?;
    write_table(&tables, scans)?;
    let scan_ids: BTreeSet<String> = scans.texts("scan_id")?.iter().flatten().cloned().collect();
    let committed: BTreeSet<String> =
        commits.scan_ids()?.into_iter().filter(|scan_id| scan_ids.contains(scan_id)).collect();
    for name in STACKED {
        stack_commits(commits, &committed, name, &tables)?;
    }
    let measures = match read_table_if_there(&folder.table("scan_measures"))? {
        Some(rows) => combine::measures(catalogue, &rows)?,
        None => combine::measures(catalogue, &no_measures()?)?,
    };
    let vessels = combine::vessels(catalogue, scans, &measures)?;
    write_table(&tables, &measures)?;
    write_table(&tables, &vessels)?;
    Ok(())
}

fn no_measures() -> Result<Table, Failure> {
    let words = |name| Column::texts(name, Vec::<String>::new());
    let numbers = |name| Column::floats(name, []);
    let columns = vec![words("scan_id"), words("measure"), numbers("value"), numbers("u"), numbers("detection_limit")];
    Ok(Table::new("scan_measures", columns)?)
}

/// Every published table of a results folder, sorted by name.
pub(super) fn table_names(folder: &Folder) -> Result<Vec<String>, Failure> {
    let path = folder.tables();
    let refused = |source| StoreError::Io { action: "read", path: path.clone(), source };
    let mut names = Vec::new();
    for entry in fs::read_dir(&path).map_err(refused)? {
        let file = entry.map_err(refused)?.path();
        if file.extension().is_some_and(|suffix| suffix == "parquet")
            && let Some(stem) = file.file_stem()
            && !stem.to_string_lossy().starts_with('.')
        {
            names.push(stem.to_string_lossy().into_owned());
        }
    }
    names.sort_unstable();
    Ok(names)
}

/// Tables of several results folders joined: all rows, sorted by `scan_id`, columns of any.
pub(super) fn joined(pieces: &[Table]) -> Result<Table, Failure> {
    let all = stack_wide(pieces)?.ok_or_else(|| Failure::new("no tables to join"))?;
    let ids = all.texts("scan_id")?;
    let mut places: Vec<usize> = (0..all.rows()).collect();
    places.sort_by(|&a, &b| ids[a].cmp(&ids[b]));
    places.dedup_by(|a, b| ids[*a] == ids[*b]);
    Ok(crate::table::select_rows(&all, &places)?)
}
