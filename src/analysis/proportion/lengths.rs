//! The named lengths of every vessel: the only place here that knows a column's name.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::super::AnalysisError;
use super::super::drawn::drawn_scans;
use super::super::form::MeridianPoint;
use super::super::meridians::Meridians;
use super::statement::{ArcQuantity, NamedLength, Source, Statements};
use crate::math::resample::linear;
use crate::quantity::Estimate;
use crate::table::Table;

/// The tables proportions are read from.
#[derive(Clone, Copy, Debug)]
pub struct ProportionInput<'a> {
    /// `scans`: `scan_id`, `vessel_id`; `status` and `noise_mm` where known.
    pub scans: &'a Table,
    /// `measures`: `vessel_id`, `measure`, `value`, `u`.
    pub measures: &'a Table,
    /// The meridians, from `profiles`.
    pub meridians: &'a Meridians,
    /// `profile_arcs`, where the meridians were split into arcs.
    pub arcs: Option<&'a Table>,
    /// `clusters`, where the vessels were grouped by form.
    pub clusters: Option<&'a Table>,
}

/// Lengths of vessels, in mm.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Lengths {
    /// The vessels, sorted.
    pub vessels: Vec<String>,
    /// Group by form of each; `None` where it has none.
    pub groups: Vec<Option<i64>>,
    /// What stands for the size of each.
    pub sizes: Vec<Option<f64>>,
    /// By length, in the order of the statements: each vessel's, positive; `None` where it could not be had.
    pub values: Vec<Vec<Option<Estimate>>>,
}

/// One wall's meridian: heights rising, radii and their uncertainties, mm.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Wall {
    pub(super) heights: Vec<f64>,
    pub(super) radii: Vec<f64>,
    pub(super) us: Vec<f64>,
}

/// One arc: radius, centre's radius and height, each with its uncertainty where the table gives one, mm.
type Arc = [Option<Estimate>; 3];

/// What the tables say of the vessels.
pub(super) struct Shapes<'a> {
    /// The vessels, sorted.
    pub(super) vessels: Vec<String>,
    measures: BTreeMap<(&'a str, &'a str), Estimate>,
    meridians: &'a Meridians,
    /// By vessel, its least noisy scan.
    scan_of: BTreeMap<String, String>,
    /// By scan, wall and number.
    arcs: BTreeMap<(&'a str, &'a str, i64), Arc>,
    groups: BTreeMap<String, i64>,
}

/// The measure that shares of the height are of.
const HEIGHT: &str = "height";

/// The walls of one vessel once they have been asked for.
type Walls = [OnceCell<Option<Wall>>; 2];

impl ProportionInput<'_> {
    /// The columns of `profile_arcs` that are read.
    pub const ARC_COLUMNS: [&'static str; 9] = [
        "scan_id",
        "wall",
        "arc",
        "arc_radius_mm",
        "u_arc_radius_mm",
        "center_r_mm",
        "u_center_r_mm",
        "center_z_mm",
        "u_center_z_mm",
    ];
}

impl<'a> Shapes<'a> {
    /// Reads what the tables say of the lengths that the statements name.
    pub(super) fn read(input: &ProportionInput<'a>, statements: &Statements) -> Result<Self, AnalysisError> {
        let drawn = drawn_scans(input.scans)?;
        let claims = statements.claims();
        let of_measure = |length: &NamedLength| match &length.source {
            Source::Measure(name) => Some(name.clone()),
            Source::Radius { .. } | Source::Arc { .. } | Source::CentreDistance { .. } => None,
        };
        let wanted: BTreeSet<String> =
            claims.lengths.iter().filter_map(of_measure).chain([HEIGHT.to_owned(), claims.size.clone()]).collect();
        let (measured, measures) = measures(input.measures, &wanted)?;
        let vessels: BTreeSet<&str> = measured.into_iter().chain(drawn.values().map(String::as_str)).collect();
        Ok(Self {
            vessels: vessels.into_iter().map(str::to_owned).collect(),
            measures,
            meridians: input.meridians,
            scan_of: drawn.into_iter().map(|(scan, vessel)| (vessel, scan)).collect(),
            arcs: input.arcs.map(arcs).transpose()?.unwrap_or_default(),
            groups: input.clusters.map(groups).transpose()?.unwrap_or_default(),
        })
    }

