//! Markers of groups: each group has a colour and a shape.

use super::canvas::{Canvas, Point, Stroke};
use super::error::FigureError;
use super::oklab::Rgb;
use super::palette::{self, MUTED, PAPER};

/// The shapes, in the order of the groups.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape {
    Disc,
    Square,
    Triangle,
    Diamond,
    Cross,
    TriangleDown,
    Plus,
}

const SHAPES: [Shape; 7] =
    [Shape::Disc, Shape::Square, Shape::Triangle, Shape::Diamond, Shape::Cross, Shape::TriangleDown, Shape::Plus];

/// How a group is marked; `None` for a vessel of no group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Marker {
    group: Option<usize>,
}

impl Marker {
    pub(super) const fn of(group: Option<usize>) -> Self {
        Self { group }
    }

    /// The marker's colour.
    pub(super) fn colour(self, colours: &[Rgb]) -> Rgb {
        self.group.and_then(|g| colours.get(g % colours.len().max(1))).copied().unwrap_or(MUTED)
    }

    /// Draws the marker of radius `size`, outlined in the page's colour so that overlapping markers stay apart.
    pub(super) fn draw(self, canvas: &Canvas<'_>, at: Point, size: f64, colours: &[Rgb]) -> Result<(), FigureError> {
        let colour = self.colour(colours);
        let Some(group) = self.group else {
            canvas.disc(at, size, PAPER)?;
            return canvas.circle(at, size, Stroke(colour, 1.6));
        };
        let shape = SHAPES[group % SHAPES.len()];
        if shape == Shape::Disc {
            canvas.disc(at, size, colour)?;
            return canvas.circle(at, size, Stroke(PAPER, 0.8));
        }
        let corners: Vec<Point> = outline(shape).iter().map(|(x, y)| (at.0 + size * x, at.1 + size * y)).collect();
        canvas.fill(&corners, colour)?;
        canvas.outline(&corners, Stroke(PAPER, 0.8))
    }
}

/// Corners of a shape in units of the disc's radius, scaled so that all shapes look equally large.
fn outline(shape: Shape) -> Vec<Point> {
    let bar = 0.38;
    let long = 1.2;
    let plus = [
        (-bar, -long),
        (bar, -long),
        (bar, -bar),
        (long, -bar),
        (long, bar),
        (bar, bar),
        (bar, long),
        (-bar, long),
        (-bar, bar),
        (-long, bar),
        (-long, -bar),
        (-bar, -bar),
    ];
    match shape {
        Shape::Disc => Vec::new(),
        Shape::Square => vec![(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)],
        Shape::Triangle => vec![(0.0, -1.25), (1.15, 0.85), (-1.15, 0.85)],
        Shape::TriangleDown => vec![(0.0, 1.25), (1.15, -0.85), (-1.15, -0.85)],
        Shape::Diamond => vec![(0.0, -1.3), (1.3, 0.0), (0.0, 1.3), (-1.3, 0.0)],
        Shape::Plus => plus.to_vec(),
        Shape::Cross => {
            let turn = std::f64::consts::FRAC_1_SQRT_2;
            plus.iter().map(|(x, y)| (turn * (x - y), turn * (x + y))).collect()
        }
    }
}

/// The colours all figures use for groups.
pub(super) fn colours() -> &'static [Rgb] {
    palette::groups()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colour_and_shape_together_tell_many_groups_apart() {
        let looks: Vec<(usize, usize)> = (0..30).map(|g| (g % palette::GROUP_COLOURS, g % SHAPES.len())).collect();
        for (i, look) in looks.iter().enumerate() {
            assert!(!looks[..i].contains(look));
        }
    }

    #[test]
    fn no_group_is_grey() {
        assert_eq!(Marker::of(None).colour(colours()), MUTED);
    }
}
