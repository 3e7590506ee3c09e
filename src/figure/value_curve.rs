//! What a budget buys: expected gain against cost, for ways of choosing.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Drawing, Lettering, Stroke};
use super::error::FigureError;
use super::marker::{self, Marker};
use super::palette::{INK, MUTED};

/// One way of choosing: its gain at each budget, by rising budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// Its name.
    pub name: String,
    /// Budget and gain.
    pub points: Vec<(f64, f64)>,
}

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 380.0;
const LINE: f64 = 19.0;

/// Draws the gain of each way of choosing against the budget; `now` is the budget asked for.
///
/// # Errors
/// [`FigureError::NotEnough`] without two budgets.
pub fn value_curve(label: &str, ways: &[Way], now: f64) -> Result<String, FigureError> {
    let all = || ways.iter().flat_map(|way| way.points.iter().copied());
    let (most_budget, most_gain) = all().fold((0.0_f64, 0.0_f64), |most, at| (most.0.max(at.0), most.1.max(at.1)));
    if ways.iter().all(|way| way.points.len() < 2) || most_gain <= 0.0 {
        return Err(FigureError::NotEnough { figure: "value against cost", needed: "two budgets that buy something" });
    }
    let x = Axis::linear(0.0, 1.04 * most_budget, "budget, in the unit of the catalogue\u{2019}s costs", 8);
    let y = Axis::linear(0.0, 1.08 * most_gain, "decisions expected to be put right", 6);
    let head = 16.0 + LINE * ways.len() as f64;
    let frame = Frame { left: 74.0, top: head, right: WIDTH - 16.0, bottom: HEIGHT - 50.0, x, y };
    let colours = marker::colours();
    let mut drawing = Drawing::new(WIDTH, HEIGHT);
    drawing.layer(|canvas| {
        frame.draw(canvas, true)?;
        let (top, foot) = (frame.at(now, frame.y.to), frame.at(now, 0.0));
        canvas.dashed(&[top, foot], Stroke(INK, 1.2), 5.0)?;
        canvas.text((top.0 + 6.0, top.1 + 10.0), "budget", Lettering::plain(Anchor::Start).coloured(MUTED))?;
        for (index, way) in ways.iter().enumerate() {
            let marker = Marker::of(Some(index));
            let line = 12.0 + LINE * index as f64;
            marker.draw(canvas, (frame.left + 6.0, line), 4.5, colours)?;
            canvas.text((frame.left + 17.0, line), &way.name, Lettering::plain(Anchor::Start))?;
            let points: Vec<_> = way.points.iter().map(|(budget, gain)| frame.at(*budget, *gain)).collect();
            canvas.line(&points, Stroke(marker.colour(colours), 1.4))?;
            points.iter().try_for_each(|at| marker.draw(canvas, *at, 3.6, colours))?;
        }
        Ok(())
    })?;
    Ok(drawing.finish(label))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_is_named_and_one_budget_is_too_few() -> Result<(), FigureError> {
        let way = |name: &str, points: &[(f64, f64)]| Way { name: name.into(), points: points.to_vec() };
        let svg = value_curve("test", &[way("best", &[(1.0, 0.2), (2.0, 0.3)]), way("random", &[(1.0, 0.1)])], 1.0)?;
        assert!(svg.contains("best") && svg.contains("random") && svg.contains("budget"));
        assert!(value_curve("test", &[way("best", &[(1.0, 0.2)])], 1.0).is_err());
        assert!(value_curve("test", &[way("best", &[(1.0, 0.0), (2.0, 0.0)])], 1.0).is_err());
        Ok(())
    }
}
