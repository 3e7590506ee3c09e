//! Drift: both walls' centres leave their straight line alike.
//!
//! The inside of a vessel is worked apart from its outside, and each wall's axis bends in its own way. Where both bend alike,
//! either the scan drifted on the way up or the whole vessel is bent; one scan cannot tell which.

use nalgebra::{DMatrix, DVector};

use super::finding::{Defect, Finding, Place};
use crate::quantity::Estimate;
use crate::reduction::body::Body;
use crate::reduction::wall::Wall;

/// Degree up to which the centres' way along the height is followed; the line is no drift.
const DEGREE: usize = 4;
/// Sections of each wall.
const FEWEST: usize = 8;
/// Height that both walls share, as a share of the outer body's.
const LEAST_SHARED: f64 = 0.5;
/// Common over separate bending, in power, from which the bending is called common (project; by simulation, see the tests):
/// walls that bend by as much in independent directions come so near to each other in a few of a hundred vessels.
const THRESHOLD: f64 = 20.0;
/// Common bending smaller than this many of its standard uncertainties is none.
const LEAST_UNCERTAINTIES: f64 = 5.0;

/// A section's height, lever (see `datum`) and centre, mm.
type Centre = [f64; 4];

pub(super) fn drift(walls: &[Wall], body: &Body) -> Option<Finding> {
    let [outer, inner] = walls else { return None };
    let outer = centres(outer, body.sections(0));
    let inner = centres(inner, body.sections(1));
    let span = |centres: &[Centre]| Some((centres.first()?[0], centres.last()?[0]));
    let ((a, b), (c, d)) = (span(&outer)?, span(&inner)?);
    let (low, high) = (a.max(c), b.min(d));
    if high - low < LEAST_SHARED * (b - a) {
        return None;
    }
    let shared = |centres: Vec<Centre>| -> Vec<Centre> {
        centres.into_iter().filter(|centre| (low..=high).contains(&centre[0])).collect()
    };
    let (mut outer, mut inner) = (shared(outer), shared(inner));
    if outer.len().min(inner.len()) < FEWEST {
        return None;
    }
    straighten(&mut outer, &mut inner)?;
    let place = |height: f64| 2.0 * (height - low) / (high - low) - 1.0;
    let [mut common, mut separate, mut noise] = [0.0; 3];
    let mut bow: Vec<[f64; 2]> = vec![[0.0; 2]; BOW_PLACES];
    for axis in [2, 3] {
        let (of_outer, u_outer) = bending(&outer, axis, place)?;
        let (of_inner, u_inner) = bending(&inner, axis, place)?;
        for degree in 2..=DEGREE {
            let [o, i] = [of_outer[degree], of_inner[degree]];
            // Legendre polynomials of higher degree have less power over the interval.
            let power = 1.0 / (2.0 * degree as f64 + 1.0);
            common += power * (0.5 * (o + i)).powi(2);
            separate += power * (0.5 * (o - i)).powi(2);
            noise += power * 0.25 * (u_outer[degree].powi(2) + u_inner[degree].powi(2));
            for (index, bow) in bow.iter_mut().enumerate() {
                let x = 2.0 * index as f64 / (BOW_PLACES - 1) as f64 - 1.0;
                bow[axis - 2] += 0.5 * (o + i) * legendre(x)[degree];
            }
        }
    }
    let certain = common > LEAST_UNCERTAINTIES.powi(2) * noise;
    let (index, strength) = bow.iter().map(|[x, y]| x.hypot(*y)).enumerate().max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(Finding {
        defect: Defect::Drift,
        strength: Estimate::new(strength, (separate + noise).sqrt()).ok()?,
        evidence: if certain { common / (separate + noise).max(f64::MIN_POSITIVE) } else { 0.0 },
        threshold: THRESHOLD,
        wall: None,
        place: Place::Height(low + (high - low) * index as f64 / (BOW_PLACES - 1) as f64),
    })
}

/// Places at which the bow's greatest departure is looked for.
const BOW_PLACES: usize = 41;

fn centres(wall: &Wall, body: &[usize]) -> Vec<Centre> {
    let of = |index: &usize| {
        let (fit, meridian) = (wall.fits[*index].as_ref()?, wall.meridian[*index]?);
        let height = wall.heights.middle(*index);
        let lever = height + meridian.radius * meridian.slope;
        Some([height, lever, *fit.harmonics.cos.first()?, *fit.harmonics.sin.first()?])
    };
    body.iter().filter_map(of).collect()
}

/// Takes the lean of the outer wall's axis off both.
fn straighten(outer: &mut [Centre], inner: &mut [Centre]) -> Option<()> {
    for axis in [2, 3] {
        let design = DMatrix::from_fn(outer.len(), 2, |row, power| outer[row][1].powi(power as i32));
        let values = DVector::from_iterator(outer.len(), outer.iter().map(|centre| centre[axis]));
        let line = (design.transpose() * &design).cholesky()?.solve(&(design.transpose() * values));
        for centre in outer.iter_mut().chain(inner.iter_mut()) {
            centre[axis] -= line[0] + line[1] * centre[1];
        }
    }
    Some(())
}

/// Legendre coefficients of one coordinate of the centres along the height, and their standard uncertainties.
fn bending(centres: &[Centre], axis: usize, place: impl Fn(f64) -> f64) -> Option<(Vec<f64>, Vec<f64>)> {
    let design = DMatrix::from_fn(centres.len(), DEGREE + 1, |row, degree| legendre(place(centres[row][0]))[degree]);
    let values = DVector::from_iterator(centres.len(), centres.iter().map(|centre| centre[axis]));
    let inverse = (design.transpose() * &design).try_inverse()?;
    let found = &inverse * design.transpose() * &values;
    let freedom = centres.len().checked_sub(DEGREE + 1).filter(|freedom| *freedom > 0)?;
    let variance = (&values - &design * &found).norm_squared() / freedom as f64;
    let u = (0..=DEGREE).map(|degree| (variance * inverse[(degree, degree)]).sqrt()).collect();
    Some((found.iter().copied().collect(), u))
}

/// Legendre polynomials of degree 0 to [`DEGREE`] at x in -1..=1.
fn legendre(x: f64) -> [f64; DEGREE + 1] {
    let mut values = [1.0; DEGREE + 1];
    values[1] = x;
    for n in 1..DEGREE {
        let k = n as f64;
        values[n + 1] = ((2.0 * k + 1.0) * x * values[n] - k * values[n - 1]) / (k + 1.0);
    }
    values
}
