//! Which scan stands for a vessel.

use std::collections::BTreeMap;

use super::AnalysisError;
use crate::table::Table;

/// The least noisy reduced scan of each vessel, as scan to vessel; of equals, the first by name.
pub(super) fn drawn_scans(scans: &Table) -> Result<BTreeMap<String, String>, AnalysisError> {
    let (ids, vessels) = (scans.texts("scan_id")?, scans.texts("vessel_id")?);
    let status = if scans.has("status") { Some(scans.texts("status")?) } else { None };
    let noise = if scans.has("noise_mm") { Some(scans.floats("noise_mm")?) } else { None };
    let mut best: BTreeMap<&str, (f64, &str)> = BTreeMap::new();
    for (row, (id, vessel)) in ids.iter().zip(vessels).enumerate() {
        let (Some(id), Some(vessel)) = (id, vessel) else { continue };
        if status.is_some_and(|status| status[row].as_deref() == Some("rejected")) {
            continue;
        }
        let noise = noise.and_then(|noise| noise[row]).unwrap_or(f64::INFINITY);
        let entry = best.entry(vessel).or_insert((noise, id));
        if noise < entry.0 {
            *entry = (noise, id);
        }
    }
    Ok(best.into_iter().map(|(vessel, (_, id))| (id.to_owned(), vessel.to_owned())).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Column;

    #[test]
    fn the_least_noisy_scan_that_was_reduced_stands_for_its_vessel() {
        let table = Table::new(
            "scans",
            vec![
                Column::texts("scan_id", ["a1", "a2", "a3", "b1"]),
                Column::texts("vessel_id", ["a", "a", "a", "b"]),
                Column::texts("status", ["reduced", "reduced", "rejected", "reduced"]),
                Column::optional_floats("noise_mm", [Some(0.2), Some(0.1), Some(0.01), None]),
            ],
        );
        let found = drawn_scans(&table.unwrap()).unwrap();
        let pairs: Vec<(&str, &str)> = found.iter().map(|(scan, vessel)| (scan.as_str(), vessel.as_str())).collect();
        assert_eq!(pairs, [("a2", "a"), ("b1", "b")]);
    }
}
