//! One Gauss-Newton step of an axis: the meridian is eliminated patch by patch.
//!
//! Seen in the half-plane, the points of a patch lie on a short piece of the meridian. Their normal distance from it,
//! `d`, changes with a shift (x, y) of the axis and a tilt (w_x, w_y) of it as
//! `d' = d - n_r (x cos + y sin) - g (w_y cos - w_x sin)` with `g = z n_r - r n_z`. Each patch has a parabola of its
//! own, which the normal equations lose by a Schur complement; what is left is four equations.

use nalgebra::{Matrix3, Matrix3x4, Matrix4, Vector3, Vector4};
use rayon::prelude::*;

use super::HalfPlane;
use crate::math::robust;

/// A short piece of the meridian: a point of it and its unit normal, radial and axial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// Radius, mm.
    pub radius: f64,
    /// Height, mm.
    pub height: f64,
    /// Unit normal.
    pub normal: [f64; 2],
    /// Whether the patch has a say on the axis.
    pub datum: bool,
}

/// What one step found.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Shift x, y in mm and tilt about x, y in rad, to be given to [`super::Frame::moved`].
    pub delta: [f64; 4],
    /// Covariance of `delta` for residuals of unit variance.
    pub cofactor: Matrix4<f64>,
    /// Robust standard deviation of the normal distances, mm.
    pub scale: f64,
    /// The parabola of each patch: offset, slope, half the curvature.
    pub parabolas: Vec<Vector3<f64>>,
}

impl Step {
    /// No step at all: every patch where it is, and the robust scatter of the points about that. The next step then gives
    /// no weight to points that lie far from the patches as they are.
    ///
    /// A patch without a say on the axis that most of its points lie far from is put to their median: a meridian that cuts
    /// a narrow rim's corner would otherwise give the rim's own points no weight, and cut it for good.
    ///
    /// `None` if no point belongs to a patch with a say on the axis.
    #[must_use]
    pub fn at_rest(points: &HalfPlane, patches: &[Patch], member: &[u32]) -> Option<Self> {
        let level = vec![Vector3::zeros(); patches.len()];
        let scale = scale(points, patches, member, &Vector4::zeros(), &level)?;
        let parabolas = medians(points, patches, member, TUKEY * scale);
        Some(Self { delta: [0.0; 4], cofactor: Matrix4::zeros(), scale, parabolas })
    }
}

/// The median offset of every patch without a say on the axis that most of its points lie further than `far` mm from,
/// nothing for the others.
fn medians(points: &HalfPlane, patches: &[Patch], member: &[u32], far: f64) -> Vec<Vector3<f64>> {
    let mut offsets = vec![Vec::new(); patches.len()];
    for (index, &patch) in member.iter().enumerate() {
        if let Some(place) = patches.get(patch as usize).filter(|place| !place.datum) {
            offsets[patch as usize].push(terms(points, index, place).1);
        }
    }
    let median = |mut offsets: Vec<f64>| {
        let beyond = offsets.iter().filter(|offset| offset.abs() > far).count();
        let median = (2 * beyond > offsets.len()).then(|| robust::median(&mut offsets)).flatten();
        Vector3::new(median.unwrap_or(0.0), 0.0, 0.0)
    };
    offsets.into_iter().map(median).collect()
}

/// Points are summed in this many shares, whatever the number of threads.
const SHARES: usize = 16;

/// Tukey's constant: 95 % efficiency on normal residuals (Beaton & Tukey 1974, from memory).
const TUKEY: f64 = 4.685;

/// Residuals looked at for the scale, at most.
const SCALE_SAMPLE: usize = 20_000;

/// Points a patch needs to have a say: three unknowns of its own and as many to spare.
const FEWEST: u32 = 6;

/// The sums of one patch: powers of t, t2, t3, t4; d, td, t2d; and 1, t, t2 against the four axis terms.
#[derive(Clone, Copy, Default)]
struct Sums {
    powers: [f64; 5],
    against: Vector3<f64>,
    cross: Matrix3x4<f64>,
}

/// Weight of the knowledge that a patch is nearly straight, as a share of its points' weight: it decides where the points
/// lie in one row, and moves a well-filled patch's curvature by some thousandths.
const RIDGE: f64 = 1e-3;

