//! 1-UPR amplitude of the wall thickness, from the centres of both walls.

use super::error::{DeviationError, enough};
use super::input::SectionCentre;
use super::lobing::{ChiSquareSum, NoiseTerm};
use super::measured::Measured;
use crate::quantity::Source;

/// Wall unevenness: root mean square over the body of the distance between the centres of outer and inner sections at
/// equal heights, which is the 1-UPR amplitude of the wall.
///
/// The inner centres are interpolated to the outer sections' heights; outer sections beyond the inner ones are left out.
/// The datum drops out of the difference.
///
/// # Units and shapes
/// mm; both in order of height, body sections only.
///
/// # Uncertainty
/// The mean square is taken less the noise's, its uncertainty from the sections' own, independent of each other, and
/// from what the outermost heights make of it; the detection limit from a weighted sum of chi-squares.
///
/// # Errors
/// `TooFew` if fewer than three outer sections lie beside inner ones.
///
/// # Example
/// The inner wall stands 0.3 mm in x and 0.4 mm in y beside the outer: 0.5 mm.
/// ```
/// use tornus::Estimate;
/// use tornus::deviation::{SectionCentre, wall_unevenness};
/// let at = |height_mm, x, y| -> Result<SectionCentre, tornus::quantity::EstimateError> {
///     Ok(SectionCentre { height_mm, x: Estimate::new(x, 0.0)?, y: Estimate::new(y, 0.0)? })
/// };
/// let outer = [at(10.0, 0.0, 0.0)?, at(20.0, 0.0, 0.0)?, at(30.0, 0.0, 0.0)?];
/// let inner = [at(10.0, 0.3, 0.4)?, at(30.0, 0.3, 0.4)?];
/// assert!((wall_unevenness(&outer, &inner)?.estimate.value() - 0.5).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn wall_unevenness(outer: &[SectionCentre], inner: &[SectionCentre]) -> Result<Measured, DeviationError> {
    let mut terms = Vec::new();
    for section in outer {
        let Some(other) = interpolate(inner, section.height_mm) else { continue };
        for (o, i) in [(section.x, other[0]), (section.y, other[1])] {
            let variance = o.standard_uncertainty().powi(2) + i.1;
            terms.push(NoiseTerm { square: (o.value() - i.0).powi(2), variance });
        }
    }
    enough("outer sections beside inner ones", terms.len() / 2, 3)?;
    let found = ChiSquareSum::new(&terms, terms.len() as f64 / 2.0).measured()?;
    // Where the body begins and ends is a matter of half a height's step.
    let mean_square =
        |terms: &[NoiseTerm]| terms.iter().map(|term| term.square).sum::<f64>() / terms.len().max(1) as f64;
    let within = mean_square(&terms[2..terms.len() - 2]);
    let u_ends = mean_square(&terms).sqrt() - within.sqrt();
    Ok(found.and(Source::Sampling, u_ends))
}

/// Value and variance of x and y of the centres at a height; `None` outside their heights.
fn interpolate(centres: &[SectionCentre], height: f64) -> Option<[(f64, f64); 2]> {
    let next = centres.iter().position(|c| c.height_mm >= height)?;
    let b = &centres[next];
    let a = if next == 0 { b } else { &centres[next - 1] };
    let gap = b.height_mm - a.height_mm;
    if next == 0 && b.height_mm > height {
        return None;
    }
    let t = if gap > 0.0 { (height - a.height_mm) / gap } else { 1.0 };
    let mix = |p: f64, q: f64| (1.0 - t) * p + t * q;
    let variance = |p: f64, q: f64| ((1.0 - t) * p).powi(2) + (t * q).powi(2);
    let of = |p: crate::quantity::Estimate, q: crate::quantity::Estimate| {
        (mix(p.value(), q.value()), variance(p.standard_uncertainty(), q.standard_uncertainty()))
    };
    Some([of(a.x, b.x), of(a.y, b.y)])
}
