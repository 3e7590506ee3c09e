//! One section about its reference circle, the deviations magnified.

use std::f64::consts::TAU;

use super::canvas::{Anchor, Canvas, Drawing, Lettering, Point, Stroke};
use super::error::FigureError;
use super::marker;
use super::palette::{GRID, INK, MUTED, NOISE, PAPER, UNSEEN};
use super::ticks;

/// What the plot shows.
#[derive(Clone, Debug, PartialEq)]
pub struct RoundnessPlot {
    /// What the figure is, for readers who cannot see it.
    pub label: String,
    /// Radius of the least-squares reference circle, mm.
    pub radius_mm: f64,
    /// Filtered deviation outwards from it, mm, at equal azimuths counter-clockwise from zero.
    pub deviation_mm: Vec<f64>,
    /// Whether each of them was seen; where not, the harmonics only bridge the gap.
    pub seen: Vec<bool>,
    /// What noise alone would show as peak-to-valley, mm.
    pub detection_limit_mm: Option<f64>,
}

const WIDTH: f64 = 500.0;
const HEIGHT: f64 = 460.0;
/// Radius of the reference circle on paper.
const CIRCLE: f64 = 135.0;
/// Room for deviations to each side of it.
const ROOM: f64 = 62.0;

/// Draws the plot; returns it with the magnification of the deviations over the circle's own scale.
///
/// # Errors
/// [`FigureError::NotEnough`] without points or radius.
pub fn roundness_plot(plot: &RoundnessPlot) -> Result<(String, f64), FigureError> {
    let round = plot.radius_mm > 0.0;
    if !round || plot.deviation_mm.is_empty() {
        return Err(FigureError::NotEnough { figure: "roundness plot", needed: "a section with harmonics" });
    }
    let half_zone = 0.5 * plot.detection_limit_mm.unwrap_or(0.0);
    let greatest = plot.deviation_mm.iter().fold(half_zone, |m, d| m.max(d.abs()));
    let own_scale = CIRCLE / plot.radius_mm;
    let magnification = if greatest > 0.0 { ticks::round_down(ROOM / greatest / own_scale) } else { 1.0 };
    let per_mm = magnification * own_scale;
    let mut drawing = Drawing::new(WIDTH, HEIGHT);
    drawing.layer(|canvas| {
        grid(canvas, per_mm, half_zone)?;
        let word = format!("magnified {} : 1", ticks::label(magnification));
        let muted = Lettering::plain(Anchor::Middle).coloured(MUTED);
        canvas.text((0.5 * WIDTH, 0.5 * HEIGHT + 27.0), &word, muted)?;
        profile(canvas, plot, per_mm)
    })?;
    Ok((drawing.finish(&plot.label), magnification))
}

fn at(radius: f64, azimuth: f64) -> Point {
    let (sin, cos) = azimuth.sin_cos();
    (0.5 * WIDTH + radius * cos, 0.5 * HEIGHT - radius * sin)
}

/// The detection zone, circles of equal deviation, spokes and their words.
fn grid(canvas: &Canvas<'_>, per_mm: f64, half_zone: f64) -> Result<(), FigureError> {
    let centre = at(0.0, 0.0);
    if half_zone > 0.0 {
        canvas.disc(centre, CIRCLE + half_zone * per_mm, NOISE)?;
        canvas.disc(centre, CIRCLE - half_zone * per_mm, PAPER)?;
    }
    let outside = CIRCLE + ROOM + 6.0;
    for spoke in 0..12_u8 {
        let azimuth = TAU * f64::from(spoke) / 12.0;
        canvas.line(&[at(CIRCLE - ROOM, azimuth), at(outside, azimuth)], Stroke(GRID, 0.8))?;
        if spoke % 3 == 0 {
            let word = format!("{}\u{b0}", u16::from(spoke) * 30);
            canvas.text(at(outside + 15.0, azimuth), &word, Lettering::plain(Anchor::Middle).coloured(MUTED))?;
        }
    }
    let step = ticks::round_up(20.0 / per_mm);
    let rings = (ROOM / (step * per_mm) + 1e-9).floor() as i32;
    for ring in -rings..=rings {
        if ring != 0 {
            canvas.circle(centre, CIRCLE + f64::from(ring) * step * per_mm, Stroke(GRID, 0.8))?;
        }
    }
    canvas.circle(centre, CIRCLE, Stroke(MUTED, 1.2))?;
    canvas.text((centre.0, centre.1 - 27.0), "between circles", Lettering::plain(Anchor::Middle).coloured(MUTED))?;
    let word = format!("{} mm", ticks::label(step));
    canvas.text((centre.0, centre.1 - 9.0), &word, Lettering::plain(Anchor::Middle).bold())
}

fn profile(canvas: &Canvas<'_>, plot: &RoundnessPlot, per_mm: f64) -> Result<(), FigureError> {
    let count = plot.deviation_mm.len();
    let point = |index: usize| {
        let i = index % count;
        at(CIRCLE + per_mm * plot.deviation_mm[i], TAU * i as f64 / count as f64)
    };
    let seen = |index: usize| plot.seen.get(index % count).copied().unwrap_or(true);
    let mut start = 0;
    while start < count {
        let state = seen(start);
        let end = (start..count).find(|i| seen(*i) != state).unwrap_or(count);
        let run: Vec<Point> = (start..=end).map(point).collect();
        if state {
            canvas.line(&run, Stroke(marker::colours().first().copied().unwrap_or(INK), 1.8))?;
        } else {
            canvas.dashed(&run, Stroke(UNSEEN, 1.4), 4.0)?;
        }
        start = end;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plot() -> RoundnessPlot {
        RoundnessPlot {
            label: "test".into(),
            radius_mm: 50.0,
            deviation_mm: vec![0.02, 0.0, -0.02, 0.0],
            seen: vec![true, true, false, true],
            detection_limit_mm: Some(0.01),
        }
    }

    #[test]
    fn magnification_is_round_and_fills_the_room() -> Result<(), FigureError> {
        // Own scale 135 px / 50 mm = 2.7 px/mm; 62 px / 0.02 mm is 1148 times that, rounded down to 1000.
        let (svg, magnification) = roundness_plot(&plot())?;
        assert!((magnification - 1000.0).abs() < 1e-9);
        assert!(svg.contains("0.01 mm")); // circles at least 20 px apart: 20 / 2700 mm, rounded up
        Ok(())
    }

    #[test]
    fn what_was_not_seen_is_dashed() -> Result<(), FigureError> {
        let lines = |svg: &str| svg.matches("<polyline").count();
        let whole = RoundnessPlot { seen: vec![true; 4], ..plot() };
        assert!(lines(&roundness_plot(&plot())?.0) > lines(&roundness_plot(&whole)?.0) + 5);
        Ok(())
    }

    #[test]
    fn noise_alone_sets_the_scale_of_a_perfect_circle() -> Result<(), FigureError> {
        let perfect = RoundnessPlot { deviation_mm: vec![0.0; 4], ..plot() };
        // 62 px / 0.005 mm / 2.7 px/mm = 4593, rounded down to 2000.
        assert!((roundness_plot(&perfect)?.1 - 2000.0).abs() < 1e-9);
        assert!(roundness_plot(&RoundnessPlot { radius_mm: f64::NAN, ..plot() }).is_err());
        Ok(())
    }
}
