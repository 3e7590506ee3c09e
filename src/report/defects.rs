//! What is wrong with a vessel's scans, and what that does to its measures.

use super::cells;
use super::corpus::{Corpus, Vessel};
use super::html::{escape, list, paragraph};
use crate::reduction::Defect;

/// Stands beside values of precision that a scan with a defect had a part in.
pub(super) const MARK: &str = "\u{2020}";

/// What is found in a scan: one entry for each defect, as the table `scans` words it.
fn found<'a>(corpus: &Corpus<'a>, row: usize) -> impl Iterator<Item = &'a str> + use<'a> {
    let words = cells::text(corpus.scans, "quality", row).filter(|_| corpus.reduced(row));
    words.unwrap_or_default().split("; ").filter(|words| !words.is_empty())
}

/// Whether a scan of this vessel has a defect.
pub(super) fn any(corpus: &Corpus<'_>, vessel: &Vessel<'_>) -> bool {
    vessel.scans.iter().any(|row| found(corpus, *row).next().is_some())
}

/// A caption's word of warning where the scan a figure is drawn from has a defect; empty where it has none.
pub(super) fn drawn_from(corpus: &Corpus<'_>, vessel: &Vessel<'_>) -> String {
    let is_drawn = |row: &&usize| vessel.drawn.is_some() && cells::text(corpus.scans, "scan_id", **row) == vessel.drawn;
    let row = vessel.scans.iter().find(is_drawn);
    let named: Vec<&str> = row.into_iter().flat_map(|row| found(corpus, *row)).collect();
    if named.is_empty() {
        String::new()
    } else {
        format!(" {MARK} The scan has a defect: {}.", escape(&named.join("; ")))
    }
}

/// Every defect of the vessel's scans with its strength and what it does; empty if there is none.
pub(super) fn defects(corpus: &Corpus<'_>, vessel: &Vessel<'_>) -> String {
    let (mut items, mut bent) = (Vec::new(), false);
    for row in &vessel.scans {
        let scan = cells::text(corpus.scans, "scan_id", *row).unwrap_or("");
        for words in found(corpus, *row) {
            bent |= words.starts_with(Defect::Drift.word());
            items.push(format!("Scan {}: <strong>{}</strong>. {}", escape(scan), escape(words), effect(words)));
        }
    }
    if items.is_empty() {
        return String::new();
    }
    let lead = paragraph(&format!(
        "What looks like defects of the scans. Values of precision that they touch are marked {MARK} below."
    ));
    let told = if bent { whose_bend(corpus, vessel) } else { "" };
    let told = if told.is_empty() { String::new() } else { paragraph(told) };
    lead + &list(&items) + &told
}

/// What the vessel's scans say together of a bend that one of them shows.
fn whose_bend(corpus: &Corpus<'_>, vessel: &Vessel<'_>) -> &'static str {
    let told = corpus.tables.get("vessels").and_then(|table| {
        let ids = table.texts("vessel_id").ok()?;
        let row = ids.iter().position(|id| id.as_deref() == Some(vessel.id))?;
        table.flags("bent").ok()?.get(row).copied().flatten()
    });
    match told {
        Some(true) => {
            "All scans of this vessel show the bend alike: it is probably the vessel\u{2019}s own, unless one instrument made them all."
        }
        Some(false) => "Another scan of this vessel does not show the bend: the one that does has probably drifted.",
        None => "",
    }
}

/// What the defect at the beginning of these words does to measures.
fn effect(words: &str) -> &'static str {
    let defect = Defect::ALL.into_iter().find(|defect| words.starts_with(defect.word()));
    defect.map_or("", Defect::effect)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_defect_says_what_it_does() {
        for defect in Defect::ALL {
            assert_eq!(effect(&format!("{} (0.100 mm, outer wall)", defect.word())), defect.effect());
        }
        assert_eq!(effect("painted"), "");
    }
}
