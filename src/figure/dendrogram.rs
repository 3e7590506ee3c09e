//! A tree of forms: leaves down the right side with their outlines, mean forms at the joints.

use super::axes::{Axis, Frame};
use super::canvas::{Anchor, Canvas, Drawing, Lettering, Point, Stroke};
use super::error::FigureError;
use super::marker::{self, Marker};
use super::markup::escape;
use super::oklab::Rgb;
use super::palette::{INK, MUTED, PAPER};
use super::placement::Placement;
use super::silhouette::{common_scale, silhouette};
use super::ticks;

/// A leaf or a joint of the tree.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Joint {
    /// The two joints below it, by index; `None` of a leaf.
    pub below: Option<(usize, usize)>,
    /// Distance at which they join; of a leaf that stands for a whole branch, that at which the branch joins.
    pub height: f64,
    /// Index of the group most of its vessels are in.
    pub group: Option<usize>,
    /// Radius and height of its form, foot to rim, all in one unit.
    pub outline: Vec<(f64, f64)>,
    /// Words beside a leaf.
    pub name: String,
    /// Where a click on a leaf leads; empty for nowhere.
    pub href: String,
    /// Whether it joins above the cut.
    pub above_cut: bool,
}

/// What a dendrogram shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Dendrogram {
    /// What the figure is, for readers who cannot see it.
    pub label: String,
    /// Words under the axis of heights.
    pub height_label: String,
    /// Leaves and joints, each after those below it; the last is the root.
    pub joints: Vec<Joint>,
}

const WIDTH: f64 = 860.0;
/// Where the root stands at most, and where leaves do.
const LEFT: f64 = 48.0;
const RIGHT: f64 = 630.0;
const TOP: f64 = 14.0;
/// Height of a leaf's line, and the boxes its outline and a joint's fit.
const ROW: f64 = 27.0;
const LEAF_BOX: (f64, f64) = (46.0, 24.0);
const JOINT_BOX: (f64, f64) = (46.0, 36.0);
/// Heights that may be ticked.
const TICKS: [f64; 11] = [0.0, 0.5, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0];
/// How far a joint's outline may step aside for another, in eighths of its box.
const MOST_STEPS: i32 = 24;

/// Draws a tree of forms, its root to the left.
///
/// # Errors
/// [`FigureError::NotEnough`] without two leaves.
pub fn dendrogram(figure: &Dendrogram) -> Result<String, FigureError> {
    let joints = &figure.joints;
    let highest = joints.iter().map(|joint| joint.height).fold(0.0, f64::max);
    let places = places(joints);
    let leaves = joints.iter().filter(|joint| joint.below.is_none()).count();
    if leaves < 2 || highest <= 0.0 {
        return Err(FigureError::NotEnough { figure: "dendrogram", needed: "at least two forms that differ" });
    }
    let bottom = TOP + ROW * leaves as f64;
    let label = format!("{}, square-root scale", figure.height_label);
    let words = TICKS.into_iter().filter(|tick| *tick <= highest).map(|tick| (along(tick), ticks::label(tick)));
    let x = Axis::linear(0.0, along(highest), &label, 1).with_ticks(words.collect());
    let x = Axis { from: 1.03 * along(highest), to: 0.0, ..x };
    let y = Axis::linear(0.0, leaves as f64, "", 1).with_ticks(Vec::new());
    let frame = Frame { left: LEFT, top: TOP, right: RIGHT, bottom, x, y };
    let at = |joint: usize| (frame.at(along(joints[joint].height), 0.0).0, TOP + ROW * (places[joint] + 0.5));
    let colours = marker::colours();
    let mut drawing = Drawing::new(WIDTH, bottom + 50.0);
    drawing.layer(|canvas| {
        draw_axis(canvas, &frame)?;
        (0..joints.len()).try_for_each(|joint| draw_branches(canvas, joints, joint, &at, colours))?;
        let Some(cut) = cut(joints).map(|height| frame.at(along(height), 0.0).0) else { return Ok(()) };
        canvas.dashed(&[(cut, TOP), (cut, bottom)], Stroke(INK, 1.2), 6.0)
    })?;
    draw_means(&mut drawing, joints, &frame, &at)?;
    draw_leaves(&mut drawing, joints, &at, colours)?;
    Ok(drawing.finish(&figure.label))
}

