//! The measures that one scan supports.

use std::f64::consts::PI;
use std::ops::RangeInclusive;

use super::ReductionParams;
use super::correlation::Correlation;
use super::curve::{Curve, mean_square_at};
use super::ledger::Ledger;
use super::located::Located;
use super::record::{Meridian, SectionRow};
use super::rings::{Circle, End, RimCentre, Ring, Scatter, Shift, rim_centre, ring};
use super::wall::Wall;
use super::{body, centres, choice, instrument};
use crate::deviation::{
    self, DatumUncertainty, DeviationError, DeviationRow, Measured, SectionCoefficients, SectionHarmonics, WallCurve,
};
use crate::math::gaussian_filter::transmission;
use crate::profile::AT_AXIS;
use crate::quantity::{Estimate, Seed, Source};
use crate::section::BandFit;

/// Angles of a row of the deviation map that run-out is taken from: two for each wave of the 50-UPR filter.
const ROW_ANGLES: usize = 128;

const SIZES: [&str; 6] = ["height", "max_diameter", "rim_diameter", "foot_diameter", "neck_diameter", "centroid_size"];
const OF_BOTH_WALLS: [&str; 7] =
    ["capacity", "capacity_neck", "body_volume", "surface_area", "wall_mean", "wall_min", "wall_max"];
const AT_ENDS: [&str; 5] =
    ["concentricity_rim", "flatness_rim", "perpendicularity_rim", "flatness_foot", "perpendicularity_foot"];
/// Of the outer and the inner wall: median, and roundest tenth where it is stated.
const ROUNDNESS: [[&str; 2]; 2] = [["roundness_outer", "roundness_best"], ["roundness_inner", ""]];
const FEW_STATIONS: &str = "the outer meridian has too few stations";
pub(super) const INSIDE_UNSEEN: &str = "the inside was not seen";
const UNDERSIDE_UNSEEN: &str = "the underside was not seen";
const ROUND_BOTTOM: &str = "the vessel is round-bottomed as far as the scan shows";
const NO_NECK: &str = "there is no neck: above its widest place the wall does not widen again";

/// What the measures start from.
pub(super) struct Findings<'a> {
    pub(super) located: &'a Located,
    pub(super) params: &'a ReductionParams,
    /// Walls with their sections and meridian, outer first.
    pub(super) walls: &'a [(Wall, Vec<SectionRow>, Meridian)],
    pub(super) datum: DatumUncertainty,
    pub(super) correlation: Correlation,
    /// Standard uncertainty declared for the instrument, mm.
    pub(super) u_instrument: Option<f64>,
    /// Standard deviation of a point along the normal, mm.
    pub(super) noise: f64,
    pub(super) seed: Seed,
}

/// Every measure of this scan: those it supports, and why it does not support the others.
pub(super) fn measures(findings: &Findings<'_>) -> Ledger {
    let mut ledger = Ledger::default();
    of_meridian(&mut ledger, findings);
    if let Some(wider) = findings.located.with_wider_edge() {
        let mut other = Ledger::default();
        of_meridian(&mut other, &Findings { located: &wider, ..*findings });
        choice::enter_other(&mut ledger.rows, &other.rows);
    }
    roundness(&mut ledger, findings);
    centres::enter(&mut ledger, findings);
    runout(&mut ledger, findings);
    choice::enter(&mut ledger.rows, findings.walls);
    if let Some(found) = findings.located.as_found() {
        ledger.put_beside(&as_found(&Findings { located: &found, ..*findings }));
    }
    if let Some(u) = findings.u_instrument {
        instrument::enter(&mut ledger.rows, u);
    }
    ledger
}

/// What the meridian says, and the rim's and the foot's circle.
fn of_meridian(ledger: &mut Ledger, findings: &Findings<'_>) {
    let Curves { outer, inner, whole } = Curves::of(findings);
    let walls = [&outer, &whole].map(|curve| curve.wall().ok());
    let [Some(outside), Some(whole)] = &walls else {
        ledger.lack(&SIZES, FEW_STATIONS);
        ledger.lack(&AT_ENDS, FEW_STATIONS);
        ledger.lack(&OF_BOTH_WALLS, FEW_STATIONS);
        return;
    };
    let base_seen = outer.begins_at_axis();
    sizes(ledger, findings, [outside, whole], base_seen);
    ends(ledger, findings, outside, whole);
    let inside = inner.as_ref().and_then(|curve| Some((curve, curve.wall().ok()?)));
    if let Some((inner, inside)) = inside {
        volumes(ledger, [outside, &inside, whole], [&outer, inner]);
        thickness(ledger, findings, [outside, &inside, whole]);
    } else {
        ledger.lack(&OF_BOTH_WALLS, INSIDE_UNSEEN);
    }
}

