//! What is wrong with a scan whatever its vessel: is it smoothed, decimated, badly put together?
//!
//! - [`Quality`]: what was looked for and found; [`Finding`], [`Defect`], [`Place`]
//! - `facets`, `smoothing`, `seam`, `drift`, `double_wall`: one detector each, on the points' residuals
//! - [`hidden`], [`Sight`]: what a smoothed or coarse scan cannot show; `widen` takes it into the measures

mod double_wall;
mod drift;
mod facets;
mod finding;
mod hidden;
mod residuals;
mod seam;
mod smoothing;
mod smoothness;
mod spectrum;
mod variogram;
mod widen;

pub use finding::{Defect, Finding, Place};
pub use hidden::{Sight, hidden};
pub(super) use widen::widen;

use rayon::prelude::*;
use residuals::{Keep, Residuals};
use smoothing::{Smoothness, smooth_round};

use super::body::{self, Body};
use super::located::Located;
use super::wall::Wall;
use crate::scan::Scan;
use crate::section::BODY_MARGIN;

/// How much longer than found a kernel is taken to be: where little noise is left its length comes out too small, by up to
/// a half (project; by simulation, see the tests).
const KERNEL_MARGIN: f64 = 1.5;

/// Share of the evidence from which smoothing is in doubt; from there to the threshold the kernel counts in proportion
/// (project: nineteen of twenty clean scans of white noise stay below).
const DOUBTED: f64 = 0.45;

/// Smoothing over less than a pitch leaves noise as good as white. The kernel that cannot be told from none lies between
/// nothing and 0.7 pitches; what it takes grows with its square, and this is the root of that square's standard deviation.
const UNTOLD_KERNEL: f64 = 0.5;

/// What was looked for in one scan, and found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Quality {
    /// Typical length of a mesh's edges, mm; `None` for points alone.
    pub facet_mm: Option<f64>,
    /// What was looked for and could be judged, one finding for each defect, in the order of [`Defect::ALL`].
    pub findings: Vec<Finding>,
    /// Distance between neighbouring points, mm; 0 where it was not looked at.
    pub pitch_mm: f64,
    /// Greatest curvature of the rim and of the foot, 1/mm.
    pub end_bend: [f64; 2],
}

impl Quality {
    /// What was found about one defect, if it could be judged.
    #[must_use]
    pub fn of(&self, defect: Defect) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.defect == defect)
    }

    /// The defects named.
    pub fn found(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.is_found())
    }

    /// The defects named, strongest wall and place with each; empty if none.
    #[must_use]
    pub fn words(&self) -> String {
        let words: Vec<String> = self.found().map(Finding::words).collect();
        words.join("; ")
    }

    /// Standard deviation of the Gaussian kernel that the surface has to be taken as smoothed with, mm.
    #[must_use]
    pub fn blur_mm(&self) -> f64 {
        let untold = UNTOLD_KERNEL * self.pitch_mm;
        self.of(Defect::Smoothing).map_or(untold, |finding| {
            let likely = ((finding.reach() - DOUBTED) / (1.0 - DOUBTED)).clamp(0.0, 1.0);
            untold.max(likely * KERNEL_MARGIN * finding.strength.value())
        })
    }

    /// Typical sagitta of a thinned mesh's facets, mm; 0 if it was not thinned.
    #[must_use]
    pub fn sagitta_mm(&self) -> f64 {
        let thinned = self.of(Defect::Decimation).filter(|finding| finding.is_found());
        thinned.map_or(0.0, |finding| finding.strength.value())
    }

    /// Looks for every defect; `walls` are the sections about the frame of `located`.
    pub(super) fn assess(scan: &Scan, located: &Located, walls: &[Wall], body: &Body) -> Self {
        let heights = body::ends(located);
        let facets = facets::facets(scan, located, heights, body.noise(walls).value());
        let mut findings: Vec<Finding> = facets.iter().filter_map(|facets| facets.finding).collect();
        let on_wall = |(index, wall)| OnWall::of(located, wall, body.sections(index), heights);
        let of_walls: Vec<OnWall> = walls.par_iter().enumerate().map(on_wall).collect();
        let pitch_mm = of_walls.iter().map(|wall| wall.pitch).fold(0.0, f64::max);
        let mut smoothness = Vec::new();
        for wall in of_walls {
            findings.extend(wall.findings);
            smoothness.extend(wall.smoothness);
        }
        findings.extend(drift::drift(walls, body));
        // Of each defect the strongest evidence, whichever wall it is on; but a mesh is smoothed on both walls or on neither.
        let strongest = |defect| {
            let of = findings.iter().copied().filter(|finding| finding.defect == defect);
            let by_reach = |a: &Finding, b: &Finding| a.reach().total_cmp(&b.reach());
            if defect == Defect::Smoothing {
                smooth_round(&smoothness).or(of.min_by(by_reach))
            } else {
                of.max_by(by_reach)
            }
        };
        Self {
            facet_mm: facets.as_ref().map(|facets| facets.length_mm),
            findings: Defect::ALL.into_iter().filter_map(strongest).collect(),
            pitch_mm,
            end_bend: end_bend(located),
        }
    }
}

/// What is looked for on one wall by itself.
struct OnWall {
    /// Distance between neighbouring points, mm.
    pitch: f64,
    findings: Vec<Finding>,
    smoothness: Option<Smoothness>,
}

impl OnWall {
    fn of(located: &Located, wall: &Wall, sections: &[usize], heights: [f64; 2]) -> Self {
        let thinned = Residuals::of(located, wall, heights, Keep::Thinned);
        let strips = Residuals::of(located, wall, heights, Keep::Strips);
        let double = double_wall::double_wall(&strips, wall.side);
        let mut on_wall = Self { pitch: thinned.pitch, findings: Vec::new(), smoothness: None };
        // Points of two sheets err together without having been smoothed.
        if !double.is_some_and(|finding| finding.is_found())
            && let Some((finding, smoothness)) = smoothing::smoothing(&strips, wall, sections)
        {
            on_wall.findings.push(finding);
            on_wall.smoothness = smoothness;
        }
        on_wall.findings.extend(seam::seam(&thinned, wall.side));
        on_wall.findings.extend(double);
        on_wall
    }
}

/// Greatest curvature of the outer wall within the margins at rim and foot, 1/mm.
fn end_bend(located: &Located) -> [f64; 2] {
    let stations = &located.stations.stations[located.walls.foot..=located.walls.rim];
    let greatest = |heights: std::ops::RangeInclusive<f64>| {
        let within = stations.iter().filter(|station| heights.contains(&station.height));
        within.map(|station| station.bend.abs()).fold(0.0, f64::max)
    };
    let margin = BODY_MARGIN * located.height;
    [greatest(located.height - margin..=f64::INFINITY), greatest(f64::NEG_INFINITY..=margin)]
}
