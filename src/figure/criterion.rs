//! How many groups: the criterion against the number of groups.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Drawing, Lettering, Stroke};
use super::error::FigureError;
use super::marker;
use super::palette::INK;

/// One curve in a panel of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Words above the panel.
    pub title: String,
    /// Words beside the vertical axis.
    pub criterion: String,
    /// Number of groups and the criterion's value, by rising number.
    pub values: Vec<(f64, f64)>,
    /// The number of groups that was chosen.
    pub chosen: Option<f64>,
}

const PANEL: f64 = 420.0;
const HEIGHT: f64 = 270.0;
const PER_ROW: usize = 2;

/// Draws one panel per curve, the chosen number ringed.
///
/// # Errors
/// [`FigureError::NotEnough`] without a curve of at least one value.
pub fn criterion(label: &str, curves: &[Curve]) -> Result<String, FigureError> {
    if curves.is_empty() || curves.iter().any(|c| c.values.is_empty()) {
        return Err(FigureError::NotEnough { figure: "number of groups", needed: "a criterion" });
    }
    let colour = marker::colours().first().copied().unwrap_or(INK);
    let (columns, rows) = (curves.len().min(PER_ROW), curves.len().div_ceil(PER_ROW));
    let mut drawing = Drawing::new(PANEL * columns as f64, HEIGHT * rows as f64);
    drawing.layer(|canvas| {
        for (index, curve) in curves.iter().enumerate() {
            let (left, top) = (PANEL * (index % PER_ROW) as f64, HEIGHT * (index / PER_ROW) as f64);
            let range = |pick: fn(&(f64, f64)) -> f64| {
                let low = curve.values.iter().map(pick).fold(f64::INFINITY, f64::min);
                (low, curve.values.iter().map(pick).fold(f64::NEG_INFINITY, f64::max))
            };
            let ((k_low, k_high), (low, high)) = (range(|v| v.0), range(|v| v.1));
            let ticks = curve.values.iter().map(|(k, _)| (*k, format!("{k}"))).collect();
            let x = Axis::linear(k_low - 0.5, k_high + 0.5, "number of groups", 10).with_ticks(ticks);
            let margin = 0.08 * (high - low);
            let y = Axis::linear(low - margin, high + margin, &curve.criterion, 5);
            let (right, bottom) = (left + PANEL - 16.0, top + HEIGHT - 50.0);
            let frame = Frame { left: left + 92.0, top: top + 34.0, right, bottom, x, y };
            canvas.text((frame.left, top + 16.0), &curve.title, Lettering::plain(Anchor::Start).bold())?;
            frame.draw(canvas, true)?;
            let points: Vec<_> = curve.values.iter().map(|(k, v)| frame.at(*k, *v)).collect();
            canvas.line(&points, Stroke(colour, 1.6))?;
            for ((k, _), at) in curve.values.iter().zip(&points) {
                canvas.disc(*at, 3.0, colour)?;
                if curve.chosen.is_some_and(|chosen| (chosen - k).abs() < 0.5) {
                    canvas.ring(*at, 7.0, Stroke(INK, 1.4))?;
                }
            }
        }
        Ok(())
    })?;
    Ok(drawing.finish(label))
}
