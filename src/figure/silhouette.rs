//! A small drawn form: section filled on the left, outline on the right.

use super::canvas::{Canvas, Point, Stroke};
use super::error::FigureError;
use super::palette::{INK, NOISE};

/// The pixels per unit at which every outline fits a box.
pub(super) fn common_scale<'a>(outlines: impl Iterator<Item = &'a [(f64, f64)]>, (width, height): (f64, f64)) -> f64 {
    let fit = |outline: &[(f64, f64)]| {
        let (low, high) = heights(outline);
        let widest = outline.iter().map(|(r, _)| *r).fold(0.0, f64::max);
        if widest > 0.0 && high > low { (0.5 * width / widest).min(height / (high - low)) } else { f64::INFINITY }
    };
    outlines.map(fit).fold(f64::INFINITY, f64::min)
}

fn heights(outline: &[(f64, f64)]) -> (f64, f64) {
    let low = outline.iter().map(|(_, z)| *z).fold(f64::INFINITY, f64::min);
    (low, outline.iter().map(|(_, z)| *z).fold(f64::NEG_INFINITY, f64::max))
}

/// Draws a form from radii and heights (foot to rim, or around a half-section) centred at a point, `scale` pixels to the unit.
pub(super) fn silhouette(
    canvas: &Canvas<'_>,
    outline: &[(f64, f64)],
    centre: Point,
    scale: f64,
) -> Result<(), FigureError> {
    let (low, high) = heights(outline);
    if !(scale.is_finite() && high > low) {
        return Ok(());
    }
    let middle = f64::midpoint(low, high);
    let at = |side: f64, (r, z): (f64, f64)| (centre.0 + side * scale * r, centre.1 - scale * (z - middle));
    let axis = |z: f64| at(0.0, (0.0, z));
    // A half-section comes back to where it began and needs no axis to close it.
    let open = outline.first() != outline.last();
    let ends = |side: f64| {
        let mut path: Vec<Point> = outline.first().filter(|_| open).map(|p| axis(p.1)).into_iter().collect();
        path.extend(outline.iter().map(|p| at(side, *p)));
        path.extend(outline.last().filter(|_| open).map(|p| axis(p.1)));
        path
    };
    canvas.fill(&ends(-1.0), NOISE)?;
    canvas.line(&ends(-1.0), Stroke(INK, 1.2))?;
    canvas.line(&ends(1.0), Stroke(INK, 1.2))
}
