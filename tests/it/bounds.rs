//! How near do axis, harmonics and roundness of whole scans come to what noise alone allows?
//!
//! The Cramer-Rao bound is computed here from the planned surface and the places of the scan's vertices, with nothing of the
//! reduction's. Every vertex tells its distance from the planned surface along the normal with the planned standard deviation.
//! Known beforehand: that the vessel is a surface of revolution. Unknown, and eliminated: its radius at every height, free in each
//! of [`HEIGHTS`] slices. For the axis the outer wall's vertices between a tenth and nine tenths of the height count where it is
//! steeper than 30 degrees, because the datum is the axis of these; for a section all that its band holds. Harmonics are not
//! eliminated: the reduction, which does not know that the vessel of the axis's test has none, loses by a gap what they could be.
//!
//! `TORNUS_FULL=1` takes four forms, 48 scans each, in place of two forms, 8 scans each; both print their ratios.

use nalgebra::{Matrix4, Point3, Vector4};
use rayon::prelude::*;
use tornus::synthetic::{Coverage, PlannedHarmonic, ScanPlan, Sector, VesselForm, VesselPlan, Wall};
use tornus::{Declared, Millimetre, Reduction, ReductionParams, Seed, Upr, reduce};

/// Slices of the body in each of which the radius is free.
const HEIGHTS: usize = 200;

/// Share of the height left out at either end; of a section the whole band counts, which may reach beyond the body.
const MARGIN: f64 = 0.1;
const LEAST_MARGIN: f64 = 0.05;

/// Sine of the least inclination to the horizontal of the walls that the axis is told by, and of those that sections are cut
/// from: the band of a section of the body reaches below 30 degrees at the body's end.
const STEEP: f64 = 0.5;
const LEAST_STEEP: f64 = 0.3;

/// Half the greatest diameter, mm, about.
const SIZE_MM: f64 = 45.0;

fn full() -> bool {
    std::env::var_os("TORNUS_FULL").is_some()
}

fn forms() -> &'static [VesselForm] {
    const FORMS: [VesselForm; 4] = [VesselForm::Bowl, VesselForm::Jar, VesselForm::Beaker, VesselForm::Bottle];
    if full() { &FORMS } else { &FORMS[..2] }
}

fn scans() -> u64 {
    if full() { 48 } else { 8 }
}

/// A point of the outer wall: radius, height and unit normal of the planned meridian, azimuth of the vertex.
struct OnWall {
    radius: f64,
    height: f64,
    normal: [f64; 2],
    azimuth: f64,
}

/// The vertices of the outer wall without a `margin` at either end, where it is as steep as `steep`, in the vessel's frame. Of
/// two walls at a height the outer is the nearer by far.
fn outer_body(
    vessel: &VesselPlan,
    plan: &ScanPlan,
    vertices: &[Point3<f64>],
    [margin, steep]: [f64; 2],
) -> Vec<OnWall> {
    let meridian = vessel.meridian();
    let tall = meridian.height_mm();
    let on_wall = |vertex: &Point3<f64>| {
        let own = plan.pose.rotation.inverse() * (vertex - plan.pose.translation_mm);
        let (height, radius) = (own.z, own.x.hypot(own.y));
        if !(margin * tall..=(1.0 - margin) * tall).contains(&height) {
            return None;
        }
        // The height rises all the way from foot to rim: halving 100 mm forty times leaves nothing.
        let (mut low, mut high) = (meridian.foot_arc(), meridian.rim_arc());
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if meridian.at(middle).height_mm < height { low = middle } else { high = middle }
        }
        let place = meridian.at(low);
        let outside = (radius - place.radius_mm).abs() * place.tangent_z < 1.0 && place.tangent_z >= steep;
        let normal = [place.tangent_z, -place.tangent_r];
        outside.then(|| OnWall { radius: place.radius_mm, height, normal, azimuth: own.y.atan2(own.x) })
    };
    vertices.iter().filter_map(on_wall).collect()
}

