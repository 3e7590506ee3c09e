//! Outlines side by side, all to one scale.

use super::canvas::{Anchor, Drawing, Lettering, Point, Stroke};
use super::error::FigureError;
use super::marker;
use super::palette::{GRID, INK, MUTED};

/// One outline of a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// Radius and height from foot to rim, in any one unit.
    pub path: Vec<(f64, f64)>,
    /// Index of the group whose colour it has; `None` for ink.
    pub group: Option<usize>,
    /// How it is drawn.
    pub line: OutlineLine,
}

/// How an outline is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutlineLine {
    /// In one stroke.
    Solid,
    /// In dashes.
    Dashed,
    /// In one thin grey stroke, whatever its group.
    Thin,
}

/// One panel.
#[derive(Clone, Debug, PartialEq)]
pub struct FormPanel {
    /// Words above it, one per line.
    pub title: Vec<String>,
    /// The outlines laid over each other.
    pub outlines: Vec<Outline>,
}

const PANEL: f64 = 200.0;
const PANEL_HEIGHT: f64 = 210.0;
const TITLE: f64 = 66.0;
const PER_ROW: usize = 4;

/// Draws panels of outlines, mirrored to both sides of the axis, all to one scale.
///
/// # Errors
/// [`FigureError::NotEnough`] without an outline of some size.
pub fn forms(label: &str, panels: &[FormPanel]) -> Result<String, FigureError> {
    let all = || panels.iter().flat_map(|p| &p.outlines).flat_map(|o| &o.path);
    let widest = all().map(|(r, _)| *r).fold(0.0, f64::max);
    let low = all().map(|(_, z)| *z).fold(f64::INFINITY, f64::min);
    let high = all().map(|(_, z)| *z).fold(f64::NEG_INFINITY, f64::max);
    if !(widest > 0.0 && high > low) {
        return Err(FigureError::NotEnough { figure: "forms", needed: "at least one outline" });
    }
    let scale = (0.5 * (PANEL - 24.0) / widest).min((PANEL_HEIGHT - 16.0) / (high - low));
    let used = TITLE + scale * (high - low) + 16.0;
    let columns = panels.len().min(PER_ROW);
    let rows = panels.len().div_ceil(PER_ROW);
    let colours = marker::colours();
    let mut drawing = Drawing::new(PANEL * columns as f64, used * rows as f64);
    drawing.layer(|canvas| {
        for (index, panel) in panels.iter().enumerate() {
            let centre = PANEL * ((index % PER_ROW) as f64 + 0.5);
            let top = used * (index / PER_ROW) as f64;
            for (line, words) in panel.title.iter().enumerate() {
                let letters = Lettering::plain(Anchor::Middle);
                let letters = if line == 0 { letters.bold() } else { letters };
                canvas.text((centre, top + 14.0 + 17.0 * line as f64), words, letters)?;
            }
            let foot = top + used - 8.0;
            canvas.line(&[(centre, top + TITLE - 4.0), (centre, foot)], Stroke(GRID, 1.0))?;
            for outline in &panel.outlines {
                let colour = outline.group.and_then(|g| colours.get(g % colours.len())).copied().unwrap_or(INK);
                for side in [-1.0, 1.0] {
                    let at = |(r, z): &(f64, f64)| (centre + side * scale * r, foot - scale * (z - low));
                    let path: Vec<Point> = outline.path.iter().map(at).collect();
                    match outline.line {
                        OutlineLine::Solid => canvas.line(&path, Stroke(colour, 1.8))?,
                        OutlineLine::Dashed => canvas.dashed(&path, Stroke(colour, 1.8), 5.0)?,
                        OutlineLine::Thin => canvas.line(&path, Stroke(MUTED, 0.9))?,
                    }
                }
            }
        }
        Ok(())
    })?;
    Ok(drawing.finish(label))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn panels_share_one_scale() -> Result<(), FigureError> {
        let panel = |size: f64| FormPanel {
            title: vec!["one".into()],
            outlines: vec![Outline { path: vec![(size, 0.0), (size, size)], group: Some(0), line: OutlineLine::Solid }],
        };
        let svg = forms("test", &[panel(1.0), panel(0.5)])?;
        // 176 px for the greatest width 2: 88 px a unit, so 88 and 44 px to each side of the axes at 100 and 300 px.
        for x in [120, 1880, 2560, 3440] {
            assert!(svg.contains(&format!("points=\"{x},")), "{x}: {svg}");
        }
        assert!(forms("test", &[]).is_err());
        Ok(())
    }
}
