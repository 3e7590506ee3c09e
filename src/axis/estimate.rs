//! From a scan to its axis: candidates, refinement, choice.

use nalgebra::{Matrix3, Point3, SymmetricEigen, Vector3};
use rayon::prelude::*;

use super::{AxisError, Cells, Frame, HalfPlane, Oriented, Patch, Step, line_complex_axis, local_normals, revolve};
use crate::scan::extent;

/// An axis and how well the surface closes about it.
#[derive(Clone, Debug, PartialEq)]
pub struct AxisFit {
    /// The axis; its direction's sign is not yet decided.
    pub frame: Frame,
    /// Share of the surface that closes on itself about it, 0 to 1.
    pub closure: f64,
    /// Robust standard deviation of the surface's normal distance from its mean meridian, mm.
    pub scale_mm: f64,
}

/// Fewest points that can be spoken of as a vessel's surface (project).
const FEWEST_POINTS: usize = 200;

/// Points used to choose between candidates, and to refine the one chosen, at most.
const CHOICE_SAMPLE: usize = 10_000;
const REFINE_SAMPLE: usize = 40_000;

/// Sides of the cells from coarse to fine, as shares of the vessel's extent: the first catches an axis some degrees
/// off, the last still holds tens of points in most scans.
const COARSE_TO_FINE: [f64; 4] = [0.08, 0.04, 0.02, 0.012];

/// Side of the cells of the last refinement.
const FINEST: [f64; 1] = [0.01];

/// Steps with each size of cell, at most.
const STEPS: usize = 4;

/// The first candidate is taken without a look at the others when this share of the surface closes about it (project):
/// no surface closes about two axes unless it is a sphere, and then both are right.
const GOOD_CLOSURE: f64 = 0.93;

/// Side of the cells in which closure is judged, as a share of the extent.
const CLOSURE_CELL: f64 = 0.02;

/// Share of the surface that must close on itself (project): whole vessels reach 0.9, vessels with a third of the
/// azimuth missing 0.6; see `tests/it/open_data.rs` for things that are none.
const LEAST_CLOSURE: f64 = 0.5;

/// The axis of revolution of a surface.
///
/// `normals` is empty for a bare cloud or holds one unit vector per point. `hint` is a direction worth trying, such as
/// the catalogue's `up`. Candidates are the line the normals meet, the principal axes of inertia, the file's own axes and
/// the hint; each is refined on a sample, and the one about which most of the surface closes on itself is refined further.
///
/// # Units and shapes
/// mm in, mm out.
///
/// # Uncertainty
/// The fit here is good to about the scan's noise; the reduction refines it with every point and gives the covariance.
///
/// # Errors
/// [`AxisError`]: too few points, no surface, or no axis about which at least half of the surface closes.
pub fn estimate_axis(
    points: &[Point3<f64>],
    normals: &[Vector3<f32>],
    hint: Option<Vector3<f64>>,
) -> Result<AxisFit, AxisError> {
    if points.len() < FEWEST_POINTS {
        return Err(AxisError::TooFewPoints { needed: FEWEST_POINTS, found: points.len() });
    }
    let (few, few_normals) = sample(points, normals, CHOICE_SAMPLE);
    let extent = extent(&few);
    if extent.is_nan() || extent <= 0.0 {
        return Err(AxisError::Flat);
    }
    let sizes = COARSE_TO_FINE.map(|share| share * extent);
    let fit = |frame: Frame| {
        let (frame, step) = refine(&few, &few_normals, frame, &sizes)?;
        Some(judge(&few, &few_normals, frame, step.scale, extent))
    };
    let mut candidates = candidates(&few, &few_normals, hint);
    let others = candidates.split_off(candidates.len().min(1));
    let mut fits: Vec<AxisFit> = candidates.into_iter().filter_map(fit).collect();
    if fits.first().is_none_or(|first| first.closure < GOOD_CLOSURE) {
        fits.extend(others.into_par_iter().filter_map(fit).collect::<Vec<_>>());
    }
    // The first of equals wins: the line complex before the others.
    let best = fits.into_iter().reduce(|best, fit| if fit.closure > best.closure + 1e-3 { fit } else { best });
    let best = best.ok_or(AxisError::Flat)?;
    if best.closure < LEAST_CLOSURE {
        return Err(AxisError::NotRevolved { closure: best.closure, needed: LEAST_CLOSURE });
    }
    let (many, many_normals) = sample(points, normals, REFINE_SAMPLE);
    let (frame, step) =
        refine(&many, &many_normals, best.frame, &FINEST.map(|share| share * extent)).ok_or(AxisError::Flat)?;
    Ok(AxisFit { frame, closure: best.closure, scale_mm: step.scale })
}

