//! Scans that show a part of the vessel: what can be measured is within its interval, what cannot is missing for its true
//! reason.
//!
//! `TORNUS_FULL=1` takes all six forms, twenty vessels each, in place of three forms, one vessel each; both print their table.

use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;

use rayon::prelude::*;
use tornus::reduction::{Up, UpSource};
use tornus::synthetic::{
    Coverage, Interior, Meridian, Pose, ScanPlan, Sector, Segment, VesselForm, VesselPlan, Workmanship,
};
use tornus::{Declared, Millimetre, Reduction, ReductionParams, Rejection, Seed, Upr, reduce};

use crate::truth::truths;

/// Coverage factor of 95 % for a normal distribution.
const TWO_SIDED_95: f64 = 1.96;

/// Words that the reason of a missing measure must hold.
const NO_INSIDE: &str = "the inside was not seen";
const NO_FLOOR: &str = "the floor was not seen";
const NO_UNDERSIDE: &str = "the underside was not seen";
const NO_FOOT: &str = "the foot is not in the scan";
const NO_RIM: &str = "the rim is not in the scan";
const NO_LIP: &str = "the inner flank of the lip is not in the scan";
const PART_OF_INSIDE: &str = "of the body's height only";
const APART: &str = "the inside does not join the outside";
const NO_UP: &str = "which end is up is not known";
const TOO_FLAT: &str = "the lip's flanks lie too flat";

/// Forms whose lips may lie flat.
const OPEN: [VesselForm; 2] = [VesselForm::Plate, VesselForm::Bowl];

/// Depth below the rim to which a part of the inside is scanned, as a share of the height.
const DEPTH: f64 = 0.5;

/// A wall is measured whose inside was seen but for this share of the body's heights, which is taken for the floor's, and
/// how well the share is met.
const FLOOR: f64 = 0.15;
const FLOOR_MARGIN: f64 = 0.04;

const INNER: [&str; 3] = ["roundness_inner", "coaxiality_inner", "wall_unevenness"];
const VOLUMES: [&str; 2] = ["body_volume", "surface_area"];
const AT_FOOT: [&str; 4] = ["height", "foot_diameter", "flatness_foot", "perpendicularity_foot"];
const AT_RIM: [&str; 4] = ["rim_diameter", "concentricity_rim", "flatness_rim", "perpendicularity_rim"];

/// A kind of partial scan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    OuterWall,
    HalfInside,
    NoBase,
    NoBaseNoInside,
    NoTop,
    NoTopNoInside,
    ThirdMissing,
    ThirdMissingHalfInsideNoBase,
}

impl Kind {
    const ALL: [Self; 8] = [
        Self::OuterWall,
        Self::HalfInside,
        Self::NoBase,
        Self::NoBaseNoInside,
        Self::NoTop,
        Self::NoTopNoInside,
        Self::ThirdMissing,
        Self::ThirdMissingHalfInsideNoBase,
    ];

    const fn has_base(self) -> bool {
        !matches!(self, Self::NoBase | Self::NoBaseNoInside | Self::ThirdMissingHalfInsideNoBase)
    }

    const fn has_top(self) -> bool {
        !matches!(self, Self::NoTop | Self::NoTopNoInside)
    }

    const fn has_inside(self) -> bool {
        !matches!(self, Self::OuterWall | Self::NoBaseNoInside | Self::NoTopNoInside)
    }

    const fn has_half_inside(self) -> bool {
        matches!(self, Self::HalfInside | Self::ThirdMissingHalfInsideNoBase)
    }

    const fn has_gap(self) -> bool {
        matches!(self, Self::ThirdMissing | Self::ThirdMissingHalfInsideNoBase)
    }

    /// Height up to which the base is cut off, mm: 5 to 10 of a usual vessel, less of a plate.
    fn cut_mm(self, height_mm: f64) -> f64 {
        if self.has_base() { 0.0 } else { (0.1 * height_mm).clamp(2.0, 10.0) }
    }

    fn coverage(self, height_mm: f64, seed: Seed) -> Coverage {
        let interior = match self {
            _ if !self.has_inside() => Interior::Unseen,
            _ if self.has_half_inside() => Interior::ToDepth(DEPTH * height_mm),
            _ => Interior::Whole,
        };
        let low = if self.has_base() { f64::NEG_INFINITY } else { self.cut_mm(height_mm) };
        let high = if self.has_top() { f64::INFINITY } else { 0.7 * height_mm };
        let from_rad = (seed.get() % 7) as f64;
        // Less than a third by what its edges lose.
        let missing = self.has_gap().then_some(Sector { from_rad, width_rad: 2.0 });
        Coverage { interior, outside_mm: [low, high], missing, ..Coverage::whole() }
    }

