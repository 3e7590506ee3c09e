//! Whether a bend goes with the vessel or with its scan: what repeat scans of one vessel say together.

use std::collections::BTreeMap;

use crate::reduction::Defect;
use crate::table::{Table, TableError};

/// Bends that differ by no more than this many standard uncertainties of their difference are alike.
const ALIKE: f64 = 2.0;

/// One scan's bend.
#[derive(Clone, Copy, Debug)]
struct Seen {
    value: f64,
    u: f64,
    named: bool,
}

/// By vessel, whether it is bent: yes where two or more scans show a bend and none shows less, no where one scan shows what
/// another does not, so that it drifted. Vessels not here have no bend, or too few scans to tell.
///
/// # Errors
/// [`TableError`] if a column of `scans` has another type than it should.
pub(super) fn bends(scans: &Table) -> Result<BTreeMap<&str, bool>, TableError> {
    if !["drift_mm", "u_drift_mm", "quality"].into_iter().all(|name| scans.has(name)) {
        return Ok(BTreeMap::new());
    }
    let (values, us) = (scans.floats("drift_mm")?, scans.floats("u_drift_mm")?);
    let quality = scans.texts("quality")?;
    let mut seen: BTreeMap<&str, Vec<Seen>> = BTreeMap::new();
    for (row, vessel) in scans.texts("vessel_id")?.iter().enumerate() {
        if let (Some(vessel), Some(value), Some(u)) = (vessel.as_deref(), values[row], us[row]) {
            let named = quality[row].as_deref().is_some_and(|words| words.contains(Defect::Drift.word()));
            seen.entry(vessel).or_default().push(Seen { value, u, named });
        }
    }
    Ok(seen.into_iter().filter_map(|(vessel, scans)| Some((vessel, verdict(&scans)?))).collect())
}

fn verdict(scans: &[Seen]) -> Option<bool> {
    let greatest = scans.iter().filter(|scan| scan.named).max_by(|a, b| a.value.total_cmp(&b.value))?;
    if scans.len() < 2 {
        return None;
    }
    let less = |scan: &Seen| greatest.value - scan.value > ALIKE * greatest.u.hypot(scan.u);
    let named = scans.iter().filter(|scan| scan.named).count();
    if scans.iter().any(less) {
        Some(false)
    } else if named >= 2 {
        Some(true)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(scans: &[(f64, bool)]) -> Option<bool> {
        let seen: Vec<Seen> = scans.iter().map(|&(value, named)| Seen { value, u: 0.01, named }).collect();
        verdict(&seen)
    }

    #[test]
    fn two_scans_that_agree_mean_a_bent_vessel() {
        assert_eq!(told(&[(0.20, true), (0.21, true)]), Some(true));
        assert_eq!(told(&[(0.20, true), (0.05, false)]), Some(false));
        // The second would allow as much but does not stand out by itself.
        assert_eq!(told(&[(0.20, true), (0.19, false)]), None);
        assert_eq!(told(&[(0.20, true)]), None);
        assert_eq!(told(&[(0.01, false), (0.01, false)]), None);
    }
}
