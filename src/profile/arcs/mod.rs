//! The meridian as a chain of straight lines and circular arcs: how many, where they meet, with what radii.
//!
//! - [`split`]: stations with their uncertainties to [`Piece`]s, their number by the Bayesian information criterion
//! - [`Curve`]: a line or arc as a place, a direction and a curvature, fitted by least squared distances
//! - [`Joint`]: where two neighbours meet, and by how much the meridian turns there

mod choice;
mod cost;
mod curve;
mod joint;
mod refine;
mod spread;

pub use curve::Curve;
pub use joint::Joint;

use std::ops::Range;

use choice::choose;
use refine::refine;
use spread::long_run;

/// A station as the pieces see it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArcStation {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Standard uncertainty along the normal, mm, of its own points alone, not drawn onto its neighbours.
    pub u_mm: f64,
}

impl ArcStation {
    const fn place(&self) -> [f64; 2] {
        [self.radius_mm, self.height_mm]
    }
}

/// One piece of the meridian.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The stations it was fitted to.
    pub stations: Range<usize>,
    /// Whether it is bent: an arc; a straight line otherwise.
    pub bent: bool,
    /// The line or arc; a line's curvature is what an arc through its stations would have, as a bound.
    pub curve: Curve,
    /// Curvature that an arc through the same stations has, 1/mm, and its standard uncertainty.
    pub curvature: [f64; 2],
    /// Root mean square distance of its stations from it, mm.
    pub rms_mm: f64,
}

/// The pieces in the order of the stations, and the joints between neighbours.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pieces {
    /// Lines and arcs.
    pub pieces: Vec<Piece>,
    /// One fewer than the pieces.
    pub joints: Vec<Joint>,
}

/// Uncertainty a station is credited with at best, mm (project): below a micrometre no scan of a vessel is believed.
const LEAST_U_MM: f64 = 1e-3;

/// Rounds in which pieces and what their residuals say of the stations' variance follow each other.
const ROUNDS: usize = 3;

/// Stations a piece rests on at least: one more than an arc has parameters.
const FEWEST: usize = 4;

/// Splits the meridian into lines and arcs.
///
/// Chosen is the chain of least chi-square + k ln n, n the number of stations. In k a line counts 2, an arc 4, a joint 2 (place
/// and curvature twice, because they are searched for), a station that lies on neither neighbour of a joint (a corner too
/// narrow for the stations) 1. The stations' variance is their own plus the square of `form_mm` (deviations of that size belong to the making and not to the design),
/// and more where their residuals scatter by more, or together with their neighbours'.
///
/// # Units and shapes
/// mm; stations in order along the meridian, about equally spaced, at least 8.
///
/// # Uncertainty
/// Of the stations, with their correlation; where a piece fits worse than the stations' uncertainty allows, multiplied by the
/// Birge ratio of the piece. Not: the instrument's scale, the choice of the number of pieces.
///
/// # Example
/// A cone of slope 1 : 2, stations exact: one straight line, its curvature 0.
/// ```
/// use tornus::profile::arcs::{ArcStation, split};
/// let cone = |i: u32| ArcStation { radius_mm: 20.0 + 0.5 * f64::from(i), height_mm: f64::from(i), u_mm: 0.01 };
/// let found = split(&(0..60).map(cone).collect::<Vec<_>>(), 0.0);
/// assert_eq!((found.pieces.len(), found.pieces[0].bent), (1, false));
/// assert!(found.pieces[0].rms_mm < 1e-9);
/// ```
///
/// # References
/// Schwarz 1978, Ann. Statist. 6, 461; Yao 1988, Statist. Probab. Lett. 6, 181 (joints counted as parameters); Bellman &
/// Roth 1969, J. Amer. Statist. Assoc. 64, 1079 (segments by dynamic programming); from memory.
#[must_use]
pub fn split(stations: &[ArcStation], form_mm: f64) -> Pieces {
    if stations.len() < 2 * FEWEST {
        return Pieces::default();
    }
    let mut variances: Vec<f64> = stations.iter().map(|s| s.u_mm.max(LEAST_U_MM).powi(2)).collect();
    let mut found = Pieces::default();
    for _ in 0..ROUNDS {
        let assumed: Vec<f64> = variances.iter().map(|v| v + form_mm * form_mm).collect();
        let weights: Vec<f64> = assumed.iter().map(|v| 1.0 / v).collect();
        found = refine(stations, &weights, &variances, choose(stations, &weights));
        let factor = long_run(stations, &assumed, &found.pieces);
        if factor <= 1.0 {
            break;
        }
        variances.iter_mut().zip(&assumed).for_each(|(v, all)| *v = factor * all - form_mm * form_mm);
    }
    found
}
