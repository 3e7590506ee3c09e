//! The datum axis: the straight line that the outer wall's body sections are centred on.
//!
//! A section is cut across the axis that is known so far. If that leans from the true one by w, the centre of a section at
//! height z lies off by `w (z + r dr/dz)`: on a cylinder by w z, on a sphere about the origin not at all, because a sphere
//! has no axis. The datum is the axis of the least-squares surface of revolution: place and lean leave the least of the
//! centres. For a cylinder that is the least-squares line through them.

use nalgebra::{Matrix2, Matrix4, Vector2};

use super::correlation::Correlation;
use super::wall::Wall;
use crate::axis::Frame;
use crate::deviation::SHARE_OF_END;
use crate::math::bisection::crossing;

/// The axis's place at height 0 and its lean, each in x and y.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CentreLine {
    place: [f64; 2],
    slope: [f64; 2],
    /// Covariance of (place, slope) at height 0, the same in x and y.
    covariance: Matrix2<f64>,
}

/// Centres needed to speak of a line.
const FEWEST: usize = 4;

impl CentreLine {
    /// The axis of the centres of the named sections.
    ///
    /// Each centre weighs by its own noise together with the scatter the centres show beyond it, so that a bent vessel's
    /// sections weigh alike; the bend itself is no uncertainty of the line.
    pub(super) fn through(wall: &Wall, body: &[usize], correlation: &Correlation) -> Option<Self> {
        let mut centres: Vec<Centre> = body.iter().filter_map(|&index| Centre::of(wall, index, correlation)).collect();
        if centres.len() < FEWEST {
            return None;
        }
        // The body ends at the middles of its lowest and highest section.
        let last = centres.len() - 1;
        [0, last].into_iter().for_each(|end| centres[end].share = SHARE_OF_END);
        // Scatter at which the centres lie as far off the line as they should (Mandel & Paule 1970, from memory): a section that
        // hardly anything is known of has no say on it.
        let freedom = 2.0 * (centres.len() as f64 - 2.0);
        let first = Self::weighted(&centres, 0.0)?;
        if first.misfit(&centres, 0.0) <= freedom {
            return Some(first);
        }
        let too_little = |scatter: f64| {
            Self::weighted(&centres, scatter).is_some_and(|line| line.misfit(&centres, scatter) > freedom)
        };
        Self::weighted(&centres, crossing(too_little, 0.0, first.greatest_square(&centres)))
    }

    /// Sum over both coordinates of the squared distances from the line over their variances.
    fn misfit(&self, centres: &[Centre], scatter: f64) -> f64 {
        centres.iter().map(|centre| self.square_off(centre) / centre.variance_with(scatter)).sum()
    }

    fn greatest_square(&self, centres: &[Centre]) -> f64 {
        centres.iter().map(|centre| self.square_off(centre)).fold(0.0, f64::max)
    }

    fn square_off(&self, centre: &Centre) -> f64 {
        let at = self.at(centre.lever);
        (centre.at[0] - at[0]).powi(2) + (centre.at[1] - at[1]).powi(2)
    }

    fn weighted(centres: &[Centre], scatter: f64) -> Option<Self> {
        let (mut normal, mut square, mut right) = (Matrix2::zeros(), Matrix2::zeros(), [Vector2::zeros(); 2]);
        let mut alike = Vector2::zeros();
        for centre in centres {
            let weight = centre.share / centre.variance_with(scatter);
            let basis = Vector2::new(1.0, centre.lever);
            normal += basis * basis.transpose() * weight;
            square += basis * basis.transpose() * (weight * weight * centre.variance);
            alike += basis * (weight * centre.hidden);
            for (right, value) in right.iter_mut().zip(centre.at) {
                *right += basis * (weight * value);
            }
        }
        let solver = normal.try_inverse()?;
        let [x, y] = right.map(|right| solver * right);
        let covariance = solver * (square + alike * alike.transpose()) * solver.transpose();
        let line = Self { place: [x[0], y[0]], slope: [x[1], y[1]], covariance };
        line.place.iter().chain(&line.slope).all(|v| v.is_finite()).then_some(line)
    }

    /// Whether the line tells a tilt at all, beside an axis with the given covariance: a sphere's sections tell none.
    ///
    /// The other axis knows more, because it sees flatter parts of the surface too, but it is not the axis of the sections,
    /// and its covariance knows the points' own noise only: preferred within ten times, its intervals held too little.
    pub(super) fn tells_tilt(&self, covariance: &Matrix4<f64>, height: f64) -> bool {
        /// How many times as uncertain the tilt may be (project).
        const MARGIN: f64 = 100.0;
        let tilt = self.covariance_at(height)[(2, 2)];
        tilt <= MARGIN * MARGIN * covariance[(2, 2)].max(covariance[(3, 3)])
    }

