//! How each vessel of a corpus is scanned.

use std::f64::consts::{PI, TAU};

use nalgebra::{UnitQuaternion, Vector3};
use rand::Rng;
use rand::seq::SliceRandom;

use super::Role;
use super::corpus::{CorpusScan, Make, ScanSource};
use super::recipe::{Instrument, Recipe};
use crate::quantity::{LengthUnit, Seed};
use crate::synthetic::{
    Coverage, FileFormat, HandlePlan, Interior, Meridian, Noise, Patch, Pose, Sampling, ScanPlan, Sector, VesselForm,
};

/// What is on a vessel in every one of its scans.
#[derive(Clone, Debug, Default)]
pub(super) struct Clutter {
    patches: Vec<Patch>,
    handles: Vec<HandlePlan>,
}

/// Draws handles, chips and wear for a vessel.
pub(super) fn clutter(recipe: &Recipe, make: &Make, meridian: &Meridian, seed: Seed) -> Clutter {
    let mut rng = seed.rng();
    let height = meridian.height_mm();
    let mut clutter = Clutter::default();
    let may_have_handle = matches!(make.form, VesselForm::Beaker | VesselForm::Jar | VesselForm::Globular);
    if may_have_handle && rng.gen_bool(recipe.vessels.handles) {
        clutter.handles.push(HandlePlan {
            azimuth_rad: TAU * rng.r#gen::<f64>(),
            low_mm: 0.32 * height,
            high_mm: 0.72 * height,
            reach_mm: rng.gen_range(20.0..28.0),
            strap_radius_mm: rng.gen_range(4.0..5.5),
        });
    }
    if rng.gen_bool(recipe.vessels.chips) {
        let (azimuth_rad, width_mm) = (TAU * rng.r#gen::<f64>(), rng.gen_range(8.0..20.0));
        clutter.patches.push(Patch::RimChip { azimuth_rad, width_mm, depth_mm: rng.gen_range(1.0..2.5) });
    }
    if rng.gen_bool(recipe.vessels.chips) {
        let (azimuth_rad, width_mm) = (TAU * rng.r#gen::<f64>(), rng.gen_range(20.0..40.0));
        clutter.patches.push(Patch::FootWear { azimuth_rad, width_mm, depth_mm: rng.gen_range(0.2..0.5) });
    }
    clutter
}

/// Draws an instrument for a vessel: the finest for those that need it, in proportion to its share of the work otherwise.
pub(super) fn instrument(recipe: &Recipe, role: Role, seed: Seed) -> usize {
    let finest = || {
        let noise = |index: &usize| recipe.instrument[*index].noise_mm;
        (0..recipe.instrument.len()).min_by(|a, b| noise(a).total_cmp(&noise(b))).unwrap_or(0)
    };
    if role == Role::UnusuallyTrue {
        return finest();
    }
    let pool: Vec<usize> =
        recipe.instrument.iter().enumerate().flat_map(|(index, instrument)| vec![index; instrument.share]).collect();
    pool.choose(&mut seed.rng()).copied().unwrap_or(0)
}

/// Suffixes, formats and units as scanners and their operators leave them, commonest first.
const FILES: [(FileFormat, LengthUnit); 10] = [
    (FileFormat::StlBinary, LengthUnit::Millimetre),
    (FileFormat::PlyLittle, LengthUnit::Millimetre),
    (FileFormat::Obj, LengthUnit::Millimetre),
    (FileFormat::PlyLittle, LengthUnit::Metre),
    (FileFormat::StlBinary, LengthUnit::Inch),
    (FileFormat::PlyBig, LengthUnit::Millimetre),
    (FileFormat::PlyAscii, LengthUnit::Centimetre),
    (FileFormat::StlAscii, LengthUnit::Millimetre),
    (FileFormat::Xyz, LengthUnit::Millimetre),
    (FileFormat::Csv, LengthUnit::Centimetre),
];

/// Words are long: a scan written in them is kept to this many triangles.
const MOST_IN_WORDS: usize = 40_000;

/// One scan of a vessel, the `turn`-th of the corpus.
pub(super) fn scan(
    recipe: &Recipe,
    (id, role): (&str, Role),
    meridian: &Meridian,
    clutter: &Clutter,
    instrument: usize,
    (letter, turn, seed): (char, usize, Seed),
) -> CorpusScan {
    let mut rng = seed.rng();
    let instrument = &recipe.instrument[instrument];
    let (format, unit) = match role {
        Role::TruncatedFile => (FileFormat::PlyLittle, LengthUnit::Millimetre),
        // An unusually true vessel is scanned and kept with care.
        Role::UnusuallyTrue => (FileFormat::PlyLittle, LengthUnit::Millimetre),
        _ => FILES[turn % FILES.len()],
    };
    let in_words = !matches!(format, FileFormat::StlBinary | FileFormat::PlyLittle | FileFormat::PlyBig);
    let [low, high] = instrument.triangles;
    let drawn = if role == Role::UnusuallyTrue { high } else { rng.gen_range(low..=high) } as usize;
    let coverage = coverage(instrument, role, meridian, &mut rng);
    // A scan without the opening cannot tell which way is up: the operator keeps the vessel upright and says how.
    let (pose, up) = if coverage.interior == Interior::Unseen {
        upright_pose(&mut rng)
    } else {
        (Pose::random(Seed::new(rng.r#gen())), "")
    };
    let plan = ScanPlan {
        triangles: if in_words { drawn.min(MOST_IN_WORDS) } else { drawn },
        pose,
        sampling: Sampling { jitter: 0.3, uneven: rng.gen_range(0.0..0.3) },
        noise: Noise {
            white_mm: instrument.noise_mm,
            correlated_mm: instrument.correlated_mm,
            length_mm: instrument.correlation_mm,
        },
        coverage,
        patches: clutter.patches.clone(),
        handles: clutter.handles.clone(),
        smoothing: 0,
        faults: Vec::new(),
        shuffled: true,
        points_only: matches!(format, FileFormat::Xyz | FileFormat::Csv),
    };
    CorpusScan {
        file: format!("scans/{id}-{letter}.{}", format.suffix()),
        unit,
        instrument: instrument.name.clone(),
        u_instrument_mm: Some(instrument.u_mm),
        up,
        source: ScanSource::Planned {
            plan: Box::new(plan),
            format,
            seed: Seed::new(rng.r#gen()),
            share_written: if role == Role::TruncatedFile { 0.6 } else { 1.0 },
        },
    }
}

/// Radius of an opening, mm, through which every instrument sees the whole inside.
const WIDE_MM: f64 = 30.0;

fn coverage(instrument: &Instrument, role: Role, meridian: &Meridian, rng: &mut impl Rng) -> Coverage {
    let mut coverage = Coverage { underside: instrument.underside, ..Coverage::whole() };
    if role == Role::UnusuallyTrue {
        return coverage;
    }
    let optical = instrument.depth_mm.is_finite();
    let opening = meridian.at(meridian.rim_arc()).radius_mm;
    if optical && (opening < WIDE_MM || instrument.depth_mm < meridian.height_mm()) {
        let depth = if opening < WIDE_MM { 0.5 * instrument.depth_mm } else { instrument.depth_mm };
        coverage.interior = if rng.gen_bool(0.4) { Interior::Unseen } else { Interior::ToDepth(depth) };
    }
    if optical && rng.gen_bool(0.1) {
        coverage.missing = Some(Sector { from_rad: TAU * rng.r#gen::<f64>(), width_rad: rng.gen_range(0.15..0.5) });
    }
    coverage
}

/// Up along an axis of the scanner's frame to within about two degrees, and that axis.
fn upright_pose(rng: &mut impl Rng) -> (Pose, &'static str) {
    let axes = [
        ("+z", UnitQuaternion::identity()),
        ("+y", UnitQuaternion::from_axis_angle(&Vector3::x_axis(), -0.5 * PI)),
        ("-y", UnitQuaternion::from_axis_angle(&Vector3::x_axis(), 0.5 * PI)),
        ("+x", UnitQuaternion::from_axis_angle(&Vector3::y_axis(), 0.5 * PI)),
    ];
    let (up, base) = axes[rng.gen_range(0..axes.len())];
    let tilt = UnitQuaternion::from_scaled_axis(Vector3::from_fn(|_, _| rng.gen_range(-0.03..0.03)));
    let spin = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), TAU * rng.r#gen::<f64>());
    let translation_mm = Vector3::from_fn(|_, _| rng.gen_range(-100.0..100.0));
    (Pose { rotation: tilt * base * spin, translation_mm }, up)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn upright_poses_point_where_they_say() {
        let mut rng = Seed::new(1).rng();
        for _ in 0..50 {
            let (pose, up) = upright_pose(&mut rng);
            let sign = if up.starts_with('-') { -1.0 } else { 1.0 };
            let along = match &up[1..] {
                "x" => Vector3::x(),
                "y" => Vector3::y(),
                _ => Vector3::z(),
            };
            assert!(pose.axis_direction().dot(&(along * sign)) > 0.99, "{up}");
        }
    }
}