    /// Why a measure must be missing, if it must.
    fn lacks(self, measure: &str) -> Option<&'static str> {
        let thickness = measure == "wall_mean";
        if measure == "capacity" || VOLUMES.contains(&measure) || INNER.contains(&measure) || thickness {
            if !self.has_inside() {
                return Some(NO_INSIDE);
            }
            if !self.has_top() {
                return Some(APART);
            }
        }
        match measure {
            _ if thickness && self.has_half_inside() => Some(PART_OF_INSIDE),
            _ if VOLUMES.contains(&measure) && !self.has_base() => Some(NO_FOOT),
            "capacity" if self.has_half_inside() => Some(NO_FLOOR),
            _ if VOLUMES.contains(&measure) && self.has_half_inside() => Some(NO_FLOOR),
            _ if AT_FOOT.contains(&measure) && !self.has_base() => Some(NO_FOOT),
            _ if AT_RIM.contains(&measure) && !self.has_top() => Some(NO_RIM),
            "height" if !self.has_top() => Some(NO_RIM),
            "concentricity_rim" if !self.has_inside() => Some(NO_LIP),
            _ => None,
        }
    }
}

fn full() -> bool {
    std::env::var_os("TORNUS_FULL").is_some()
}

fn vessel(form: VesselForm, seed: Seed) -> VesselPlan {
    let work = Workmanship { rim_mm: 0.0, ..Workmanship::of_roundness(0.15) };
    VesselPlan::new(form.meridian(Millimetre::new(45.0), 0.03, seed).unwrap()).with_workmanship(&work, seed.derive(7))
}

/// A scan of the upright vessel, which way is up declared.
fn scanned(vessel: &VesselPlan, coverage: Coverage, up: Option<Up>, seed: Seed) -> Result<Reduction, Rejection> {
    let plan = ScanPlan { pose: Pose::upright(), coverage, ..ScanPlan::usual(80_000, 0.02, seed.derive(3)) };
    let scan = vessel.scan(&plan, seed.derive(4)).unwrap();
    let declared = Declared { up, ..Declared::default() };
    reduce(&scan, &ReductionParams::new(128, 50, 150).unwrap(), &declared, seed)
}

fn reason<'a>(reduction: &'a Reduction, measure: &str) -> Option<&'a str> {
    reduction.missing.iter().find(|row| row.measure == measure).map(|row| row.reason.as_str())
}