/// Least standard deviations of the axis's place at mid-height (both coordinates together, mm) and of its tilt (rad).
fn axis_bound(points: &[OnWall], tall: f64, noise: f64) -> [f64; 2] {
    let mut square = Matrix4::zeros();
    let mut slices = vec![(Vector4::zeros(), 0.0); HEIGHTS];
    for OnWall { radius, height, normal: [n_r, n_z], azimuth } in points {
        let (sine, cosine) = azimuth.sin_cos();
        // A tilt about mid-height shifts the wall there by nothing, above it along the radius, and turns it along the axis.
        let lever = (height - 0.5 * tall) * n_r - radius * n_z;
        let moved = Vector4::new(n_r * cosine, n_r * sine, lever * cosine, lever * sine);
        square += moved * moved.transpose();
        let slice = ((height / tall - MARGIN) / (1.0 - 2.0 * MARGIN) * HEIGHTS as f64) as usize;
        let (sum, count) = &mut slices[slice.min(HEIGHTS - 1)];
        *sum += moved;
        *count += 1.0;
    }
    for (sum, count) in slices.iter().filter(|(_, count)| *count > 0.0) {
        square -= sum * sum.transpose() / *count;
    }
    let covariance = square.try_inverse().unwrap() * (noise * noise);
    [covariance[(0, 0)] + covariance[(1, 1)], covariance[(2, 2)] + covariance[(3, 3)]].map(f64::sqrt)
}

fn reduced(vessel: &VesselPlan, plan: &ScanPlan, counted: [f64; 2], seed: Seed) -> (Reduction, Vec<OnWall>) {
    let scan = vessel.scan(plan, seed).unwrap();
    let params = ReductionParams::new(128, 50, 150).unwrap();
    let found = reduce(&scan, &params, &Declared::default(), seed).unwrap();
    (found, outer_body(vessel, plan, scan.vertices(), counted))
}

fn root_mean_square(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), value| (sum + value * value, count + 1.0));
    (sum / count).sqrt()
}

/// Root mean square errors of the axis's place and tilt over its scans, each in units of its bound.
fn axis_ratios(form: VesselForm, missing: Option<f64>) -> [f64; 2] {
    let errors: Vec<[f64; 2]> = (0..scans())
        .into_par_iter()
        .map(|turn| {
            let seed = Seed::new(300 + turn).derive(form as u64);
            let vessel = VesselPlan::new(form.meridian(Millimetre::new(SIZE_MM), 0.03, seed).unwrap());
            let noise = [0.03, 0.1][turn as usize % 2];
            let triangles = [40_000, 200_000][turn as usize / 2 % 2];
            let sector = missing.map(|width_rad| Sector { from_rad: turn as f64, width_rad });
            let coverage = Coverage { missing: sector, ..Coverage::whole() };
            let plan = ScanPlan { coverage, ..ScanPlan::usual(triangles, noise, seed.derive(1)) };
            let (found, points) = reduced(&vessel, &plan, [MARGIN, STEEP], seed.derive(2));
            let tall = vessel.meridian().height_mm();
            let [place, tilt] = axis_bound(&points, tall, noise);
            let truth = plan.pose.axis_direction();
            let off = found.axis_point - plan.pose.axis_point(0.5 * tall);
            // Where the found axis is at mid-height, whatever point of it is given.
            let off = off - found.axis_direction * (off.dot(&truth) / found.axis_direction.dot(&truth));
            [off.norm() / place, found.axis_direction.cross(&truth).norm() / tilt]
        })
        .collect();
    [0, 1].map(|which| root_mean_square(errors.iter().map(|error| error[which])))
}

#[test]
fn the_axis_is_as_good_as_noise_allows() {
    let mut beyond = Vec::new();
    for (what, missing, target) in [("whole", None, 1.5), ("a third missing", Some(2.0), 3.0)] {
        for &form in forms() {
            let [place, tilt] = axis_ratios(form, missing);
            println!(
                "axis, {what}, {form:?}: place at mid-height {place:.2}, tilt {tilt:.2} of the bound; {target} aimed at"
            );
            // The root mean square of 8 scans' two coordinates scatters by a sixth about its own mean.
            let most = if full() { target } else { 1.2 * target };
            // What is no number is beyond any bound.
            if [place, tilt].iter().any(|ratio| !(0.0..=most).contains(ratio)) {
                beyond.push(format!("{form:?} {what}: {place:.2} {tilt:.2}"));
            }
        }
    }
    assert!(beyond.is_empty(), "{beyond:#?}");
}

