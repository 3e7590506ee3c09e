//! A map of vessels in the plane of two principal components; each point is a link.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Canvas, Drawing, Lettering, Point, Stroke};
use super::error::FigureError;
use super::marker::{self, Marker};
use super::markup::escape;
use super::oklab::Rgb;
use super::palette::{BAR, INK, MUTED, PAPER};
use super::placement::Placement;
use super::silhouette::{common_scale, silhouette};

/// One vessel on the map.
#[derive(Clone, Debug, PartialEq)]
pub struct ScorePoint {
    /// The vessel's name, shown on hovering.
    pub name: String,
    /// What is shown below the name on hovering.
    pub note: String,
    /// Where a click leads; empty for nowhere.
    pub href: String,
    /// Score on the first axis.
    pub x: f64,
    /// Score on the second axis.
    pub y: f64,
    /// Standard uncertainty of `x`, where known.
    pub u_x: Option<f64>,
    /// Standard uncertainty of `y`, where known.
    pub u_y: Option<f64>,
    /// Whether `x` is only an upper bound; heeded by the strip of grades.
    pub at_most: bool,
    /// Index of the vessel's group; `None` for none.
    pub group: Option<usize>,
    /// Whether to ring and name the point.
    pub outlier: bool,
}

/// A form drawn at the end of an axis: height and radius in one unit.
#[derive(Clone, Debug, PartialEq)]
pub struct AxisForm {
    /// 0 for the horizontal axis, 1 for the vertical.
    pub axis: usize,
    /// Which end of the axis: negative for the lower.
    pub side: f64,
    /// Words under it.
    pub caption: String,
    /// Radius and height from foot to rim, or around a half-section.
    pub outline: Vec<(f64, f64)>,
}

/// What a map shows.
#[derive(Clone, Debug, PartialEq)]
pub struct ScoreMap {
    /// What the figure is, for readers who cannot see it.
    pub label: String,
    /// Words under the horizontal axis.
    pub x_label: String,
    /// Words beside the vertical axis.
    pub y_label: String,
    /// The vessels.
    pub points: Vec<ScorePoint>,
    /// Names of the groups, in the order of their indices.
    pub groups: Vec<String>,
    /// What a point without a group is.
    pub ungrouped: &'static str,
    /// Forms at the ends of the axes.
    pub forms: Vec<AxisForm>,
}

const WIDTH: f64 = 860.0;
const HEIGHT: f64 = 640.0;
const MARK: f64 = 5.5;
/// Size of the letters of names.
const NAME_SIZE: f64 = 13.0;
/// Axes are drawn to one scale unless that would squeeze the shorter below this share of the longer.
const LEAST_ASPECT: f64 = 0.35;
/// Uncertainty bars reach two standard uncertainties to each side.
const COVERAGE_FACTOR: f64 = 2.0;

/// Share of the scores' range that uncertainty bars may add to each side; longer bars run to the frame.
const MOST_FOR_BARS: f64 = 0.25;

/// Draws a map of scores; returns it with whether both axes have one scale.
///
/// # Errors
/// [`FigureError::NotEnough`] without a point.
pub fn score_map(map: &ScoreMap) -> Result<(String, bool), FigureError> {
    if map.points.is_empty() {
        return Err(FigureError::NotEnough { figure: "score map", needed: "at least one vessel" });
    }
    let with_forms = !map.forms.is_empty();
    let (left, bottom) = if with_forms { (150.0, HEIGHT - 140.0) } else { (75.0, HEIGHT - 55.0) };
    let legend = 34.0;
    let (frame, one_scale) = frame(map, (left, legend + 10.0, WIDTH - 15.0, bottom));
    let colours = marker::colours();
    let mut drawing = Drawing::new(WIDTH, HEIGHT);
    drawing.layer(|canvas| {
        frame.draw(canvas, true)?;
        let zero = frame.at(0.0, 0.0);
        canvas.line(&[(frame.left, zero.1), (frame.right, zero.1)], Stroke(MUTED, 0.8))?;
        canvas.line(&[(zero.0, frame.top), (zero.0, frame.bottom)], Stroke(MUTED, 0.8))?;
        draw_legend(canvas, map, colours)
    })?;
    let scale = common_scale(map.forms.iter().map(|f| f.outline.as_slice()), (76.0, 66.0));
    for form in &map.forms {
        let at = form_place(&frame, form);
        drawing.layer(|canvas| {
            silhouette(canvas, &form.outline, at, scale)?;
            canvas.text((at.0, at.1 + 42.0), &form.caption, Lettering::plain(Anchor::Middle).coloured(MUTED))
        })?;
    }
    draw_points(&mut drawing, &frame, map, colours)?;
    Ok((drawing.finish(&map.label), one_scale))
}

