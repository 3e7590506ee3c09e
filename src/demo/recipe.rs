//! The recipe as it is written in `demo-data/recipe.toml`.

use serde::Deserialize;

use super::DemoError;

/// The recipe that ships with the program.
const TEXT: &str = include_str!("../../demo-data/recipe.toml");

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Recipe {
    pub(super) vessels: Vessels,
    pub(super) workshop: Vec<Workshop>,
    pub(super) modern: Workshop,
    pub(super) planted: Planted,
    pub(super) material: Vec<Material>,
    pub(super) instrument: Vec<Instrument>,
    pub(super) settings: Settings,
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Vessels {
    pub(super) size_mm: f64,
    pub(super) size_scatter: f64,
    pub(super) proportions: f64,
    pub(super) old_references: f64,
    pub(super) handles: f64,
    pub(super) chips: f64,
    pub(super) repeats: usize,
    pub(super) same_again: usize,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Workshop {
    pub(super) name: String,
    pub(super) roundness_mm: f64,
    pub(super) scatter: f64,
    pub(super) materials: Vec<String>,
    #[serde(default)]
    pub(super) lobe_upr: u16,
    #[serde(default)]
    pub(super) lobe_times: f64,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Planted {
    pub(super) truer: Vec<f64>,
    pub(super) truer_per: usize,
    pub(super) replica_per: usize,
    pub(super) modern_per: usize,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Material {
    pub(super) name: String,
    pub(super) mohs: f64,
    pub(super) density_g_cm3: f64,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Instrument {
    pub(super) name: String,
    pub(super) noise_mm: f64,
    pub(super) correlated_mm: f64,
    pub(super) correlation_mm: f64,
    pub(super) u_mm: f64,
    pub(super) triangles: [u32; 2],
    pub(super) depth_mm: f64,
    pub(super) underside: bool,
    pub(super) share: usize,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Settings {
    pub(super) old: Vec<String>,
    pub(super) any: Vec<String>,
    pub(super) modern: Vec<String>,
}

impl Recipe {
    pub(super) fn read() -> Result<Self, DemoError> {
        Ok(toml::from_str(TEXT)?)
    }

    pub(super) fn material(&self, name: &str) -> Result<&Material, DemoError> {
        let found = self.material.iter().find(|material| material.name == name);
        found.ok_or_else(|| DemoError::Undescribed(name.to_owned()))
    }
}
