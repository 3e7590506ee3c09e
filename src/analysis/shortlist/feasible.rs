//! Whether a vessel can be put into the machine and the rays come through.

use super::attenuation::mass_attenuation;
use super::params::CtTerms;

/// Heights at which the path through the material is looked at.
const HEIGHTS: usize = 256;

/// A wall as it was drawn: height and radius of its stations along the meridian, mm.
pub(super) type Meridian = Vec<(f64, f64)>;

/// What is known of a vessel's bulk.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Bulk {
    pub(super) outer: Meridian,
    pub(super) inner: Meridian,
    /// Volume of the material, mm3.
    pub(super) body_mm3: Option<f64>,
    pub(super) material: Option<String>,
    pub(super) density_g_cm3: Option<f64>,
}

/// Whether a tomography is feasible, and what was reckoned.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Feasibility {
    /// Yes, no, or not known.
    pub feasible: Option<bool>,
    /// Greatest of height and diameter, mm.
    pub largest_mm: Option<f64>,
    /// Longest straight path through the material across the axis, mm; of a vessel whose interior was not seen, as if it
    /// were solid.
    pub path_mm: Option<f64>,
    /// Share of the rays that pass it.
    pub transmission: Option<f64>,
    /// Mass, kg; of a vessel whose interior was not seen, as if it were solid.
    pub mass_kg: Option<f64>,
    /// Whether path and mass are those of a solid, and so at most.
    pub at_most: bool,
    /// What was reckoned, in words.
    pub words: String,
}

/// The longest path of a ray across the axis through the material, mm; `None` of no outer wall.
///
/// The vessel stands upright on the turntable. At each height the material is a ring (widest outer radius R, narrowest
/// inner radius r) or, below the interior, a disc; the longest chord of a ring touches its inner circle:
/// 2 sqrt(R^2 - r^2), of a disc it is the diameter.
pub(super) fn longest_path(outer: &Meridian, inner: &Meridian) -> Option<f64> {
    let low = outer.iter().map(|(z, _)| *z).min_by(f64::total_cmp)?;
    let high = outer.iter().map(|(z, _)| *z).max_by(f64::total_cmp)?;
    let heights: Vec<f64> = (0..HEIGHTS).map(|k| low + (high - low) * (k as f64 + 0.5) / HEIGHTS as f64).collect();
    let (widest, narrowest) = (passing(outer, &heights, f64::max), passing(inner, &heights, f64::min));
    let chord = |(wide, hollow): (Option<f64>, Option<f64>)| {
        let wide = wide?;
        let hollow = hollow.unwrap_or(0.0).min(wide);
        Some(2.0 * (wide * wide - hollow * hollow).sqrt())
    };
    widest.into_iter().zip(narrowest).filter_map(chord).max_by(f64::total_cmp)
}

/// Of the radii at which a meridian passes each of the heights, which rise, the one that `of_two` chooses.
fn passing(meridian: &Meridian, heights: &[f64], of_two: fn(f64, f64) -> f64) -> Vec<Option<f64>> {
    let mut found: Vec<Option<f64>> = vec![None; heights.len()];
    for pair in meridian.windows(2) {
        let ((z0, r0), (z1, r1)) = (pair[0], pair[1]);
        let [from, to] = [z0.min(z1), z0.max(z1)].map(|end| heights.partition_point(|z| *z < end));
        for (z, known) in heights[from..to].iter().zip(&mut found[from..to]) {
            let radius = r0 + (r1 - r0) * (z - z0) / (z1 - z0);
            *known = Some(known.map_or(radius, |known| of_two(known, radius)));
        }
    }
    found
}

/// Volume within an outer wall, mm3.
fn solid_mm3(outer: &Meridian) -> f64 {
    let cone = |pair: &[(f64, f64)]| {
        let ((z0, r0), (z1, r1)) = (pair[0], pair[1]);
        (z1 - z0) * (r0 * r0 + r0 * r1 + r1 * r1) * std::f64::consts::PI / 3.0
    };
    outer.windows(2).map(cone).sum::<f64>().abs()
}

/// Judges a vessel by the machine's terms.
pub(super) fn feasibility(bulk: &Bulk, terms: &CtTerms) -> Feasibility {
    let height = bulk.outer.iter().map(|(z, _)| *z).max_by(f64::total_cmp);
    let radius = bulk.outer.iter().map(|(_, r)| *r).max_by(f64::total_cmp);
    let mut found = Feasibility {
        largest_mm: height.zip(radius).map(|(height, radius)| height.max(2.0 * radius)),
        path_mm: longest_path(&bulk.outer, &bulk.inner),
        at_most: bulk.inner.is_empty(),
        ..Feasibility::default()
    };
    let Some(largest) = found.largest_mm else {
        return Feasibility { words: "no profile to reckon the path through the stone from".to_owned(), ..found };
    };
    if largest > terms.longest_mm {
        let words = format!("{largest:.0} mm is more than the {:.0} mm the machine takes", terms.longest_mm);
        return Feasibility { feasible: Some(false), words, ..found };
    }
    let Some(density) = bulk.density_g_cm3 else {
        return Feasibility { words: "no density in the catalogue".to_owned(), ..found };
    };
    let volume = bulk.body_mm3.filter(|_| !found.at_most).unwrap_or_else(|| {
        found.at_most = true;
        solid_mm3(&bulk.outer)
    });
    let mass = volume * density * 1e-6; // 1 mm3 x 1 g/cm3 is 1 mg
    let attenuation = mass_attenuation(bulk.material.as_deref().unwrap_or_default(), terms.energy_kev);
    let path = found.path_mm.unwrap_or(largest);
    let transmission = (-attenuation.cm2_per_g * density * path / 10.0).exp();
    let passes = transmission >= terms.least_transmission;
    let light = mass <= terms.heaviest_kg;
    // What holds of the solid holds of the hollow vessel; what fails for the solid may yet hold.
    found.feasible = if passes && light { Some(true) } else { Some(false).filter(|_| !found.at_most) };
    found.words = words(&found, (path, transmission, mass), attenuation.known, terms);
    Feasibility { transmission: Some(transmission), mass_kg: Some(mass), ..found }
}

