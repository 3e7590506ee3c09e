//! The vessel as the trade draws it: section on the left with the wall filled, outside on the right, a scale bar below.

use super::canvas::{Anchor, Canvas, Drawing, Lettering, Point, Stroke};
use super::error::FigureError;
use super::palette::{INK, MUTED, PAPER};
use super::ticks;
use super::wall;

/// What the drawing shows; radii and heights in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct HalfSection {
    /// What the figure is, for readers who cannot see it.
    pub label: String,
    /// Radius and height of the outer wall, from the underside to the rim.
    pub outer: Vec<(f64, f64)>,
    /// Radius and height of the inner wall, from the rim to the floor; empty if it was not seen.
    pub inner: Vec<(f64, f64)>,
    /// Heights between which the precision measures are taken.
    pub body: Option<(f64, f64)>,
    /// Height of the section shown in the roundness plot.
    pub section: Option<f64>,
}

const WIDTH: f64 = 640.0;
const DRAWN_WIDTH: f64 = 420.0;
const DRAWN_HEIGHT: f64 = 380.0;
const TOP: f64 = 24.0;
const FOOTER: f64 = 60.0;
/// How far from the middle the words stand that name the sides.
const SIDE_WORD: f64 = 180.0;

/// Draws the half-section.
///
/// # Errors
/// [`FigureError::NotEnough`] without an outer wall of some height and width.
pub fn half_section(vessel: &HalfSection) -> Result<String, FigureError> {
    if vessel.outer.len() < 2 {
        return Err(FigureError::NotEnough { figure: "half-section", needed: "an outer wall" });
    }
    let widest = vessel.outer.iter().chain(&vessel.inner).map(|(r, _)| *r).fold(0.0, f64::max);
    let heights = || vessel.outer.iter().chain(&vessel.inner).map(|(_, z)| *z);
    let (low, high) = (heights().fold(f64::INFINITY, f64::min), heights().fold(f64::NEG_INFINITY, f64::max));
    if !(widest > 0.0 && high > low) {
        return Err(FigureError::NotEnough { figure: "half-section", needed: "an outer wall" });
    }
    let scale = (0.5 * DRAWN_WIDTH / widest).min(DRAWN_HEIGHT / (high - low));
    let floor = TOP + scale * (high - low);
    let at = |side: f64, (r, z): (f64, f64)| (0.5 * WIDTH + side * scale * r, floor - scale * (z - low));
    let mut drawing = Drawing::new(WIDTH, floor + FOOTER);
    drawing.layer(|canvas| {
        section_side(canvas, vessel, &|p| at(-1.0, p))?;
        meridian(canvas, &vessel.outer, 1.6, &|p| at(1.0, p))?;
        canvas.line(&[at(1.0, (0.0, high)), at(1.0, (0.0, low))], Stroke(INK, 0.8))?;
        if let Some(rim) = vessel.outer.last() {
            let within = vessel.inner.first().unwrap_or(rim);
            canvas.line(&[at(-1.0, (within.0, high)), at(1.0, (rim.0, high))], Stroke(INK, 0.8))?;
        }
        marks(canvas, vessel, &|z| at(1.0, (widest, z)), &|z| at(1.0, (0.0, z)))?;
        scale_bar(canvas, scale, floor + 26.0)?;
        let side = Lettering::plain(Anchor::Middle).coloured(MUTED);
        canvas.text((0.5 * WIDTH - SIDE_WORD, floor + 29.0), "section", side)?;
        canvas.text((0.5 * WIDTH + SIDE_WORD, floor + 29.0), "outside", side)
    })?;
    Ok(drawing.finish(&vessel.label))
}

/// The wall in section, filled as far as both its sides were seen.
fn section_side(
    canvas: &Canvas<'_>,
    vessel: &HalfSection,
    at: &dyn Fn((f64, f64)) -> Point,
) -> Result<(), FigureError> {
    for piece in wall::filled(&vessel.outer, &vessel.inner) {
        let corners: Vec<Point> = piece.into_iter().map(at).collect();
        canvas.fill(&corners, INK)?;
    }
    meridian(canvas, &vessel.inner, 1.2, at)?;
    meridian(canvas, &vessel.outer, 1.6, at)
}