/// The curves of both walls and of the whole meridian: a rim's top is told from both of its sides.
struct Curves {
    outer: Curve,
    inner: Option<Curve>,
    whole: Curve,
}

impl Curves {
    fn of(findings: &Findings<'_>) -> Self {
        let located = findings.located;
        let of = |range, sections| Curve::of(located, &findings.correlation, range, sections);
        let sections = |index: usize| findings.walls.get(index).map(|(_, rows, _)| rows.as_slice()).unwrap_or_default();
        Self {
            outer: of(located.walls.outer.clone(), sections(0)),
            inner: findings.walls.get(1).map(|(wall, ..)| of(wall.stations.clone(), sections(1))),
            whole: of(0..located.stations.stations.len(), &[]),
        }
    }
}

/// The measures that handles and damage change most with nothing set aside: roundness, and the rim's and the foot's circle.
fn as_found(findings: &Findings<'_>) -> Ledger {
    let mut ledger = Ledger::default();
    let Curves { outer, whole, .. } = Curves::of(findings);
    if let (Ok(outside), Ok(whole)) = (&outer.wall(), &whole.wall()) {
        ends(&mut ledger, findings, outside, whole);
    }
    let damaged = |wall: &Wall| wall.found.iter().any(Option::is_some);
    let walls = findings.walls.iter().zip(ROUNDNESS).filter(|((wall, ..), _)| damaged(wall));
    walls.for_each(|(wall, names)| roundness_of(&mut ledger, findings, wall, names, |row| row.ront_found));
    ledger
}

/// Where the foot's lowest point lies in the frame the vessel has so far, mm.
pub(super) fn foot_level(located: &Located, correlation: &Correlation) -> Option<Estimate> {
    let outside = Curve::of(located, correlation, located.walls.outer.clone(), &[]);
    Some(deviation::foot_level(&outside.wall().ok()?).ok()?.estimate)
}

fn sizes(ledger: &mut Ledger, findings: &Findings<'_>, [outer, whole]: [&WallCurve<'_>; 2], base_seen: bool) {
    let hidden = findings
        .walls
        .first()
        .map_or(0.0, |(wall, rows, _)| mean_over_body(wall, rows, |fit| fit.hidden.mean_variance()).sqrt());
    let across = |found: Measured| found.and(Source::Sampling, 2.0 * hidden);
    ledger.enter("height", deviation::height(whole));
    ledger.enter("max_diameter", deviation::max_diameter(outer).map(across));
    ledger.enter("rim_diameter", deviation::rim_diameter(whole).map(across));
    ledger.enter_if("foot_diameter", deviation::foot_diameter(outer).map(|found| found.map(across)), ROUND_BOTTOM);
    ledger.enter_if("neck_diameter", deviation::neck_diameter(outer).map(|found| found.map(across)), NO_NECK);
    // Without the underside the outline is another one, and its size another.
    if base_seen {
        ledger.enter("centroid_size", deviation::centroid_size(whole).map(|found| found.and(Source::Sampling, hidden)));
    } else {
        ledger.lack(&["centroid_size"], UNDERSIDE_UNSEEN);
    }
}