/// A value that was found: measure, error and standard uncertainty.
type Found = (&'static str, f64, f64);

/// What one scan says, and what of it must not be.
fn judged(kind: Kind, form: VesselForm, seed: Seed) -> (Vec<Found>, Vec<String>) {
    let vessel = vessel(form, seed);
    let height = vessel.meridian().height_mm();
    let found = match scanned(&vessel, kind.coverage(height, seed), Some(Up::PlusZ), seed) {
        Ok(found) => found,
        // A plate's wall alone is too short a meridian to be told from something else.
        Err(error) if form == VesselForm::Plate && error.reason.contains("no continuous meridian") => {
            return Default::default();
        }
        Err(error) => return (Vec::new(), vec![format!("{kind:?} {form:?}: {error}")]),
    };
    let body = |wall: usize| -> Vec<f64> {
        let rows = found.walls.get(wall).into_iter().flat_map(|wall| &wall.sections).filter(|row| row.body);
        rows.map(|row| row.height_mm + kind.cut_mm(height)).collect()
    };
    // Share of the body's heights below the part of the inside that was scanned.
    let outer = body(0);
    let below = outer.iter().filter(|z| **z < (1.0 - DEPTH) * height).count();
    let hidden = below as f64 / outer.len().max(1) as f64;
    // What a part of the inside stands for is the whole of it.
    let planned = vessel.truth(Upr::new(50).unwrap());
    let seen = vessel.truth_over(Upr::new(50).unwrap(), [&body(0), &body(1)]);
    let mut wrong = Vec::new();
    let mut values = Vec::new();
    for ((measure, whole), (_, part)) in truths(&planned).into_iter().zip(truths(&seen)) {
        let truth = if kind.has_half_inside() && INNER.contains(&measure) { whole } else { part };
        let row = found.measures.iter().find(|row| row.measure == measure);
        // Half of a plate's inside may be nearly all of its wall, the rest being floor: the mean over that is the wall's.
        let lacks = kind.lacks(measure).filter(|why| *why != PART_OF_INSIDE || hidden > FLOOR);
        match (row, lacks, reason(&found, measure)) {
            (Some(row), None, None) => {
                let (error, u) = (row.estimate.value() - truth, row.estimate.standard_uncertainty());
                values.push((measure, error, u));
            }
            (None, Some(wanted), Some(reason)) if reason.contains(wanted) => {}
            // Too few points or sections of a narrow rim or a plate: a true reason of its own.
            (None, _, Some(reason)) if reason.starts_with("too ") => {}
            // By the plan it may be either: the share is met to a few sections.
            (None, None, Some(reason)) if reason.contains(PART_OF_INSIDE) && (hidden - FLOOR).abs() <= FLOOR_MARGIN => {
            }
            (Some(_), Some(PART_OF_INSIDE), None) if (hidden - FLOOR).abs() <= FLOOR_MARGIN => {}
            // A plate's lip, and some open bowls', leans too far for its centre to be told from its tilt.
            (None, None, Some(reason)) if OPEN.contains(&form) && reason.contains(TOO_FLAT) => {}
            // A plate's lip is as sharp as its stations are apart: whether it ends or was cut is not seen from outside.
            (None, _, Some(reason)) if form == VesselForm::Plate && reason.contains(NO_RIM) => {}
            // Where a beaker or a bowl is cut, it is widest; which other form is, depends on the draw.
            (None, None, Some(reason)) if measure == "max_diameter" && !kind.has_top() => {
                assert!(reason.contains("widest where the scan ends"), "{reason}");
            }
            (row, wanted, reason) => {
                let value = row.map(|row| row.estimate.value());
                wrong.push(format!(
                    "{kind:?} {form:?}: {measure} {value:?}, wanted missing: {wanted:?}, is: {reason:?}"
                ));
            }
        }
    }
    (values, wrong)
}

#[test]
fn what_is_not_in_the_scan_is_not_measured() {
    let (forms, vessels) = if full() {
        (&VesselForm::ALL[..], 20)
    } else {
        (&[VesselForm::Bowl, VesselForm::Beaker, VesselForm::Jar][..], 1)
    };
    let trials: Vec<(Kind, VesselForm, Seed)> = Kind::ALL
        .into_iter()
        .flat_map(|kind| forms.iter().map(move |form| (kind, *form)))
        .flat_map(|(kind, form)| (0..vessels).map(move |turn| (kind, form, Seed::new(9000 + turn).derive(form as u64))))
        .collect();
    let judged: Vec<(Kind, VesselForm, Vec<Found>, Vec<String>)> = trials
        .into_par_iter()
        .map(|(kind, form, seed)| {
            let (found, wrong) = judged(kind, form, seed);
            (kind, form, found, wrong)
        })
        .collect();
    let mut table: BTreeMap<(Kind, &str), [usize; 2]> = BTreeMap::new();
    let mut far = Vec::new();
    let values = judged.iter().flat_map(|(kind, form, found, _)| found.iter().map(move |found| (*kind, form, *found)));
    for (kind, form, (measure, error, u)) in values {
        let tally = table.entry((kind, measure)).or_default();
        tally[0] += usize::from(error.abs() <= TWO_SIDED_95 * u);
        tally[1] += 1;
        if error.abs() > 6.0 * u {
            far.push(format!("{kind:?} {form:?} {measure}: off by {error:.4}, u {u:.4}"));
        }
    }
    for ((kind, measure), [held, of]) in &table {
        println!("{kind:?} {measure}: {held} of {of}");
    }
    let wrong: Vec<&String> = judged.iter().flat_map(|(_, _, _, wrong)| wrong).collect();
    println!("beyond six standard uncertainties: {far:#?}");
    assert!(wrong.is_empty(), "{wrong:#?}");
    for kind in Kind::ALL {
        let of_kind = table.iter().filter(|((other, _), _)| *other == kind);
        let [held, all] = of_kind.fold([0, 0], |sum, (_, tally)| [sum[0] + tally[0], sum[1] + tally[1]]);
        println!("{kind:?}: {held} of {all} intervals hold the truth");
        // 95 % are aimed at. Whole scans of such vessels reach 92 % in all: ends' planes and the rim's centre 60 to 80 %.
        assert!(100 * held >= 85 * all, "{kind:?}: {held} of {all}");
    }
}

#[test]
fn without_an_opening_nothing_is_said_of_rim_and_foot() {
    let seed = Seed::new(31);
    let vessel = vessel(VesselForm::Jar, seed);
    let outer_wall = Coverage { interior: Interior::Unseen, underside: false, ..Coverage::whole() };
    let found = scanned(&vessel, outer_wall, None, seed).unwrap();
    assert_eq!(found.up, UpSource::Assumed);
    for measure in ["rim_diameter", "foot_diameter", "neck_diameter", "flatness_rim", "perpendicularity_foot"] {
        let reason = reason(&found, measure).unwrap_or_else(|| panic!("{measure} is stated"));
        assert!(reason.contains(NO_UP), "{measure}: {reason}");
    }
    for (measure, truth) in truths(&vessel.truth(Upr::new(50).unwrap())) {
        if ["max_diameter", "height"].contains(&measure) {
            let row = found.measures.iter().find(|row| row.measure == measure).unwrap();
            assert!((row.estimate.value() - truth).abs() <= 3.0 * row.estimate.standard_uncertainty(), "{measure}");
        }
    }
    let declared = scanned(&vessel, outer_wall, Some(Up::PlusZ), seed).unwrap();
    assert_eq!(declared.up, UpSource::Catalogue);
    assert!(declared.measures.iter().any(|row| row.measure == "rim_diameter"));
}

#[test]
fn a_vessel_on_a_table_has_its_foot_and_no_underside() {
    let seed = Seed::new(32);
    let vessel = vessel(VesselForm::Beaker, seed);
    let found = scanned(&vessel, Coverage { underside: false, ..Coverage::whole() }, None, seed).unwrap();
    let truth = vessel.truth(Upr::new(50).unwrap());
    for (measure, planned) in [("height", truth.height_mm), ("foot_diameter", truth.foot_diameter_mm)] {
        let row = found.measures.iter().find(|row| row.measure == measure).unwrap();
        let (error, u) = (row.estimate.value() - planned, row.estimate.standard_uncertainty());
        assert!(error.abs() <= 3.0 * u && u < 1.0, "{measure}: off by {error:.3}, u {u:.3}");
    }
    for measure in VOLUMES {
        assert!(reason(&found, measure).unwrap().contains(NO_UNDERSIDE), "{:?}", reason(&found, measure));
    }
}

#[test]
fn an_upright_wall_has_its_foot_where_the_vessel_is_said_to_stand_on_it() {
    // A tube whose foot has an edge of 0.4 mm: without its underside nobody can tell it from a tube cut off.
    let (line, quarter) = (Segment::line, |radius| Segment::arc(radius, FRAC_PI_2));
    let hollow = Segment::arc(6.0, -FRAC_PI_2);
    let chain = [line(34.6), quarter(0.4), line(80.0), quarter(3.0), quarter(3.0), line(70.0), hollow];
    let meridian = Meridian::from_chain(&chain, 4, 4).unwrap();
    let height = meridian.height_mm();
    let work = Workmanship { rim_mm: 0.0, ..Workmanship::of_roundness(0.1) };
    let vessel = VesselPlan::new(meridian).with_workmanship(&work, Seed::new(33));
    let plan = ScanPlan {
        pose: Pose::upright(),
        coverage: Coverage { underside: false, ..Coverage::whole() },
        ..ScanPlan::usual(120_000, 0.02, Seed::new(34))
    };
    let scan = vessel.scan(&plan, Seed::new(35)).unwrap();
    let with = |stands_on_foot| {
        let declared = Declared { up: Some(Up::PlusZ), stands_on_foot, ..Declared::default() };
        reduce(&scan, &ReductionParams::new(128, 50, 150).unwrap(), &declared, Seed::new(36)).unwrap()
    };
    let silent = with(false);
    assert!(reason(&silent, "height").unwrap().contains(NO_FOOT));
    assert_eq!(silent.outline_lacks, Some("foot"));
    let told = with(true);
    assert_eq!(told.outline_lacks, None);
    let found = told.measures.iter().find(|row| row.measure == "height").unwrap().estimate;
    assert!((found.value() - height).abs() <= 3.0 * found.standard_uncertainty(), "{found:?} for {height}");
    assert!(found.standard_uncertainty() < 2.0);
    for measure in ["flatness_foot", "perpendicularity_foot"] {
        assert!(reason(&told, measure).unwrap().contains("the vessel stood on it"));
    }
}
