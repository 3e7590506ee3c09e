//! A plotting frame: two axes with round ticks and labels.

use super::canvas::{Anchor, Canvas, Lettering, Point, Stroke};
use super::error::FigureError;
use super::palette::{GRID, INK, MUTED};
use super::ticks;

/// How an axis counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scale {
    /// Equal steps.
    Linear,
    /// Equal ratios; the range is positive.
    Logarithmic,
}

/// One axis.
#[derive(Clone, Debug)]
pub(super) struct Axis {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) scale: Scale,
    pub(super) label: String,
    /// Positions and words of the ticks.
    pub(super) ticks: Vec<(f64, String)>,
}

impl Axis {
    /// An axis of equal steps with about `wanted` round ticks; an empty range is widened.
    pub(super) fn linear(from: f64, to: f64, label: &str, wanted: u32) -> Self {
        let (from, to) = if to > from { (from, to) } else { (from - 1.0, from + 1.0) };
        let ticks = ticks::linear(from, to, wanted).into_iter().map(|t| (t, ticks::label(t))).collect();
        Self { from, to, scale: Scale::Linear, label: label.to_owned(), ticks }
    }

    /// An axis of equal ratios with a tick at each power of ten.
    pub(super) fn logarithmic(from: f64, to: f64, label: &str) -> Self {
        let ticks = ticks::decades(from, to).into_iter().map(|t| (t, ticks::label(t))).collect();
        Self { from, to, scale: Scale::Logarithmic, label: label.to_owned(), ticks }
    }

    /// The same axis with ticks of one's own.
    pub(super) fn with_ticks(self, ticks: Vec<(f64, String)>) -> Self {
        Self { ticks, ..self }
    }

    /// Where a value lies, 0 at the axis's beginning and 1 at its end.
    fn share(&self, value: f64) -> f64 {
        match self.scale {
            Scale::Linear => (value - self.from) / (self.to - self.from),
            Scale::Logarithmic => (value / self.from).ln() / (self.to / self.from).ln(),
        }
    }
}

/// A rectangle of the figure in which data are plotted.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
    pub(super) x: Axis,
    pub(super) y: Axis,
}

impl Frame {
    /// Where a pair of values lies, in pixels.
    pub(super) fn at(&self, x: f64, y: f64) -> Point {
        (
            self.left + self.x.share(x) * (self.right - self.left),
            self.bottom - self.y.share(y) * (self.bottom - self.top),
        )
    }

    /// Draws grid, ticks, tick words and both labels; `gap` pixels lie between the tick words and the y label.
    pub(super) fn draw(&self, canvas: &Canvas<'_>, grid: bool) -> Result<(), FigureError> {
        let thin = Stroke(GRID, 0.8);
        let line = Stroke(INK, 1.0);
        for (value, word) in &self.x.ticks {
            let (x, _) = self.at(*value, self.y.from);
            if grid {
                canvas.line(&[(x, self.top), (x, self.bottom)], thin)?;
            }
            canvas.line(&[(x, self.bottom), (x, self.bottom + 4.0)], line)?;
            canvas.text((x, self.bottom + 14.0), word, Lettering::plain(Anchor::Middle).coloured(MUTED))?;
        }
        for (value, word) in &self.y.ticks {
            let (_, y) = self.at(self.x.from, *value);
            if grid {
                canvas.line(&[(self.left, y), (self.right, y)], thin)?;
            }
            canvas.line(&[(self.left - 4.0, y), (self.left, y)], line)?;
            canvas.text((self.left - 7.0, y), word, Lettering::plain(Anchor::End).coloured(MUTED))?;
        }
        canvas.outline(
            &[(self.left, self.top), (self.right, self.top), (self.right, self.bottom), (self.left, self.bottom)],
            line,
        )?;
        let middle = Lettering::plain(Anchor::Middle);
        let (cx, cy) = (f64::midpoint(self.left, self.right), f64::midpoint(self.top, self.bottom));
        canvas.text((cx, self.bottom + 34.0), &self.x.label, middle)?;
        let longest = self.y.ticks.iter().map(|(_, word)| word.chars().count()).max().unwrap_or(0);
        canvas.text((self.left - 22.0 - 7.5 * longest as f64, cy), &self.y.label, middle.upright())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn log_axis_puts_the_geometric_mean_in_the_middle() {
        let x = Axis::logarithmic(0.01, 1.0, "");
        assert!((x.share(0.1) - 0.5).abs() < 1e-12);
        assert_eq!(x.ticks.len(), 3);
    }

    #[test]
    fn y_grows_upwards() {
        let axis = |label| Axis::linear(0.0, 1.0, label, 2);
        let frame = Frame { left: 10.0, top: 20.0, right: 110.0, bottom: 220.0, x: axis("x"), y: axis("y") };
        assert_eq!((frame.at(0.0, 0.0), frame.at(1.0, 1.0)), ((10.0, 220.0), (110.0, 20.0)));
    }
}
