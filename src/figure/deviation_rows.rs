//! Deviations of scans from a design: a row per vessel, from foot to rim.

use super::canvas::{Anchor, Drawing, Lettering};
use super::error::FigureError;
use super::palette::deviation;

/// One vessel: deviations at even steps from foot to rim, outwards positive, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviationRow {
    /// Its name.
    pub name: String,
    /// The deviations, mm.
    pub deviations_mm: Vec<f64>,
}

const WIDTH: f64 = 760.0;
const NAMES: f64 = 150.0;
const ROW: f64 = 15.0;
const HEAD: f64 = 52.0;
/// Cells of the scale's bar.
const SCALE_CELLS: u32 = 40;
/// Share of the cells within the scale; the rest has the colour of its end.
const WITHIN: f64 = 0.98;

/// Draws the rows, all on one scale.
///
/// # Errors
/// [`FigureError::NotEnough`] without a deviation.
pub fn deviation_rows(label: &str, rows: &[DeviationRow]) -> Result<String, FigureError> {
    let mut sizes: Vec<f64> = rows.iter().flat_map(|row| row.deviations_mm.iter().map(|d| d.abs())).collect();
    sizes.sort_by(f64::total_cmp);
    let place = (WITHIN * sizes.len() as f64) as usize;
    let most = sizes.get(place.min(sizes.len().saturating_sub(1))).copied().unwrap_or(0.0);
    if most <= 0.0 {
        return Err(FigureError::NotEnough { figure: "deviations from a design", needed: "a deviation" });
    }
    let mut drawing = Drawing::new(WIDTH, HEAD + ROW * rows.len() as f64 + 8.0);
    drawing.layer(|canvas| {
        let word = Lettering::plain(Anchor::Middle);
        for cell in 0..SCALE_CELLS {
            let (from, to) = (f64::from(cell) / f64::from(SCALE_CELLS), f64::from(cell + 1) / f64::from(SCALE_CELLS));
            let x = |share: f64| NAMES + share * 400.0;
            canvas.block((x(from), 8.0), (x(to), 20.0), deviation(from + to - 1.0).rgb())?;
        }
        canvas.text((NAMES + 34.0, 32.0), &format!("\u{2212}{most:.1} mm, inside"), word)?;
        canvas.text((NAMES + 200.0, 32.0), "0", word)?;
        canvas.text((NAMES + 366.0, 32.0), &format!("+{most:.1} mm, outside"), word)?;
        for (index, row) in rows.iter().enumerate() {
            let top = HEAD + ROW * index as f64;
            canvas.text((NAMES - 8.0, top + 0.5 * ROW), &row.name, Lettering::plain(Anchor::End))?;
            let step = (WIDTH - NAMES - 12.0) / row.deviations_mm.len().max(1) as f64;
            for (cell, value) in row.deviations_mm.iter().enumerate() {
                let left = NAMES + step * cell as f64;
                let colour = deviation((value / most).clamp(-1.0, 1.0)).rgb();
                canvas.block((left, top + 1.0), (left + step, top + ROW - 1.0), colour)?;
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
    fn rows_are_named_and_flat_ones_refused() -> Result<(), FigureError> {
        let row = |deviations_mm| DeviationRow { name: "SHM-1".into(), deviations_mm };
        let svg = deviation_rows("test", &[row(vec![-1.0, 0.0, 1.0])])?;
        assert!(svg.contains("SHM-1") && svg.contains("outside"));
        assert!(deviation_rows("test", &[row(vec![0.0])]).is_err());
        assert!(deviation_rows("test", &[]).is_err());
        Ok(())
    }
}
