//! One wall unrolled: its deviation from its own surface of revolution, by azimuth and height.

use std::fmt::Write as _;

use super::axes::{Axis, Frame};
use super::base64::base64;
use super::canvas::{Anchor, Canvas, Drawing, Lettering, Stroke};
use super::error::FigureError;
use super::oklab::Rgb;
use super::palette::{self, INK, MUTED, PAPER, UNSEEN};
use super::ticks;

/// A regular grid of deviations.
#[derive(Clone, Debug, PartialEq)]
pub struct Unrolled {
    /// What the figure is, for readers who cannot see it.
    pub label: String,
    /// A word that no other figure of the page has, for the pattern's name.
    pub id: String,
    /// Heights of the rows, rising, mm.
    pub heights_mm: Vec<f64>,
    /// Azimuths of the columns, rising, rad.
    pub azimuths_rad: Vec<f64>,
    /// Row by row: deviation outwards, mm; `None` where nothing was seen.
    pub deviation_mm: Vec<Option<f64>>,
    /// Row by row: as what the cell was set aside, if it was.
    pub set_aside: Vec<Option<Aside>>,
}

/// As what a cell was set aside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aside {
    /// Something stands on the wall: a handle, a lug, a spout.
    Raised,
    /// Something is gone from it: a chip, wear.
    Lost,
}

impl Aside {
    const ALL: [Self; 2] = [Self::Raised, Self::Lost];

    /// The word of its pattern's name, and what the legend says.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Raised => ("raised", "raised, set aside"),
            Self::Lost => ("lost", "lost, set aside"),
        }
    }

    /// Degrees that its stripes lean by: raised to the right, lost to the left.
    const fn lean(self) -> i32 {
        match self {
            Self::Raised => 45,
            Self::Lost => -45,
        }
    }
}

const WIDTH: f64 = 620.0;
const HEIGHT: f64 = 340.0;
/// Colours to each side of zero; index 0 is left for cells not seen.
const SIDE: u8 = 127;
/// The scale ends at this quantile of the absolute deviations of cells not set aside, rounded up.
const SCALE_QUANTILE: f64 = 0.99;

/// Draws the map; returns it with the deviation at the ends of its colour scale, mm.
///
/// # Errors
/// [`FigureError::NotEnough`] if the grid is smaller than 2 x 2, ragged, or nothing was seen.
pub fn unrolled(map: &Unrolled) -> Result<(String, f64), FigureError> {
    let (rows, columns) = (map.heights_mm.len(), map.azimuths_rad.len());
    let whole = rows >= 2 && columns >= 2 && map.deviation_mm.len() == rows * columns;
    if !whole || map.set_aside.len() != rows * columns || map.deviation_mm.iter().all(Option::is_none) {
        return Err(FigureError::NotEnough { figure: "unrolled wall", needed: "a whole grid with something seen" });
    }
    let (end, beyond) = scale_end(map);
    let frame = frame(map, rows, columns);
    let mut drawing = Drawing::new(WIDTH, HEIGHT);
    let (x, y) = (Drawing::steps(frame.left), Drawing::steps(frame.top));
    let (w, h) = (Drawing::steps(frame.right - frame.left), Drawing::steps(frame.bottom - frame.top));
    drawing.markup(&format!(
        "<image x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" preserveAspectRatio=\"none\" \
         style=\"image-rendering:pixelated\" href=\"data:image/png;base64,{}\"/>\n",
        base64(&picture(map, rows, columns, end)?)
    ));
    for kind in Aside::ALL.into_iter().filter(|kind| map.set_aside.contains(&Some(*kind))) {
        drawing.markup(&hatched(map, kind, rows, columns, &frame));
    }
    drawing.layer(|canvas| {
        frame.draw(canvas, false)?;
        colour_bar(canvas, &frame, end, beyond)?;
        legend(canvas, map)
    })?;
    Ok((drawing.finish(&map.label), end))
}

/// The end of the colour scale in mm, and whether a cell lies beyond it.
fn scale_end(map: &Unrolled) -> (f64, bool) {
    let cells = || map.deviation_mm.iter().zip(&map.set_aside);
    let mut sizes: Vec<f64> =
        cells().filter(|(_, aside)| aside.is_none()).filter_map(|(d, _)| d.map(f64::abs)).collect();
    if sizes.is_empty() {
        sizes = cells().filter_map(|(d, _)| d.map(f64::abs)).collect();
    }
    sizes.sort_by(f64::total_cmp);
    let index = (SCALE_QUANTILE * sizes.len().saturating_sub(1) as f64).round() as usize;
    let end = ticks::round_up(sizes.get(index).copied().unwrap_or(1.0));
    (end, cells().any(|(d, _)| d.is_some_and(|d| d.abs() > end)))
}