    /// The lengths the statements name.
    pub(super) fn lengths(&self, statements: &Statements) -> Lengths {
        let claims = statements.claims();
        let of_vessel = |vessel: &String| -> Vec<Option<Estimate>> {
            let walls = Walls::default();
            let one = |length| self.length(vessel, length, &walls).filter(|found| found.value() > 0.0);
            claims.lengths.iter().map(one).collect()
        };
        let rows: Vec<Vec<Option<Estimate>>> = self.vessels.par_iter().map(of_vessel).collect();
        let size = |vessel: &String| {
            let found = self.measures.get(&(vessel.as_str(), claims.size.as_str()))?;
            Some(found.value()).filter(|size| *size > 0.0)
        };
        Lengths {
            vessels: self.vessels.clone(),
            groups: self.vessels.iter().map(|vessel| self.groups.get(vessel).copied()).collect(),
            sizes: self.vessels.iter().map(size).collect(),
            values: (0..claims.lengths.len()).map(|at| rows.iter().map(|row| row[at]).collect()).collect(),
        }
    }

    /// The vessel's height.
    pub(super) fn height_mm(&self, vessel: &str) -> Option<f64> {
        self.measures.get(&(vessel, HEIGHT)).map(|height| height.value())
    }

    fn length(&self, vessel: &str, length: &NamedLength, walls: &Walls) -> Option<Estimate> {
        let found = match &length.source {
            Source::Measure(name) => self.measures.get(&(vessel, name.as_str())).copied(),
            Source::Radius { wall, share } => {
                let height = self.height_mm(vessel)?;
                let place = Meridians::WALLS.iter().position(|name| name == wall)?;
                walls[place].get_or_init(|| self.wall(vessel, wall)).as_ref()?.radius_at(share * height)
            }
            Source::Arc { wall, arc, quantity } => {
                let place = match quantity {
                    ArcQuantity::Radius => 0,
                    ArcQuantity::CentreRadius => 1,
                    ArcQuantity::CentreHeight => 2,
                };
                self.arc(vessel, wall, *arc)?[place]
            }
            Source::CentreDistance { wall, arcs: (one, other) } => {
                centre_distance(&self.arc(vessel, wall, *one)?, &self.arc(vessel, wall, *other)?)
            }
        }?;
        Estimate::new(length.times * found.value(), length.times * found.standard_uncertainty()).ok()
    }

    fn arc(&self, vessel: &str, wall: &str, arc: i64) -> Option<Arc> {
        self.arcs.get(&(self.scan_of.get(vessel)?.as_str(), wall, arc)).copied()
    }

    /// A wall of the scan that stands for a vessel, its stations in the order of height, of equal heights the widest; `None`
    /// where it was not seen.
    pub(super) fn wall(&self, vessel: &str, name: &str) -> Option<Wall> {
        let place = Meridians::WALLS.iter().position(|wall| *wall == name)?;
        let points = &self.meridians.of_scan(self.scan_of.get(vessel)?)[place];
        (!points.is_empty()).then(|| Wall::of(points.to_vec()))
    }
}

impl Wall {
    fn of(mut points: Vec<MeridianPoint>) -> Self {
        points.sort_by(|a, b| a.height_mm.total_cmp(&b.height_mm).then(b.radius_mm.total_cmp(&a.radius_mm)));
        points.dedup_by(|a, b| a.height_mm.total_cmp(&b.height_mm).is_eq());
        let column = |number: fn(&MeridianPoint) -> f64| points.iter().map(number).collect();
        Self { heights: column(|p| p.height_mm), radii: column(|p| p.radius_mm), us: column(|p| p.u_radius_mm) }
    }

    /// The radius at a height within the wall, with its uncertainty.
    pub(super) fn radius_at(&self, height: f64) -> Option<Estimate> {
        let (first, last) = (*self.heights.first()?, *self.heights.last()?);
        if height < first || height > last {
            return None;
        }
        let (radius, u) = (linear(&self.heights, &self.radii, height)?, linear(&self.heights, &self.us, height)?);
        Estimate::new(radius, u).ok()
    }
}