fn volumes(ledger: &mut Ledger, [outer, inner, whole]: [&WallCurve<'_>; 3], curves: [&Curve; 2]) {
    let [outer_curve, inner_curve] = curves;
    let base_seen = outer_curve.begins_at_axis();
    let floor_seen = inner_curve.radii().last().is_some_and(|radius| *radius < AT_AXIS * outer_curve.widest());
    if floor_seen {
        let capacity = brimful(inner, whole, curves[1].mean_square());
        ledger.enter("capacity", capacity.clone());
        ledger.enter_if("capacity_neck", deviation::capacity_neck(inner, curves[1].mean_square()), NO_NECK);
        match (base_seen, capacity) {
            (true, Ok(capacity)) => {
                ledger.enter("body_volume", deviation::body_volume(outer, &capacity, curves[0].mean_square()));
                ledger.enter("surface_area", deviation::surface_area(outer, inner));
            }
            (false, _) => ledger.lack(&["body_volume", "surface_area"], UNDERSIDE_UNSEEN),
            (_, Err(_)) => ledger.lack(&["body_volume", "surface_area"], "the capacity could not be had"),
        }
    } else {
        let deepest = curves[1].heights().iter().copied().fold(f64::INFINITY, f64::min);
        let reason = format!("the floor was not seen: the inner wall is in the scan down to {deepest:.1} mm only");
        ledger.lack(&["capacity", "capacity_neck", "body_volume", "surface_area"], &reason);
    }
}

fn thickness(ledger: &mut Ledger, findings: &Findings<'_>, [outer, inner, whole]: [&WallCurve<'_>; 3]) {
    let Some((wall, rows, _)) = findings.walls.first() else { return };
    let body: Vec<f64> = of_body(rows).map(|row| row.height_mm).collect();
    let (Some(low), Some(high)) = (body.first(), body.last()) else { return };
    // From one end of the body to the other: a plate's wall is too flat for sections in between.
    let mut heights: Vec<f64> =
        (0..wall.heights.count).map(|index| wall.heights.middle(index)).filter(|z| (low..=high).contains(&z)).collect();
    // What is flat in between is met by its normals at heights that say little of where it is, at either end.
    let unclear = if heights.len() > body.len() { [true; 2] } else { body::unclear(&body, wall, findings.located) };
    let ends = [0, heights.len() - 1].into_iter().zip(body::ends(findings.located));
    ends.zip(unclear).filter(|(_, unclear)| !unclear).for_each(|((end, at), _)| heights[end] = at);
    let u_height = deviation::height(whole).map_or(0.0, |height| height.estimate.standard_uncertainty());
    let u_ends = unclear.map(|unclear| if unclear { wall.heights.step / 12.0_f64.sqrt() } else { u_height });
    match deviation::wall_thickness(outer, inner, &heights, u_ends) {
        Ok(wall) => {
            ledger.enter("wall_mean", Ok(wall.mean));
            ledger.enter("wall_min", Ok(wall.least));
            ledger.enter("wall_max", Ok(wall.greatest));
        }
        Err(error) => ledger.lack(&["wall_mean", "wall_min", "wall_max"], &error.to_string()),
    }
}

/// The capacity up to the rim's top, with what the height of that leaves open: the mouth's area times its uncertainty.
fn brimful(inner: &WallCurve<'_>, whole: &WallCurve<'_>, mean_square_mm2: &[f64]) -> Result<Measured, DeviationError> {
    let (rim, mouth) = (deviation::rim_level(whole)?, deviation::rim_diameter(whole)?.estimate.value());
    let capacity = deviation::capacity(inner, rim.estimate.value(), mean_square_mm2)?;
    Ok(capacity.and_all(&rim.budget.times(0.25 * PI * mouth.powi(2))))
}

fn roundness(ledger: &mut Ledger, findings: &Findings<'_>) {
    for (wall, names) in findings.walls.iter().zip(ROUNDNESS) {
        roundness_of(ledger, findings, wall, names, |row| {
            Some(SectionRow::drawn(row.ront_lsci?, row.u_set_aside.ront_mm))
        });
    }
    if findings.walls.len() < 2 {
        ledger.lack(&["roundness_inner"], INSIDE_UNSEEN);
    }
    let Some((wall, rows, _)) = findings.walls.first() else { return };
    let coefficients = Coefficients::of(wall, rows);
    let sections = coefficients.sections();
    for (name, band) in [
        ("lobing_2", 2..=2),
        ("lobing_3", 3..=3),
        ("lobing_4_15", 4..=15),
        ("lobing_16_50", 16..=50),
        ("lobing_51_150", 51..=150),
    ] {
        let hidden = hidden_in(wall, rows, band.clone()).sqrt();
        // Only every so many sections speak for themselves where neighbours err alike.
        let alike = findings.correlation.alike(wall.heights.step).sqrt();
        let shared = |found: Measured| found.with_noise_times(alike).and(Source::Sampling, hidden);
        ledger.enter(name, deviation::lobing_band(&sections, band).map(shared));
    }
    ledger.enter("lobing_change", deviation::lobing_change(&coefficients.with_phases(), 2..=15));
}

