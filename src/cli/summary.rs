//! What a run says at its end.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::failure::Failure;
use crate::store::{Folder, Manifest, read_table_if_there};
use crate::table::Table;

/// How many rejected scans and outliers are said one by one; the rest are counted, and in the tables.
const LISTED: usize = 20;

/// What a results folder holds, in words and as a value.
pub(super) struct Summary {
    pub(super) words: String,
    pub(super) value: Value,
}

/// Summarises a results folder; `unchanged` if nothing had to be done.
pub(super) fn summarise(folder: &Folder, manifest: &Manifest, unchanged: bool) -> Result<Summary, Failure> {
    let rejected = rejected(folder)?;
    let groups = groups(folder)?;
    let outliers = outliers(folder)?;
    let screened = Screened::read(folder)?;
    let counts = manifest.counts;
    let report = manifest.outputs.iter().any(|output| output.file == "report.html");
    let report = report.then(|| folder.report().display().to_string());
    let mut lines = Vec::new();
    if unchanged {
        lines.push("nothing has changed since the last run".to_owned());
    }
    lines.push(format!(
        "{} of {} scans reduced, {} rejected; {} vessels",
        counts.reduced, counts.scans, counts.rejected, counts.vessels
    ));
    lines.extend(listed(&rejected, |(scan_id, reason)| format!("  rejected: {scan_id}: {reason}")));
    lines.extend(groups.iter().map(|(space, sizes)| in_words(space, sizes)));
    if let Some(found) = &outliers {
        lines.push(format!("outliers: {}", found.len()));
        lines.extend(listed(found, |outlier| format!("  {}: {}", outlier.vessel_id, outlier.words())));
    }
    lines.extend(screened.iter().map(Screened::words));
    lines.push(match &report {
        Some(path) => format!("report: {path}"),
        // An earlier one goes when its tables change.
        None => format!("no report of these tables yet; `tornus report {}` makes it", folder.root().display()),
    });
    let value = json!({
        "unchanged": unchanged,
        "counts": { "scans": counts.scans, "reduced": counts.reduced, "rejected": counts.rejected, "vessels": counts.vessels },
        "rejected": rejected.iter().map(|(scan_id, reason)| json!({"scan_id": scan_id, "reason": reason})).collect::<Vec<_>>(),
        "groups": groups.iter().map(|(space, sizes)| (space.clone(), Value::from(sizes.clone()))).collect::<serde_json::Map<_, _>>(),
        "outliers": outliers.map(|found| found.iter().map(Outlier::value).collect::<Vec<_>>()),
        "screening": screened.as_ref().map(Screened::value),
        "results": folder.root().display().to_string(),
        "report": report,
    });
    Ok(Summary { words: lines.join("\n") + "\n", value })
}

fn in_words(space: &str, sizes: &[usize]) -> String {
    let members: Vec<String> = sizes.iter().map(usize::to_string).collect();
    match sizes {
        [] => format!("groups by {space}: none"),
        [all] => format!("groups by {space}: one, of {all} vessels"),
        several => format!("groups by {space}: {}, of {} vessels", several.len(), members.join(", ")),
    }
}

fn listed<T>(all: &[T], line: impl Fn(&T) -> String) -> Vec<String> {
    let mut lines: Vec<String> = all.iter().take(LISTED).map(line).collect();
    if all.len() > LISTED {
        lines.push(format!("  and {} more", all.len() - LISTED));
    }
    lines
}

fn rejected(folder: &Folder) -> Result<Vec<(String, String)>, Failure> {
    let Some(scans) = read_table_if_there(&folder.table("scans"))? else { return Ok(Vec::new()) };
    let rows = scans.texts("scan_id")?.iter().zip(scans.texts("status")?).zip(scans.texts("reason")?);
    Ok(rows
        .filter(|((_, status), _)| status.as_deref() == Some("rejected"))
        .map(|((scan_id, _), reason)| (scan_id.clone().unwrap_or_default(), reason.clone().unwrap_or_default()))
        .collect())
}

