//! What the choice of the edge of what is set aside leaves open of sections and measures.

use std::ops::RangeInclusive;

use super::record::{ChoiceUncertainty, MeasureRow, Meridian, SectionRow};
use super::wall::Wall;
use crate::quantity::{Estimate, Source};
use crate::section::BandFit;

impl ChoiceUncertainty {
    /// From a section as drawn and without the fringe of what is set aside; `ront` evaluates a fit.
    ///
    /// Where the section cannot be measured with the wider edge, the values as found are the other choice.
    pub(super) fn of(
        wall: &Wall,
        index: usize,
        fit: &BandFit,
        drawn: Option<Estimate>,
        ront: impl Fn(&BandFit) -> Option<Estimate>,
    ) -> Self {
        let Some(other) = wall.grown[index].as_ref().or(wall.found[index].as_ref()) else {
            return Self::default();
        };
        let centre = |fit: &BandFit| {
            let first = |values: &[f64]| values.first().copied().unwrap_or(0.0);
            [first(&fit.harmonics.cos), first(&fit.harmonics.sin)]
        };
        let ([x, y], [other_x, other_y]) = (centre(fit), centre(other));
        let roundness = drawn.zip(ront(other)).map(|(drawn, other)| drawn.value() - other.value());
        Self {
            radius_mm: half_width(fit.harmonics.mean - other.harmonics.mean),
            center_mm: half_width((x - other_x).hypot(y - other_y) / 2.0_f64.sqrt()),
            ront_mm: roundness.map_or(0.0, half_width),
        }
    }
}

/// Enters what the choice of what is set aside leaves open of measures that were taken again with another edge of it.
pub(super) fn enter_other(rows: &mut [MeasureRow], others: &[MeasureRow]) {
    for row in rows {
        if let Some(other) = others.iter().find(|other| other.measure == row.measure) {
            row.widen(Source::SetAside, half_width(row.estimate.value() - other.estimate.value()));
        }
    }
}

/// Enters what the choice of what is set aside leaves open of each measure of sections: the root mean square over the body,
/// for where the edge is drawn errs alike at neighbouring heights.
pub(super) fn enter(rows: &mut [MeasureRow], walls: &[(Wall, Vec<SectionRow>, Meridian)]) {
    let over_body = |wall: Option<&(Wall, Vec<SectionRow>, Meridian)>, pick: fn(&ChoiceUncertainty) -> f64| {
        let squares = wall.into_iter().flat_map(|(_, rows, _)| rows).filter(|row| row.body);
        let (sum, count) =
            squares.fold((0.0, 0.0_f64), |(sum, count), row| (sum + pick(&row.u_set_aside).powi(2), count + 1.0));
        (sum / count.max(1.0)).sqrt()
    };
    let (outer, inner) = (walls.first(), walls.get(1));
    let centres = |wall| 2.0 * over_body(wall, |choice| choice.center_mm);
    for row in rows {
        let part = match row.measure {
            "roundness_outer" | "roundness_best" | "total_runout" | "surface_profile_pv" => {
                over_body(outer, |choice| choice.ront_mm)
            }
            "roundness_inner" => over_body(inner, |choice| choice.ront_mm),
            "lobing_2" => lobing(outer, 2..=2),
            "lobing_3" => lobing(outer, 3..=3),
            "lobing_4_15" => lobing(outer, 4..=15),
            "lobing_16_50" => lobing(outer, 16..=50),
            "lobing_51_150" => lobing(outer, 51..=150),
            "axis_straightness_outer" => centres(outer),
            "axis_straightness_inner" => centres(inner),
            "coaxiality_inner" => centres(outer).hypot(centres(inner)),
            "wall_unevenness" => 0.5 * centres(outer).hypot(centres(inner)),
            _ => continue,
        };
        row.widen(Source::SetAside, part);
    }
}

/// Standard uncertainty of a band's root mean square amplitude, mm: it is taken again without the fringe.
fn lobing(wall: Option<&(Wall, Vec<SectionRow>, Meridian)>, band: RangeInclusive<usize>) -> f64 {
    let Some((wall, rows, _)) = wall else { return 0.0 };
    let power = |fit: &BandFit| {
        let pairs = fit.harmonics.cos.iter().zip(&fit.harmonics.sin);
        pairs.take(*band.end()).skip(band.start() - 1).map(|(cos, sin)| cos * cos + sin * sin).sum::<f64>()
    };
    let body = rows.iter().filter(|row| row.body).filter_map(|row| wall.heights.band(row.height_mm));
    let (drawn, grown, count) = body.fold((0.0, 0.0, 0.0_f64), |(drawn, grown, count), index| {
        let Some(fit) = &wall.fits[index] else { return (drawn, grown, count) };
        (drawn + power(fit), grown + power(wall.grown[index].as_ref().unwrap_or(fit)), count + 1.0)
    });
    let amplitude = |sum: f64| (sum / count.max(1.0)).sqrt();
    half_width(amplitude(drawn) - amplitude(grown))
}

/// Standard uncertainty of what lies anywhere between two values (JCGM 100:2008, 4.3.7).
fn half_width(difference: f64) -> f64 {
    difference.abs() / 3.0_f64.sqrt()
}