/// The median roundness of one wall's sections, and that of its roundest tenth; `ront` says which roundness of a section.
fn roundness_of(
    ledger: &mut Ledger,
    findings: &Findings<'_>,
    (wall, rows, _): &(Wall, Vec<SectionRow>, Meridian),
    [median, best]: [&'static str; 2],
    ront: impl Fn(&SectionRow) -> Option<Estimate>,
) {
    let body: Vec<deviation::SectionRoundness> = of_body(rows)
        .filter_map(|row| Some((ront(row)?, row.detection_limit_mm?)))
        .map(|(ront, detection_limit_mm)| deviation::SectionRoundness { ront, detection_limit_mm })
        .collect();
    let common = common_uncertainty(findings, wall, rows, &body).hypot(shared_uncertainty(findings, wall, rows));
    let hidden = mean_over_body(wall, rows, |fit| fit.hidden.ront_variance()).sqrt();
    let seed = findings.seed.derive(1);
    let quantile = |share| {
        let found = deviation::roundness_quantile(&body, share, common, seed);
        found.map(|found| found.and(Source::Sampling, hidden))
    };
    ledger.enter(median, quantile(0.5));
    if !best.is_empty() {
        ledger.enter(best, quantile(0.1));
    }
}

/// What neighbouring sections' roundness errs alike by, mm.
fn shared_uncertainty(findings: &Findings<'_>, wall: &Wall, rows: &[SectionRow]) -> f64 {
    let variances: Vec<f64> =
        of_body(rows).filter_map(|row| row.ront_lsci).map(|ront| ront.standard_uncertainty().powi(2)).collect();
    let count = variances.len().max(1) as f64;
    let alike = findings.correlation.alike(wall.heights.step).min(count);
    (variances.iter().sum::<f64>() / count * (alike - 1.0) / count).sqrt()
}

/// Variance of a band's root mean square amplitude by what a gap hides from every section, mm2.
fn hidden_in(wall: &Wall, rows: &[SectionRow], band: RangeInclusive<u16>) -> f64 {
    mean_over_body(wall, rows, |fit| band.clone().map(|upr| fit.hidden.variance(usize::from(upr))).sum())
}

pub(super) fn mean_over_body(wall: &Wall, rows: &[SectionRow], of: impl Fn(&BandFit) -> f64) -> f64 {
    let fits = of_body(rows).filter_map(|row| wall.fits[wall.heights.band(row.height_mm)?].as_ref());
    let values: Vec<f64> = fits.map(of).collect();
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

pub(super) fn of_body(rows: &[SectionRow]) -> impl Iterator<Item = &SectionRow> {
    rows.iter().filter(|row| row.body)
}

/// What the sections share: the scan's noise is known to 1 / sqrt(2 f) of itself, the part of it that errs alike to less, and
/// with both the correction for them.
fn common_uncertainty(
    findings: &Findings<'_>,
    wall: &Wall,
    rows: &[SectionRow],
    sections: &[deviation::SectionRoundness],
) -> f64 {
    let freedom: usize = wall.fits.iter().flatten().map(|fit| fit.freedom).sum();
    let limit = sections.iter().map(|section| section.detection_limit_mm).sum::<f64>() / sections.len().max(1) as f64;
    let cutoff = findings.params.cutoff();
    let of_shared = |row: &SectionRow| findings.correlation.of_range(wall, row.height_mm, cutoff, limit);
    let of_shared: Vec<f64> = of_body(rows).map(of_shared).collect();
    let of_shared = of_shared.iter().sum::<f64>() / of_shared.len().max(1) as f64;
    (limit / (2.0 * freedom.max(1) as f64).sqrt()).hypot(of_shared)
}

/// Raw amplitudes, coefficient uncertainties, and coefficients of cosine and sine of the body's sections.
struct Coefficients(Vec<[Vec<f64>; 4]>);

impl Coefficients {
    fn of(wall: &Wall, rows: &[SectionRow]) -> Self {
        let by_height = |row: &SectionRow| {
            let index = wall.heights.band(row.height_mm)?;
            let fit = wall.fits[index].as_ref()?;
            let factors = fit.harmonics.cos_factor.iter().zip(&fit.harmonics.sin_factor);
            let u = factors.map(|(cos, sin)| fit.noise * (0.5 * (cos + sin)).sqrt()).collect();
            let raw = row.harmonics.iter().map(|h| h.raw_amplitude_mm).collect();
            Some([raw, u, fit.harmonics.cos.clone(), fit.harmonics.sin.clone()])
        };
        Self(of_body(rows).filter_map(by_height).collect())
    }

    fn sections(&self) -> Vec<SectionHarmonics<'_>> {
        debug_assert!(self.0.iter().all(|[raw, u, ..]| raw.len() == u.len()));
        self.0.iter().map(|[raw, u, ..]| SectionHarmonics { raw_amplitude_mm: raw, u_coefficient_mm: u }).collect()
    }

    fn with_phases(&self) -> Vec<SectionCoefficients<'_>> {
        let sections = self.0.iter();
        sections.map(|[_, u, cos, sin]| SectionCoefficients { cos_mm: cos, sin_mm: sin, u_coefficient_mm: u }).collect()
    }
}