/// The range of scores, with zero, some margin, and uncertainty bars as far as they do not squeeze the scores.
fn span(scores: impl Iterator<Item = (f64, Option<f64>)>) -> (f64, f64) {
    let scores: Vec<(f64, f64)> = scores.map(|(v, u)| (v, COVERAGE_FACTOR * u.unwrap_or(0.0))).collect();
    let reach = |most: f64| {
        let ends = scores.iter().map(|(v, half)| (v - half.min(most), v + half.min(most)));
        ends.fold((0.0_f64, 0.0_f64), |(low, high), (from, to)| (low.min(from), high.max(to)))
    };
    let (low, high) = reach(0.0);
    let (low, high) = reach(MOST_FOR_BARS * (high - low));
    let margin = if high > low { 0.08 * (high - low) } else { 1.0 };
    (low - margin, high + margin)
}

/// The plotting frame that holds every point, with both axes to one scale where that leaves both legible.
fn frame(map: &ScoreMap, (left, top, right, bottom): (f64, f64, f64, f64)) -> (Frame, bool) {
    let x = span(map.points.iter().map(|p| (p.x, p.u_x)));
    let y = span(map.points.iter().map(|p| (p.y, p.u_y)));
    let (width, height) = (right - left, bottom - top);
    let per_pixel = ((x.1 - x.0) / width).max((y.1 - y.0) / height);
    let used = ((x.1 - x.0) / width).min((y.1 - y.0) / height) / per_pixel;
    let one_scale = used >= LEAST_ASPECT;
    let widen = |(low, high): (f64, f64), pixels: f64| {
        let middle = f64::midpoint(low, high);
        let half = if one_scale { 0.5 * per_pixel * pixels } else { 0.5 * (high - low) };
        (middle - half, middle + half)
    };
    let (x, y) = (widen(x, width), widen(y, height));
    let frame = Frame {
        left,
        top,
        right,
        bottom,
        x: Axis::linear(x.0, x.1, &map.x_label, 7),
        y: Axis::linear(y.0, y.1, &map.y_label, 6),
    };
    (frame, one_scale)
}

fn draw_legend(canvas: &Canvas<'_>, map: &ScoreMap, colours: &[Rgb]) -> Result<(), FigureError> {
    let mut x = 20.0;
    let mut entry = |marker: Marker, word: &str, ringed: bool| -> Result<(), FigureError> {
        if ringed {
            canvas.circle((x, 18.0), MARK + 4.0, Stroke(INK, 1.4))?;
        } else {
            marker.draw(canvas, (x, 18.0), MARK + 1.0, colours)?;
        }
        canvas.text((x + 14.0, 18.0), word, Lettering::plain(Anchor::Start))?;
        x += 36.0 + 7.2 * word.chars().count() as f64;
        Ok(())
    };
    for (index, name) in map.groups.iter().enumerate() {
        entry(Marker::of(Some(index)), name, false)?;
    }
    if map.points.iter().any(|p| p.group.is_none()) {
        entry(Marker::of(None), map.ungrouped, false)?;
    }
    if map.points.iter().any(|p| p.outlier) {
        entry(Marker::of(None), "outlier", true)?;
    }
    Ok(())
}

/// Where the form at an axis's end is drawn.
fn form_place(frame: &Frame, form: &AxisForm) -> Point {
    match (form.axis, form.side < 0.0) {
        (0, true) => (frame.left + 45.0, frame.bottom + 82.0),
        (0, false) => (frame.right - 45.0, frame.bottom + 82.0),
        (_, true) => (48.0, frame.bottom - 50.0),
        (_, false) => (48.0, frame.top + 40.0),
    }
}

fn draw_points(drawing: &mut Drawing, frame: &Frame, map: &ScoreMap, colours: &[Rgb]) -> Result<(), FigureError> {
    drawing.layer(|canvas| {
        for point in &map.points {
            draw_bars(canvas, frame, point)?;
        }
        Ok(())
    })?;
    let mut placement = Placement::default();
    for point in &map.points {
        placement.take(frame.at(point.x, point.y), if point.outlier { MARK + 4.0 } else { MARK });
    }
    let limits = (frame.left, frame.top, frame.right, frame.bottom);
    for point in &map.points {
        let at = frame.at(point.x, point.y);
        open_link(drawing, point);
        drawing.layer(|canvas| {
            if point.outlier {
                canvas.circle(at, MARK + 4.0, Stroke(INK, 1.4))?;
            }
            Marker::of(point.group).draw(canvas, at, MARK, colours)
        })?;
        close_link(drawing, point, at, f64::midpoint(frame.left, frame.right));
    }
    for point in map.points.iter().filter(|p| p.outlier) {
        let at = frame.at(point.x, point.y);
        if let Some((place, anchor)) = placement.beside(at, &point.name, NAME_SIZE, limits) {
            drawing.markup(&format!("{}\n", name_text(place, anchor.word(), "", &point.name)));
        }
    }
    Ok(())
}

