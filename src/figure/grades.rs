//! How truly each vessel was made, on one continuous scale, a row per group.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Drawing, Lettering, Stroke};
use super::error::FigureError;
use super::marker::{self, Marker};
use super::palette::{BAR, GRID, INK};
use super::score_map::{ScorePoint, close_link, open_link};

/// What the figure shows; of each point `y` is not used.
#[derive(Clone, Debug, PartialEq)]
pub struct Grades {
    /// What the figure is, for readers who cannot see it.
    pub label: String,
    /// Words under the axis.
    pub x_label: String,
    /// The vessels.
    pub points: Vec<ScorePoint>,
    /// Names of the groups, in the order of their indices.
    pub groups: Vec<String>,
}

const WIDTH: f64 = 860.0;
const ROW: f64 = 84.0;
const MARK: f64 = 5.0;
/// Offsets within a row, so that vessels of like grade do not cover each other.
const LANES: [f64; 5] = [0.0, -12.0, 12.0, -24.0, 24.0];
/// Uncertainty bars reach two standard uncertainties to each side.
const COVERAGE_FACTOR: f64 = 2.0;

/// Draws the strip of grades.
///
/// # Errors
/// [`FigureError::NotEnough`] without a vessel.
pub fn grades(figure: &Grades) -> Result<String, FigureError> {
    if figure.points.is_empty() {
        return Err(FigureError::NotEnough { figure: "grades", needed: "at least one vessel" });
    }
    let ungrouped = figure.points.iter().any(|p| p.group.is_none());
    let rows = figure.groups.len() + usize::from(ungrouped);
    let bottom = 20.0 + ROW * rows as f64;
    let low = figure.points.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
    let high = figure.points.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
    let margin = 0.06 * (high - low).max(1.0);
    let x = Axis::linear(low - margin, high + margin, &figure.x_label, 8);
    let y = Axis::linear(0.0, rows as f64, "", 1).with_ticks(Vec::new());
    let frame = Frame { left: 150.0, top: 20.0, right: WIDTH - 15.0, bottom, x, y };
    let colours = marker::colours();
    let mut drawing = Drawing::new(WIDTH, bottom + 50.0);
    drawing.layer(|canvas| {
        frame.draw(canvas, true)?;
        let names = figure.groups.iter().map(String::as_str).chain(ungrouped.then_some("no group"));
        for (row, name) in names.enumerate() {
            let y = frame.top + ROW * (row as f64 + 0.5);
            canvas.text((frame.left - 10.0, y), name, Lettering::plain(Anchor::End))?;
            if row > 0 {
                let edge = frame.top + ROW * row as f64;
                canvas.line(&[(frame.left, edge), (frame.right, edge)], Stroke(GRID, 0.8))?;
            }
        }
        Ok(())
    })?;
    let mut order: Vec<&ScorePoint> = figure.points.iter().collect();
    order.sort_by(|a, b| a.x.total_cmp(&b.x));
    for (index, point) in order.into_iter().enumerate() {
        let row = point.group.unwrap_or(figure.groups.len());
        let y = frame.top + ROW * (row as f64 + 0.5) + LANES[index % LANES.len()];
        let at = |value: f64| (frame.at(value, 0.0).0.clamp(frame.left, frame.right), y);
        open_link(&mut drawing, point);
        drawing.layer(|canvas| {
            if let Some(u) = point.u_x {
                let half = COVERAGE_FACTOR * u;
                canvas.line(&[at(point.x - half), at(point.x + half)], Stroke(BAR, 1.2))?;
            }
            if point.outlier {
                canvas.circle(at(point.x), MARK + 4.0, Stroke(INK, 1.4))?;
            }
            if point.at_most {
                let (x, y) = at(point.x);
                let line = Stroke(Marker::of(point.group).colour(colours), 1.6);
                canvas.line(&[(x, y - 5.0), (x, y + 5.0)], line)?;
                canvas.line(&[(x, y), (x - 16.0, y)], line)?;
                return canvas.line(&[(x - 11.0, y - 4.0), (x - 16.0, y), (x - 11.0, y + 4.0)], line);
            }
            Marker::of(point.group).draw(canvas, at(point.x), MARK, colours)
        })?;
        close_link(&mut drawing, point, at(point.x), f64::midpoint(frame.left, frame.right));
    }
    Ok(drawing.finish(&figure.label))
}
