//! The measures that sections' centres make: straightness of the axes, coaxiality, unevenness of the wall.

use super::body::{MARGIN, STEEP};
use super::correlation::Correlation;
use super::datum::lever_at;
use super::ledger::Ledger;
use super::measures::{Findings, INSIDE_UNSEEN, body, mean_over_body};
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
    let straightness = |centres: &[SectionCentre], dense: &[SectionCentre], seed| {
        let of = |centres: &[SectionCentre]| deviation::axis_straightness(centres, seed);
        of(centres).map(|measured| with_density(with_ends(measured, centres, of), centres, dense, of))
    };
    let hidden = hidden_of_centres(outer_wall, outer_rows);
    let bent = |found: Measured, hidden: f64| found.and(Source::Sampling, 2.0 * hidden);
    let outer_dense = dense(outer_rows, outer_wall, findings);
    ledger.enter("axis_straightness_outer", straightness(&outer, &outer_dense, seed).map(|found| bent(found, hidden)));
    if let Some((wall, rows, _)) = findings.walls.get(1) {
        let inner = centres(rows, wall, &findings.correlation);
        // Neighbours err alike: only every so many speak for themselves.
        let alike = findings.correlation.alike(wall.heights.step).sqrt();
        let hidden_inner = hidden_of_centres(wall, rows);
        let unevenness = deviation::wall_unevenness(&outer, &inner, datum)
            .map(|found| found.with_noise_times(alike).and(Source::Sampling, hidden.hypot(hidden_inner)));
        ledger.enter("wall_unevenness", unevenness);
        let inner_dense = dense(rows, wall, findings);
        let inner_straightness =
            straightness(&inner, &inner_dense, seed.derive(1)).map(|found| bent(found, hidden_inner));
        ledger.enter("axis_straightness_inner", inner_straightness);
        let line = centres_of_line(rows, wall, &findings.correlation);
        let of = |centres: &[SectionCentre]| deviation::coaxiality(centres, datum, seed.derive(2));
        let coaxiality = of(&line).map(|measured| bent(with_ends(measured, &line, of), hidden_inner));
        ledger.enter("coaxiality_inner", coaxiality);
    } else {
        ledger.lack(&["wall_unevenness", "axis_straightness_inner", "coaxiality_inner"], INSIDE_UNSEEN);
    }
}

/// The measure with what it would differ by over as many sections as a dense scan has: a coarse section's middle falls short of
/// where the body ends, and counts for a whole section where the wall turns aside within it.
fn with_density(
    measured: Measured,
    centres: &[SectionCentre],
    dense: &[SectionCentre],
    of: impl Fn(&[SectionCentre]) -> Result<Measured, DeviationError>,
) -> Measured {
    let exact = |of: Estimate| Estimate::new(of.value(), 0.0).unwrap_or(of);
    let seen: Vec<SectionCentre> =
        centres.iter().map(|c| SectionCentre::new(c.height_mm, exact(c.x), exact(c.y))).collect();
    match (of(&seen), of(dense)) {
        (Ok(seen), Ok(dense)) => measured.and(Source::Sampling, dense.estimate.value() - seen.estimate.value()),
        _ => measured,
    }
}

/// The body's centres as far as a wall of as many sections as are asked for has them, in line between those there are; none if there
/// are as many.
fn dense(rows: &[SectionRow], wall: &Wall, findings: &Findings<'_>) -> Vec<SectionCentre> {
    let most = usize::from(findings.params.heights());
    let span = rows.iter().position(|row| row.body).zip(rows.iter().rposition(|row| row.body));
    let Some((first, last)) = span.filter(|_| wall.heights.count < most) else { return Vec::new() };
    let step = wall.heights.step * wall.heights.count as f64 / most as f64;
    let (height, margin) = (findings.located.height, MARGIN * findings.located.height + 0.5 * step);
    let before = first.checked_sub(1).map(|index| &rows[index]);
    let ends = [end(wall, &rows[first], before, margin), end(wall, &rows[last], rows.get(last + 1), height - margin)];
    let place = |row: &SectionRow| [row.height_mm, row.center_x.value(), row.center_y.value()];
    let between = rows[first..=last].iter().filter(|row| row.body).map(place);
    let path: Vec<[f64; 3]> = ends[0].into_iter().chain(between).chain(ends[1]).collect();
    let at = |height_mm: f64| {
        let next = path.iter().position(|place| place[0] > height_mm).unwrap_or(path.len() - 1).max(1);
        let (a, b) = (path[next - 1], *path.get(next)?);
        let share = (height_mm - a[0]) / (b[0] - a[0]);
        let [x, y] = [1, 2].map(|axis| Estimate::new(a[axis] + share * (b[axis] - a[axis]), 0.0).ok());
        Some(SectionCentre::new(height_mm, x?, y?))
    };
    let [low, high] = [path[0][0], path[path.len() - 1][0]];
    let count = ((high - low) / step).round().max(1.0) as usize;
    (0..=count).filter_map(|index| at(low + (high - low) * index as f64 / count as f64)).collect()
}

/// Height, x and y at which the body ends beyond the last section of a wall, in line with the next section: at a height, or where the
/// wall gets too flat.
fn end(wall: &Wall, last: &SectionRow, next: Option<&SectionRow>, limit_mm: f64) -> Option<[f64; 3]> {
    let steepness = |row: &SectionRow| Some(wall.meridian[wall.heights.band(row.height_mm)?]?.steepness);
    let next = next.filter(|next| (next.height_mm - last.height_mm).abs() < 1.5 * wall.heights.step)?;
    let by_height = (limit_mm - last.height_mm) / (next.height_mm - last.height_mm);
    let [steep, flat] = [steepness(last)?, steepness(next)?];
    let by_slope = if steep >= STEEP && flat < STEEP { (steep - STEEP) / (steep - flat) } else { 1.0 };
    let share = by_height.min(by_slope).min(1.0);
    let between = |a: f64, b: f64| a + share * (b - a);
    (share > 0.0).then(|| {
        [
            between(last.height_mm, next.height_mm),
            between(last.center_x.value(), next.center_x.value()),
            between(last.center_y.value(), next.center_y.value()),
        ]
    })
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
    body(rows).map(centre).collect()
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

/// The measure with what it would differ by if the body began or ended one section further in: where a body ends is a
/// convention, met to half a section either way at each end.
fn with_ends(
    measured: Measured,
    centres: &[SectionCentre],
    of: impl Fn(&[SectionCentre]) -> Result<Measured, DeviationError>,
) -> Measured {
    let whole = measured.estimate.value();
    let shorter = [centres.get(1..), centres.get(..centres.len().saturating_sub(1))];
    let change = |centres: &[SectionCentre]| Some(of(centres).ok()?.estimate.value() - whole);
    let changes = shorter.into_iter().flatten().filter_map(change);
    // An even distribution as wide as one section.
    changes.fold(measured, |measured, change| measured.and(Source::Sampling, change / 12.0_f64.sqrt()))
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
