//! Catalogue and truth of a corpus, as CSV.

use nalgebra::Point3;

use super::corpus::{Corpus, CorpusScan, CorpusVessel, ScanSource};
use crate::synthetic::{Truth, VesselPlan};

/// Header of the catalogue.
pub(super) const CATALOGUE: [&str; 13] = [
    "vessel_id",
    "file",
    "unit",
    "instrument",
    "u_instrument_mm",
    "up",
    "object",
    "material",
    "mohs",
    "density_g_cm3",
    "reference",
    "ct_cost",
    "setting",
];

/// One row of the catalogue.
pub(super) fn catalogue_row(vessel: &CorpusVessel, scan: &CorpusScan) -> Vec<String> {
    let number = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    vec![
        vessel.id.clone(),
        scan.file.clone(),
        scan.unit.symbol().to_owned(),
        scan.instrument.clone(),
        number(scan.u_instrument_mm),
        scan.up.to_owned(),
        vessel.object.to_owned(),
        vessel.material.clone(),
        number(vessel.mohs),
        number(vessel.density_g_cm3),
        vessel.reference.to_owned(),
        vessel.ct_cost.to_string(),
        vessel.setting.clone(),
    ]
}

/// Header of the truth: who and why, then measures by their published names, in mm, mm2 and mm3.
pub(super) const TRUTH: [&str; 30] = [
    "vessel_id",
    "role",
    "form",
    "workshop",
    "reference",
    "times_truer",
    "height",
    "max_diameter",
    "rim_diameter",
    "foot_diameter",
    "neck_diameter",
    "capacity",
    "body_volume",
    "surface_area",
    "wall_mean",
    "roundness_outer",
    "roundness_inner",
    "lobing_2",
    "lobing_3",
    "lobing_4_15",
    "lobing_16_50",
    "lobing_51_150",
    "axis_straightness_outer",
    "coaxiality_inner",
    "wall_unevenness",
    "concentricity_rim",
    "flatness_rim",
    "perpendicularity_rim",
    "flatness_foot",
    "perpendicularity_foot",
];

/// One row of the truth; without measures where nothing is known or nothing should be measured.
pub(super) fn truth_row(vessel: &CorpusVessel, times_truer: Option<f64>, truth: Option<&Truth>) -> Vec<String> {
    let form = vessel.make.filter(|_| vessel.role.measurable()).map_or("", |make| make.form.word());
    let mut row = vec![
        vessel.id.clone(),
        vessel.role.words().to_owned(),
        form.to_owned(),
        vessel.workshop.clone(),
        vessel.reference.to_owned(),
        times_truer.map(|times| format!("{times:.2}")).unwrap_or_default(),
    ];
    match truth {
        Some(truth) => {
            row.extend(measures(truth).map(|value| value.map(|value| format!("{value:.6}")).unwrap_or_default()))
        }
        None => row.resize(TRUTH.len(), String::new()),
    }
    row
}

/// The measures in the order of the header.
fn measures(truth: &Truth) -> [Option<f64>; 24] {
    let all = [
        truth.height_mm,
        truth.max_diameter_mm,
        truth.rim_diameter_mm,
        truth.foot_diameter_mm,
        truth.neck_diameter_mm.unwrap_or(0.0),
        truth.capacity_mm3,
        truth.body_volume_mm3,
        truth.surface_area_mm2,
        truth.wall_mean_mm,
        truth.roundness_outer_mm,
        truth.roundness_inner_mm,
        truth.lobing_2_mm,
        truth.lobing_3_mm,
        truth.lobing_4_15_mm,
        truth.lobing_16_50_mm,
        truth.lobing_51_150_mm,
        truth.axis_straightness_outer_mm,
        truth.coaxiality_inner_mm,
        truth.wall_unevenness_mm,
        truth.concentricity_rim_mm,
        truth.flatness_rim_mm,
        truth.perpendicularity_rim_mm,
        truth.flatness_foot_mm,
        truth.perpendicularity_foot_mm,
    ];
    let mut measures = all.map(Some);
    measures[4] = truth.neck_diameter_mm;
    measures
}

/// Header of the scans' truth: the true axis in the file's frame (at mid-height, in mm, from foot to rim) and the noise.
pub(super) const SCAN_TRUTH: [&str; 11] = [
    "vessel_id",
    "file",
    "axis_dx",
    "axis_dy",
    "axis_dz",
    "axis_x_mm",
    "axis_y_mm",
    "axis_z_mm",
    "azimuth_zero_rad",
    "noise_mm",
    "triangles_planned",
];

/// One row of the scans' truth; `None` for a file nothing is known of.
pub(super) fn scan_truth_row(
    vessel: &CorpusVessel,
    scan: &CorpusScan,
    plan: Option<&VesselPlan>,
) -> Option<Vec<String>> {
    let ScanSource::Planned { plan: scanned, .. } = &scan.source else { return None };
    let direction = scanned.pose.axis_direction();
    let Point3 { coords: point } = scanned.pose.axis_point(0.5 * plan?.meridian().height_mm());
    let noise = scanned.noise.white_mm.hypot(scanned.noise.correlated_mm);
    let mut row = vec![vessel.id.clone(), scan.file.clone()];
    row.extend(direction.iter().map(|part| format!("{part:.9}")));
    row.extend(point.iter().map(|part| format!("{part:.6}")));
    row.extend([
        format!("{:.9}", scanned.pose.azimuth_zero_rad()),
        format!("{noise:.6}"),
        scanned.triangles.to_string(),
    ]);
    Some(row)
}

/// The study of a corpus.
pub(super) fn study(corpus: &Corpus) -> String {
    format!(
        "title = \"Saltmarsh Harbour Museum, demonstration corpus\"\ncatalogue = \"catalogue.csv\"\nseed = {}\n\n\
         [reduction]\nheights = 128\ncutoff_upr = 50\nhighest_upr = 150\n\n\
         [compare]\ngroups = \"auto\"\n\n\
         [shortlist]\nbudget = 600\nu_ct_mm = 0.005\n\n\
         [proportions]\nstatements = \"statements.toml\"\n",
        corpus.seed.get()
    )
}