/// Planned harmonics: undulations per revolution and amplitude, mm. Each stands far above the noise of a section.
const PLANNED: [(u16, f64); 4] = [(2, 0.3), (3, 0.2), (7, 0.1), (15, 0.1)];

#[test]
fn harmonics_are_as_good_as_noise_allows_and_roundness_is_unbiased() {
    let mut beyond = Vec::new();
    for &form in forms() {
        let trials: Vec<(Vec<f64>, Vec<f64>)> = (0..scans()).into_par_iter().map(|turn| lobes(form, turn)).collect();
        assert!(
            trials.iter().all(|(ratios, off)| !ratios.is_empty() && !off.is_empty()),
            "{form:?}: a scan without sections"
        );
        let ratio = root_mean_square(trials.iter().flat_map(|(ratios, _)| ratios.iter().copied()));
        let all: Vec<f64> = trials.iter().flat_map(|(_, off)| off.iter().copied()).collect();
        let bias = all.iter().sum::<f64>() / all.len() as f64;
        println!(
            "{form:?}: amplitudes {ratio:.3} of the bound, 1.2 aimed at; RONt off by {bias:.3} of the noise, 0.2 aimed at"
        );
        if !(0.0..=1.2).contains(&ratio) || !(-0.2..=0.2).contains(&bias) {
            beyond.push(format!("{form:?}: {ratio:.3} {bias:.3}"));
        }
    }
    assert!(beyond.is_empty(), "{beyond:#?}");
}

/// Errors of a scan's amplitudes in units of their bound, and of its RONt in units of the noise.
fn lobes(form: VesselForm, turn: u64) -> (Vec<f64>, Vec<f64>) {
    let seed = Seed::new(700 + turn).derive(form as u64);
    let planned = PLANNED
        .map(|(n, amplitude)| PlannedHarmonic::constant(Upr::new(n).unwrap(), amplitude, f64::from(n) + turn as f64));
    let vessel = VesselPlan::new(form.meridian(Millimetre::new(SIZE_MM), 0.03, seed).unwrap())
        .with_harmonics(Wall::Outer, &planned)
        .with_harmonics(Wall::Inner, &planned);
    let noise = [0.03, 0.1][turn as usize % 2];
    let plan = ScanPlan::usual([40_000, 200_000][turn as usize / 2 % 2], noise, seed.derive(1));
    let (found, points) = reduced(&vessel, &plan, [LEAST_MARGIN, LEAST_STEEP], seed.derive(2));
    let rows = &found.walls[0].sections;
    let step = rows.windows(2).map(|pair| pair[1].height_mm - pair[0].height_mm).fold(f64::INFINITY, f64::min);
    let (mut ratios, mut off) = (Vec::new(), Vec::new());
    for row in rows.iter().filter(|row| row.body).step_by(3) {
        let here = || points.iter().filter(|point| (point.height - row.height_mm).abs() <= 0.5 * step);
        assert!(here().next().is_some(), "{form:?} {turn}: no vertex in the section at {:.2} mm", row.height_mm);
        // A radius is told by 1 / n_r of the noise; either coefficient of a harmonic by twice that over the count, squared.
        let information: f64 = here().map(|point| (point.normal[0] / noise).powi(2)).sum();
        let bound = (2.0 / information).sqrt();
        for (upr, _) in PLANNED {
            let truth = vessel.harmonic(Wall::Outer, row.height_mm, Upr::new(upr).unwrap()).map(|h| h.amplitude_mm);
            if let (Some(truth), Some(harmonic)) = (truth, row.harmonics.get(usize::from(upr) - 1)) {
                ratios.push((harmonic.amplitude.value() - truth) / bound);
            }
        }
        if let (Some(ront), Some(truth)) = (row.ront_lsci, vessel.roundness(Wall::Outer, row.height_mm, Upr::new(50))) {
            off.push((ront.value() - truth) / noise);
        }
    }
    (ratios, off)
}