fn words(found: &Feasibility, (path, transmission, mass): (f64, f64, f64), known: bool, terms: &CtTerms) -> String {
    let mut text = format!(
        "{}{path:.0} mm of material pass {} of the rays at {:.0} keV, {}{mass:.2} kg",
        if found.at_most { "at most " } else { "" },
        percent(transmission),
        terms.energy_kev,
        if found.at_most { "at most " } else { "" },
    );
    if !known {
        text += "; material not in the table, reckoned as calcium carbonate";
    }
    match found.feasible {
        Some(true) => text,
        Some(false) => {
            text + &format!("; the terms are {} and {:.0} kg", percent(terms.least_transmission), terms.heaviest_kg)
        }
        None => text + "; feasible only if it is hollow, which no scan shows",
    }
}

/// A share as per cent with two figures.
fn percent(share: f64) -> String {
    let value = 100.0 * share;
    if value >= 10.0 {
        format!("{value:.0} %")
    } else if value >= 0.1 {
        format!("{value:.1} %")
    } else {
        "less than 0.1 %".to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beaker() -> Bulk {
        // outside 50 mm wide, 80 mm high; inside 40 mm wide above a base of 8 mm
        Bulk {
            outer: vec![(0.0, 25.0), (80.0, 25.0)],
            inner: vec![(8.0, 20.0), (80.0, 20.0)],
            body_mm3: Some(6e4),
            material: Some("quartzite".into()),
            density_g_cm3: Some(2.65),
        }
    }

    #[test]
    fn the_longest_chord_by_hand() {
        let Bulk { outer, inner, .. } = beaker();
        assert!((longest_path(&outer, &inner).unwrap() - 50.0).abs() < 1e-9); // across the base
        let pipe = vec![(0.0, 20.0), (80.0, 20.0)];
        assert!((longest_path(&outer, &pipe).unwrap() - 30.0).abs() < 1e-9); // 2 sqrt(25^2 - 20^2)
        assert!((longest_path(&outer, &Vec::new()).unwrap() - 50.0).abs() < 1e-9);
        assert_eq!(longest_path(&Vec::new(), &pipe), None);
    }

    #[test]
    fn transmission_follows_the_exponential_law() {
        let terms = CtTerms { energy_kev: 100.0, ..CtTerms::default() };
        let found = feasibility(&beaker(), &terms);
        // quartz at 100 keV: 0.16838 cm2/g x 2.65 g/cm3 x 5 cm = 2.231
        assert!((found.transmission.unwrap() - (-2.231_f64).exp()).abs() < 1e-4);
        assert!((found.mass_kg.unwrap() - 0.159).abs() < 1e-12); // 60 cm3 x 2.65 g
        assert_eq!((found.feasible, found.at_most), (Some(true), false));
        assert_eq!(found.words, "50 mm of material pass 11 % of the rays at 100 keV, 0.16 kg");
    }

    #[test]
    fn what_fails_only_as_a_solid_is_not_known() {
        let terms = CtTerms { least_transmission: 0.3, ..CtTerms::default() };
        let closed = Bulk { inner: Vec::new(), ..beaker() };
        assert_eq!(feasibility(&beaker(), &terms).feasible, Some(false));
        assert_eq!(feasibility(&closed, &terms).feasible, None);
        assert_eq!(feasibility(&closed, &CtTerms::default()).feasible, Some(true)); // even as a solid
        let solid = feasibility(&closed, &CtTerms::default());
        // pi 25^2 80 mm3 = 157.1 cm3 x 2.65 g
        assert!((solid.mass_kg.unwrap() - 0.4163).abs() < 1e-4 && solid.words.contains("at most"));
    }

    #[test]
    fn size_and_missing_facts_are_said() {
        let terms = CtTerms { longest_mm: 60.0, ..CtTerms::default() };
        assert_eq!(feasibility(&beaker(), &terms).feasible, Some(false));
        let unknown = feasibility(&Bulk { density_g_cm3: None, ..beaker() }, &CtTerms::default());
        assert_eq!((unknown.feasible, unknown.words.as_str()), (None, "no density in the catalogue"));
        assert_eq!(feasibility(&Bulk::default(), &CtTerms::default()).feasible, None);
        let odd = feasibility(&Bulk { material: Some("moonrock".into()), ..beaker() }, &CtTerms::default());
        assert!(odd.words.contains("calcium carbonate"));
    }
}
