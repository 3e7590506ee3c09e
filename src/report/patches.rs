//! What was set aside of a vessel's scan, in words and as a table.

use super::cells;
use super::corpus::{Corpus, Vessel};
use super::html::{Cell, Heading, escape, paragraph, table};
use super::number::{measured, percent, plain};
use crate::table::Table;

/// Patches listed at most, the largest first.
const MOST_LISTED: usize = 12;

/// The words and the table; of the scan the vessel is drawn from.
pub(super) fn set_aside(corpus: &Corpus<'_>, vessel: &Vessel<'_>) -> String {
    let row = vessel.scans.iter().find(|row| cells::text(corpus.scans, "scan_id", **row) == vessel.drawn);
    let (Some(scan), Some(row)) = (vessel.drawn, row) else { return String::new() };
    let masked = ["masked_outer", "masked_inner"].map(|column| cells::number(corpus.scans, column, *row));
    let Some(source) = corpus.tables.get("patches").filter(|_| masked.iter().flatten().any(|share| *share > 0.0))
    else {
        let nothing = "Nothing was set aside as handle or damage: every point seen is in the values.";
        return if masked[0].is_some_and(|share| share <= 0.0) { paragraph(nothing) } else { String::new() };
    };
    let of_scan = |row: &usize| cells::text(source, "scan_id", *row) == Some(scan);
    let mut patches: Vec<usize> = (0..source.rows()).filter(of_scan).collect();
    let area = |row: usize| cells::number(source, "area_mm2", row).unwrap_or(0.0);
    patches.sort_by(|a, b| area(*b).total_cmp(&area(*a)));
    let shares: Vec<String> = ["outer", "inner"]
        .into_iter()
        .zip(masked)
        .filter_map(|(wall, share)| Some(format!("{} of the {wall} wall", percent(share?))))
        .collect();
    let words = format!(
        "Set aside as handle or damage: {}, in {} {}. The values leave it out; roundness, rim \
         and foot are given as found too.",
        shares.join(" and "),
        patches.len(),
        if patches.len() == 1 { "patch" } else { "patches" }
    );
    let rows: Vec<Vec<Cell>> = patches.iter().take(MOST_LISTED).map(|row| patch(source, *row)).collect();
    let headings = [
        Heading("Where", false),
        Heading("As what", false),
        Heading("Heights, mm", true),
        Heading("Azimuth, degrees", true),
        Heading("Width, degrees", true),
        Heading("Area, mm\u{b2}", true),
        Heading("Furthest, mm", true),
        Heading("u, mm", true),
    ];
    let caption = "What was set aside, the largest first. Furthest: greatest distance from the smooth surface, negative where \
                   something is lost; missing where nothing near the wall was seen.";
    paragraph(&escape(&words)) + &table(caption, &headings, &rows, false)
}

fn patch(source: &Table, row: usize) -> Vec<Cell> {
    let number = |name: &str| cells::number(source, name, row);
    let words = |name: &str| cells::text(source, name, row).unwrap_or("");
    let place = match words("part") {
        "rim" => "rim",
        "foot" => "foot",
        "inner" => "inner wall",
        _ => "outer wall",
    };
    let kind = if words("kind") == "raised" { "raised: handle, lug, spout" } else { "lost: chip, wear" };
    let heights = number("low_mm").zip(number("high_mm")).map(|(low, high)| format!("{low:.1} to {high:.1}"));
    let degrees = |name: &str| number(name).map(|angle| format!("{:.0}", angle.to_degrees()));
    let furthest = number("furthest_mm").zip(number("u_furthest_mm")).map(|(value, u)| measured(value, u));
    vec![
        Cell::words(place),
        Cell::words(kind),
        Cell::number(heights, number("low_mm")),
        Cell::number(degrees("azimuth_rad"), number("azimuth_rad")),
        Cell::number(degrees("width_rad"), number("width_rad")),
        Cell::number(number("area_mm2").map(|area| plain(area, 2)), number("area_mm2")),
        Cell::number(furthest.as_ref().map(|(value, _)| value.clone()), number("furthest_mm")),
        Cell::number(furthest.map(|(_, u)| u), number("u_furthest_mm")),
    ]
}