/// Every so many-th point, so that at most `most` are left.
fn sample(points: &[Point3<f64>], normals: &[Vector3<f32>], most: usize) -> (Vec<Point3<f64>>, Vec<Vector3<f32>>) {
    let stride = points.len().div_ceil(most).max(1);
    (points.iter().step_by(stride).copied().collect(), normals.iter().step_by(stride).copied().collect())
}

fn candidates(points: &[Point3<f64>], normals: &[Vector3<f32>], hint: Option<Vector3<f64>>) -> Vec<Frame> {
    let oriented = if normals.is_empty() {
        local_normals(points)
    } else {
        let pairs = points.iter().zip(normals);
        pairs.map(|(position, normal)| Oriented { position: *position, normal: normal.cast() }).collect()
    };
    let centre = points.iter().map(|p| p.coords).sum::<Vector3<f64>>() / points.len() as f64;
    let scatter: Matrix3<f64> = points.iter().map(|p| p.coords - centre).map(|d| d * d.transpose()).sum();
    let inertia = SymmetricEigen::new(scatter).eigenvectors;
    let mut frames: Vec<Frame> =
        line_complex_axis(&oriented).and_then(|(point, direction)| Frame::new(point, direction)).into_iter().collect();
    let directions = (0..3).map(|i| inertia.column(i).into_owned()).chain([Vector3::x(), Vector3::y(), Vector3::z()]);
    frames.extend(hint.into_iter().chain(directions).filter_map(|d| Frame::new(Point3::from(centre), d)));
    frames
}

/// The frame after Gauss-Newton steps with cells of each size, and the last step.
fn refine(points: &[Point3<f64>], normals: &[Vector3<f32>], mut frame: Frame, sizes: &[f64]) -> Option<(Frame, Step)> {
    let mut last = None;
    for &size in sizes {
        for _ in 0..STEPS {
            let half_plane = HalfPlane::new(points, normals, &frame);
            let cells = Cells::new(&half_plane, size);
            let patches = patches(&cells);
            let first = revolve(&half_plane, &patches, cells.size, &cells.member, None)?;
            let step = revolve(&half_plane, &patches, cells.size, &cells.member, Some(&first))?;
            let reach = size.max(step.scale);
            // A step longer than a few cells would leave the ground on which it was found.
            let length = step.delta[0].hypot(step.delta[1]).max(step.delta[2].hypot(step.delta[3]) * 20.0 * size);
            let damp = (4.0 * reach / length).min(1.0);
            frame = frame.moved(step.delta.map(|d| d * damp))?;
            let done = length < 1e-3 * step.scale;
            last = Some(step);
            if done {
                break;
            }
        }
    }
    last.map(|step| (frame, step))
}

/// Cells as patches: the normal is the points' own, or the direction across the neighbouring cells' spread.
fn patches(cells: &Cells) -> Vec<Patch> {
    cells
        .cells
        .iter()
        .map(|cell| {
            let bare = cell.normal[0].abs() + cell.normal[1].abs() <= 0.0;
            let normal = if bare { across(cells, cell.radius, cell.height) } else { cell.normal };
            Patch { radius: cell.radius, height: cell.height, normal, datum: true }
        })
        .collect()
}

/// Unit direction in which the cells around a place spread least.
fn across(cells: &Cells, radius: f64, height: f64) -> [f64; 2] {
    let (mut weight, mut sums, mut squares) = (0.0, [0.0; 2], [0.0; 3]);
    for cell in cells.near(radius, height, 1).map(|id| &cells.cells[id as usize]) {
        let (w, r, z) = (f64::from(cell.count), cell.radius - radius, cell.height - height);
        weight += w;
        sums = [sums[0] + w * r, sums[1] + w * z];
        squares = [squares[0] + w * r * r, squares[1] + w * r * z, squares[2] + w * z * z];
    }
    let [r, z] = sums.map(|s| s / weight);
    let (rr, rz, zz) = (squares[0] / weight - r * r, squares[1] / weight - r * z, squares[2] / weight - z * z);
    let along = 0.5 * (2.0 * rz).atan2(rr - zz);
    [-along.sin(), along.cos()]
}

fn judge(points: &[Point3<f64>], normals: &[Vector3<f32>], frame: Frame, scale: f64, extent: f64) -> AxisFit {
    let half_plane = HalfPlane::new(points, normals, &frame);
    AxisFit { frame, closure: Cells::new(&half_plane, CLOSURE_CELL * extent).closure(), scale_mm: scale }
}