fn frame(map: &Unrolled, rows: usize, columns: usize) -> Frame {
    let (first, last) = (map.heights_mm[0], map.heights_mm[rows - 1]);
    let half_row = 0.5 * (last - first) / (rows - 1) as f64;
    let cell = 360.0 / columns as f64;
    let start = map.azimuths_rad[0].to_degrees() - 0.5 * cell;
    let x = Axis::linear(start, start + 360.0, "azimuth, degrees", 6);
    let eighth = (0..=24).map(|i| f64::from(i) * 45.0 - 360.0);
    let ticks = eighth.filter(|t| *t >= start - 1e-6 && *t <= start + 360.0 + 1e-6).map(|t| (t, ticks::label(t)));
    let x = x.with_ticks(ticks.collect());
    let y = Axis::linear(first - half_row, last + half_row, "height, mm", 6);
    Frame { left: 62.0, top: 30.0, right: WIDTH - 112.0, bottom: HEIGHT - 48.0, x, y }
}

/// The colour of index `i` above the unseen one: from greatest inward to greatest outward.
fn scale_colour(i: u8) -> Rgb {
    palette::deviation((f64::from(i) - f64::from(SIDE)) / f64::from(SIDE)).rgb()
}

/// The grid as an indexed PNG, one pixel a cell, highest row first.
fn picture(map: &Unrolled, rows: usize, columns: usize, end: f64) -> Result<Vec<u8>, FigureError> {
    let mut colours = UNSEEN.0.to_vec();
    (0..=2 * SIDE).for_each(|i| colours.extend(scale_colour(i).0));
    let pixels: Vec<u8> = (0..rows)
        .rev()
        .flat_map(|row| &map.deviation_mm[row * columns..(row + 1) * columns])
        .map(|cell| cell.map_or(0, |d| 1 + (f64::from(SIDE) * (1.0 + (d / end).clamp(-1.0, 1.0))).round() as u8))
        .collect();
    let mut bytes = Vec::new();
    let side = |n: usize| u32::try_from(n).map_err(FigureError::drawing);
    let mut encoder = png::Encoder::new(&mut bytes, side(columns)?, side(rows)?);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(colours);
    let mut writer = encoder.write_header().map_err(FigureError::drawing)?;
    writer.write_image_data(&pixels).map_err(FigureError::drawing)?;
    writer.finish().map_err(FigureError::drawing)?;
    Ok(bytes)
}

/// Hatching over the cells set aside as one kind, one rectangle per run within a row.
fn hatched(map: &Unrolled, kind: Aside, rows: usize, columns: usize, frame: &Frame) -> String {
    let (width, height) = ((frame.right - frame.left) / columns as f64, (frame.bottom - frame.top) / rows as f64);
    let mut path = String::new();
    for row in 0..rows {
        let cells = &map.set_aside[row * columns..(row + 1) * columns];
        let mut column = 0;
        for run in cells.chunk_by(|a, b| a == b) {
            if run.first() == Some(&Some(kind)) {
                let (x, y) = (frame.left + width * column as f64, frame.bottom - height * (row + 1) as f64);
                let (w, h) = (Drawing::steps(width * run.len() as f64), Drawing::steps(height));
                // Writing to a String cannot fail.
                let _written = write!(path, "M{} {}h{w}v{h}h-{w}z", Drawing::steps(x), Drawing::steps(y));
            }
            column += run.len();
        }
    }
    let id = format!("hatch-{}-{}", kind.words().0, map.id);
    format!("{}<path d=\"{path}\" fill=\"url(#{id})\"/>\n", pattern(&id, kind.lean()))
}

fn pattern(id: &str, lean: i32) -> String {
    format!(
        "<defs><pattern id=\"{id}\" width=\"60\" height=\"60\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate({lean})\"><rect width=\"60\" height=\"60\" fill=\"{}\" fill-opacity=\"0.65\"/>\
         <rect width=\"14\" height=\"60\" fill=\"{}\"/></pattern></defs>\n",
        PAPER.hex(),
        INK.hex()
    )
}

