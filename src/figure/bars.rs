//! Shares of variance of the principal components.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Drawing, Lettering, Stroke};
use super::error::FigureError;
use super::marker;
use super::palette::{INK, MUTED};

/// One space's shares.
#[derive(Clone, Debug, PartialEq)]
pub struct Shares {
    /// Words above the panel.
    pub title: String,
    /// Share of the variance per component, each 0 to 1, largest first.
    pub explained: Vec<f64>,
}

const PANEL: f64 = 420.0;
const HEIGHT: f64 = 300.0;
/// Components drawn; the rest is in the table.
const MOST: usize = 10;

/// Draws the shares of each space, with the cumulative share as a line.
///
/// # Errors
/// [`FigureError::NotEnough`] without a component.
pub fn scree(label: &str, spaces: &[Shares]) -> Result<String, FigureError> {
    if spaces.iter().all(|s| s.explained.is_empty()) {
        return Err(FigureError::NotEnough { figure: "scree", needed: "at least one component" });
    }
    let colour = marker::colours().first().copied().unwrap_or(INK);
    let mut drawing = Drawing::new(PANEL * spaces.len() as f64, HEIGHT);
    drawing.layer(|canvas| {
        for (panel, space) in spaces.iter().enumerate() {
            let shown = space.explained.len().min(MOST);
            let left = PANEL * panel as f64;
            let ticks = (1..=shown).map(|c| (c as f64, format!("PC{c}"))).collect();
            let x = Axis::linear(0.4, shown as f64 + 0.6, "component", 10).with_ticks(ticks);
            let y = Axis::linear(0.0, 100.0, "share of variance, %", 5);
            let frame = Frame { left: left + 66.0, top: 34.0, right: left + PANEL - 16.0, bottom: HEIGHT - 50.0, x, y };
            canvas.text((frame.left, 16.0), &space.title, Lettering::plain(Anchor::Start).bold())?;
            frame.draw(canvas, true)?;
            let mut sum = 0.0;
            let mut cumulative = Vec::with_capacity(shown);
            for (index, share) in space.explained.iter().take(shown).enumerate() {
                let place = index as f64 + 1.0;
                sum += share;
                cumulative.push(frame.at(place, (100.0 * sum).min(100.0)));
                canvas.block(frame.at(place - 0.32, 100.0 * share), frame.at(place + 0.32, 0.0), colour)?;
            }
            canvas.line(&cumulative, Stroke(MUTED, 1.4))?;
            for at in &cumulative {
                canvas.disc(*at, 2.6, MUTED)?;
            }
        }
        Ok(())
    })?;
    Ok(drawing.finish(label))
}
