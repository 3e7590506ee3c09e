//! What the uncertainty declared for the instrument leaves of each measure.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

use super::record::MeasureRow;
use crate::quantity::Source;

/// Share of the planar circular normal distribution's draws that lie within this many standard deviations: 95 %, the root
/// of -2 ln 0.05.
const CIRCULAR_95: f64 = 2.447_746_830_680_816;

/// Enters the declared standard uncertainty `u` of a length into every measure's budget and detection limit.
///
/// The instrument is taken to err as an affine distortion would: lengths across the vessel err by `u` each, along x, y and z
/// independently of one another and alike for all of the scan. So sizes err by `u`, volumes and areas as those of a
/// cylinder of the vessel's diameter and height; a circle becomes an ellipse with an amplitude at 2 UPR of u / sqrt 8
/// (half the difference of two radii that err by u / 2 each); a plane leans by a shear. An ellipse of amplitude a changes a
/// peak-to-valley by 2 a where that is an ellipse itself, else by a sqrt 2, for its extremes lie anywhere; it changes a root
/// mean square as far as that is an ellipse. Straight lines stay straight, centres stay together, higher lobes stay as they
/// are: there an affine distortion adds nothing, and what a real instrument adds beyond it is not in the budget.
///
/// Source: project's choice; the arithmetic follows from it.
pub(super) fn enter(rows: &mut [MeasureRow], u: f64) {
    let value = |name: &str| rows.iter().find(|row| row.measure == name).map(|row| row.estimate.value());
    let (Some(height), Some(diameter)) = (value("height"), value("max_diameter")) else { return };
    if height <= 0.0 || diameter <= 0.0 {
        return;
    }
    let vessel = Vessel { height, diameter, area: value("surface_area"), oval: value("lobing_2") };
    let perfect = Vessel { oval: Some(f64::INFINITY), ..vessel };
    for row in rows {
        let of = |vessel: &Vessel| vessel.part(row.measure, row.estimate.value(), u);
        let (part, alone) = (of(&vessel), of(&perfect));
        row.widen(Source::Instrument, part);
        row.detection_limit = row.detection_limit.map(|limit| limit.hypot(CIRCULAR_95 * alone));
    }
}

/// The sizes that the parts follow from, mm and mm2.
#[derive(Clone, Copy)]
struct Vessel {
    height: f64,
    diameter: f64,
    area: Option<f64>,
    /// Amplitude of the vessel's own ellipse.
    oval: Option<f64>,
}