/// A patch's normal comes from its neighbours: it is wrong by about this slope, and half of what it bends by over its length
/// is about this much (project). With many points both are outweighed.
const USUAL_SLOPE: f64 = 0.05;
const USUAL_TURN: f64 = 0.15;

/// Patches with enough points to know more than their own parabola.
fn heard(patches: &[Patch], member: &[u32]) -> Vec<Patch> {
    let mut counts = vec![0_u32; patches.len()];
    for &patch in member {
        if let Some(count) = counts.get_mut(patch as usize) {
            *count += 1;
        }
    }
    patches.iter().zip(counts).map(|(patch, count)| Patch { datum: patch.datum && count >= FEWEST, ..*patch }).collect()
}

/// The terms of one point: tangential place, normal distance, the four derivatives.
fn terms(points: &HalfPlane, index: usize, patch: &Patch) -> (f64, f64, Vector4<f64>) {
    let (dr, dz) = (points.radius[index] - patch.radius, points.height[index] - patch.height);
    let [n_r, n_z] = patch.normal;
    let (sin, cos) = points.azimuth[index].sin_cos();
    let lever = points.height[index] * n_r - points.radius[index] * n_z;
    (dz * n_r - dr * n_z, dr * n_r + dz * n_z, Vector4::new(n_r * cos, n_r * sin, -lever * sin, lever * cos))
}

/// One step from the axis about which `points` are given.
///
/// `length` is how long a patch is along the meridian, mm. `member[i]` is the patch of point `i`, or any number past the end for none. `previous` holds the parabolas and the
/// scale of the step before, by which far points lose their weight; without it every point counts the same.
///
/// `None` if the patches leave one of the four unknowns free.
#[must_use]
pub fn revolve(
    points: &HalfPlane,
    patches: &[Patch],
    length: f64,
    member: &[u32],
    previous: Option<&Step>,
) -> Option<Step> {
    let patches = heard(patches, member);
    let patches = patches.as_slice();
    let weight = |patch: usize, t: f64, d: f64| match previous {
        None => 1.0,
        Some(step) => {
            let p = &step.parabolas[patch];
            let u = (d - p[0] - t * (p[1] + t * p[2])) / (TUKEY * step.scale);
            if u.abs() < 1.0 { (1.0 - u * u).powi(2) } else { 0.0 }
        }
    };
    let share = member.len().div_ceil(SHARES).max(1);
    let parts: Vec<(Vec<Sums>, Matrix4<f64>, Vector4<f64>)> = member
        .par_chunks(share)
        .enumerate()
        .map(|(part, members)| {
            let mut sums = vec![Sums::default(); patches.len()];
            let (mut square, mut right) = (Matrix4::zeros(), Vector4::zeros());
            for (offset, &patch) in members.iter().enumerate() {
                let Some(place) = patches.get(patch as usize) else { continue };
                let (t, d, j) = terms(points, part * share + offset, place);
                let w = weight(patch as usize, t, d);
                if w <= 0.0 {
                    continue;
                }
                let s = &mut sums[patch as usize];
                let basis = Vector3::new(w, w * t, w * t * t);
                for (sum, term) in s.powers.iter_mut().zip([w, w * t, w * t * t, w * t * t * t, w * t * t * t * t]) {
                    *sum += term;
                }
                s.against += basis * d;
                s.cross += basis * j.transpose();
                if place.datum {
                    square += j * j.transpose() * w;
                    right += j * (w * d);
                }
            }
            (sums, square, right)
        })
        .collect();
    let mut total = vec![Sums::default(); patches.len()];
    let (mut square, mut right) = (Matrix4::zeros(), Vector4::zeros());
    for (sums, part_square, part_right) in &parts {
        square += part_square;
        right += part_right;
        for (total, sum) in total.iter_mut().zip(sums) {
            total.powers.iter_mut().zip(sum.powers).for_each(|(a, b)| *a += b);
            total.against += sum.against;
            total.cross += sum.cross;
        }
    }
    let scale_before = previous.map_or(0.0, |step| step.scale);
    let inverses: Vec<Option<Matrix3<f64>>> =
        total.iter().map(|sums| parabola_inverse(sums, length, scale_before)).collect();
    for ((sum, inverse), patch) in total.iter().zip(&inverses).zip(patches) {
        if !patch.datum {
            continue;
        }
        if let Some(inverse) = inverse {
            square -= sum.cross.transpose() * inverse * sum.cross;
            right -= sum.cross.transpose() * inverse * sum.against;
        }
    }
    let cofactor = square.try_inverse()?;
    let delta: Vector4<f64> = cofactor * right;
    if !delta.iter().all(|d| d.is_finite()) {
        return None;
    }
    let parabolas: Vec<Vector3<f64>> = total
        .iter()
        .zip(&inverses)
        .map(|(sum, inverse)| {
            inverse.map_or_else(Vector3::zeros, |inverse| inverse * (sum.against - sum.cross * delta))
        })
        .collect();
    let scale = scale(points, patches, member, &delta, &parabolas)?;
    Some(Step { delta: delta.into(), cofactor, scale, parabolas })
}

