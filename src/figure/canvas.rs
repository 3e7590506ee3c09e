//! Drawing: the one place that speaks to the SVG backend.
//!
//! Positions are in pixels of the finished figure, x to the right and y downwards. The backend knows whole numbers only, so
//! everything is drawn [`FINE`] times larger and the view box scales it back.

use std::fmt::Write as _;

use plotters::backend::SVGBackend;
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon, Rectangle, Text};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontStyle, FontTransform, IntoFont, RGBColor, ShapeStyle, TextStyle};

use super::error::FigureError;
use super::markup::escape;
use super::oklab::Rgb;
use super::palette::INK;

/// Steps per pixel.
const FINE: f64 = 10.0;
/// What the backend divides a font's size by.
const FONT_DIVISOR: f64 = 1.24;

/// A position in pixels.
pub(super) type Point = (f64, f64);

/// A line's colour and width in pixels.
#[derive(Clone, Copy)]
pub(super) struct Stroke(pub(super) Rgb, pub(super) f64);

/// Which end of a text its position is.
#[derive(Clone, Copy)]
pub(super) enum Anchor {
    /// The text begins there.
    Start,
    /// The text is centred there.
    Middle,
    /// The text ends there.
    End,
}

impl Anchor {
    /// The word SVG has for it.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Middle => "middle",
            Self::End => "end",
        }
    }
}

/// How a text is set.
#[derive(Clone, Copy)]
pub(super) struct Lettering {
    pub(super) size: f64,
    pub(super) anchor: Anchor,
    pub(super) colour: Rgb,
    pub(super) bold: bool,
    pub(super) upright: bool,
}

impl Lettering {
    /// Text of 13 pixels in ink.
    pub(super) const fn plain(anchor: Anchor) -> Self {
        Self { size: 13.0, anchor, colour: INK, bold: false, upright: false }
    }

    /// The same in another colour.
    pub(super) const fn coloured(self, colour: Rgb) -> Self {
        Self { colour, ..self }
    }

    /// The same in bold.
    pub(super) const fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    /// The same reading upwards.
    pub(super) const fn upright(self) -> Self {
        Self { upright: true, ..self }
    }
}

/// A figure being drawn.
pub(super) struct Drawing {
    width: f64,
    height: f64,
    body: String,
}

/// What one layer of a figure is drawn on.
pub(super) struct Canvas<'a> {
    area: DrawingArea<SVGBackend<'a>, Shift>,
}

fn fine(value: f64) -> i32 {
    (value * FINE).round() as i32
}

fn fine_point((x, y): Point) -> (i32, i32) {
    (fine(x), fine(y))
}

fn colour(Rgb([r, g, b]): Rgb) -> RGBColor {
    RGBColor(r, g, b)
}

fn stroke(Stroke(rgb, width): Stroke) -> ShapeStyle {
    ShapeStyle { color: colour(rgb).to_rgba(), filled: false, stroke_width: fine(width).unsigned_abs() }
}

impl Drawing {
    pub(super) const fn new(width: f64, height: f64) -> Self {
        Self { width, height, body: String::new() }
    }

    /// Adds a layer.
    pub(super) fn layer(
        &mut self,
        draw: impl FnOnce(&Canvas<'_>) -> Result<(), FigureError>,
    ) -> Result<(), FigureError> {
        let mut text = String::new();
        {
            let size = (fine(self.width).unsigned_abs(), fine(self.height).unsigned_abs());
            let area = SVGBackend::with_string(&mut text, size).into_drawing_area();
            draw(&Canvas { area: area.clone() })?;
            area.present().map_err(FigureError::drawing)?;
        }
        // The layer without the backend's own head and foot.
        let inner = text.find('>').map_or("", |head| &text[head + 1..]);
        let inner = inner.rfind("</svg>").map_or(inner, |foot| &inner[..foot]);
        self.body.push_str(inner.trim_start().replace("opacity=\"1\" ", "").as_str());
        Ok(())
    }

    /// Adds markup the backend has no word for, in fine steps: see [`Drawing::steps`].
    pub(super) fn markup(&mut self, markup: &str) {
        self.body.push_str(markup);
    }

    /// A length or position in the steps that [`Drawing::markup`] is written in.
    pub(super) fn steps(value: f64) -> i32 {
        fine(value)
    }

    /// The figure; `label` says what it shows to a reader who cannot see it.
    pub(super) fn finish(self, label: &str) -> String {
        let mut svg = String::with_capacity(self.body.len() + 300);
        let (width, height) = (self.width, self.height);
        let (fine_width, fine_height) = (fine(width), fine(height));
        // Links within a picture would be out of reach of a screen reader.
        let role = if self.body.contains("<a ") { "group" } else { "img" };
        // Writing to a String cannot fail.
        let _written = writeln!(
            svg,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
             viewBox=\"0 0 {fine_width} {fine_height}\" role=\"{role}\" aria-label=\"{}\">",
            escape(label)
        );
        svg.push_str(&self.body);
        svg.push_str("</svg>\n");
        svg
    }
}

impl Canvas<'_> {
    /// A line through points.
    pub(super) fn line(&self, points: &[Point], line: Stroke) -> Result<(), FigureError> {
        let path: Vec<_> = points.iter().copied().map(fine_point).collect();
        self.area.draw(&PathElement::new(path, stroke(line))).map_err(FigureError::drawing)
    }

