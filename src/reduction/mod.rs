//! Data reduction: one scan, all steps, in the order a paper's method section would give them.
//!
//! - [`reduce`]: from a scan to its [`Reduction`], or a [`Rejection`] that says at which step and why
//! - [`ReductionParams`], [`Declared`]: how to reduce, and what the catalogue declares of the scan
//! - [`Reduction`] and its rows: what is left behind
//! - [`Quality`], [`Finding`], [`Defect`]: what is wrong with the scan; [`hidden`]: what it cannot show

mod arcs;
mod body;
mod centres;
mod choice;
mod correlation;
mod curve;
mod datum;
mod error;
mod extent;
mod inside;
mod instrument;
mod ledger;
mod lobes;
mod located;
mod marks;
mod measures;
mod meridian;
mod params;
mod placement;
mod polish;
mod quality;
mod record;
mod rings;
mod sections;
mod surface;
mod wall;

pub use error::{Rejection, Step};
pub use params::{Declared, ParamError, ReductionParams, Up};
pub use quality::{Defect, Finding, Place, Quality, Sight, hidden};
pub use record::{
    ArcRow, ChoiceUncertainty, HarmonicRow, MeasureRow, Meridian, MissingRow, PatchRow, Reduction, SectionRow,
    StationRow, SurfaceMap, SurfacePart, SurfaceRow, Unmeasured, UnrolledMap, UpSource, WallReduction, WallSide,
};

use body::Body;
use correlation::Correlation;
use datum::{CentreLine, recentre};
use extent::Extent;
use lobes::LowLobes;
use located::{Located, locate};
use measures::{Findings, measures};
use placement::{Placement, place, refine};
use polish::polish;
use sections::References;
use surface::Surface;
use wall::Wall;

use crate::deviation::DatumUncertainty;
use crate::profile::Opening;
use crate::quantity::{Estimate, Seed};
use crate::scan::Scan;
pub use crate::section::Aside;

/// Rounds in which axis and meridian are refined with the lobes off, on the sample.
const REFINEMENTS: usize = 2;

/// Sections and harmonics of those rounds: enough for the lobes that matter to the meridian.
const COARSE_HEIGHTS: usize = 64;
const COARSE_HIGHEST: usize = 15;

/// Reduces one scan: axis, meridian, sections, measures.
///
/// The axis is found on a sample and refined; every point is placed on the meridian; both walls are cut into sections,
/// handles and damage set aside; the datum axis is the line through the centres of the outer body's sections; the
/// measures follow from sections and meridian.
///
/// # Units and shapes
/// mm; the scan in any pose, as a mesh or as points.
///
/// # Uncertainty
/// From the scan's own noise, as estimated from its sections, and what is declared of the instrument; each measure's budget
/// says how much is whose.
///
/// # Errors
/// [`Rejection`]: absurd size, no axis of revolution, no continuous meridian, sections far from round.
pub fn reduce(scan: &Scan, params: &ReductionParams, declared: &Declared, seed: Seed) -> Result<Reduction, Rejection> {
    let surface = Surface::of(scan)?;
    let up = declared.up.map(Up::direction);
    let sample = surface.dense(scan.triangles()).without_loose().sample(placement::SAMPLE);
    let surface = surface.without_loose();
    let mut placement = place(&sample, surface.points.len(), up)?;
    let [sample, surface] = [sample, surface].map(|surface| if placement.turned { surface.turned() } else { surface });
    for round in 1..=REFINEMENTS {
        let located = locate(&sample, &placement, None)?;
        let walls = measure_walls(&located, COARSE_HEIGHTS, COARSE_HIGHEST);
        placement = refine(&placement, &located, &walls, round == REFINEMENTS);
    }

    let coarse = locate(&sample, &placement, None)?;
    let lobes = LowLobes::of(&measure_walls(&coarse, COARSE_HEIGHTS, COARSE_HIGHEST));
    let mut located = locate(&surface, &placement, Some(&lobes))?;
    let (most, highest) = (usize::from(params.heights()), usize::from(params.highest().get()));
    // The meridian that the axis was found with takes some of a bent wall's centres for its own course: a scan's points lie in
    // rings across the vessel's own axis, and where those are further apart than the stations, one ring that leans and is off
    // centre looks like a slope (centres were short by up to a sixth). So sections are measured about the polished meridian.
    let mut first = measure_walls(&located, most, lobes::HIGHEST);
    polish(&mut located, &mut first);
    let mut walls = measure_walls(&located, most, highest);
    polish(&mut located, &mut walls);
    walls.iter_mut().zip(&first).for_each(|(wall, first)| wall.own_move_since(first));
    let body = Body::of(&located, &walls)?;
    let bodies: Vec<&[usize]> = (0..walls.len()).map(|wall| body.sections(wall)).collect();
    let correlation = Correlation::of(&walls, &bodies);
    walls.iter_mut().for_each(|wall| correlation.enter(wall));
    let foot = measures::foot_level(&located, &correlation).unwrap_or_else(Estimate::exact_zero);
    located.lower(foot.value());
    walls.iter_mut().for_each(|wall| wall.lower(foot.value()));
    let quality = Quality::assess(scan, &located, &walls, &body);

    let mid_height = 0.5 * located.height;
    let mut covariance = datum::with_hidden(placement.covariance, &walls[0], body.outer());
    let line = CentreLine::through(&walls[0], body.outer(), &correlation)
        .filter(|line| line.tells_tilt(&covariance, mid_height));
    if let Some(line) = line {
        walls.iter_mut().for_each(|wall| recentre(wall, &line));
        located.turn(line.moved(&located.frame).unwrap_or(located.frame), &surface);
        covariance = line.covariance_at(mid_height);
    }
    let datum = DatumUncertainty { height_mm: mid_height, covariance };

    let noise = body.noise(&walls);
    let references = References::new(&walls, params.cutoff(), seed);
    let mut measured = Vec::new();
    for (index, wall) in walls.into_iter().enumerate() {
        let rows = sections::rows(&wall, body.sections(index), foot.standard_uncertainty(), params, &references)?;
        // The wall's meridian runs on to the middle of the underside, where there are no sections.
        let all = if index == 0 { located.walls.outer.clone() } else { wall.stations.clone() };
        let meridian = meridian::meridian(&located, &correlation, wall.side, all)?;
        measured.push((wall, rows, meridian));
    }
    arcs::split_walls(&located, &mut measured);
    let extent = Extent::of(&located, placement.opening, placement.inside_apart, declared.stands_on_foot);
    let findings = Findings {
        located: &located,
        params,
        walls: &measured,
        datum,
        correlation,
        u_instrument: declared.u_instrument_mm,
        noise: noise.value(),
        seed: seed.derive(1 << 32),
    };
    let mut ledger = measures(&findings);
    inside::enter(&mut ledger, &measured);
    extent.enter(&mut ledger);
    let sections: Vec<&[SectionRow]> = measured.iter().map(|(_, rows, _)| rows.as_slice()).collect();
    quality::widen(&mut ledger.rows, &sections, &quality, params.cutoff().get());
    let notes = notes(&placement, &extent, &measured, params);
    let axis_direction = located.frame.direction();
    Ok(Reduction {
        axis_point: located.frame.origin() + axis_direction * mid_height,
        axis_direction,
        axis_covariance: datum.covariance,
        up: up_source(placement.opening),
        outline_lacks: extent.outline_lacks(),
        noise,
        noise_correlated_mm: correlation.standard_deviation(),
        noise_length_mm: correlation.length_mm(),
        walls: measured
            .into_iter()
            .map(|(wall, rows, meridian)| {
                reduced(&located, &wall, published(rows, &wall, &datum, &correlation, params), meridian)
            })
            .collect(),
        patches: located.marks.patches(&located.stations, &located.walls),
        surface: located.marks.map(&located.stations),
        measures: ledger.rows,
        missing: ledger.missing,
        quality,
        notes,
    })
}

