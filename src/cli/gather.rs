//! `tornus gather`: reduced tables from several runs or machines become one.

use std::collections::BTreeMap;
use std::path::Path;

use super::args::Gather;
use super::failure::Failure;
use super::outcome::Outcome;
use super::publish::{joined, publish};
use super::results::{Stage, advanced, begin, earlier, finish, read_manifest, remove_tables};
use super::summary::summarise;
use super::terminal::Terminal;
use crate::store::{Commits, Counts, Folder, Input, Manifest, read_table};
use crate::table::Table;

/// One of the folders to join.
struct Share {
    folder: Folder,
    manifest: Manifest,
}

pub(super) fn run(arguments: &Gather, terminal: &Terminal) -> Result<Outcome, Failure> {
    let shares = arguments.folders.iter().map(|path| share(path, &arguments.out)).collect::<Result<Vec<_>, _>>()?;
    let study = one_study(&shares)?;
    let inputs = inputs(&shares)?;
    let folder = Folder::new(&arguments.out);
    let _lock = folder.lock()?;
    let old = earlier(&folder, *terminal)?;
    begin(&folder, old.as_ref())?;
    let commits = Commits::new(folder.reduced());
    commits.clear()?;
    for share in &shares {
        let from = Commits::new(share.folder.reduced());
        from.scan_ids()?.iter().try_for_each(|scan_id| commits.adopt(&from, scan_id))?;
    }
    let joined_table = |name: &str| -> Result<Table, Failure> {
        joined(&shares.iter().map(|share| read_table(&share.folder.table(name))).collect::<Result<Vec<_>, _>>()?)
    };
    let (catalogue, scans) = (joined_table("catalogue")?, joined_table("scans")?);
    remove_tables(&folder, &[])?;
    publish(&folder, &commits, &catalogue, &scans)?;
    let counts = counts(&scans)?;
    let manifest = Manifest { command: "tornus gather".to_owned(), inputs, counts, outputs: Vec::new(), ..study };
    let made = finish(&folder, advanced(&manifest, Stage::Reduced), old.as_ref(), Vec::new(), arguments.csv)?;
    let summary = summarise(&folder, &made, false)?;
    terminal.result(&summary.words, &summary.value);
    Ok(Outcome::of_scans(counts.reduced, counts.rejected))
}

fn share(path: &Path, out: &Path) -> Result<Share, Failure> {
    if path == out {
        let shown = out.display();
        return Err(Failure::new(format!("folder to join and folder to make are the same: {shown}")));
    }
    let folder = Folder::new(path);
    let manifest = read_manifest(&folder)?;
    Ok(Share { folder, manifest })
}

/// All inputs, sorted; two folders may both hold a scan if it is the same one.
fn inputs(shares: &[Share]) -> Result<Vec<Input>, Failure> {
    let mut found: BTreeMap<String, (&Share, Input)> = BTreeMap::new();
    for share in shares {
        for input in &share.manifest.inputs {
            let (first, known) = found.entry(input.scan_id.clone()).or_insert_with(|| (share, input.clone()));
            if known != input {
                let (a, b) = (first.folder.root().display(), share.folder.root().display());
                return Err(Failure::new(format!("scan {} is not the same in {a} and {b}", input.scan_id))
                    .with_hint("reduce it again with the same study, or give one of the files another name"));
            }
        }
    }
    Ok(found.into_values().map(|(_, input)| input).collect())
}

/// The study all folders were reduced with.
fn one_study(shares: &[Share]) -> Result<Manifest, Failure> {
    let first = shares.first().ok_or_else(|| Failure::new("no folders to join"))?;
    for share in shares {
        for part in ["reduction", "seed"] {
            let (a, b) = (first.manifest.study.get(part), share.manifest.study.get(part));
            if a != b {
                let shown = share.folder.root().display();
                return Err(Failure::new(format!("{shown} was reduced with another {part}"))
                    .with_hint("tables can be joined only if all scans were reduced in the same way"));
            }
        }
    }
    let same = shares.iter().all(|share| share.manifest.catalogue_blake3 == first.manifest.catalogue_blake3);
    let catalogue_blake3 = if same { first.manifest.catalogue_blake3.clone() } else { None };
    Ok(Manifest { catalogue_blake3, ..first.manifest.clone() })
}

fn counts(scans: &Table) -> Result<Counts, Failure> {
    let status = scans.texts("status")?;
    let is_reduced = |row: &usize| status[*row].as_deref() == Some("reduced");
    let reduced: Vec<usize> = (0..scans.rows()).filter(is_reduced).collect();
    let vessel_ids = scans.texts("vessel_id")?;
    let vessels = reduced.iter().map(|&row| &vessel_ids[row]).collect::<std::collections::BTreeSet<_>>().len();
    Ok(Counts { scans: scans.rows(), reduced: reduced.len(), rejected: scans.rows() - reduced.len(), vessels })
}