/// Sizes of the groups of each space, largest first.
fn groups(folder: &Folder) -> Result<BTreeMap<String, Vec<usize>>, Failure> {
    let Some(clusters) = read_table_if_there(&folder.table("clusters"))? else { return Ok(BTreeMap::new()) };
    let mut found = BTreeMap::new();
    for space in ["form", "precision"] {
        let mut sizes: BTreeMap<i64, usize> = BTreeMap::new();
        for group in clusters.integers(&format!("{space}_cluster"))?.iter().flatten() {
            *sizes.entry(*group).or_default() += 1;
        }
        let mut sizes: Vec<usize> = sizes.into_values().collect();
        sizes.sort_unstable_by(|a, b| b.cmp(a));
        found.insert(space.to_owned(), sizes);
    }
    Ok(found)
}

/// What a screening found.
struct Screened {
    /// Vessels without documentation that have a ratio.
    judged: usize,
    /// Of these, vessels whose measures are more probable among modern references.
    above: usize,
    /// Why no vessel has a ratio.
    refused: Option<String>,
}

impl Screened {
    fn read(folder: &Folder) -> Result<Option<Self>, Failure> {
        let Some(table) = read_table_if_there(&folder.table("screening"))? else { return Ok(None) };
        let (ratios, reference) = (table.floats("log10_lr_modern")?, table.texts("reference")?);
        let judged: Vec<f64> = ratios.iter().zip(reference).filter_map(|(r, d)| r.filter(|_| d.is_none())).collect();
        let refused = table.texts("refused")?.iter().flatten().next().cloned();
        Ok(Some(Self {
            judged: judged.len(),
            above: judged.iter().filter(|ratio| **ratio > 0.0).count(),
            refused: refused.filter(|_| ratios.iter().all(Option::is_none)),
        }))
    }

    fn words(&self) -> String {
        match &self.refused {
            Some(reason) => format!("not screened: {reason}"),
            None => format!(
                "screened: {} vessels without documentation, the measures of {} more probable among modern references",
                self.judged, self.above
            ),
        }
    }

    fn value(&self) -> Value {
        json!({ "judged": self.judged, "more_probable_modern": self.above, "refused": self.refused })
    }
}

/// A vessel that stands out.
struct Outlier {
    vessel_id: String,
    direction: Option<String>,
    form_distance: Option<f64>,
    form_q: Option<f64>,
    precision_q: Option<f64>,
    grounds: Option<String>,
}

impl Outlier {
    fn words(&self) -> String {
        let q = self.precision_q.map(|q| format!(" (q = {q:.1e})")).unwrap_or_default();
        let precision = self.direction.iter().map(|direction| format!("{direction} than its peers{q}"));
        let form =
            self.form_distance.map(|at| format!("another form than its group's, by {at:.1} standard deviations"));
        precision.chain(form).collect::<Vec<_>>().join("; ")
    }

    fn value(&self) -> Value {
        json!({
            "vessel_id": self.vessel_id, "direction": self.direction, "form_distance": self.form_distance,
            "form_q": self.form_q, "precision_q": self.precision_q, "grounds": self.grounds,
        })
    }
}

fn outliers(folder: &Folder) -> Result<Option<Vec<Outlier>>, Failure> {
    let Some(table) = read_table_if_there(&folder.table("outliers"))? else { return Ok(None) };
    let mut found = read_outliers(&table)?;
    found.sort_by_key(|outlier| outlier.direction.is_none()); // those of precision first
    Ok(Some(found))
}

fn read_outliers(table: &Table) -> Result<Vec<Outlier>, Failure> {
    let (vessels, directions) = (table.texts("vessel_id")?, table.texts("direction")?);
    let (form, precision, distance) =
        (table.floats("form_q")?, table.floats("precision_q")?, table.floats("form_distance")?);
    let (by_form, any) = (table.flags("form_outlier")?, table.flags("outlier")?);
    let grounds = table.texts("grounds")?;
    let outlier = |row: usize| Outlier {
        vessel_id: vessels[row].clone().unwrap_or_default(),
        direction: directions[row].clone(),
        form_distance: distance[row].filter(|_| by_form[row] == Some(true)),
        form_q: form[row],
        precision_q: precision[row],
        grounds: grounds[row].clone(),
    };
    Ok((0..table.rows()).filter(|&row| any[row] == Some(true)).map(outlier).collect())
}
