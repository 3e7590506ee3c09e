//! The plan of a corpus from a number and a seed.

use rand::Rng;
use rand::seq::SliceRandom;
use rayon::prelude::*;

use super::casting::{Part, make, parts};
use super::corpus::{Corpus, CorpusScan, CorpusVessel, ScanSource};
use super::recipe::Recipe;
use super::{DemoError, Role, handling, scanning};
use crate::quantity::Seed;
use crate::synthetic::{FileFormat, VesselForm};

/// The least number of vessels that leaves room for every planted role and one piece of each form.
pub const LEAST_VESSELS: usize = 20;

/// Plans a corpus of `vessels` vessels, the two real handling pieces among them: six forms by three workshops, and planted
/// among them unusually true pieces, replicas, documented modern pieces, a truncated file and a piece not of revolution.
///
/// # Errors
/// [`DemoError::TooFew`] below [`LEAST_VESSELS`].
pub fn plan(vessels: usize, seed: Seed) -> Result<Corpus, DemoError> {
    if vessels < LEAST_VESSELS {
        return Err(DemoError::TooFew { least: LEAST_VESSELS, found: vessels });
    }
    let recipe = Recipe::read()?;
    let parts = parts(&recipe, vessels, seed.derive(0));
    let mut planned: Vec<CorpusVessel> = parts
        .par_iter()
        .enumerate()
        .map(|(index, part)| vessel(&recipe, part, index, seed.derive(1 + index as u64)))
        .collect::<Result<_, DemoError>>()?;
    planned.extend(handling::pieces());
    Ok(Corpus { seed, vessels: planned })
}

/// The small corpus that ships with the program: one scan of each of four vessels at few triangles, and the handling pieces.
///
/// # Errors
/// [`DemoError`] if the recipe cannot be used.
pub fn handful(seed: Seed) -> Result<Corpus, DemoError> {
    let recipe = Recipe::read()?;
    let forms = [VesselForm::Bowl, VesselForm::Beaker, VesselForm::Jar, VesselForm::Globular];
    let formats = [FileFormat::PlyLittle, FileFormat::StlBinary, FileFormat::PlyBig, FileFormat::PlyLittle];
    let mut planned = Vec::new();
    for (index, (form, format)) in forms.into_iter().zip(formats).enumerate() {
        let part = Part { role: Role::Workshop, form, workshop: 1 + index % 2, truer: 1.0 };
        let mut vessel = vessel(&recipe, &part, index, seed.derive(1 + index as u64))?;
        vessel.scans.truncate(1);
        for scan in &mut vessel.scans {
            shrink(scan, format);
        }
        planned.push(vessel);
    }
    planned.extend(handling::pieces());
    Ok(Corpus { seed, vessels: planned })
}

/// Triangles of a scan that ships with the program.
const FEW_TRIANGLES: usize = 8000;

fn shrink(scan: &mut CorpusScan, wanted: FileFormat) {
    if let ScanSource::Planned { plan, format, .. } = &mut scan.source {
        plan.triangles = FEW_TRIANGLES;
        plan.points_only = false;
        *format = wanted;
        let stem = scan.file.rsplit_once('.').map_or(scan.file.as_str(), |(stem, _)| stem);
        scan.file = format!("{stem}.{}", wanted.suffix());
    }
}

/// Identifiers count from here.
const FIRST_NUMBER: usize = 101;

fn vessel(recipe: &Recipe, part: &Part, index: usize, seed: Seed) -> Result<CorpusVessel, DemoError> {
    let id = format!("SHM-{:04}", FIRST_NUMBER + index);
    let make = make(recipe, part, seed.derive(0));
    let meridian = make.meridian().map_err(|source| DemoError::Outline { id: id.clone(), source })?;
    let mut rng = seed.derive(1).rng();
    let modern = matches!(part.role, Role::Replica | Role::DocumentedModern);
    let workshop = if modern { &recipe.modern } else { &recipe.workshop[part.workshop] };
    let material = workshop.materials.choose(&mut rng).map_or("", String::as_str);
    let material = recipe.material(material)?;
    let old = part.role == Role::Workshop && rng.gen_bool(recipe.vessels.old_references);
    let (reference, settings) = match part.role {
        Role::DocumentedModern => ("modern", &recipe.settings.modern),
        _ if old => ("old", &recipe.settings.old),
        _ => ("", &recipe.settings.any),
    };
    let setting = settings.choose(&mut rng).cloned().unwrap_or_default();
    let clutter = match part.role {
        // What was kept with care is whole.
        Role::UnusuallyTrue | Role::DocumentedModern | Role::NotOfRevolution => scanning::Clutter::default(),
        _ => scanning::clutter(recipe, &make, &meridian, seed.derive(2)),
    };
    let first = scanning::instrument(recipe, part.role, seed.derive(3));
    let mut instruments = vec![first];
    let repeated = part.role == Role::Workshop;
    if repeated && rng.gen_ratio(1, recipe.vessels.repeats as u32) {
        instruments.push((first + 1 + rng.gen_range(0..recipe.instrument.len() - 1)) % recipe.instrument.len());
    }
    if repeated && rng.gen_ratio(1, recipe.vessels.same_again as u32) {
        instruments.push(first);
    }
    let scans = ('a'..='z')
        .zip(&instruments)
        .enumerate()
        .map(|(nth, (letter, &instrument))| {
            let draw = (letter, index + 3 * nth, seed.derive(10 + nth as u64));
            scanning::scan(recipe, (&id, part.role), &meridian, &clutter, instrument, draw)
        })
        .collect();
    Ok(CorpusVessel {
        id,
        role: part.role,
        object: if part.role == Role::NotOfRevolution { "lantern" } else { part.form.word() },
        workshop: workshop.name.clone(),
        material: material.name.clone(),
        mohs: Some(material.mohs),
        density_g_cm3: Some(material.density_g_cm3),
        reference,
        ct_cost: ct_cost(make.size.get(), material.density_g_cm3),
        setting,
        make: Some(make),
        scans,
    })
}

/// A tomography costs a set-up and the longer the more matter the rays must pass; in whole tens.
fn ct_cost(size_mm: f64, density_g_cm3: f64) -> u32 {
    let tens = 8.0 + 0.05 * size_mm * density_g_cm3;
    10 * tens.round() as u32
}