fn colour_bar(canvas: &Canvas<'_>, frame: &Frame, end: f64, beyond: bool) -> Result<(), FigureError> {
    let (left, right) = (frame.right + 22.0, frame.right + 36.0);
    let steps = 2 * SIDE + 1;
    let height = (frame.bottom - frame.top) / f64::from(steps);
    // Each block reaches down to the end, so that no seam shows between two.
    for i in (0..steps).rev() {
        let top = frame.bottom - height * f64::from(i + 1);
        canvas.block((left, top), (right, frame.bottom), scale_colour(i))?;
    }
    canvas.outline(
        &[(left, frame.top), (right, frame.top), (right, frame.bottom), (left, frame.bottom)],
        Stroke(MUTED, 0.8),
    )?;
    for quarter in -2..=2_i8 {
        let share = f64::from(quarter) / 2.0;
        let y = f64::midpoint(frame.top, frame.bottom) - 0.5 * share * (frame.bottom - frame.top);
        let sign = match quarter {
            -2 if beyond => "\u{2264} ",
            2 if beyond => "\u{2265} ",
            _ => "",
        };
        let plus = if quarter > 0 { "+" } else { "" };
        let word = format!("{sign}{plus}{}", ticks::label(share * end));
        canvas.text((right + 5.0, y), &word, Lettering::plain(Anchor::Start).coloured(MUTED))?;
    }
    canvas.text((left - 4.0, frame.top - 16.0), "outwards, mm", Lettering::plain(Anchor::Start))
}

fn legend(canvas: &Canvas<'_>, map: &Unrolled) -> Result<(), FigureError> {
    let mut x = 62.0;
    let mut entry = |fill: Rgb, word: &str, hatch: Option<Aside>| -> Result<(), FigureError> {
        canvas.block((x, 9.0), (x + 18.0, 21.0), fill)?;
        if let Some(kind) = hatch {
            let (low, high) = if kind.lean() > 0 { (21.0, 9.0) } else { (9.0, 21.0) };
            for stripe in 0..3_u8 {
                let from = x + 6.0 * f64::from(stripe);
                canvas.line(&[(from, low), (from + 6.0, high)], Stroke(INK, 1.4))?;
            }
        }
        canvas.text((x + 24.0, 15.0), word, Lettering::plain(Anchor::Start))?;
        x += 42.0 + 6.4 * word.chars().count() as f64;
        Ok(())
    };
    if map.deviation_mm.contains(&None) {
        entry(UNSEEN, "nothing seen", None)?;
    }
    for kind in Aside::ALL.into_iter().filter(|kind| map.set_aside.contains(&Some(*kind))) {
        entry(PAPER, kind.words().1, Some(kind))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map() -> Unrolled {
        let deviation = |cell: usize| if cell == 5 { None } else { Some(0.01 * (cell as f64 - 6.0)) };
        Unrolled {
            label: "test".into(),
            id: "t".into(),
            heights_mm: vec![0.0, 1.0, 2.0],
            azimuths_rad: (0..4).map(|quarter| f64::from(quarter) * std::f64::consts::FRAC_PI_2).collect(),
            deviation_mm: (0..12).map(deviation).collect(),
            set_aside: (0..12)
                .map(|cell| [None, Some(Aside::Raised), Some(Aside::Lost)].get(cell).copied().flatten())
                .collect(),
        }
    }

    #[test]
    fn scale_is_symmetric_and_round() -> Result<(), FigureError> {
        let (svg, end) = unrolled(&map())?;
        assert!((end - 0.1).abs() < 1e-12); // greatest size 0.06, rounded up to 1, 2 or 5
        assert!(
            svg.contains("url(#hatch-raised-t)") && svg.contains("url(#hatch-lost-t)") && svg.contains("nothing seen")
        );
        Ok(())
    }

    #[test]
    fn pixels_run_from_the_highest_row_down() -> Result<(), Box<dyn std::error::Error>> {
        let bytes = picture(&map(), 3, 4, 0.1)?;
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info()?;
        let mut pixels = vec![0; reader.output_buffer_size().unwrap_or(0)];
        let info = reader.next_frame(&mut pixels)?;
        assert_eq!((info.width, info.height), (4, 3));
        Ok(())
    }

    #[test]
    fn ragged_grid_is_refused() {
        let broken = Unrolled { set_aside: vec![], ..map() };
        assert!(unrolled(&broken).is_err());
    }
}