    /// A line through points, in dashes of `dash` pixels with gaps as long.
    pub(super) fn dashed(&self, points: &[Point], line: Stroke, dash: f64) -> Result<(), FigureError> {
        for piece in dashes(points, dash) {
            self.line(&piece, line)?;
        }
        Ok(())
    }

    /// A closed line through points.
    pub(super) fn outline(&self, points: &[Point], line: Stroke) -> Result<(), FigureError> {
        let closed: Vec<Point> = points.iter().chain(points.first()).copied().collect();
        self.line(&closed, line)
    }

    /// A filled polygon.
    pub(super) fn fill(&self, points: &[Point], fill: Rgb) -> Result<(), FigureError> {
        let path: Vec<_> = points.iter().copied().map(fine_point).collect();
        self.area.draw(&Polygon::new(path, colour(fill).filled())).map_err(FigureError::drawing)
    }

    /// A filled rectangle between opposite corners.
    pub(super) fn block(&self, from: Point, to: Point, fill: Rgb) -> Result<(), FigureError> {
        let corners = [fine_point(from), fine_point(to)];
        self.area.draw(&Rectangle::new(corners, colour(fill).filled())).map_err(FigureError::drawing)
    }

    /// A filled disc.
    pub(super) fn disc(&self, centre: Point, radius: f64, fill: Rgb) -> Result<(), FigureError> {
        let disc = Circle::new(fine_point(centre), fine(radius), colour(fill).filled());
        self.area.draw(&disc).map_err(FigureError::drawing)
    }

    /// A circle.
    pub(super) fn circle(&self, centre: Point, radius: f64, line: Stroke) -> Result<(), FigureError> {
        let circle = Circle::new(fine_point(centre), fine(radius), stroke(line));
        self.area.draw(&circle).map_err(FigureError::drawing)
    }

    /// A text at mid-height of its letters.
    pub(super) fn text(&self, at: Point, text: &str, lettering: Lettering) -> Result<(), FigureError> {
        let Lettering { size, anchor, colour: ink, bold, upright } = lettering;
        let style = if bold { FontStyle::Bold } else { FontStyle::Normal };
        let font = ("sans-serif", size * FINE * FONT_DIVISOR).into_font().style(style);
        let font = if upright { font.transform(FontTransform::Rotate270) } else { font };
        let h_pos = match anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let ink = colour(ink);
        let style = TextStyle::from(font).color(&ink).pos(Pos::new(h_pos, VPos::Center));
        self.area.draw(&Text::new(text.to_owned(), fine_point(at), style)).map_err(FigureError::drawing)
    }
}

/// The pieces of a line that a dash of this length leaves.
fn dashes(points: &[Point], dash: f64) -> Vec<Vec<Point>> {
    let mut pieces = Vec::new();
    let (mut piece, mut left, mut on) = (points.first().map_or(Vec::new(), |p| vec![*p]), dash, true);
    for pair in points.windows(2) {
        let (mut from, to) = (pair[0], pair[1]);
        loop {
            let length = (to.0 - from.0).hypot(to.1 - from.1);
            if length <= left {
                left -= length;
                if on {
                    piece.push(to);
                }
                break;
            }
            let t = left / length;
            from = (from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1));
            if on {
                piece.push(from);
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece = vec![from];
            }
            (on, left) = (!on, dash);
        }
    }
    if on && piece.len() > 1 {
        pieces.push(piece);
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_alternate_along_a_line() {
        let pieces = dashes(&[(0.0, 0.0), (10.0, 0.0)], 2.0);
        assert_eq!(
            pieces,
            vec![vec![(0.0, 0.0), (2.0, 0.0)], vec![(4.0, 0.0), (6.0, 0.0)], vec![(8.0, 0.0), (10.0, 0.0)]]
        );
    }

    #[test]
    fn figure_has_one_root_and_scales_back() -> Result<(), FigureError> {
        let mut drawing = Drawing::new(20.0, 10.0);
        drawing.layer(|canvas| canvas.line(&[(0.0, 0.0), (1.25, 3.0)], Stroke(INK, 1.5)))?;
        let svg = drawing.finish("a \"line\"");
        assert_eq!(svg.matches("<svg").count(), 1);
        assert!(svg.contains("viewBox=\"0 0 200 100\"") && svg.contains("points=\"0,0 13,30 \""), "{svg}");
        assert!(svg.contains("a &quot;line&quot;"));
        Ok(())
    }
}