fn runout(ledger: &mut Ledger, findings: &Findings<'_>) {
    let Some((wall, rows, _)) = findings.walls.first() else { return };
    let cutoff = findings.params.cutoff().get();
    let filter = |n: usize| if n == 1 { 1.0 } else { transmission(n as f64, f64::from(cutoff)) };
    let filtered: Vec<(Vec<Option<f64>>, f64)> = of_body(rows)
        .filter_map(|row| {
            let fit = wall.fits[wall.heights.band(row.height_mm)?].as_ref()?;
            let values = fit.harmonics.on_grid(ROW_ANGLES, filter);
            let factors = fit.harmonics.cos_factor.iter().enumerate();
            let variance: f64 = factors.map(|(index, factor)| factor * filter(index + 1).powi(2)).sum();
            Some((
                values.into_iter().map(|value| Some(value - fit.harmonics.mean)).collect(),
                fit.noise * variance.sqrt(),
            ))
        })
        .collect();
    let independent = 2 * usize::from(cutoff) + 1;
    let map: Vec<DeviationRow<'_>> =
        filtered.iter().map(|(deviation_mm, u_mm)| DeviationRow { deviation_mm, u_mm: *u_mm, independent }).collect();
    let seed = findings.seed.derive(3);
    ledger.enter("total_runout", deviation::total_runout(&map, seed));
    match deviation::surface_profile(&map, seed.derive(1)) {
        Ok(profile) => {
            ledger.enter("surface_profile_rms", Ok(profile.root_mean_square));
            ledger.enter("surface_profile_pv", Ok(profile.peak_to_valley));
        }
        Err(error) => ledger.lack(&["surface_profile_rms", "surface_profile_pv"], &error.to_string()),
    }
}

fn ends(ledger: &mut Ledger, findings: &Findings<'_>, outer: &WallCurve<'_>, whole: &WallCurve<'_>) {
    let seed = findings.seed.derive(4);
    let rim = deviation::rim_circle(whole).map(|(radius, height)| Circle { end: End::Rim, radius, height });
    let foot = deviation::foot_circle(outer).map(|(radius, height)| Circle { end: End::Foot, radius, height });
    let centre = rim.as_ref().and_then(|rim| rim_centre(findings.located, rim, scatter(findings, rim)));
    match &centre {
        Some(RimCentre { centre, steep: true, .. }) => {
            let seed = findings.seed.derive(2).derive(3);
            ledger.enter("concentricity_rim", deviation::concentricity(centre, Some(&findings.datum), seed));
        }
        Some(_) => {
            ledger.lack(&["concentricity_rim"], "the lip's flanks lie too flat to tell its centre from its tilt")
        }
        None => ledger.lack(&["concentricity_rim"], "the lip's flanks are not in the scan"),
    }
    let shift = centre.map(|centre| centre.shift).unwrap_or_default();
    for (circle, shift, flatness, perpendicularity, absent) in [
        (rim, shift, "flatness_rim", "perpendicularity_rim", "the rim is not in the scan"),
        (foot, Shift::default(), "flatness_foot", "perpendicularity_foot", ROUND_BOTTOM),
    ] {
        let Some(circle) = circle else {
            ledger.lack(&[flatness, perpendicularity], absent);
            continue;
        };
        let Ring { points, u_tilt } = ring(findings.located, &circle, scatter(findings, &circle), &shift);
        if points.is_empty() {
            ledger.lack(&[flatness, perpendicularity], "too little of the circle is in the scan");
            continue;
        }
        let mut datum = findings.datum;
        (2..4).for_each(|axis| datum.covariance[(axis, axis)] += u_tilt * u_tilt);
        ledger.enter(flatness, deviation::flatness(&points, seed));
        ledger.enter(perpendicularity, deviation::perpendicularity(&points, Some(&datum), seed.derive(1)));
    }
}

/// Noise, and the lobes of the section nearest to a circle.
fn scatter(findings: &Findings<'_>, circle: &Circle) -> Scatter {
    let rows = findings.walls.first().map(|(_, rows, _)| rows.as_slice()).unwrap_or_default();
    Scatter {
        noise: findings.noise,
        shared: findings.correlation.standard_deviation(),
        shared_length: findings.correlation.length_mm(),
        lobes: mean_square_at(rows, circle.height).sqrt().max(findings.noise),
    }
}
