//! A study as the file says it: defaults filled in, nothing checked but the types.

use serde::{Deserialize, Serialize};

use crate::analysis::cluster::Method;
use crate::analysis::form::FormChoice;
use crate::analysis::shortlist::{CtTerms, Weights};

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawStudy {
    pub(super) catalogue: String,
    #[serde(default)]
    pub(super) title: String,
    #[serde(default = "seed")]
    pub(super) seed: u64,
    #[serde(default)]
    pub(super) allow_outside: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) select: Option<RawSelect>,
    #[serde(default)]
    pub(super) reduction: RawReduction,
    #[serde(default)]
    pub(super) compare: RawCompare,
    #[serde(default)]
    pub(super) shortlist: RawShortlist,
    #[serde(default)]
    pub(super) proportions: RawProportions,
}

const fn seed() -> u64 {
    1
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawSelect {
    pub(super) column: String,
    pub(super) values: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawReduction {
    pub(super) heights: u16,
    pub(super) cutoff_upr: u16,
    pub(super) highest_upr: u16,
}

impl Default for RawReduction {
    fn default() -> Self {
        Self { heights: 128, cutoff_upr: 50, highest_upr: 150 }
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawCompare {
    pub(super) groups: RawGroups,
    pub(super) form_method: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) factors: Option<Vec<String>>,
    pub(super) form: String,
}

impl Default for RawCompare {
    fn default() -> Self {
        Self {
            groups: RawGroups::Word("auto".to_owned()),
            form_method: Method::default().key().to_owned(),
            factors: None,
            form: FormChoice::Outer.word().to_owned(),
        }
    }
}

/// `"auto"` or a number.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "expected \"auto\" or a number of groups, 1 to 255")]
pub(super) enum RawGroups {
    Number(i64),
    Word(String),
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawShortlist {
    pub(super) budget: f64,
    pub(super) u_ct_mm: f64,
    pub(super) energy_kev: f64,
    pub(super) longest_mm: f64,
    pub(super) heaviest_kg: f64,
    pub(super) least_transmission: f64,
    pub(super) per_group: u16,
    pub(super) weight_precision: f64,
    pub(super) weight_group: f64,
    pub(super) weight_modern: f64,
    pub(super) weight_interior: f64,
}

impl Default for RawShortlist {
    fn default() -> Self {
        let CtTerms { budget, u_ct_mm, energy_kev, longest_mm, heaviest_kg, least_transmission, per_group, weights } =
            CtTerms::default();
        Self {
            budget,
            u_ct_mm,
            energy_kev,
            longest_mm,
            heaviest_kg,
            least_transmission,
            per_group,
            weight_precision: weights.precision,
            weight_group: weights.group,
            weight_modern: weights.modern,
            weight_interior: weights.interior,
        }
    }
}

impl RawShortlist {
    pub(super) const fn terms(&self) -> CtTerms {
        CtTerms {
            budget: self.budget,
            u_ct_mm: self.u_ct_mm,
            energy_kev: self.energy_kev,
            longest_mm: self.longest_mm,
            heaviest_kg: self.heaviest_kg,
            least_transmission: self.least_transmission,
            per_group: self.per_group,
            weights: Weights {
                precision: self.weight_precision,
                group: self.weight_group,
                modern: self.weight_modern,
                interior: self.weight_interior,
            },
        }
    }
}

/// The statements file; its text too, so that results can be made anew where the file is not.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawProportions {
    pub(super) statements: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) text: Option<String>,
}
