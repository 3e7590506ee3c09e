//! A few forms in a row, to one scale, each with a word beneath.

use super::canvas::{Anchor, Drawing, Lettering};
use super::error::FigureError;
use super::palette::MUTED;
use super::silhouette::{common_scale, silhouette};

/// One form of a row.
#[derive(Clone, Debug, PartialEq)]
pub struct RowForm {
    /// Radius and height from foot to rim, all in one unit.
    pub outline: Vec<(f64, f64)>,
    /// The words beneath, one per line.
    pub words: Vec<String>,
}

const PANEL: f64 = 130.0;
const BOX: (f64, f64) = (92.0, 84.0);
const LINE: f64 = 16.0;

/// Draws forms side by side.
///
/// # Errors
/// [`FigureError::NotEnough`] without a form.
pub fn form_row(label: &str, forms: &[RowForm]) -> Result<String, FigureError> {
    let scale = common_scale(forms.iter().map(|form| form.outline.as_slice()), BOX);
    if !scale.is_finite() {
        return Err(FigureError::NotEnough { figure: "row of forms", needed: "at least one outline" });
    }
    let lines = forms.iter().map(|form| form.words.len()).max().unwrap_or(0);
    let mut drawing = Drawing::new(PANEL * forms.len() as f64, BOX.1 + 22.0 + LINE * lines as f64);
    drawing.layer(|canvas| {
        for (index, form) in forms.iter().enumerate() {
            let centre = PANEL * (index as f64 + 0.5);
            silhouette(canvas, &form.outline, (centre, 6.0 + 0.5 * BOX.1), scale)?;
            for (line, words) in form.words.iter().enumerate() {
                let letters = Lettering::plain(Anchor::Middle);
                let letters = if line == 0 { letters } else { letters.coloured(MUTED) };
                canvas.text((centre, BOX.1 + 20.0 + LINE * line as f64), words, letters)?;
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
    fn forms_share_one_scale() -> Result<(), FigureError> {
        let form = |size: f64| RowForm { outline: vec![(size, 0.0), (size, size)], words: vec!["a".into()] };
        let svg = form_row("test", &[form(1.0), form(0.5)])?;
        // 92 px for the greatest width 2: 46 px a unit, so 46 and 23 px to each side of the axes at 65 and 195 px.
        for x in [190, 1110, 1720, 2180] {
            assert!(svg.contains(&format!("{x},")), "{x}: {svg}");
        }
        assert!(form_row("test", &[]).is_err());
        Ok(())
    }
}