/// A meridian as a line that leaves out what was not seen.
fn meridian(
    canvas: &Canvas<'_>,
    stations: &[(f64, f64)],
    width: f64,
    at: &dyn Fn((f64, f64)) -> Point,
) -> Result<(), FigureError> {
    for piece in wall::pieces(stations) {
        let line: Vec<Point> = piece.into_iter().map(at).collect();
        canvas.line(&line, Stroke(INK, width))?;
    }
    Ok(())
}

/// The body's range and the section of the roundness plot, beside and across the outside.
fn marks(
    canvas: &Canvas<'_>,
    vessel: &HalfSection,
    edge: &dyn Fn(f64) -> Point,
    axis: &dyn Fn(f64) -> Point,
) -> Result<(), FigureError> {
    let side = edge(0.0).0 + 16.0;
    let note = Lettering::plain(Anchor::Start).coloured(MUTED);
    if let Some((from, to)) = vessel.body {
        let (bottom, top) = (edge(from).1, edge(to).1);
        let bracket = [(side - 5.0, bottom), (side, bottom), (side, top), (side - 5.0, top)];
        canvas.line(&bracket, Stroke(MUTED, 1.0))?;
        let free = |y: &f64| vessel.section.is_none_or(|z| (edge(z).1 - y).abs() >= 17.0);
        if let Some(y) = [top + 7.0, bottom - 7.0].into_iter().find(free) {
            canvas.text((side + 8.0, y), "body", note)?;
        }
    }
    if let Some(z) = vessel.section {
        let y = edge(z).1;
        canvas.dashed(&[axis(z), (side, y)], Stroke(MUTED, 1.0), 4.0)?;
        canvas.text((side + 8.0, y), &format!("z = {z:.1} mm"), note)?;
    }
    Ok(())
}

/// A bar of four fields, alternately filled, of a round length.
fn scale_bar(canvas: &Canvas<'_>, scale: f64, y: f64) -> Result<(), FigureError> {
    let length = ticks::round_down(0.45 * DRAWN_WIDTH / scale);
    let start = 0.5 * WIDTH - 0.5 * scale * length;
    for field in 0..4_u8 {
        let from = start + scale * length * f64::from(field) / 4.0;
        let to = start + scale * length * f64::from(field + 1) / 4.0;
        canvas.block((from, y), (to, y + 6.0), if field % 2 == 0 { INK } else { PAPER })?;
    }
    let end = start + scale * length;
    canvas.outline(&[(start, y), (end, y), (end, y + 6.0), (start, y + 6.0)], Stroke(INK, 0.8))?;
    canvas.text((start, y + 18.0), "0", Lettering::plain(Anchor::Middle))?;
    canvas.text((end, y + 18.0), &format!("{} mm", ticks::label(length)), Lettering::plain(Anchor::Middle))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cylinder() -> HalfSection {
        HalfSection {
            label: "test".into(),
            outer: vec![(0.0, 0.0), (50.0, 0.0), (50.0, 100.0)],
            inner: vec![],
            body: Some((20.0, 80.0)),
            section: Some(50.0),
        }
    }

    #[test]
    fn scale_bar_is_round() -> Result<(), FigureError> {
        // 100 mm high on 380 px is 3.8 px/mm; 0.45 x 420 px is 49.7 mm, rounded down to 20.
        assert!(half_section(&cylinder())?.contains("20 mm"));
        Ok(())
    }

    #[test]
    fn wall_is_filled_only_where_both_sides_were_seen() -> Result<(), FigureError> {
        assert!(!half_section(&cylinder())?.contains("<polygon"));
        let upper = HalfSection { inner: vec![(45.0, 100.0), (45.0, 60.0)], ..cylinder() };
        let svg = half_section(&upper)?;
        let wall = svg.split("<polygon").nth(1).and_then(|rest| rest.split("points=").nth(1)).unwrap_or("");
        let points = wall.split('"').nth(1).unwrap_or("").split_whitespace().count();
        assert_eq!(points, 3); // the rim's outer point and two inner: the outer wall below is left out
        Ok(())
    }

    #[test]
    fn flat_vessel_is_refused() {
        assert!(half_section(&HalfSection { outer: vec![(1.0, 0.0), (2.0, 0.0)], ..cylinder() }).is_err());
    }
}
