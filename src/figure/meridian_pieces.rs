//! The meridian as a chain of lines and arcs: each piece drawn over the stations it was found in, numbered, its sizes beside.
//!
//! Neighbouring pieces differ in lightness and hue and are parted by a tick, so that colour alone tells nothing.

use super::canvas::{Anchor, Canvas, Drawing, Lettering, Point, Stroke};
use super::error::FigureError;
use super::palette::{BAR, INK, MUTED, groups};
use super::placement::Placement;
use super::wall;

/// A radius and a height, mm.
type Place = (f64, f64);

/// One line or arc.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnPiece {
    /// Where it begins, in the order of the meridian.
    pub from: Place,
    /// Where it ends.
    pub to: Place,
    /// Centre and signed sweep in rad (counter-clockwise in the plane of radius and height is positive) of an arc; `None` of
    /// a line.
    pub arc: Option<(Place, f64)>,
    /// Its sizes with their uncertainties, a reader's line.
    pub words: String,
}

/// What the drawing shows; radii and heights in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct MeridianPieces {
    /// What the figure is, for readers who cannot see it.
    pub label: String,
    /// The stations of the outer wall, from the underside to the rim.
    pub outer: Vec<Place>,
    /// The stations of the inner wall, from the rim to the floor; empty if it was not seen.
    pub inner: Vec<Place>,
    /// Lines and arcs from the underside over the rim to the floor.
    pub pieces: Vec<DrawnPiece>,
}

const WIDTH: f64 = 640.0;
const TOP: f64 = 26.0;
const FOOTER: f64 = 34.0;
/// Place of the axis, and what the meridian may take of width and height, pixels.
const AXIS: f64 = 28.0;
const DRAWN_WIDTH: f64 = 215.0;
const DRAWN_HEIGHT: f64 = 380.0;
/// Where the list of pieces begins, and the height of one of its rows, pixels.
const LIST: f64 = 296.0;
const ROW: f64 = 16.5;
const SMALL: f64 = 12.0;
/// Distances from a piece at which its number may stand, pixels.
const AWAY: [f64; 7] = [12.0, -12.0, 22.0, -22.0, 34.0, -34.0, 48.0];
/// A number further away than this has a line to its piece, pixels.
const LED: f64 = 15.0;
/// Half the length of the tick between two pieces, pixels.
const TICK: f64 = 5.0;
/// Straight strokes that an arc is drawn with.
const STROKES: u32 = 48;

/// Draws the meridian in its pieces.
///
/// # Errors
/// [`FigureError::NotEnough`] without a piece, or without a meridian of some height and width.
pub fn meridian_pieces(meridian: &MeridianPieces) -> Result<String, FigureError> {
    let stations = || meridian.outer.iter().chain(&meridian.inner);
    let widest = stations().map(|(r, _)| *r).fold(0.0, f64::max);
    let (low, high) =
        stations().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (_, z)| (low.min(*z), high.max(*z)));
    if meridian.pieces.is_empty() || !(widest > 0.0 && high > low) {
        return Err(FigureError::NotEnough { figure: "meridian in pieces", needed: "a meridian split into pieces" });
    }
    let scale = (DRAWN_WIDTH / widest).min(DRAWN_HEIGHT / (high - low));
    let floor = TOP + scale * (high - low);
    let listed = TOP + ROW * meridian.pieces.len() as f64;
    let at = |(r, z): Place| (AXIS + scale * r, floor - scale * (z - low));
    let mut drawing = Drawing::new(WIDTH, floor.max(listed) + FOOTER);
    drawing.layer(|canvas| {
        canvas.dashed(&[(AXIS, TOP - 14.0), (AXIS, floor + 14.0)], Stroke(MUTED, 0.8), 5.0)?;
        canvas.text((AXIS, floor + 24.0), "axis", small(Anchor::Middle))?;
        for run in [&meridian.outer, &meridian.inner].into_iter().flat_map(|wall| wall::pieces(wall)) {
            let line: Vec<Point> = run.into_iter().map(at).collect();
            canvas.line(&line, Stroke(BAR, 1.0))?;
        }
        let drawn: Vec<Vec<Point>> = meridian.pieces.iter().map(|p| p.places().into_iter().map(at).collect()).collect();
        pieces(canvas, &drawn)?;
        numbers(canvas, &drawn, (4.0, 4.0, LIST - 12.0, floor + 18.0))?;
        list(canvas, &meridian.pieces)
    })?;
    Ok(drawing.finish(&meridian.label))
}

impl DrawnPiece {
    /// Places along the piece.
    fn places(&self) -> Vec<Place> {
        let Some((centre, sweep)) = self.arc else { return vec![self.from, self.to] };
        let (r, z) = (self.from.0 - centre.0, self.from.1 - centre.1);
        let turned = |share: f64| {
            let (sine, cosine) = (sweep * share).sin_cos();
            (centre.0 + r * cosine - z * sine, centre.1 + r * sine + z * cosine)
        };
        (0..=STROKES).map(|stroke| turned(f64::from(stroke) / f64::from(STROKES))).collect()
    }
}

/// The mark of a piece: ink and a lighter blue by turns.
fn mark(index: usize) -> Stroke {
    let blue = groups().first().copied().unwrap_or(INK);
    if index.is_multiple_of(2) { Stroke(INK, 2.6) } else { Stroke(blue, 2.6) }
}

fn small(anchor: Anchor) -> Lettering {
    Lettering { size: SMALL, ..Lettering::plain(anchor) }.coloured(MUTED)
}