/// Opens the link of a point, with what is shown on hovering.
pub(super) fn open_link(drawing: &mut Drawing, point: &ScorePoint) {
    let ScorePoint { name, note, href, .. } = point;
    let open = if href.is_empty() {
        "<g class=\"point\">".to_owned()
    } else {
        format!("<a class=\"point\" href=\"{}\">", escape(href))
    };
    drawing.markup(&format!("{open}<title>{}\n{}</title>\n", escape(name), escape(note)));
}

/// Closes the link of a point; the page's style shows its name while it is pointed at or has the keyboard's focus.
pub(super) fn close_link(drawing: &mut Drawing, point: &ScorePoint, at: Point, middle: f64) {
    let (x, anchor) = if at.0 > middle { (at.0 - 12.0, "end") } else { (at.0 + 12.0, "start") };
    let shown =
        name_text((x, at.1 - 8.0), anchor, " class=\"hover\" visibility=\"hidden\" font-weight=\"bold\"", &point.name);
    drawing.markup(&format!("{shown}{}\n", if point.href.is_empty() { "</g>" } else { "</a>" }));
}

/// A vessel's name with a rim of the page's colour, so that it is read across lines.
fn name_text((x, y): Point, anchor: &str, attributes: &str, name: &str) -> String {
    format!(
        "<text{attributes} x=\"{}\" y=\"{}\" dy=\"0.35em\" text-anchor=\"{anchor}\" font-family=\"sans-serif\" \
         font-size=\"{}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"35\" stroke-linejoin=\"round\" paint-order=\"stroke\">{}</text>",
        Drawing::steps(x),
        Drawing::steps(y),
        Drawing::steps(NAME_SIZE),
        INK.hex(),
        PAPER.hex(),
        escape(name)
    )
}

fn draw_bars(canvas: &Canvas<'_>, frame: &Frame, point: &ScorePoint) -> Result<(), FigureError> {
    let bar = Stroke(BAR, 1.2);
    let clamp = |(x, y): Point| (x.clamp(frame.left, frame.right), y.clamp(frame.top, frame.bottom));
    if let Some(u) = point.u_x {
        let half = COVERAGE_FACTOR * u;
        let ends = [frame.at(point.x - half, point.y), frame.at(point.x + half, point.y)].map(clamp);
        canvas.line(&ends, bar)?;
    }
    if let Some(u) = point.u_y {
        let half = COVERAGE_FACTOR * u;
        let ends = [frame.at(point.x, point.y - half), frame.at(point.x, point.y + half)].map(clamp);
        canvas.line(&ends, bar)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(x: f64, y: f64) -> ScorePoint {
        ScorePoint {
            name: "<a>".into(),
            note: "note".into(),
            href: "#vessel-a".into(),
            x,
            y,
            u_x: Some(0.1),
            u_y: None,
            at_most: false,
            group: Some(0),
            outlier: true,
        }
    }

    fn map(points: Vec<ScorePoint>) -> ScoreMap {
        let words = String::new;
        ScoreMap {
            label: words(),
            x_label: words(),
            y_label: words(),
            points,
            groups: vec!["one".into()],
            ungrouped: "no group",
            forms: vec![],
        }
    }

    #[test]
    fn point_is_a_link_with_its_name() -> Result<(), FigureError> {
        let (svg, _) = score_map(&map(vec![point(0.0, 0.0)]))?;
        assert!(svg.contains("<a class=\"point\" href=\"#vessel-a\"><title>&lt;a&gt;\nnote</title>"));
        assert!(svg.contains("role=\"group\""));
        Ok(())
    }

    #[test]
    fn axes_share_a_scale_unless_one_would_be_squeezed() -> Result<(), FigureError> {
        let spread = |y: f64| map(vec![point(-1.0, -y), point(1.0, y)]);
        assert!(score_map(&spread(0.8))?.1);
        assert!(!score_map(&spread(0.01))?.1);
        assert!(score_map(&map(vec![])).is_err());
        Ok(())
    }
}
