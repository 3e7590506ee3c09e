//! Sizes against planned vessels, whose truth comes from other code: quadrature over lines and arcs.

use tornus::deviation::{
    DeviationError, Measured, WallCurve, body_volume, capacity, foot_diameter, height, max_diameter, neck_diameter,
    rim_diameter, surface_area, wall_thickness,
};
use tornus::synthetic::{Meridian, VesselForm, VesselPlan};
use tornus::{Millimetre, Seed, Upr};

/// Stations per wall: what a scan's meridian has at least.
const STATIONS: usize = 400;
const U_MM: f64 = 0.0005;

/// Arc lengths, heights, radii and their uncertainties between two arc lengths of a planned meridian.
fn columns(meridian: &Meridian, from: f64, to: f64) -> [Vec<f64>; 4] {
    let arcs: Vec<f64> = (0..STATIONS).map(|i| from + (to - from) * i as f64 / (STATIONS - 1) as f64).collect();
    let points: Vec<_> = arcs.iter().map(|&arc| meridian.at(arc)).collect();
    let heights = points.iter().map(|p| p.height_mm).collect();
    let radii = points.iter().map(|p| p.radius_mm.max(0.0)).collect();
    [arcs, heights, radii, vec![U_MM; STATIONS]]
}

fn check(name: &str, form: VesselForm, found: Result<Measured, DeviationError>, wanted: f64, tolerance: f64) {
    let found = found.unwrap().estimate.value();
    assert!(
        (found - wanted).abs() <= tolerance,
        "{form:?} {name}: {found} for {wanted}, off by {:.2e}",
        found - wanted
    );
}

#[test]
fn sizes_of_planned_vessels_are_recovered() {
    for (index, form) in VesselForm::ALL.into_iter().enumerate() {
        for seed in 0..5 {
            let seed = Seed::new(100 * index as u64 + seed);
            let vessel = VesselPlan::new(form.meridian(Millimetre::new(60.0), 0.04, seed).unwrap());
            let truth = vessel.truth(Upr::new(50).unwrap());
            let meridian = vessel.meridian();
            let [a, h, r, u] = columns(meridian, 0.0, meridian.rim_arc());
            let spacing = a[1];
            let outer = WallCurve::new(&a, &h, &r, &u).unwrap();
            let [a, h, r, u] = columns(meridian, meridian.rim_arc(), meridian.length_mm());
            let inner = WallCurve::new(&a, &h, &r, &u).unwrap();

            // Stations lie half a millimetre apart; a lip of 1.5 mm rounding is a handful of them.
            check("height", form, height(&outer), truth.height_mm, 2e-3);
            check("max_diameter", form, max_diameter(&outer), truth.max_diameter_mm, 5e-3);
            check("rim_diameter", form, rim_diameter(&outer), truth.rim_diameter_mm, 2e-3);
            let foot = foot_diameter(&outer).unwrap().expect("every planned vessel stands on a ring");
            // Where the flat ends is seen to a part of the spacing only.
            check("foot_diameter", form, Ok(foot), truth.foot_diameter_mm, 0.5 * spacing);
            let neck = neck_diameter(&outer).unwrap();
            assert_eq!(neck.is_some(), truth.neck_diameter_mm.is_some(), "{form:?} {seed:?}");
            if let (Some(neck), Some(wanted)) = (neck, truth.neck_diameter_mm) {
                check("neck_diameter", form, Ok(neck), wanted, 5e-3);
            }
            // Curvature jumps where a line meets an arc; the volume feels it as the cube of the spacing.
            let inside = capacity(&inner, truth.height_mm, &[]);
            check("capacity", form, inside.clone(), truth.capacity_mm3, 1e-5 * truth.capacity_mm3);
            let body = body_volume(&outer, &inside.unwrap(), &[]);
            check("body_volume", form, body, truth.body_volume_mm3, 1e-4 * truth.body_volume_mm3);
            check(
                "surface_area",
                form,
                surface_area(&outer, &inner),
                truth.surface_area_mm2,
                1e-4 * truth.surface_area_mm2,
            );
            let heights = vessel.body_heights();
            let wall = wall_thickness(&outer, &inner, &heights, [0.0; 2]).unwrap();
            // The plan's mean over what lies between the first and the last of them, in 400 places.
            let (low, high) = (heights[0], heights[heights.len() - 1]);
            let between: Vec<f64> = (0..400).map(|i| low + (high - low) * (f64::from(i) + 0.5) / 400.0).collect();
            let planned = vessel.truth_over(Upr::new(50).unwrap(), [&between, &between]).wall_mean_mm;
            check("wall_mean", form, Ok(wall.mean), planned, 5e-3);
        }
    }
}
