//! The corpus as the report tells it: vessels, their scans, their groups, who stands out.

use std::collections::{BTreeMap, BTreeSet};

use super::number::{measured, plain, reading_unit};
use super::tables::{ReportTables, RowIndex};
use super::tree_forms::TreeForms;
use super::{ReportError, cells, slug};
use crate::table::{Measure, Table};

/// Which of the two comparisons.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SpaceName {
    Form,
    Precision,
}

impl SpaceName {
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Form => "form",
            Self::Precision => "precision",
        }
    }
}

/// The groups of one comparison.
#[derive(Clone, Debug, Default)]
pub(super) struct Grouping {
    /// The groups' names as the tables write them, in order.
    pub(super) names: Vec<String>,
    /// Each vessel's group as an index into the names.
    pub(super) of: BTreeMap<String, usize>,
    /// Each group's bootstrap stability, where known.
    pub(super) stability: Vec<Option<f64>>,
}

impl Grouping {
    /// How a group is called on the page.
    pub(super) fn title(&self, index: usize) -> String {
        self.names.get(index).map_or_else(String::new, |name| format!("group {name}"))
    }

    /// How many vessels a group has.
    pub(super) fn size(&self, index: usize) -> usize {
        self.of.values().filter(|group| **group == index).count()
    }
}

/// One vessel.
#[derive(Clone, Debug)]
pub(super) struct Vessel<'a> {
    pub(super) id: &'a str,
    pub(super) slug: String,
    /// Rows of `scans`, reduced or not.
    pub(super) scans: Vec<usize>,
    /// The reduced scan its figures are drawn from: the least noisy.
    pub(super) drawn: Option<&'a str>,
    /// Row of `outliers`.
    pub(super) outlier_row: Option<usize>,
    /// Whether that row says it stands out.
    pub(super) stands_out: bool,
}

impl Vessel<'_> {
    pub(super) fn anchor(&self) -> String {
        format!("vessel-{}", self.slug)
    }

    /// A link to the vessel's own part of the page.
    pub(super) fn link(&self) -> String {
        format!("<a href=\"#{}\">{}</a>", self.anchor(), super::html::escape(self.id))
    }
}

/// Everything the parts of the report share.
pub(super) struct Corpus<'a> {
    pub(super) tables: ReportTables<'a>,
    pub(super) scans: &'a Table,
    pub(super) vessels: Vec<Vessel<'a>>,
    pub(super) form: Grouping,
    pub(super) precision: Grouping,
    pub(super) measures: RowIndex<'a>,
    /// Rows of `precision_residuals` by vessel.
    pub(super) residuals: RowIndex<'a>,
    /// Rows of `neighbours` by vessel.
    pub(super) neighbours: RowIndex<'a>,
    /// Forms at the nodes of the tree of forms.
    pub(super) tree_forms: TreeForms,
}

impl<'a> Corpus<'a> {
    pub(super) fn new(tables: &ReportTables<'a>) -> Result<Self, ReportError> {
        let scans = tables.get("scans").ok_or(ReportError::NoScans)?;
        let vessels = vessels(tables, scans)?;
        Ok(Self {
            scans,
            vessels,
            form: grouping(tables.get("clusters"), SpaceName::Form)?,
            precision: grouping(tables.get("clusters"), SpaceName::Precision)?,
            measures: RowIndex::new(tables.get("measures"), "vessel_id")?,
            residuals: RowIndex::new(tables.get("precision_residuals"), "vessel_id")?,
            neighbours: RowIndex::new(tables.get("neighbours"), "vessel_id")?,
            tree_forms: TreeForms::new(tables)?,
            tables: tables.clone(),
        })
    }

    pub(super) const fn grouping(&self, space: SpaceName) -> &Grouping {
        match space {
            SpaceName::Form => &self.form,
            SpaceName::Precision => &self.precision,
        }
    }

    /// The vessels with a reduced scan.
    pub(super) fn measured(&self) -> impl Iterator<Item = &Vessel<'a>> {
        self.vessels.iter().filter(|v| v.drawn.is_some())
    }

    pub(super) fn vessel(&self, id: &str) -> Option<&Vessel<'a>> {
        self.vessels.binary_search_by(|v| v.id.cmp(id)).ok().and_then(|i| self.vessels.get(i))
    }

    /// Whether a row of `scans` was reduced.
    pub(super) fn reduced(&self, row: usize) -> bool {
        cells::text(self.scans, "status", row) == Some("reduced")
    }

    /// One measure of one vessel.
    pub(super) fn reading(&self, vessel: &str, measure: &str) -> Option<Reading> {
        let table = self.tables.get("measures")?;
        let row = self.measures.rows(vessel).find(|row| cells::text(table, "measure", *row) == Some(measure))?;
        Reading::of(table, row)
    }
}

/// Standard uncertainties above a value that a true value exceeds in one case of twenty.
pub(super) const ONE_SIDED_95: f64 = 1.645;

/// One measure with what is needed to say it honestly.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Reading {
    pub(super) value: f64,
    pub(super) u: f64,
    pub(super) unit: String,
    pub(super) limit: Option<f64>,
    pub(super) below: bool,
}