/// Inverse of a patch's normal matrix; of its constant alone where the points do not spread; `None` without points.
fn parabola_inverse(sums: &Sums, length: f64, scale: f64) -> Option<Matrix3<f64>> {
    let p = &sums.powers;
    let half = 0.5 * length;
    // What is known beforehand weighs as much as a point whose distance is known to `scale`.
    let slope = RIDGE * p[0] * half.powi(2) + (scale / USUAL_SLOPE).powi(2);
    let bend = RIDGE * p[0] * half.powi(4) + (scale * length / USUAL_TURN).powi(2);
    let full = Matrix3::new(p[0], p[1], p[2], p[1], p[2] + slope, p[3], p[2], p[3], p[4] + bend);
    full.cholesky()
        .map(|c| c.inverse())
        .filter(|inverse| inverse.iter().all(|v| v.is_finite()))
        .or_else(|| (p[0] > 0.0).then(|| Matrix3::from_diagonal(&Vector3::new(1.0 / p[0], 0.0, 0.0))))
}

/// Robust standard deviation of what is left after the step.
fn scale(
    points: &HalfPlane,
    patches: &[Patch],
    member: &[u32],
    delta: &Vector4<f64>,
    parabolas: &[Vector3<f64>],
) -> Option<f64> {
    let stride = member.len().div_ceil(SCALE_SAMPLE).max(1);
    let mut left: Vec<f64> = (0..member.len())
        .step_by(stride)
        .filter_map(|index| {
            let patch = member[index] as usize;
            let place = patches.get(patch).filter(|place| place.datum)?;
            let (t, d, j) = terms(points, index, place);
            let p = &parabolas[patch];
            Some((d - j.dot(delta) - p[0] - t * (p[1] + t * p[2])).abs())
        })
        .collect();
    if left.is_empty() {
        return None;
    }
    let middle = left.len() / 2;
    let (_, median, _) = left.select_nth_unstable_by(middle, f64::total_cmp);
    // 1.4826 times the median absolute deviation is the standard deviation of a normal law.
    Some((1.4826 * *median).max(f64::MIN_POSITIVE.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_patch_outside_the_datum_rests_where_its_points_lie() {
        // A cylinder of radius 20 in three patches, the uppermost, no part of the datum, placed 0.3 mm too far in; points
        // scatter by 0.01 mm.
        let patch = |radius, height, datum| Patch { radius, height, normal: [1.0, 0.0], datum };
        let patches = [patch(20.0, 0.5, true), patch(20.0, 1.5, true), patch(19.7, 2.5, false)];
        let mut points = HalfPlane::default();
        let mut member = Vec::new();
        for index in 0..300_u32 {
            let height = f64::from(index) / 100.0;
            points.radius.push(20.0 + if index % 2 == 0 { 0.01 } else { -0.01 });
            points.height.push(height);
            points.azimuth.push(2.4 * f64::from(index));
            member.push(height as u32);
        }
        let rest = Step::at_rest(&points, &patches, &member).unwrap();
        assert!((rest.scale - 0.0148).abs() < 1e-4, "{}", rest.scale); // 1.4826 times the median distance, 0.01
        assert!((rest.parabolas[2][0] - 0.3).abs() < 0.011, "{:?}", rest.parabolas[2]);
        assert_eq!(rest.parabolas[..2], [Vector3::zeros(); 2]);
    }
}
