//! How many groups: the criterion against the number of groups.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Canvas, Drawing, Lettering, Stroke};
use super::error::FigureError;
use super::marker::{self, Marker};
use super::oklab::Rgb;
use super::palette::INK;

/// The criterion's value for one number of groups.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// Number of groups.
    pub groups: f64,
    /// The criterion's value.
    pub value: f64,
    /// Whether the method chose it.
    pub chosen: bool,
}

/// One method's candidates, by rising number of groups.
#[derive(Clone, Debug, PartialEq)]
pub struct Method {
    /// The method's name.
    pub name: String,
    /// Its candidates.
    pub candidates: Vec<Candidate>,
}

/// Methods judged by one criterion in one space.
#[derive(Clone, Debug, PartialEq)]
pub struct CriterionPanel {
    /// Words above the panel.
    pub title: String,
    /// The criterion, beside the vertical axis.
    pub criterion: String,
    /// The methods.
    pub methods: Vec<Method>,
}

const PANEL: f64 = 430.0;
const PLOT: f64 = 190.0;
const LINE: f64 = 19.0;
const PER_ROW: usize = 2;

/// Draws one panel per space and criterion, what each method chose ringed.
///
/// # Errors
/// [`FigureError::NotEnough`] without a panel, or with a panel without candidates.
pub fn criterion(label: &str, panels: &[CriterionPanel]) -> Result<String, FigureError> {
    let empty = |p: &CriterionPanel| p.methods.iter().all(|m| m.candidates.is_empty());
    if panels.is_empty() || panels.iter().any(empty) {
        return Err(FigureError::NotEnough { figure: "number of groups", needed: "a criterion" });
    }
    let most = panels.iter().map(|p| p.methods.len()).max().unwrap_or(0);
    let head = 30.0 + LINE * most as f64;
    let height = head + PLOT + 50.0;
    let (columns, rows) = (panels.len().min(PER_ROW), panels.len().div_ceil(PER_ROW));
    let colours = marker::colours();
    let mut drawing = Drawing::new(PANEL * columns as f64, height * rows as f64);
    drawing.layer(|canvas| {
        for (index, panel) in panels.iter().enumerate() {
            let corner = (PANEL * (index % PER_ROW) as f64, height * (index / PER_ROW) as f64);
            draw_panel(canvas, panel, corner, head, colours)?;
        }
        Ok(())
    })?;
    Ok(drawing.finish(label))
}

fn draw_panel(
    canvas: &Canvas<'_>,
    panel: &CriterionPanel,
    (left, top): (f64, f64),
    head: f64,
    colours: &[Rgb],
) -> Result<(), FigureError> {
    let all = || panel.methods.iter().flat_map(|m| &m.candidates);
    let range = |pick: fn(&Candidate) -> f64| {
        let low = all().map(pick).fold(f64::INFINITY, f64::min);
        (low, all().map(pick).fold(f64::NEG_INFINITY, f64::max))
    };
    let ((fewest, most), (low, high)) = (range(|c| c.groups), range(|c| c.value));
    let ticks = (fewest as i64..=most as i64).map(|k| (k as f64, k.to_string())).collect();
    let x = Axis::linear(fewest - 0.5, most + 0.5, "number of groups", 10).with_ticks(ticks);
    let margin = 0.1 * (high - low);
    let y = Axis::linear(low - margin, high + margin, &panel.criterion, 5);
    let (right, bottom) = (left + PANEL - 16.0, top + head + PLOT);
    let frame = Frame { left: left + 96.0, top: top + head, right, bottom, x, y };
    canvas.text((frame.left, top + 14.0), &panel.title, Lettering::plain(Anchor::Start).bold())?;
    frame.draw(canvas, true)?;
    for (index, method) in panel.methods.iter().enumerate() {
        let marker = Marker::of(Some(index));
        let line = top + 14.0 + LINE * (index as f64 + 1.0);
        marker.draw(canvas, (frame.left + 6.0, line), 4.5, colours)?;
        canvas.text((frame.left + 17.0, line), &method.name, Lettering::plain(Anchor::Start))?;
        let points: Vec<_> = method.candidates.iter().map(|c| frame.at(c.groups, c.value)).collect();
        canvas.line(&points, Stroke(marker.colour(colours), 1.4))?;
        for (candidate, at) in method.candidates.iter().zip(&points) {
            marker.draw(canvas, *at, 4.0, colours)?;
            if candidate.chosen {
                canvas.circle(*at, 8.0, Stroke(INK, 1.4))?;
            }
        }
    }
    Ok(())
}
