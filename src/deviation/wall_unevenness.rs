//! 1-UPR amplitude of the wall thickness, from the centres of both walls.

use super::error::{DeviationError, enough};
use super::input::{DatumUncertainty, SectionCentre};
use super::lobing::{ChiSquareSum, NoiseTerm};
use super::measured::Measured;
use crate::quantity::Source;

/// Wall unevenness: root mean square over the body of the distance between the centres of outer and inner sections at
/// equal heights, which is the 1-UPR amplitude of the wall.
///
/// The inner centres are interpolated to the outer sections' heights; outer sections beyond the inner ones are left out.
/// The datum's place drops out of the difference, and its lean but for the walls' different slants.
///
/// # Units and shapes
/// mm; both in order of height, body sections only.
///
/// # Uncertainty
/// The mean square is taken less the noise's, its uncertainty from the sections' own, independent of each other, and
/// from what the outermost heights make of it; the datum's lean times the root mean square of the levers' difference; the detection limit from a weighted sum of chi-squares.
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
///     Ok(SectionCentre::new(height_mm, Estimate::new(x, 0.0)?, Estimate::new(y, 0.0)?))
/// };
/// let outer = [at(10.0, 0.0, 0.0)?, at(20.0, 0.0, 0.0)?, at(30.0, 0.0, 0.0)?];
/// let inner = [at(10.0, 0.3, 0.4)?, at(30.0, 0.3, 0.4)?];
/// assert!((wall_unevenness(&outer, &inner, None)?.estimate.value() - 0.5).abs() < 1e-12);
/// # Ok::<(), tornus::deviation::DeviationError>(())
/// ```
pub fn wall_unevenness(
    outer: &[SectionCentre],
    inner: &[SectionCentre],
    datum: Option<&DatumUncertainty>,
) -> Result<Measured, DeviationError> {
    let (mut terms, mut levers) = (Vec::new(), 0.0);
    for section in outer {
        let Some(Beside { x, y, lever }) = interpolate(inner, section.height_mm) else { continue };
        levers += (section.lever_mm - lever).powi(2);
        for (o, i) in [(section.x, x), (section.y, y)] {
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
    let lever = (levers / (0.5 * terms.len() as f64)).sqrt();
    let lean = datum.map_or(0.0, |datum| (0.5 * (datum.covariance[(2, 2)] + datum.covariance[(3, 3)])).sqrt());
    Ok(found.and(Source::Sampling, u_ends).and(Source::Axis, lean * lever))
}

/// The centres of the other wall at one height.
struct Beside {
    /// Value and variance.
    x: (f64, f64),
    y: (f64, f64),
    lever: f64,
}

/// `None` outside the centres' heights.
fn interpolate(centres: &[SectionCentre], height: f64) -> Option<Beside> {
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
    Some(Beside { x: of(a.x, b.x), y: of(a.y, b.y), lever: mix(a.lever_mm, b.lever_mm) })
}