impl Vessel {
    /// The instrument's part of a measure's standard uncertainty, in the measure's unit.
    fn part(&self, measure: &str, value: f64, u: f64) -> f64 {
        let Self { height, diameter, area, oval } = *self;
        let ellipse = u / 8.0_f64.sqrt();
        // Share of the vessel's own ellipse in the value, where an ellipse of amplitude 1 alone would make it `whole`.
        let share = |whole: f64| if value > 0.0 { (whole * oval.unwrap_or(value) / value).min(1.0) } else { 1.0 };
        match measure {
            "height" | "max_diameter" | "rim_diameter" | "foot_diameter" | "neck_diameter" | "wall_mean"
            | "wall_min" | "wall_max" => u,
            "centroid_size" => value * u / diameter.max(height),
            "capacity" | "capacity_neck" => {
                let inside = (4.0 * value.max(0.0) / (PI * height)).sqrt().max(f64::MIN_POSITIVE);
                value * (2.0 * u / inside).hypot(u / height)
            }
            // Half of both surfaces, times the wall, which is a length.
            "body_volume" => 0.5 * u * area.unwrap_or(2.0 * PI * diameter * height),
            "surface_area" => value * (u / diameter).hypot(u / height),
            "lobing_2" => ellipse,
            "roundness_outer" | "roundness_inner" | "roundness_best" | "total_runout" | "surface_profile_pv" => {
                ellipse * (2.0 + 2.0 * share(2.0).powi(2)).sqrt()
            }
            "surface_profile_rms" => FRAC_1_SQRT_2 * ellipse * share(FRAC_1_SQRT_2),
            // Both diagonals of the vessel's outline err by u, which is a shear that raises the plane across the diameter.
            "perpendicularity_rim" | "perpendicularity_foot" => FRAC_1_SQRT_2 * u * diameter.hypot(height) / height,
            _ => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Budget, Estimate};

    fn row(measure: &'static str, value: f64, detection_limit: Option<f64>) -> MeasureRow {
        let estimate = Estimate::new(value, 0.003).unwrap();
        MeasureRow { measure, estimate, detection_limit, budget: Budget::of(Source::Noise, 0.003), as_found: None }
    }

    #[test]
    fn sizes_err_by_it_and_straight_lines_do_not() {
        let mut rows =
            [row("height", 100.0, None), row("max_diameter", 80.0, None), row("axis_straightness_outer", 0.1, None)];
        enter(&mut rows, 0.004);
        assert!((rows[0].estimate.standard_uncertainty() - 0.005).abs() < 1e-12); // 0.003 and 0.004
        assert!((rows[1].budget.part(Source::Instrument) - 0.004).abs() < 1e-15);
        assert!((rows[2].estimate.standard_uncertainty() - 0.003).abs() < 1e-15);
    }

    /// The ellipse that simulated scale errors make of a circle, beside the closed form.
    #[test]
    fn independent_scale_errors_make_the_stated_ellipse_and_volume() {
        use rand_distr::{Distribution, StandardNormal};
        let (u, diameter, height) = (0.05, 80.0, 60.0);
        let vessel = Vessel { height, diameter, area: None, oval: None };
        let mut rng = crate::quantity::Seed::new(5).rng();
        let (mut ovality, mut volume, draws) = (0.0, 0.0, 40_000);
        let capacity = |[x, y, z]: [f64; 3]| PI / 4.0 * (diameter + u * x) * (diameter + u * y) * (height + u * z);
        for _ in 0..draws {
            let scale: [f64; 3] = std::array::from_fn(|_| StandardNormal.sample(&mut rng));
            // r = R (1 + sx cos2 + sy sin2): the 2-UPR amplitude is R |sx - sy| / 2.
            ovality += (diameter / 2.0 * u / diameter * (scale[0] - scale[1]) / 2.0).powi(2);
            volume += (capacity(scale) - capacity([0.0; 3])).powi(2);
        }
        let (ovality, volume) = ((ovality / f64::from(draws)).sqrt(), (volume / f64::from(draws)).sqrt());
        assert!((vessel.part("lobing_2", 0.0, u) / ovality - 1.0).abs() < 0.02);
        // The closed form takes both diameters to err alike, which is the greater: 2 instead of sqrt 2.
        let stated = vessel.part("capacity", capacity([0.0; 3]), u);
        assert!(stated > volume && stated < 1.5 * volume, "{stated} {volume}");
    }

    #[test]
    fn a_peak_to_valley_changes_as_far_as_it_is_an_ellipse() {
        let vessel = |oval| Vessel { height: 60.0, diameter: 80.0, area: None, oval: Some(oval) };
        let ellipse = 0.02 / 8.0_f64.sqrt();
        let part = |oval| vessel(oval).part("roundness_outer", 0.1, 0.02);
        assert!((part(0.05) - 2.0 * ellipse).abs() < 1e-12); // RONt 0.1 of an amplitude of 0.05: nothing but an ellipse
        assert!((part(0.0) - ellipse * 2.0_f64.sqrt()).abs() < 1e-12);
        assert!(vessel(0.0).part("surface_profile_rms", 0.05, 0.02).abs() < 1e-15);
    }

    #[test]
    fn a_limit_rises_by_what_the_instrument_alone_would_show() {
        let mut rows = [row("height", 60.0, None), row("max_diameter", 80.0, None), row("lobing_2", 0.02, Some(0.01))];
        enter(&mut rows, 0.02);
        let wanted = 0.01_f64.hypot(CIRCULAR_95 * 0.02 / 8.0_f64.sqrt());
        assert!((rows[2].detection_limit.unwrap() - wanted).abs() < 1e-12);
    }
}
