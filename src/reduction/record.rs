//! What the reduction of one scan leaves behind.

use nalgebra::{Matrix4, Point3, Vector3};

use super::quality::Quality;
use crate::quantity::{Budget, Estimate, Source};
use crate::section::Aside;

/// Which wall of the vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum WallSide {
    /// The outside, from the middle of the underside to the top of the rim.
    Outer,
    /// The inside, from the top of the rim to the middle of the floor.
    Inner,
}

impl WallSide {
    /// The word the tables use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Outer => "outer",
            Self::Inner => "inner",
        }
    }
}

/// How it was decided which end is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UpSource {
    /// The opening is in the scan.
    Opening,
    /// The catalogue says so.
    Catalogue,
    /// Neither: the vessel's outline made one way likelier; see the scan's notes.
    Assumed,
}

/// Everything one scan says; lengths in mm, z along the axis from the lowest point of the foot.
#[derive(Clone, Debug, PartialEq)]
pub struct Reduction {
    /// A point of the axis in the scanner's frame, at mid-height of the vessel.
    pub axis_point: Point3<f64>,
    /// Unit direction of the axis in the scanner's frame, from foot to rim.
    pub axis_direction: Vector3<f64>,
    /// Covariance of (offset x, offset y, tilt about x, tilt about y) at mid-height, mm and rad.
    pub axis_covariance: Matrix4<f64>,
    /// How up was decided.
    pub up: UpSource,
    /// What keeps the outline from being the whole vessel's: foot, rim, which end is up; `None` where nothing does.
    pub outline_lacks: Option<&'static str>,
    /// The scanner's standard deviation along the surface normal, of the part that is each point's own, from this scan.
    pub noise: Estimate,
    /// Standard deviation of the part of the noise that errs alike over some millimetres, mm; 0 where none stands out.
    pub noise_correlated_mm: f64,
    /// Its correlation length, mm; 0 where none stands out.
    pub noise_length_mm: f64,
    /// The walls seen, outer first.
    pub walls: Vec<WallReduction>,
    /// What was set aside as handle or damage, patch by patch, in the order of the meridian.
    pub patches: Vec<PatchRow>,
    /// The same as a map of the whole surface.
    pub surface: SurfaceMap,
    /// The measures this scan supports.
    pub measures: Vec<MeasureRow>,
    /// Those it does not.
    pub missing: Vec<MissingRow>,
    /// Defects of the scan that were looked for, and found.
    pub quality: Quality,
    /// What a reader should know: lower case sentences.
    pub notes: Vec<String>,
}

/// One wall of the vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct WallReduction {
    /// Which wall.
    pub side: WallSide,
    /// Share of the wall that was seen, 0 to 1.
    pub coverage: f64,
    /// Share of the wall's area that was set aside as handle or damage, 0 to 1.
    pub masked: f64,
    /// The mean meridian.
    pub meridian: Meridian,
    /// Sections from low to high.
    pub sections: Vec<SectionRow>,
    /// The heights at which there is a wall but no section, from low to high.
    pub unmeasured: Vec<Unmeasured>,
    /// The unrolled wall.
    pub unrolled: UnrolledMap,
}

/// The mean meridian of one wall.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Meridian {
    /// Stations at equal arc length.
    pub stations: Vec<StationRow>,
    /// Straight lines and arcs, in the order of the stations.
    pub arcs: Vec<ArcRow>,
}

/// One straight line or arc of a meridian.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArcRow {
    /// Where it begins (radius, height), mm.
    pub from: [f64; 2],
    /// Where it ends (radius, height), mm.
    pub to: [f64; 2],
    /// Standard uncertainty of both places along the meridian, mm; `None` at the meridian's own ends.
    pub u_ends_mm: [Option<f64>; 2],
    /// Length along the meridian, mm.
    pub length_mm: f64,
    /// Whether it is an arc; a straight line otherwise.
    pub bent: bool,
    /// Curvature of the arc through its stations, 1/mm, of a line too; positive where the material bulges.
    pub curvature: Estimate,
    /// Radius, mm; `None` of a line.
    pub radius: Option<Estimate>,
    /// Centre (radius, height), mm; `None` of a line.
    pub center: Option<[Estimate; 2]>,
    /// Of an arc the angle it spans; of a line its inclination to the axis, positive where it widens upwards; rad.
    pub angle: Estimate,
    /// Angle by which the meridian turns at its end, rad, positive where it bulges; 0 at a smooth joint; `None` at the last.
    pub turn: Option<Estimate>,
    /// Whether it runs into the next piece without a kink, as far as the scan can tell.
    pub smooth: Option<bool>,
    /// Root mean square distance of its stations, mm.
    pub rms_mm: f64,
    /// Stations it was fitted to.
    pub stations: usize,
}

