//! The measures that sections' centres make: straightness of the axes, coaxiality, unevenness of the wall.

use super::body;
use super::correlation::Correlation;
use super::datum::lever_at;
use super::ledger::Ledger;
use super::measures::{Findings, INSIDE_UNSEEN, mean_over_body, of_body};
use super::record::SectionRow;
use super::wall::Wall;
use crate::deviation::{self, Alike, DeviationError, Measured, SectionCentre};
use crate::quantity::{Estimate, Source};

/// Straightness of both walls' axes, coaxiality and unevenness of the wall, or why they are missing.
pub(super) fn enter(ledger: &mut Ledger, findings: &Findings<'_>) {
    let datum = Some(&findings.datum);
    let seed = findings.seed.derive(2);
    let Some((outer_wall, outer_rows, _)) = findings.walls.first() else { return };
    let outer = centres(outer_rows, outer_wall, &findings.correlation);
    let unclear = |centres: &[SectionCentre], wall: &Wall| {
        body::unclear(&centres.iter().map(|centre| centre.height_mm).collect::<Vec<_>>(), wall, findings.located)
    };
    let straightness = |centres: &[SectionCentre], wall: &Wall, seed| {
        let of = |centres: &[SectionCentre]| deviation::axis_straightness(centres, seed);
        of(centres).map(|measured| with_ends(measured, centres, unclear(centres, wall), of))
    };
    let hidden = hidden_of_centres(outer_wall, outer_rows);
    let bent = |found: Measured, hidden: f64| found.and(Source::Sampling, 2.0 * hidden);
    ledger.enter("axis_straightness_outer", straightness(&outer, outer_wall, seed).map(|found| bent(found, hidden)));
    if let Some((wall, rows, _)) = findings.walls.get(1) {
        let inner = centres(rows, wall, &findings.correlation);
        // Neighbours err alike: only every so many speak for themselves.
        let alike = findings.correlation.alike(wall.heights.step).sqrt();
        let hidden_inner = hidden_of_centres(wall, rows);
        let unevenness = deviation::wall_unevenness(&outer, &inner, datum)
            .map(|found| found.with_noise_times(alike).and(Source::Sampling, hidden.hypot(hidden_inner)));
        ledger.enter("wall_unevenness", unevenness);
        let inner_straightness = straightness(&inner, wall, seed.derive(1)).map(|found| bent(found, hidden_inner));
        ledger.enter("axis_straightness_inner", inner_straightness);
        let line = centres_of_line(rows, wall, &findings.correlation);
        let of = |centres: &[SectionCentre]| deviation::coaxiality(centres, datum, seed.derive(2));
        let coaxiality =
            of(&line).map(|measured| bent(with_ends(measured, &line, unclear(&line, wall), of), hidden_inner));
        ledger.enter("coaxiality_inner", coaxiality);
    } else {
        ledger.lack(&["wall_unevenness", "axis_straightness_inner", "coaxiality_inner"], INSIDE_UNSEEN);
    }
}

/// The body's centres; what a gap hides moves all of them alike and is left out of their own uncertainty.
fn centres(rows: &[SectionRow], wall: &Wall, correlation: &Correlation) -> Vec<SectionCentre> {
    let alone = |estimate: Estimate, row: &SectionRow| {
        let variance = estimate.standard_uncertainty().powi(2) - hidden_of_centre(wall, row);
        Estimate::new(estimate.value(), variance.max(0.0).sqrt()).unwrap_or(estimate)
    };
    let centre = |row: &SectionRow| SectionCentre {
        height_mm: row.height_mm,
        x: alone(row.center_x, row),
        y: alone(row.center_y, row),
        lever_mm: lever_at(wall, row.height_mm),
        alike: alike(wall, row, correlation),
    };
    of_body(rows).map(centre).collect()
}

/// Variance of either coordinate of a section's centre by what a gap hides, mm2.
fn hidden_of_centre(wall: &Wall, row: &SectionRow) -> f64 {
    let fit = wall.heights.band(row.height_mm).and_then(|band| wall.fits[band].as_ref());
    fit.map_or(0.0, |fit| fit.hidden.variance(1))
}

/// The same for all of a wall's body, as a standard uncertainty, mm.
fn hidden_of_centres(wall: &Wall, rows: &[SectionRow]) -> f64 {
    mean_over_body(wall, rows, |fit| fit.hidden.variance(1)).sqrt()
}

/// The measure with what it would differ by if the body began or ended one section further in, where its end is met to half a
/// section either way only.
fn with_ends(
    measured: Measured,
    centres: &[SectionCentre],
    unclear: [bool; 2],
    of: impl Fn(&[SectionCentre]) -> Result<Measured, DeviationError>,
) -> Measured {
    let whole = measured.estimate.value();
    let shorter = [centres.get(1..), centres.get(..centres.len().saturating_sub(1))];
    let change = |centres: &[SectionCentre]| Some(of(centres).ok()?.estimate.value() - whole);
    let changes = shorter.into_iter().zip(unclear).filter(|(_, unclear)| *unclear);
    // An even distribution as wide as one section.
    changes
        .filter_map(|(centres, _)| change(centres?))
        .fold(measured, |measured, change| measured.and(Source::Sampling, change / 12.0_f64.sqrt()))
}

/// What a section's centre shares with its neighbours: noise that errs alike over a length of the wall.
fn alike(wall: &Wall, row: &SectionRow, correlation: &Correlation) -> Alike {
    let place = wall.heights.band(row.height_mm).and_then(|band| wall.meridian[band].as_ref());
    place.map_or_else(Alike::default, |place| Alike {
        u_mm: correlation.variance(1, place).sqrt(),
        length_mm: correlation.length_mm() * place.steepness,
    })
}

/// The centres with the uncertainty that each needs for a line through all of them to have its own: neighbours err alike.
fn centres_of_line(rows: &[SectionRow], wall: &Wall, correlation: &Correlation) -> Vec<SectionCentre> {
    let times = correlation.alike(wall.heights.step) - 1.0;
    let widened = |c: SectionCentre| {
        let shared = times.sqrt() * c.alike.u_mm;
        SectionCentre { x: c.x.widened(shared), y: c.y.widened(shared), ..c }
    };
    centres(rows, wall, correlation).into_iter().map(widened).collect()
}