/// How far along the axis a height stands: its square root, since groups join many times higher than the vessels in them.
fn along(height: f64) -> f64 {
    height.sqrt()
}

/// Where each joint stands in lines from the top: leaves one below the other, joints between those below them.
fn places(joints: &[Joint]) -> Vec<f64> {
    let mut places = vec![0.0; joints.len()];
    let mut next = 0.0;
    let mut open: Vec<usize> = joints.len().checked_sub(1).into_iter().collect();
    while let Some(joint) = open.pop() {
        match joints[joint].below {
            Some((first, second)) => open.extend([second, first]),
            None => {
                places[joint] = next;
                next += 1.0;
            }
        }
    }
    for joint in 0..joints.len() {
        if let Some((first, second)) = joints[joint].below {
            places[joint] = f64::midpoint(places[first], places[second]);
        }
    }
    places
}

/// Halfway between the lowest joint above the cut and the highest below it.
fn cut(joints: &[Joint]) -> Option<f64> {
    let above = joints.iter().filter(|joint| joint.above_cut).map(|joint| joint.height).reduce(f64::min)?;
    let below = joints.iter().filter(|joint| !joint.above_cut).map(|joint| joint.height).fold(0.0, f64::max);
    Some(f64::midpoint(above, below.min(above)))
}

fn draw_axis(canvas: &Canvas<'_>, frame: &Frame) -> Result<(), FigureError> {
    let line = Stroke(INK, 1.0);
    canvas.line(&[(frame.left, frame.bottom + 4.0), (frame.right, frame.bottom + 4.0)], line)?;
    for (value, word) in &frame.x.ticks {
        let (x, y) = (frame.at(*value, 0.0).0, frame.bottom);
        canvas.line(&[(x, y + 4.0), (x, y + 8.0)], line)?;
        canvas.text((x, y + 18.0), word, Lettering::plain(Anchor::Middle).coloured(MUTED))?;
    }
    let middle = f64::midpoint(frame.left, frame.right);
    canvas.text((middle, frame.bottom + 37.0), &frame.x.label, Lettering::plain(Anchor::Middle))
}

/// The lines from a joint to those below it, or the wedge of a leaf that stands for a branch.
fn draw_branches(
    canvas: &Canvas<'_>,
    joints: &[Joint],
    joint: usize,
    at: &impl Fn(usize) -> Point,
    colours: &[Rgb],
) -> Result<(), FigureError> {
    let colour = |joint: usize| {
        if joints[joint].above_cut { INK } else { Marker::of(joints[joint].group).colour(colours) }
    };
    let (x, y) = at(joint);
    let Some((first, second)) = joints[joint].below else {
        let half = 0.3 * ROW;
        let wedge = [(x, y), (RIGHT, y - half), (RIGHT, y + half)];
        return if x < RIGHT { canvas.fill(&wedge, colour(joint)) } else { Ok(()) };
    };
    for child in [first, second] {
        let (child_x, child_y) = at(child);
        canvas.line(&[(x, y), (x, child_y)], Stroke(colour(joint), 1.5))?;
        canvas.line(&[(x, child_y), (child_x, child_y)], Stroke(colour(child), 1.5))?;
    }
    Ok(())
}

