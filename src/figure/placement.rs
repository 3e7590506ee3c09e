//! Where words may stand without covering each other.

use super::canvas::{Anchor, Point};

/// A box in pixels: left, top, right, bottom.
type Bounds = (f64, f64, f64, f64);

/// Mean width of a letter in parts of its size: capitals and figures of a wide sans-serif face; common practice, no source.
const LETTER_WIDTH: f64 = 0.66;

/// Boxes already taken.
#[derive(Default)]
pub(super) struct Placement {
    taken: Vec<Bounds>,
}

impl Placement {
    /// Takes a square of half-width `half` about a point.
    pub(super) fn take(&mut self, (x, y): Point, half: f64) {
        self.taken.push((x - half, y - half, x + half, y + half));
    }

    /// A free place for a box of half-width and half-height `half` at a point, or above or below it by up to `most` eighths of
    /// its height, within `limits`; `None` where every place is taken.
    pub(super) fn near(&mut self, (x, y): Point, half: (f64, f64), most: i32, limits: Bounds) -> Option<Point> {
        let steps = (0..=most).flat_map(|step| [-step, step]);
        for shifted in steps.map(|step| y + 0.25 * half.1 * f64::from(step)) {
            let bounds = (x - half.0, shifted - half.1, x + half.0, shifted + half.1);
            let inside = bounds.0 >= limits.0 && bounds.1 >= limits.1 && bounds.2 <= limits.2 && bounds.3 <= limits.3;
            if inside && !self.taken.iter().any(|other| overlap(*other, bounds)) {
                self.taken.push(bounds);
                return Some((x, shifted));
            }
        }
        None
    }

    /// A free place for a text beside a point, within `limits`; `None` where every place is taken.
    pub(super) fn beside(&mut self, (x, y): Point, text: &str, size: f64, limits: Bounds) -> Option<(Point, Anchor)> {
        let width = LETTER_WIDTH * size * text.chars().count() as f64;
        let (half, gap) = (0.6 * size, 13.0);
        let places = [
            ((x + gap, y), Anchor::Start, (x + gap, x + gap + width)),
            ((x - gap, y), Anchor::End, (x - gap - width, x - gap)),
            ((x, y - gap - half), Anchor::Middle, (x - 0.5 * width, x + 0.5 * width)),
            ((x, y + gap + half), Anchor::Middle, (x - 0.5 * width, x + 0.5 * width)),
            ((x + gap, y - gap), Anchor::Start, (x + gap, x + gap + width)),
            ((x + gap, y + gap), Anchor::Start, (x + gap, x + gap + width)),
            ((x - gap, y - gap), Anchor::End, (x - gap - width, x - gap)),
            ((x - gap, y + gap), Anchor::End, (x - gap - width, x - gap)),
        ];
        for (at, anchor, (left, right)) in places {
            let bounds = (left, at.1 - half, right, at.1 + half);
            let inside = bounds.0 >= limits.0 && bounds.1 >= limits.1 && bounds.2 <= limits.2 && bounds.3 <= limits.3;
            if inside && !self.taken.iter().any(|other| overlap(*other, bounds)) {
                self.taken.push(bounds);
                return Some((at, anchor));
            }
        }
        None
    }
}

fn overlap(a: Bounds, b: Bounds) -> bool {
    a.0 < b.2 && b.0 < a.2 && a.1 < b.3 && b.1 < a.3
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn second_word_gives_way_to_the_first() {
        let mut placement = Placement::default();
        let limits = (0.0, 0.0, 200.0, 200.0);
        let first = placement.beside((100.0, 100.0), "one", 12.0, limits).map(|(at, _)| at);
        let second = placement.beside((100.0, 100.0), "two", 12.0, limits).map(|(at, _)| at);
        assert_eq!(first, Some((113.0, 100.0)));
        assert_eq!(second, Some((87.0, 100.0)));
    }

    #[test]
    fn no_place_outside_the_frame() {
        assert!(Placement::default().beside((5.0, 5.0), "a long name", 12.0, (0.0, 0.0, 10.0, 10.0)).is_none());
    }
}
