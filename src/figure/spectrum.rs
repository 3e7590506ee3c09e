//! Amplitudes of one section's harmonics against what noise alone would show.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Canvas, Drawing, Lettering, Point, Stroke};
use super::error::FigureError;
use super::marker;
use super::palette::{INK, MUTED, UNSEEN};

/// One harmonic.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Harmonic {
    /// Undulations per revolution, at least 1.
    pub upr: f64,
    /// Amplitude as fitted, mm.
    pub raw_mm: f64,
    /// Amplitude with the noise's power taken off, mm; 0 where nothing is left.
    pub amplitude_mm: f64,
    /// Amplitude that noise alone exceeds in one case of twenty, mm.
    pub detection_mm: f64,
}

/// What the figure shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Spectrum {
    /// What the figure is, for readers who cannot see it.
    pub label: String,
    /// The harmonics in rising order.
    pub harmonics: Vec<Harmonic>,
    /// Cut-off of the roundness filter, undulations per revolution.
    pub cutoff_upr: Option<f64>,
}

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 330.0;
/// Share of the detection level down to which amplitudes are shown: what lies deeper in the noise says nothing.
const SHOWN_BELOW: f64 = 0.1;
const TICKS: [f64; 9] = [1.0, 2.0, 3.0, 5.0, 10.0, 15.0, 50.0, 150.0, 500.0];

/// Draws the spectrum on logarithmic axes.
///
/// # Errors
/// [`FigureError::NotEnough`] where no amplitude is above zero.
pub fn spectrum(spectrum: &Spectrum) -> Result<String, FigureError> {
    let positive = |v: f64| (v > 0.0).then_some(v);
    let values = || spectrum.harmonics.iter().flat_map(|h| [positive(h.raw_mm), positive(h.detection_mm)]).flatten();
    let greatest = values().fold(0.0, f64::max);
    let detection = spectrum.harmonics.iter().filter_map(|h| positive(h.detection_mm)).fold(f64::INFINITY, f64::min);
    let floor = if detection.is_finite() { SHOWN_BELOW * detection } else { 1e-4 * greatest };
    let least = values().fold(f64::INFINITY, f64::min).max(floor);
    let highest = spectrum.harmonics.iter().map(|h| h.upr).fold(1.0, f64::max);
    if greatest <= 0.0 || highest < 2.0 {
        return Err(FigureError::NotEnough { figure: "spectrum", needed: "harmonics above zero" });
    }
    let (from, to) = (10_f64.powf((0.7 * least).log10().floor()), 10_f64.powf((1.3 * greatest).log10().ceil()));
    let x = Axis::logarithmic(0.85, 1.15 * highest, "undulations per revolution (UPR)");
    let ticks = TICKS.iter().filter(|t| **t <= 1.15 * highest).map(|t| (*t, format!("{t}"))).collect();
    let y = Axis::logarithmic(from, to, "amplitude, mm");
    let frame = Frame { left: 85.0, top: 40.0, right: WIDTH - 12.0, bottom: HEIGHT - 50.0, x: x.with_ticks(ticks), y };
    let mut drawing = Drawing::new(WIDTH, HEIGHT);
    drawing.layer(|canvas| {
        frame.draw(canvas, true)?;
        cutoff(canvas, &frame, spectrum.cutoff_upr.filter(|c| *c < highest))?;
        levels(canvas, &frame, spectrum)?;
        legend(canvas)
    })?;
    Ok(drawing.finish(&spectrum.label))
}

fn cutoff(canvas: &Canvas<'_>, frame: &Frame, cutoff: Option<f64>) -> Result<(), FigureError> {
    let Some(upr) = cutoff else { return Ok(()) };
    let top = frame.at(upr, frame.y.to);
    canvas.dashed(&[top, frame.at(upr, frame.y.from)], Stroke(MUTED, 1.0), 5.0)?;
    // Where the cut-off lies near the end its word stands before it, on what is drawn there least.
    let (x, anchor) =
        if top.0 > frame.right - 60.0 { (top.0 - 5.0, Anchor::End) } else { (top.0 + 5.0, Anchor::Start) };
    canvas.text((x, top.1 + 10.0), "cut-off", Lettering::plain(anchor).coloured(MUTED))
}

fn levels(canvas: &Canvas<'_>, frame: &Frame, spectrum: &Spectrum) -> Result<(), FigureError> {
    let strong = marker::colours().first().copied().unwrap_or(INK);
    for harmonic in &spectrum.harmonics {
        let found = harmonic.raw_mm > harmonic.detection_mm;
        let colour = if found { strong } else { UNSEEN };
        if harmonic.amplitude_mm > frame.y.from {
            let foot = frame.at(harmonic.upr, frame.y.from);
            canvas.line(&[foot, frame.at(harmonic.upr, harmonic.amplitude_mm)], Stroke(colour, 2.0))?;
        }
        if harmonic.raw_mm > frame.y.from {
            canvas.circle(frame.at(harmonic.upr, harmonic.raw_mm), 2.2, Stroke(colour, 1.1))?;
        }
    }
    let level: Vec<Point> = spectrum
        .harmonics
        .iter()
        .filter(|h| h.detection_mm >= frame.y.from)
        .map(|h| frame.at(h.upr, h.detection_mm))
        .collect();
    if level.len() > 1 { canvas.line(&level, Stroke(INK, 1.3)) } else { Ok(()) }
}

fn legend(canvas: &Canvas<'_>) -> Result<(), FigureError> {
    let strong = marker::colours().first().copied().unwrap_or(INK);
    let word = Lettering::plain(Anchor::Start);
    canvas.line(&[(88.0, 24.0), (88.0, 12.0)], Stroke(strong, 2.0))?;
    canvas.text((95.0, 18.0), "noise taken off", word)?;
    canvas.circle((211.0, 18.0), 2.2, Stroke(strong, 1.1))?;
    canvas.text((219.0, 18.0), "as fitted", word)?;
    canvas.line(&[(299.0, 18.0), (321.0, 18.0)], Stroke(INK, 1.3))?;
    canvas.text((327.0, 18.0), "detection level of noise, 95 %", word)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn harmonic(upr: f64, raw_mm: f64, amplitude_mm: f64) -> Harmonic {
        Harmonic { upr, raw_mm, amplitude_mm, detection_mm: 0.01 }
    }

    #[test]
    fn only_what_exceeds_the_noise_is_coloured() -> Result<(), FigureError> {
        let harmonics = vec![harmonic(2.0, 0.1, 0.0999), harmonic(3.0, 0.005, 0.0)];
        let svg = spectrum(&Spectrum { label: "test".into(), harmonics, cutoff_upr: Some(50.0) })?;
        let strong = marker::colours()[0].hex().to_uppercase();
        // One bar, one ring, and both in the legend.
        assert_eq!(svg.matches(&format!("stroke=\"{strong}\"")).count(), 4);
        assert!(!svg.contains("cut-off")); // beyond the highest harmonic
        Ok(())
    }

    #[test]
    fn nothing_above_zero_is_no_spectrum() {
        let harmonics = vec![Harmonic { detection_mm: 0.0, ..harmonic(2.0, 0.0, 0.0) }];
        assert!(spectrum(&Spectrum { label: "test".into(), harmonics, cutoff_upr: None }).is_err());
    }
}
