//! Which roles a corpus has, and how true its vessels are.

use rand::Rng;
use rand::seq::SliceRandom;
use rand_distr::{Distribution, StandardNormal};

use super::Role;
use super::corpus::Make;
use super::handling;
use super::recipe::{Recipe, Workshop};
use crate::quantity::{Millimetre, Seed, Upr};
use crate::synthetic::{PlannedHarmonic, VesselForm, VesselPlan, Wall, Workmanship};

/// One part to be played: a role, in the manner of a workshop, and how many times truer than that workshop.
#[derive(Clone, Copy, Debug)]
pub(super) struct Part {
    pub(super) role: Role,
    pub(super) form: VesselForm,
    /// Index of the workshop whose materials it has.
    pub(super) workshop: usize,
    pub(super) truer: f64,
}

/// Parts for a corpus of `vessels`, handling pieces not among them; every form and workshop in turn, order shuffled.
pub(super) fn parts(recipe: &Recipe, vessels: usize, seed: Seed) -> Vec<Part> {
    let planted = &recipe.planted;
    let count = |per: usize, least: usize| (vessels / per).max(least);
    let specials = [
        (Role::UnusuallyTrue, count(planted.truer_per, 3)),
        (Role::Replica, count(planted.replica_per, 4)),
        (Role::DocumentedModern, count(planted.modern_per, 3)),
        (Role::TruncatedFile, 1),
        (Role::NotOfRevolution, 1),
    ];
    let special: usize = specials.iter().map(|(_, count)| count).sum::<usize>() + handling::COUNT;
    let mut roles = vec![Role::Workshop; vessels.saturating_sub(special)];
    roles.extend(specials.iter().flat_map(|&(role, count)| vec![role; count]));
    let workshops = recipe.workshop.len();
    let forms = VesselForm::ALL;
    let mut parts: Vec<Part> = roles
        .into_iter()
        .enumerate()
        .map(|(index, role)| Part {
            role,
            // Forms step with every vessel, workshops with every round of forms and once more: every pairing comes up.
            form: forms[index % forms.len()],
            workshop: (index + index / forms.len()) % workshops,
            truer: if role == Role::UnusuallyTrue { planted.truer[index % planted.truer.len()] } else { 1.0 },
        })
        .collect();
    parts.shuffle(&mut seed.rng());
    parts
}

/// How a vessel of this part is made.
pub(super) fn make(recipe: &Recipe, part: &Part, seed: Seed) -> Make {
    let mut rng = seed.rng();
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let modern = matches!(part.role, Role::Replica | Role::DocumentedModern);
    let workshop = if modern { &recipe.modern } else { &recipe.workshop[part.workshop] };
    // An unusually true vessel is drawn without scatter, so that it is as much truer as the recipe says.
    let scatter = if part.role == Role::UnusuallyTrue { 0.0 } else { workshop.scatter };
    let roundness = workshop.roundness_mm * (scatter * normal().clamp(-2.5, 2.5)).exp() / part.truer;
    let size = recipe.vessels.size_mm * (recipe.vessels.size_scatter * normal().clamp(-2.0, 2.0)).exp();
    let mut workmanship = workmanship(workshop, roundness);
    for amount in [&mut workmanship.bow_mm, &mut workmanship.inner_offset_mm, &mut workmanship.rim_mm] {
        *amount *= (scatter * normal()).exp();
    }
    Make {
        form: part.form,
        size: Millimetre::new(size),
        proportions: recipe.vessels.proportions,
        workmanship,
        squareness: if part.role == Role::NotOfRevolution { SQUARENESS } else { 0.0 },
        seed: Seed::new(rng.r#gen()),
    }
}

fn workmanship(workshop: &Workshop, roundness_mm: f64) -> Workmanship {
    let lobe = Upr::new(workshop.lobe_upr).map(|upr| (upr, workshop.lobe_times));
    Workmanship { lobe, ..Workmanship::of_roundness(roundness_mm) }
}

/// Amplitude at 4 UPR of the lantern's section as a share of its size: a square with rounded edges.
const SQUARENESS: f64 = 0.10;

/// Amplitude at 8 UPR over that at 4: flattens the sides.
const SECOND_SHARE: f64 = 0.2;

/// A vessel with a square section.
pub(super) fn squared(vessel: VesselPlan, amplitude_mm: f64) -> VesselPlan {
    let harmonics: Vec<PlannedHarmonic> = [(4, amplitude_mm), (8, SECOND_SHARE * amplitude_mm)]
        .into_iter()
        .filter_map(|(n, amplitude)| Some(PlannedHarmonic::constant(Upr::new(n)?, amplitude, 0.0)))
        .collect();
    vessel.with_harmonics(Wall::Outer, &harmonics).with_harmonics(Wall::Inner, &harmonics)
}