    /// Where the centre of a section with this lever lies, mm.
    fn at(&self, lever: f64) -> [f64; 2] {
        [0, 1].map(|axis| self.place[axis] + self.slope[axis] * lever)
    }

    /// The frame with its axis along the line.
    pub(super) fn moved(&self, frame: &Frame) -> Option<Frame> {
        // A direction (s_x, s_y, 1) is a tilt of -s_y about x and s_x about y.
        frame.moved([self.place[0], self.place[1], -self.slope[1], self.slope[0]])
    }

    /// Covariance of (offset x, offset y, tilt about x, tilt about y) at a height.
    pub(super) fn covariance_at(&self, height: f64) -> Matrix4<f64> {
        let [place, slope] = [self.covariance[(0, 0)], self.covariance[(1, 1)]];
        let cross = self.covariance[(0, 1)];
        let offset = place + 2.0 * height * cross + height * height * slope;
        let both = cross + height * slope;
        // x goes with the tilt about y, y with minus the tilt about x.
        Matrix4::new(offset, 0.0, 0.0, both, 0.0, offset, -both, 0.0, 0.0, -both, slope, 0.0, both, 0.0, 0.0, slope)
    }
}

/// The covariance of an axis found on the surface, (x, y, tilt x, tilt y), with what a gap hides of where the middle lies: it
/// moves the sections alike, so that the tilt is known as well as without.
pub(super) fn with_hidden(mut covariance: Matrix4<f64>, wall: &Wall, body: &[usize]) -> Matrix4<f64> {
    let hidden: Vec<f64> =
        body.iter().filter_map(|&index| Some(wall.fits[index].as_ref()?.hidden.variance(1))).collect();
    let mean = hidden.iter().sum::<f64>() / hidden.len().max(1) as f64;
    (0..2).for_each(|axis| covariance[(axis, axis)] += mean);
    covariance
}

/// What a section's centre moves by for a unit of lean: z + r dr/dz.
fn lever(wall: &Wall, index: usize) -> Option<f64> {
    let meridian = wall.meridian[index]?;
    Some(wall.heights.middle(index) + meridian.radius * meridian.slope)
}

/// The lever of the section at a height; the height itself where the wall has no section.
pub(super) fn lever_at(wall: &Wall, height: f64) -> f64 {
    wall.heights.band(height).and_then(|index| lever(wall, index)).unwrap_or(height)
}

/// A section's centre.
struct Centre {
    lever: f64,
    /// What it stands for, in sections.
    share: f64,
    at: [f64; 2],
    /// Variance of each coordinate, what a gap hides left out.
    variance: f64,
    /// What a gap hides of either coordinate, mm, as a standard uncertainty: it moves all sections alike.
    hidden: f64,
}

impl Centre {
    fn of(wall: &Wall, index: usize, correlation: &Correlation) -> Option<Self> {
        let fit = wall.fits[index].as_ref()?;
        let harmonics = &fit.harmonics;
        let factor = 0.5 * (harmonics.cos_factor.first()? + harmonics.sin_factor.first()?);
        Some(Self {
            lever: lever(wall, index)?,
            share: 1.0,
            at: [*harmonics.cos.first()?, *harmonics.sin.first()?],
            // Neighbouring sections err alike: a line through them knows less than their number says.
            variance: fit.noise * fit.noise * factor
                + (correlation.alike(wall.heights.step) - 1.0)
                    * correlation.variance(1, wall.meridian[index].as_ref()?),
            hidden: fit.hidden.variance(1).sqrt(),
        })
    }

    /// Its own variance with that of what it is one of: where the axis is bent by more than a section errs, all weigh alike, so
    /// that a few gappy sections do not move the datum of a bent vessel.
    fn variance_with(&self, scatter: f64) -> f64 {
        (self.variance + self.hidden * self.hidden + scatter).max(f64::MIN_POSITIVE)
    }
}

/// Takes the line out of a wall's section centres.
pub(super) fn recentre(wall: &mut Wall, line: &CentreLine) {
    for index in 0..wall.heights.count {
        let Some(lever) = lever(wall, index) else { continue };
        let [x, y] = line.at(lever);
        for fit in wall.fits_at(index) {
            if let (Some(cos), Some(sin)) = (fit.harmonics.cos.first_mut(), fit.harmonics.sin.first_mut()) {
                *cos -= x;
                *sin -= y;
            }
        }
    }
    let by_row: Vec<[f64; 2]> = wall.map_heights().map(|height| line.at(lever_at(wall, height))).collect();
    wall.shift_map(&by_row);
}