/// Distance of two centres; its uncertainty by the delta method, the centres taken as independent.
fn centre_distance(one: &Arc, other: &Arc) -> Option<Estimate> {
    let (r1, r2, z1, z2) = (one[1]?, other[1]?, one[2]?, other[2]?);
    let (across, up) = (r2.value() - r1.value(), z2.value() - z1.value());
    let distance = across.hypot(up);
    let share = |part: f64, a: Estimate, b: Estimate| {
        let slope = if distance > 0.0 { part / distance } else { 1.0 };
        slope * slope * (a.standard_uncertainty().powi(2) + b.standard_uncertainty().powi(2))
    };
    Estimate::new(distance, (share(across, r1, r2) + share(up, z1, z2)).sqrt()).ok()
}

/// Vessels with any measure, and the estimates of those that are wanted.
type Measured<'a> = (BTreeSet<&'a str>, BTreeMap<(&'a str, &'a str), Estimate>);

fn measures<'a>(table: &'a Table, wanted: &BTreeSet<String>) -> Result<Measured<'a>, AnalysisError> {
    let (vessels, names) = (table.texts("vessel_id")?, table.texts("measure")?);
    let (values, us) = (table.floats("value")?, table.floats("u")?);
    let estimate = |row: usize| {
        let estimate = Estimate::new(values[row]?, us[row].unwrap_or_default()).ok()?;
        Some((vessels[row].as_deref()?, names[row].as_deref()?, estimate))
    };
    let mut found = Measured::default();
    for (vessel, name, estimate) in (0..table.rows()).filter_map(estimate) {
        found.0.insert(vessel);
        if wanted.contains(name) {
            found.1.insert((vessel, name), estimate);
        }
    }
    Ok(found)
}

fn arcs(table: &Table) -> Result<BTreeMap<(&str, &str, i64), Arc>, AnalysisError> {
    let (scans, walls, numbers) = (table.texts("scan_id")?, table.texts("wall")?, table.integers("arc")?);
    let columns = ["arc_radius_mm", "center_r_mm", "center_z_mm"];
    let mut read = Vec::new();
    for name in columns {
        let u = format!("u_{name}");
        read.push((table.floats(name)?, if table.has(&u) { Some(table.floats(&u)?) } else { None }));
    }
    let row = |row: usize| {
        let number = |(values, us): &(&[Option<f64>], Option<&[Option<f64>]>)| {
            Estimate::new(values[row]?, us.and_then(|us| us[row]).unwrap_or_default()).ok()
        };
        let arc = [number(&read[0]), number(&read[1]), number(&read[2])];
        Some(((scans[row].as_deref()?, walls[row].as_deref()?, numbers[row]?), arc))
    };
    Ok((0..table.rows()).filter_map(row).collect())
}

fn groups(clusters: &Table) -> Result<BTreeMap<String, i64>, AnalysisError> {
    let rows = clusters.texts("vessel_id")?.iter().zip(clusters.integers("form_cluster")?);
    Ok(rows.filter_map(|(vessel, group)| Some((vessel.clone()?, (*group)?))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn centres_five_apart_by_the_right_triangle_of_three_and_four() {
        let at = |value, u| Estimate::new(value, u).ok();
        let (one, other) = ([None, at(1.0, 0.1), at(2.0, 0.0)], [None, at(4.0, 0.0), at(6.0, 0.2)]);
        let found = centre_distance(&one, &other).unwrap();
        assert!((found.value() - 5.0).abs() < 1e-12);
        // (3/5 x 0.1)^2 + (4/5 x 0.2)^2
        assert!((found.standard_uncertainty() - (0.06_f64.powi(2) + 0.16_f64.powi(2)).sqrt()).abs() < 1e-12);
        assert_eq!(centre_distance(&[None, None, at(1.0, 0.0)], &other), None);
    }

    #[test]
    fn a_radius_beyond_the_wall_is_missing() {
        let wall = Wall { heights: vec![0.0, 10.0], radii: vec![5.0, 15.0], us: vec![0.1, 0.3] };
        assert_eq!(wall.radius_at(5.0), Estimate::new(10.0, 0.2).ok());
        assert_eq!(wall.radius_at(10.5), None);
    }
}