/// One station of a meridian.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StationRow {
    /// Arc length from the wall's first station, mm.
    pub arc_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Radius with its uncertainty, mm.
    pub radius: Estimate,
    /// Signed curvature, 1/mm; positive where the wall bulges outwards.
    pub curvature_per_mm: f64,
}

/// One section of one wall.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionRow {
    /// Height, mm.
    pub height_mm: f64,
    /// Whether it lies on the body: not in the lip or the foot, and on a wall steep enough.
    pub body: bool,
    /// Mean radius, mm.
    pub radius: Estimate,
    /// Centre about the datum axis, mm; the datum is in its uncertainty.
    pub center_x: Estimate,
    /// Centre about the datum axis, mm.
    pub center_y: Estimate,
    /// Share of the azimuth seen, 0 to 1.
    pub coverage: f64,
    /// Share of the azimuth set aside, 0 to 1.
    pub masked: f64,
    /// RONt about the least-squares circle; `None` where the sampling does not support it.
    pub ront_lsci: Option<Estimate>,
    /// RONq about the least-squares circle.
    pub ronq_lsci: Option<Estimate>,
    /// RONp about the least-squares circle.
    pub ronp_lsci: Option<Estimate>,
    /// RONv about the least-squares circle.
    pub ronv_lsci: Option<Estimate>,
    /// RONt about the minimum zone circles.
    pub ront_mzci: Option<Estimate>,
    /// RONt about the minimum circumscribed circle.
    pub ront_mcci: Option<Estimate>,
    /// RONt about the maximum inscribed circle.
    pub ront_mici: Option<Estimate>,
    /// RONt with nothing set aside.
    pub ront_found: Option<Estimate>,
    /// Standard uncertainties for the choice of what is set aside; they are in the estimates above.
    pub u_set_aside: ChoiceUncertainty,
    /// What the scanner's noise alone would show as RONt, 95 %.
    pub detection_limit_mm: Option<f64>,
    /// Harmonics 1.. as far as the sampling supports them; `upr` of the first is 1.
    pub harmonics: Vec<HarmonicRow>,
}

impl SectionRow {
    /// The values that are ranges of the profile, with how much of what noise does to RONt it does to each.
    pub(super) const fn ranges(&mut self) -> [(&mut Option<Estimate>, f64); 6] {
        [
            (&mut self.ront_lsci, 1.0),
            (&mut self.ront_mzci, 1.0),
            (&mut self.ront_mcci, 1.0),
            (&mut self.ront_mici, 1.0),
            (&mut self.ronp_lsci, 0.5),
            (&mut self.ronv_lsci, 0.5),
        ]
    }

    /// A value of this section without the part of its uncertainty that comes from the edge of what is set aside, mm:
    /// measures of many sections enter that part apart, for it errs alike in all of them.
    pub(super) fn drawn(value: Estimate, u_set_aside: f64) -> Estimate {
        let u = (value.standard_uncertainty().powi(2) - u_set_aside.powi(2)).max(0.0).sqrt();
        Estimate::new(value.value(), u).unwrap_or(value)
    }
}

/// What the values of a section would change by if the edge of what is set aside were drawn elsewhere, as standard
/// uncertainties, mm; 0 where nothing is set aside.
///
/// The section is measured once more with every patch grown over its fringe on the unrolled surface; the difference is the
/// half-width of a rectangular distribution (JCGM 100:2008, 4.3.7).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ChoiceUncertainty {
    /// Of the radius.
    pub radius_mm: f64,
    /// Of either coordinate of the centre.
    pub center_mm: f64,
    /// Of RONt about the least-squares circle.
    pub ront_mm: f64,
}