/// The pieces, and a tick where each but the first begins.
fn pieces(canvas: &Canvas<'_>, drawn: &[Vec<Point>]) -> Result<(), FigureError> {
    for (index, line) in drawn.iter().enumerate() {
        canvas.line(line, mark(index))?;
    }
    for line in &drawn[1..] {
        if let [first, second, ..] = line.as_slice() {
            let (x, y) = across(*first, *second);
            let end = |side: f64| (first.0 + side * TICK * x, first.1 + side * TICK * y);
            canvas.line(&[end(-1.0), end(1.0)], Stroke(INK, 1.0))?;
        }
    }
    Ok(())
}

/// The unit vector across the way between two points, to the side away from the material: on the page, where heights run
/// against y, to the right of the way.
fn across(from: Point, to: Point) -> (f64, f64) {
    let (x, y) = (to.0 - from.0, to.1 - from.1);
    let length = x.hypot(y).max(f64::MIN_POSITIVE);
    (-y / length, x / length)
}

/// Each piece's number beside its middle; where the walls leave no room, further off with a line to it.
fn numbers(canvas: &Canvas<'_>, drawn: &[Vec<Point>], limits: (f64, f64, f64, f64)) -> Result<(), FigureError> {
    let mut placement = Placement::default();
    for line in drawn {
        taken(&mut placement, line);
    }
    for (index, line) in drawn.iter().enumerate() {
        let middle = line.len() / 2;
        let (Some(before), Some(after)) = (line.get(middle.saturating_sub(1)), line.get(middle)) else { continue };
        let at = (0.5 * (before.0 + after.0), 0.5 * (before.1 + after.1));
        let (x, y) = across(*before, *after);
        let text = (index + 1).to_string();
        let half = (0.34 * SMALL * text.len() as f64, 0.5 * SMALL);
        let free = |away: f64| placement.near((at.0 + away * x, at.1 + away * y), half, 0, limits);
        let Some(place) = AWAY.into_iter().find_map(free) else { continue };
        let (dx, dy) = (place.0 - at.0, place.1 - at.1);
        let length = dx.hypot(dy);
        if length > LED {
            let share = 1.0 - (half.1 + 2.0) / length;
            canvas.line(&[at, (at.0 + share * dx, at.1 + share * dy)], Stroke(MUTED, 0.7))?;
        }
        canvas.text(place, &text, Lettering { size: SMALL, ..Lettering::plain(Anchor::Middle) })?;
    }
    Ok(())
}

/// Takes the room that a drawn line needs.
fn taken(placement: &mut Placement, line: &[Point]) {
    for pair in line.windows(2) {
        let (dx, dy) = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
        let steps = (dx.hypot(dy) / 4.0).ceil().max(1.0);
        for step in 0..=steps as u32 {
            let share = f64::from(step) / steps;
            placement.take((pair[0].0 + share * dx, pair[0].1 + share * dy), 2.0);
        }
    }
}

/// The pieces by number, with their mark and sizes.
fn list(canvas: &Canvas<'_>, pieces: &[DrawnPiece]) -> Result<(), FigureError> {
    for (index, piece) in pieces.iter().enumerate() {
        let y = TOP + ROW * index as f64;
        let lettering = |anchor| Lettering { size: SMALL, ..Lettering::plain(anchor) };
        canvas.text((LIST + 14.0, y), &(index + 1).to_string(), lettering(Anchor::End))?;
        canvas.line(&[(LIST + 20.0, y), (LIST + 38.0, y)], mark(index))?;
        canvas.text((LIST + 45.0, y), &piece.words, lettering(Anchor::Start))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cup() -> MeridianPieces {
        let line = |from, to, words: &str| DrawnPiece { from, to, arc: None, words: words.into() };
        let quarter = std::f64::consts::FRAC_PI_2;
        MeridianPieces {
            label: "test".into(),
            outer: vec![(0.0, 0.0), (30.0, 0.0), (40.0, 10.0), (40.0, 100.0)],
            inner: vec![],
            pieces: vec![
                line((0.0, 0.0), (30.0, 0.0), "line"),
                DrawnPiece {
                    from: (30.0, 0.0),
                    to: (40.0, 10.0),
                    arc: Some(((30.0, 10.0), quarter)),
                    words: "R 10".into(),
                },
                line((40.0, 10.0), (40.0, 100.0), "line"),
            ],
        }
    }

    #[test]
    fn an_arc_runs_from_its_beginning_to_its_end_about_its_centre() {
        let places = cup().pieces[1].places();
        let (first, last) = (places[0], places[places.len() - 1]);
        assert!((first.0 - 30.0).abs() < 1e-9 && first.1.abs() < 1e-9);
        assert!((last.0 - 40.0).abs() < 1e-9 && (last.1 - 10.0).abs() < 1e-9, "{last:?}");
        assert!(places.iter().all(|(r, z)| ((r - 30.0).hypot(z - 10.0) - 10.0).abs() < 1e-9));
    }

    #[test]
    fn every_piece_has_its_number_beside_it_and_in_the_list() {
        let svg = meridian_pieces(&cup()).unwrap();
        for number in ["1", "2", "3"] {
            assert_eq!(svg.matches(&format!(">\n{number}\n<")).count(), 2, "{number}: {svg}");
        }
        assert!(svg.contains("R 10"));
    }

    #[test]
    fn neighbours_are_told_apart_by_every_reader() {
        let (Stroke(a, _), Stroke(b, _)) = (mark(0), mark(1));
        assert!(super::super::palette::least_distance(a, b) > 0.1);
    }

    #[test]
    fn without_pieces_nothing_is_drawn() {
        assert!(meridian_pieces(&MeridianPieces { pieces: vec![], ..cup() }).is_err());
    }
}
