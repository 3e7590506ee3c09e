//! Tippett plot: what share of the references has at least a given likelihood ratio.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Canvas, Drawing, Lettering, Point, Stroke};
use super::error::FigureError;
use super::marker;
use super::palette::{INK, MUTED};

/// The ratios of one kind of references.
#[derive(Clone, Debug, PartialEq)]
pub struct Ratios {
    /// What they are called.
    pub name: String,
    /// Logarithms (base 10), in any order.
    pub log10: Vec<f64>,
    /// Drawn dashed: the same references judged more strictly.
    pub dashed: bool,
    /// Which colour, counted from 0; a kind keeps its colour.
    pub colour: usize,
}

const WIDTH: f64 = 620.0;
const PLOT: f64 = 260.0;
const LINE: f64 = 19.0;
const LEFT: f64 = 70.0;
/// Room beyond the last step, in decades.
const MARGIN: f64 = 0.15;

/// Draws the share of each set, in per cent, whose ratio is at least as great as the value on the axis; `bounds` are the least
/// and greatest ratio the references can back.
///
/// # Errors
/// [`FigureError::NotEnough`] without a ratio.
pub fn tippett(label: &str, sets: &[Ratios], bounds: Option<[f64; 2]>) -> Result<String, FigureError> {
    if sets.iter().all(|set| set.log10.is_empty()) {
        return Err(FigureError::NotEnough { figure: "Tippett plot", needed: "a reference" });
    }
    let all = sets.iter().flat_map(|set| &set.log10).chain(bounds.iter().flatten());
    let (low, high) = all.fold((-1.0_f64, 1.0_f64), |(low, high), v| (low.min(*v), high.max(*v)));
    let top = 14.0 + LINE * sets.len() as f64;
    let frame = Frame {
        left: LEFT,
        top,
        right: WIDTH - 16.0,
        bottom: top + PLOT,
        x: Axis::linear(low - MARGIN, high + MARGIN, "log10 of the likelihood ratio, modern over old", 8),
        y: Axis::linear(0.0, 100.0, "references with at least this ratio, %", 5),
    };
    let colours = marker::colours();
    let mut drawing = Drawing::new(WIDTH, top + PLOT + 50.0);
    drawing.layer(|canvas| {
        frame.draw(canvas, true)?;
        canvas.line(&[frame.at(0.0, 0.0), frame.at(0.0, 100.0)], Stroke(INK, 1.2))?;
        for bound in bounds.iter().flatten() {
            canvas.dashed(&[frame.at(*bound, 0.0), frame.at(*bound, 100.0)], Stroke(MUTED, 1.0), 3.0)?;
        }
        for (index, set) in sets.iter().enumerate() {
            let colour = colours.get(set.colour % colours.len().max(1)).copied().unwrap_or(INK);
            let stroke = Stroke(colour, if set.dashed { 1.4 } else { 2.2 });
            let line = 12.0 + LINE * index as f64;
            draw_line(canvas, &[(LEFT, line), (LEFT + 30.0, line)], stroke, set.dashed)?;
            canvas.text((LEFT + 38.0, line), &set.name, Lettering::plain(Anchor::Start))?;
            let steps: Vec<Point> =
                steps(&set.log10, frame.x.from, frame.x.to).into_iter().map(|(x, y)| frame.at(x, y)).collect();
            draw_line(canvas, &steps, stroke, set.dashed)?;
        }
        Ok(())
    })?;
    Ok(drawing.finish(label))
}

fn draw_line(canvas: &Canvas<'_>, points: &[Point], stroke: Stroke, dashed: bool) -> Result<(), FigureError> {
    if dashed { canvas.dashed(points, stroke, 5.0) } else { canvas.line(points, stroke) }
}

/// The falling steps from `from` to `to`: per cent of the values that are at least x.
fn steps(values: &[f64], from: f64, to: f64) -> Vec<(f64, f64)> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let mut path = vec![(from, 100.0)];
    for (below, value) in sorted.iter().enumerate() {
        let share = |passed: usize| 100.0 * (1.0 - passed as f64 / sorted.len() as f64);
        path.extend([(*value, share(below)), (*value, share(below + 1))]);
    }
    path.push((to, 0.0));
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_fall_from_all_to_none() {
        let path = steps(&[1.0, -1.0], -2.0, 2.0);
        let wanted = [(-2.0, 100.0), (-1.0, 100.0), (-1.0, 50.0), (1.0, 50.0), (1.0, 0.0), (2.0, 0.0)];
        assert_eq!(path, wanted);
    }

    #[test]
    fn nothing_is_not_drawn() {
        assert!(tippett("none", &[], None).is_err());
    }
}