/// Both walls, the outer one without the underside.
fn measure_walls(located: &Located, most: usize, highest: usize) -> Vec<Wall> {
    let outside = located.walls.foot..located.walls.rim + 1;
    let mut walls = vec![Wall::measure(located, WallSide::Outer, outside, most, highest)];
    if let Some(inside) = located.walls.inner.clone() {
        walls.push(Wall::measure(located, WallSide::Inner, inside, most, highest));
    }
    walls
}

/// The sections with what they share in their uncertainty, which the measures know apart: the datum in their centres', and
/// how well the noise that errs alike is known in their roundness.
fn published(
    mut sections: Vec<SectionRow>,
    wall: &Wall,
    datum: &DatumUncertainty,
    correlation: &Correlation,
    params: &ReductionParams,
) -> Vec<SectionRow> {
    for row in &mut sections {
        let place = datum.at(datum::lever_at(wall, row.height_mm));
        row.center_x = row.center_x.widened(place[(0, 0)].max(0.0).sqrt());
        row.center_y = row.center_y.widened(place[(1, 1)].max(0.0).sqrt());
        let limit = row.detection_limit_mm.unwrap_or(0.0);
        let of_noise = correlation.of_range(wall, row.height_mm, params.cutoff(), limit);
        for (ront, share) in row.ranges() {
            *ront = ront.map(|ront| ront.widened(share * of_noise));
        }
    }
    sections
}

fn reduced(located: &Located, wall: &Wall, sections: Vec<SectionRow>, meridian: Meridian) -> WallReduction {
    WallReduction {
        side: wall.side,
        coverage: wall.coverage(),
        masked: located.marks.share(&located.stations, &wall.stations),
        meridian,
        sections,
        unmeasured: wall.unmeasured(),
        unrolled: wall.unrolled(located),
    }
}

const fn up_source(opening: Opening) -> UpSource {
    match opening {
        Opening::Seen => UpSource::Opening,
        Opening::Declared => UpSource::Catalogue,
        Opening::Assumed => UpSource::Assumed,
    }
}

/// What a reader of the tables should know of this scan.
fn notes(
    placement: &Placement,
    extent: &Extent,
    walls: &[(Wall, Vec<SectionRow>, Meridian)],
    params: &ReductionParams,
) -> Vec<String> {
    let mut notes = Vec::new();
    if placement.opening == Opening::Assumed {
        notes.push(
            "which end is up is assumed: the scan shows no opening and the catalogue declares nothing".to_owned(),
        );
    }
    if placement.turned {
        notes.push("the triangles run the wrong way round; they were turned".to_owned());
    }
    notes.extend(extent.notes());
    let outer = walls.first().map(|(_, rows, _)| rows.as_slice()).unwrap_or_default();
    let mut highest: Vec<usize> = outer.iter().map(|row| row.harmonics.len()).collect();
    highest.sort_unstable();
    let typical = highest.get(highest.len() / 2).copied().unwrap_or(0);
    if typical < usize::from(params.cutoff().get()) {
        notes.push(format!(
            "the sampling supports {typical} undulations per revolution only, fewer than the filter's cut-off"
        ));
    }
    notes
}
