//! How many vessels meet each claimed proportion, beside what chance would bring, and how many meet sets of decoys.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Canvas, Drawing, Lettering, Stroke};
use super::error::FigureError;
use super::marker;
use super::palette::{BAR, INK, MUTED};

/// One claim.
#[derive(Clone, Debug, PartialEq)]
pub struct Matched {
    /// What is claimed.
    pub name: String,
    /// Vessels that match.
    pub matches: f64,
    /// Matches expected by chance.
    pub expected: f64,
    /// Whether it is accepted.
    pub accepted: bool,
}

/// The claims and the decoys.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MatchBars {
    /// The claims, in the order to draw them.
    pub claims: Vec<Matched>,
    /// How many sets of decoys had so many matches.
    pub decoys: Vec<(f64, f64)>,
    /// Matches of all stated constants together.
    pub together: Option<f64>,
}

const WIDTH: f64 = 860.0;
const ROW: f64 = 22.0;
const NAMES: f64 = 390.0;
const HISTOGRAM: f64 = 150.0;
/// Letters of a name that are shown.
const LONGEST: usize = 52;

/// Draws a row per claim, and the decoys below.
///
/// # Errors
/// [`FigureError::NotEnough`] without a claim.
pub fn match_bars(label: &str, figure: &MatchBars) -> Result<String, FigureError> {
    if figure.claims.is_empty() {
        return Err(FigureError::NotEnough { figure: "matches", needed: "at least one claim" });
    }
    let bottom = 40.0 + ROW * figure.claims.len() as f64;
    let decoys = !figure.decoys.is_empty();
    let height = bottom + 52.0 + if decoys { HISTOGRAM + 70.0 } else { 0.0 };
    let most = figure.claims.iter().map(|claim| claim.matches.max(claim.expected)).fold(1.0, f64::max);
    let x = Axis::linear(0.0, 1.05 * most, "vessels that match", 8);
    let y = Axis::linear(0.0, 1.0, "", 1).with_ticks(Vec::new());
    let frame = Frame { left: NAMES, top: 34.0, right: WIDTH - 16.0, bottom, x, y };
    let mut drawing = Drawing::new(WIDTH, height);
    drawing.layer(|canvas| {
        frame.draw(canvas, true)?;
        rows(canvas, &frame, &figure.claims)?;
        if decoys { histogram(canvas, figure, bottom + 80.0) } else { Ok(()) }
    })?;
    Ok(drawing.finish(label))
}

fn rows(canvas: &Canvas<'_>, frame: &Frame, claims: &[Matched]) -> Result<(), FigureError> {
    let strong = marker::colours().first().copied().unwrap_or(INK);
    let word = Lettering::plain(Anchor::Start);
    canvas.block((NAMES, 8.0), (NAMES + 18.0, 18.0), BAR)?;
    canvas.text((NAMES + 24.0, 13.0), "expected by chance", word)?;
    canvas.disc((NAMES + 190.0, 13.0), 4.5, strong)?;
    canvas.text((NAMES + 200.0, 13.0), "seen", word)?;
    canvas.circle((NAMES + 262.0, 13.0), 7.5, Stroke(INK, 1.4))?;
    canvas.text((NAMES + 275.0, 13.0), "accepted", word)?;
    for (index, claim) in claims.iter().enumerate() {
        let y = frame.top + 3.0 + ROW * (index as f64 + 0.5);
        let name: String = claim.name.chars().take(LONGEST).collect();
        canvas.text((NAMES - 10.0, y), &name, Lettering::plain(Anchor::End))?;
        let (start, end) = (frame.at(0.0, 0.0).0, frame.at(claim.expected, 0.0).0);
        canvas.block((start, y - 6.0), (end, y + 6.0), BAR)?;
        let at = (frame.at(claim.matches, 0.0).0, y);
        canvas.disc(at, 4.5, strong)?;
        if claim.accepted {
            canvas.circle(at, 7.5, Stroke(INK, 1.4))?;
        }
    }
    Ok(())
}

fn histogram(canvas: &Canvas<'_>, figure: &MatchBars, top: f64) -> Result<(), FigureError> {
    let strong = marker::colours().first().copied().unwrap_or(INK);
    let most = figure.decoys.iter().map(|(matches, _)| *matches).chain(figure.together).fold(1.0, f64::max);
    let highest = figure.decoys.iter().map(|(_, sets)| *sets).fold(1.0, f64::max);
    let x = Axis::linear(-0.7, most + 0.7, "matches of all constants together", 10);
    let y = Axis::linear(0.0, 1.3 * highest, "sets of decoys", 4);
    let frame = Frame { left: 90.0, top, right: WIDTH - 16.0, bottom: top + HISTOGRAM, x, y };
    frame.draw(canvas, true)?;
    for (matches, sets) in &figure.decoys {
        canvas.block(frame.at(matches - 0.4, *sets), frame.at(matches + 0.4, 0.0), BAR)?;
    }
    let Some(seen) = figure.together else { return Ok(()) };
    let (high, low) = (frame.at(seen, frame.y.to), frame.at(seen, 0.0));
    canvas.line(&[high, low], Stroke(strong, 2.0))?;
    let right = high.0 > frame.right - 90.0;
    let (at, anchor) = if right { (high.0 - 6.0, Anchor::End) } else { (high.0 + 6.0, Anchor::Start) };
    canvas.text((at, high.1 + 10.0), "stated constants", Lettering::plain(anchor).coloured(MUTED))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn claims_are_named_and_decoys_drawn() -> Result<(), FigureError> {
        let claim = Matched { name: "a / b = 2".into(), matches: 5.0, expected: 0.4, accepted: true };
        let figure = MatchBars { claims: vec![claim], decoys: vec![(0.0, 7.0), (1.0, 3.0)], together: Some(5.0) };
        let svg = match_bars("test", &figure)?;
        assert!(svg.contains("a / b = 2") && svg.contains("sets of decoys") && svg.contains("stated constants"));
        assert!(!match_bars("test", &MatchBars { decoys: Vec::new(), ..figure })?.contains("sets of decoys"));
        assert!(match_bars("test", &MatchBars::default()).is_err());
        Ok(())
    }
}