/// Mean forms: at every joint above the cut, and of every group where its branch passes the cut.
fn draw_means(
    drawing: &mut Drawing,
    joints: &[Joint],
    frame: &Frame,
    at: &impl Fn(usize) -> Point,
) -> Result<(), FigureError> {
    let Some(cut_x) = cut(joints).map(|height| frame.at(along(height), 0.0).0) else { return Ok(()) };
    let above: Vec<usize> = (0..joints.len()).filter(|&joint| joints[joint].above_cut).collect();
    let groups = above.iter().filter_map(|&joint| joints[joint].below).flat_map(|(first, second)| [first, second]);
    // A vessel alone is drawn as a leaf and needs no mean.
    let mean = |joint: &usize| !joints[*joint].above_cut && joints[*joint].height > 0.0;
    let mut wanted: Vec<(usize, Point)> = groups.filter(mean).map(|joint| (joint, (cut_x, at(joint).1))).collect();
    wanted.extend(above.iter().rev().map(|&joint| (joint, at(joint))));
    let scale = common_scale(joints.iter().map(|joint| joint.outline.as_slice()), JOINT_BOX);
    let mut placement = Placement::default();
    let within = (4.0, TOP - 6.0, RIGHT, frame.bottom + 2.0);
    for (joint, wish) in wanted {
        let outline = &joints[joint].outline;
        let (width, height) = extent(outline, scale);
        let half = (0.5 * width + 2.0, 0.5 * height + 2.0);
        let Some(place) = placement.near(wish, half, MOST_STEPS, within) else { continue };
        drawing.layer(|canvas| {
            canvas.block((place.0 - half.0, place.1 - half.1), (place.0 + half.0, place.1 + half.1), PAPER)?;
            silhouette(canvas, outline, place, scale)
        })?;
    }
    Ok(())
}

/// Width and height in pixels of a form drawn to both sides.
fn extent(outline: &[(f64, f64)], scale: f64) -> (f64, f64) {
    let low = outline.iter().map(|(_, z)| *z).fold(f64::INFINITY, f64::min);
    let high = outline.iter().map(|(_, z)| *z).fold(f64::NEG_INFINITY, f64::max);
    (2.0 * scale * outline.iter().map(|(r, _)| *r).fold(0.0, f64::max), scale * (high - low).max(0.0))
}

fn draw_leaves(
    drawing: &mut Drawing,
    joints: &[Joint],
    at: &impl Fn(usize) -> Point,
    colours: &[Rgb],
) -> Result<(), FigureError> {
    let scale = common_scale(joints.iter().map(|joint| joint.outline.as_slice()), LEAF_BOX);
    for (joint, leaf) in joints.iter().enumerate().filter(|(_, joint)| joint.below.is_none()) {
        let y = at(joint).1;
        if !leaf.href.is_empty() {
            drawing.markup(&format!("<a href=\"{}\"><title>{}</title>\n", escape(&leaf.href), escape(&leaf.name)));
        }
        drawing.layer(|canvas| {
            Marker::of(leaf.group).draw(canvas, (RIGHT + 12.0, y), 5.0, colours)?;
            silhouette(canvas, &leaf.outline, (RIGHT + 48.0, y), scale)?;
            canvas.text((RIGHT + 78.0, y), &leaf.name, Lettering::plain(Anchor::Start))
        })?;
        drawing.markup(if leaf.href.is_empty() { "" } else { "</a>\n" });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn leaf(name: &str, width: f64) -> Joint {
        let outline = vec![(width, 0.0), (width, 1.0)];
        Joint { outline, name: name.to_owned(), href: format!("#vessel-{name}"), ..Joint::default() }
    }

    fn join(below: (usize, usize), height: f64, above_cut: bool) -> Joint {
        Joint { below: Some(below), height, above_cut, ..leaf("", 0.5) }
    }

    fn tree() -> Dendrogram {
        let joints =
            vec![leaf("a", 0.4), leaf("b", 0.5), leaf("c", 0.9), join((0, 1), 1.0, false), join((2, 3), 4.0, true)];
        Dendrogram { label: "tree".into(), height_label: "distance".into(), joints }
    }

    #[test]
    fn leaves_stand_in_the_order_of_the_tree_and_joints_between_them() {
        assert_eq!(places(&tree().joints), [1.0, 2.0, 0.0, 1.5, 0.75]);
    }

    #[test]
    fn the_cut_lies_between_the_joints_it_divides() {
        assert_eq!(cut(&tree().joints), Some(2.5));
        assert_eq!(cut(&tree().joints[..4]), None);
    }

    #[test]
    fn every_leaf_is_a_link_and_one_form_is_no_tree() -> Result<(), FigureError> {
        let svg = dendrogram(&tree())?;
        for name in ["a", "b", "c"] {
            assert!(svg.contains(&format!("<a href=\"#vessel-{name}\"><title>{name}</title>")), "{name}");
        }
        let one = Dendrogram { joints: vec![leaf("a", 1.0)], ..tree() };
        assert!(dendrogram(&one).is_err());
        Ok(())
    }
}
