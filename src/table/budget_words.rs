//! What each part of a measure's uncertainty stands for, in words.

use super::Measure;
use crate::quantity::Source;

/// The sources that enter a measure's uncertainty, each with what it stands for; in the order of the published columns.
///
/// # Example
/// A straight line stays straight under an instrument's distortion, so that nothing of it enters:
/// ```
/// use tornus::quantity::Source;
/// use tornus::table::{Measure, sources};
/// let straightness = Measure::named("axis_straightness_outer").map(sources).unwrap_or_default();
/// assert!(straightness.iter().all(|(source, _)| *source != Source::Instrument));
/// ```
#[must_use]
pub fn sources(measure: &Measure) -> Vec<(Source, &'static str)> {
    let words = [
        (Source::Noise, Some("the scan's own noise, with the part of it that errs alike over millimetres")),
        (Source::Sampling, sampling(measure.name)),
        (Source::Axis, axis(measure.name)),
        (Source::SetAside, set_aside(measure.name)),
        (Source::Instrument, instrument(measure.name)),
    ];
    words.into_iter().filter_map(|(source, words)| Some((source, words?))).collect()
}

fn sampling(name: &str) -> Option<&'static str> {
    match name {
        "height" | "max_diameter" | "neck_diameter" => Some(
            "the course of the meridian between its stations, how far a narrower parabola differs, and what gaps hide",
        ),
        "rim_diameter" | "foot_diameter" => Some("the place of the circle along the meridian, and what gaps hide"),
        "surface_area" => Some("how much the stations scatter, and what gaps in the azimuth hide"),
        "capacity" | "body_volume" => {
            Some("the course of the meridian about the rim's top, and what gaps in the azimuth hide")
        }
        "capacity_neck" | "wall_min" | "wall_max" => Some("what gaps in the azimuth hide"),
        "wall_mean" => Some("where the body ends, and what gaps in the azimuth hide"),
        "wall_unevenness" | "axis_straightness_outer" | "axis_straightness_inner" | "coaxiality_inner" => {
            Some("where the body ends, and what gaps in the azimuth, smoothing or a thinned mesh may hide")
        }
        "roundness_outer" | "roundness_inner" | "roundness_best" | "lobing_2" | "lobing_3" | "lobing_4_15"
        | "lobing_16_50" | "lobing_51_150" => Some("what gaps in the azimuth, smoothing or a thinned mesh may hide"),
        "total_runout"
        | "surface_profile_rms"
        | "surface_profile_pv"
        | "concentricity_rim"
        | "flatness_rim"
        | "perpendicularity_rim"
        | "flatness_foot"
        | "perpendicularity_foot" => Some("what smoothing or a thinned mesh may hide"),
        _ => None,
    }
}

fn axis(name: &str) -> Option<&'static str> {
    match name {
        "coaxiality_inner" | "concentricity_rim" => Some("the place of the datum axis at these heights"),
        "perpendicularity_rim" | "perpendicularity_foot" => {
            Some("the lean of the datum axis, and the ring's own place")
        }
        _ => None,
    }
}

fn set_aside(name: &str) -> Option<&'static str> {
    match name {
        "surface_profile_rms" | "lobing_change" => None,
        _ => Some("what the edge of a handle or of damage would change if it were drawn one step wider"),
    }
}

fn instrument(name: &str) -> Option<&'static str> {
    match name {
        "height" | "max_diameter" | "rim_diameter" | "foot_diameter" | "neck_diameter" | "wall_mean" | "wall_min"
        | "wall_max" => Some("the declared standard uncertainty of a length (u_instrument_mm)"),
        "centroid_size" => Some("the declared uncertainty of a length, in proportion to the vessel's size"),
        "capacity" | "capacity_neck" | "body_volume" | "surface_area" => {
            Some("the declared uncertainty of a length, on diameter, height and wall")
        }
        "lobing_2"
        | "roundness_outer"
        | "roundness_inner"
        | "roundness_best"
        | "total_runout"
        | "surface_profile_pv"
        | "surface_profile_rms" => {
            Some("the ellipse that lengths across the vessel make of a circle when each errs by the declared u")
        }
        "perpendicularity_rim" | "perpendicularity_foot" => {
            Some("the shear that both diagonals of the outline make when each errs by the declared u")
        }
        _ => None,
    }
}
