//! A study as the file says it: defaults filled in, nothing checked but the types.

use serde::{Deserialize, Serialize};

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
}

impl Default for RawCompare {
    fn default() -> Self {
        Self { groups: RawGroups::Word("auto".to_owned()) }
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
}

impl Default for RawShortlist {
    fn default() -> Self {
        Self { budget: 5.0, u_ct_mm: 0.005 }
    }
}