impl Reading {
    /// The reading in a row of `measures` or `scan_measures`; `None` without a value.
    pub(super) fn of(table: &Table, row: usize) -> Option<Self> {
        let listed = cells::text(table, "measure", row).and_then(Measure::named).map(|m| m.unit);
        let unit = cells::text(table, "unit", row).or(listed).unwrap_or("");
        Some(Self {
            value: cells::number(table, "value", row)?,
            u: cells::number(table, "u", row).unwrap_or(0.0),
            unit: unit.to_owned(),
            limit: cells::number(table, "detection_limit", row),
            below: cells::flag(table, "below_limit", row),
        })
    }

    /// The reading as value (u) in the unit a reader expects, or the bound it lies under.
    pub(super) fn spoken(&self) -> String {
        let (factor, _) = reading_unit(&self.unit);
        match (self.below, self.limit) {
            (true, Some(_)) => format!("< {}", plain(factor * self.bound(), 2)),
            _ => {
                let (value, u) = measured(factor * self.value, factor * self.u);
                format!("{value} ({u})")
            }
        }
    }

    /// What can be said of the value: itself, or the bound it lies under. A perfect vessel stays below the detection limit, but
    /// one that is not may too: the bound is no less than the upper end of the value's own interval.
    pub(super) fn bound(&self) -> f64 {
        let upper = self.value + ONE_SIDED_95 * self.u;
        if self.below { self.limit.map_or(self.value, |limit| limit.max(upper)) } else { self.value }
    }
}

fn vessels<'a>(tables: &ReportTables<'a>, scans: &'a Table) -> Result<Vec<Vessel<'a>>, ReportError> {
    let mut rows: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (row, id) in scans.texts("vessel_id")?.iter().enumerate() {
        if let Some(id) = id {
            rows.entry(id).or_default().push(row);
        }
    }
    let listed: BTreeSet<&str> = match tables.get("vessels") {
        Some(table) => table.texts("vessel_id")?.iter().flatten().map(String::as_str).collect(),
        None => BTreeSet::new(),
    };
    for id in listed {
        rows.entry(id).or_default();
    }
    let names = scans.texts("scan_id")?;
    let outliers = tables.get("outliers");
    let outlier_rows = RowIndex::new(outliers, "vessel_id")?;
    let slugs = slug::slugs(rows.keys().copied());
    let vessels = rows.into_iter().zip(slugs).map(|((id, scan_rows), slug)| {
        let reduced = scan_rows.iter().filter(|row| cells::text(scans, "status", **row) == Some("reduced"));
        let noise = |row: usize| cells::number(scans, "noise_mm", row).unwrap_or(f64::INFINITY);
        // A smoothed scan has little noise; that makes it no better.
        let flawed = |row: usize| cells::text(scans, "quality", row).is_some();
        let poorer = |a: usize, b: usize| flawed(a).cmp(&flawed(b)).then(noise(a).total_cmp(&noise(b)));
        let best = reduced.min_by(|a, b| poorer(**a, **b));
        let outlier_row = outlier_rows.rows(id).next();
        let stands_out = match (outliers, outlier_row) {
            (Some(table), Some(row)) => cells::flag(table, "outlier", row),
            _ => false,
        };
        let drawn = best.and_then(|row| names.get(*row)?.as_deref());
        Vessel { id, slug, drawn, scans: scan_rows, outlier_row, stands_out }
    });
    Ok(vessels.collect())
}

fn grouping(clusters: Option<&Table>, space: SpaceName) -> Result<Grouping, ReportError> {
    let Some(table) = clusters else { return Ok(Grouping::default()) };
    let column = format!("{}_cluster", space.word());
    let vessels = table.texts("vessel_id")?;
    let label = |row: usize| cells::named(table, &column, row);
    let mut names: Vec<String> = (0..table.rows()).filter_map(label).collect::<BTreeSet<_>>().into_iter().collect();
    // Numbers in the order of numbers: 2 before 10.
    names.sort_by_key(|name| name.parse::<i64>().unwrap_or(i64::MAX));
    let mut grouping = Grouping { stability: vec![None; names.len()], names, of: BTreeMap::new() };
    for (row, vessel) in vessels.iter().enumerate() {
        let index = label(row).and_then(|l| grouping.names.iter().position(|name| *name == l));
        if let (Some(vessel), Some(index)) = (vessel, index) {
            grouping.of.insert(vessel.clone(), index);
            grouping.stability[index] = cells::number(table, &format!("{}_stability", space.word()), row);
        }
    }
    Ok(grouping)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bound_is_said_as_a_bound() {
        let reading = Reading { value: 0.01, u: 0.004, unit: "mm".into(), limit: Some(0.0361), below: true };
        assert_eq!((reading.spoken(), reading.bound()), ("< 0.036".to_owned(), 0.0361));
        // 0.03 + 1.645 x 0.01 is more than the limit.
        assert_eq!(Reading { value: 0.03, u: 0.01, ..reading }.spoken(), "< 0.046");
        let volume = Reading { value: 123_456.0, u: 1000.0, unit: "mm3".into(), limit: None, below: false };
        assert_eq!(volume.spoken(), "123.5 (1.0)");
    }
}