/// One harmonic of one section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HarmonicRow {
    /// Undulations per revolution.
    pub upr: u16,
    /// Amplitude with the noise's power taken off, mm, and its standard uncertainty.
    pub amplitude: Estimate,
    /// Amplitude as fitted, mm.
    pub raw_amplitude_mm: f64,
    /// Azimuth phase: r = a cos(n theta - phase), rad.
    pub phase_rad: f64,
}

/// Deviation of one wall from its mean surface of revolution, on a grid.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct UnrolledMap {
    /// Heights of the rows, mm.
    pub heights_mm: Vec<f64>,
    /// Azimuths of the columns, rad.
    pub azimuths_rad: Vec<f64>,
    /// Row by row: mean deviation outwards along the normal, mm; `None` where nothing was seen.
    pub deviation_mm: Vec<Option<f64>>,
    /// Row by row: whether and as what the cell was set aside.
    pub aside: Vec<Aside>,
}

/// A height at which no section could be measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Unmeasured {
    /// Height, mm.
    pub height_mm: f64,
    /// Share of the azimuth seen, 0 to 1.
    pub coverage: f64,
    /// Share of the azimuth set aside, 0 to 1.
    pub masked: f64,
    /// Why: a lower case sentence.
    pub reason: String,
}

/// Where on the vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SurfacePart {
    /// The foot and what lies below it.
    Foot,
    /// The outer wall.
    Outer,
    /// The rim, on whichever side.
    Rim,
    /// The inner wall.
    Inner,
}

impl SurfacePart {
    /// The word the tables use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Foot => "foot",
            Self::Outer => "outer",
            Self::Rim => "rim",
            Self::Inner => "inner",
        }
    }
}

/// One patch that was set aside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PatchRow {
    /// Where it is.
    pub part: SurfacePart,
    /// Raised (handle, lug, spout) or lost (chip, wear).
    pub kind: Aside,
    /// Azimuth of its middle and angle that it spans, rad.
    pub azimuth_rad: f64,
    /// Angle that it spans, rad.
    pub width_rad: f64,
    /// Height of its lowest place, mm.
    pub low_mm: f64,
    /// Height of its highest place, mm.
    pub high_mm: f64,
    /// Area of the mean surface that it takes, mm2.
    pub area_mm2: f64,
    /// Furthest distance from the smooth surface, mm, negative where something is lost; 0 where nothing of it lies near.
    pub furthest_mm: f64,
    /// Robust standard deviation of the smooth surface's other cells at that height about it, mm.
    pub u_furthest_mm: f64,
}

/// What was kept of the whole surface, along the meridian and around the axis.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SurfaceMap {
    /// Places along the meridian, from the underside over the rim to the floor.
    pub rows: Vec<SurfaceRow>,
    /// Azimuths of the columns, rad.
    pub azimuths_rad: Vec<f64>,
    /// Row by row: what each cell is.
    pub cells: Vec<Aside>,
}

/// A row of the map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceRow {
    /// Arc length along the meridian from its first station, mm.
    pub arc_mm: f64,
    /// Radius, mm.
    pub radius_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
}

/// One measure of one scan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasureRow {
    /// The measure's published name.
    pub measure: &'static str,
    /// Value with its standard uncertainty, in the measure's unit.
    pub estimate: Estimate,
    /// What the scan would show of a perfect vessel, 95 %; `None` where no such limit applies.
    pub detection_limit: Option<f64>,
    /// Where the standard uncertainty comes from.
    pub budget: Budget,
    /// The same with nothing set aside, handles and damage as they stand in the scan; `None` where nothing that
    /// the measure rests on was set aside, and of measures that are not taken so.
    pub as_found: Option<Estimate>,
}

impl MeasureRow {
    /// Adds an independent part to the uncertainty; a part that is no number is left out.
    pub(super) fn widen(&mut self, source: Source, u: f64) {
        let budget = self.budget.and(source, u);
        if let Ok(estimate) = Estimate::new(self.estimate.value(), budget.total()) {
            (self.estimate, self.budget) = (estimate, budget);
        }
    }
}

/// A measure that the scan does not support.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MissingRow {
    /// The measure's published name.
    pub measure: &'static str,
    /// Why, in words; lower case, no full stop.
    pub reason: String,
}
