//! Which part of a wall was seen from both sides.

/// A radius and a height, mm.
type Place = (f64, f64);

/// A meridian that ends within this share of the greatest radius from the axis reaches the axis.
const REACHES_AXIS: f64 = 0.08;
/// Stations further apart than this many times the usual step leave a gap between them; common practice, no source.
const GAP: f64 = 4.0;
/// An inner wall of which more than this share lies outside the outer wall contradicts it; common practice, no source.
const CONTRADICTS: f64 = 0.1;

/// Whether the inner meridian lies outside the outer one along more than a tenth of its stations.
///
/// No vessel is like that: the walls were told apart wrongly, and what rests on them is not to be relied on.
#[must_use]
pub fn walls_contradict(outer: &[(f64, f64)], inner: &[(f64, f64)]) -> bool {
    let outside = inner.iter().filter(|place| !within(outer, **place)).count();
    outside as f64 > CONTRADICTS * inner.len() as f64
}

/// The closed outlines of the wall where both its sides were seen; nothing where the walls contradict each other.
pub(super) fn filled(outer: &[Place], inner: &[Place]) -> Vec<Vec<Place>> {
    if inner.is_empty() || walls_contradict(outer, inner) {
        return Vec::new();
    }
    runs(floor_left_out(outer, inner), |place| within(outer, place))
        .into_iter()
        .filter_map(|run| {
            let (first, last) = (*run.first()?, *run.last()?);
            let at_rim = inner.first().is_some_and(|rim| distance(*rim, first) < 1e-9);
            let reaches_axis = last.0 <= REACHES_AXIS * widest(outer);
            let top = if at_rim { outer.len() - 1 } else { nearest(outer, first) };
            let bottom = if reaches_axis { 0 } else { nearest(outer, last) };
            let side = outer.get(bottom..=top)?;
            Some(side.iter().copied().chain(run).collect())
        })
        .collect()
}

/// A meridian in pieces, broken where its stations leave a gap.
pub(super) fn pieces(meridian: &[Place]) -> Vec<Vec<Place>> {
    runs(meridian, |_| true)
}

/// Where the underside was not seen the floor's thickness is unknown: the wall ends where the foot's edge comes nearest.
fn floor_left_out<'a>(outer: &[Place], inner: &'a [Place]) -> &'a [Place] {
    let edge = outer.first().map_or(0.0, |(r, _)| *r);
    let floor_known = edge <= REACHES_AXIS * widest(outer);
    let seen_to = inner.iter().position(|place| !floor_known && nearest(outer, *place) == 0).unwrap_or(inner.len());
    &inner[..seen_to]
}

/// Consecutive stations that are wanted and have no gap between them.
fn runs(meridian: &[Place], wanted: impl Fn(Place) -> bool) -> Vec<Vec<Place>> {
    let mut steps: Vec<f64> = meridian.windows(2).map(|pair| distance(pair[0], pair[1])).collect();
    steps.sort_by(f64::total_cmp);
    // Of a handful of stations the usual step is not known.
    let most = if steps.len() < 8 { f64::INFINITY } else { GAP * steps[steps.len() / 2] };
    let mut runs: Vec<Vec<Place>> = vec![Vec::new()];
    for place in meridian {
        let run_on = runs.last().and_then(|run| run.last()).is_none_or(|last| distance(*last, *place) <= most);
        if !wanted(*place) || !run_on {
            runs.push(Vec::new());
        }
        if let Some(run) = runs.last_mut().filter(|_| wanted(*place)) {
            run.push(*place);
        }
    }
    runs.retain(|run| run.len() > 1);
    runs
}

/// Whether a place lies within the outer meridian, closed by the axis: even-odd rule.
fn within(outer: &[Place], (r, z): Place) -> bool {
    let (Some(first), Some(last)) = (outer.first(), outer.last()) else { return false };
    // The rim is rounded: the inner wall may begin at the very top of the outer.
    let top = outer.iter().map(|p| p.1).fold(last.1, f64::max);
    let closed =
        [(0.0, first.1)].into_iter().chain(outer.iter().copied()).chain([(last.0, top + 1.0), (0.0, top + 1.0)]);
    let corners: Vec<Place> = closed.collect();
    let mut inside = false;
    for (index, (r1, z1)) in corners.iter().enumerate() {
        let (r2, z2) = corners[(index + 1) % corners.len()];
        if (*z1 > z) != (z2 > z) && r < r1 + (z - z1) / (z2 - z1) * (r2 - r1) {
            inside = !inside;
        }
    }
    inside
}

fn nearest(meridian: &[Place], place: Place) -> usize {
    let from = |index: &usize| distance(meridian[*index], place);
    (0..meridian.len()).min_by(|a, b| from(a).total_cmp(&from(b))).unwrap_or(0)
}

fn distance(a: Place, b: Place) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

fn widest(meridian: &[Place]) -> f64 {
    meridian.iter().map(|(r, _)| *r).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A beaker of 50 mm radius and 100 mm height with stations every 5 mm.
    fn beaker(radius: f64, floor: f64) -> Vec<Place> {
        let side = (0..=20).map(|i| (radius, 5.0 * f64::from(i))).filter(|p| p.1 > floor);
        (0..10).map(|i| (0.1 * f64::from(i) * radius, floor)).chain(side).collect()
    }

    fn inside() -> Vec<Place> {
        beaker(45.0, 6.0).into_iter().rev().collect()
    }

    #[test]
    fn walls_that_were_exchanged_contradict() {
        assert!(!walls_contradict(&beaker(50.0, 0.0), &inside()));
        let (outer, inner): (Vec<Place>, Vec<Place>) =
            (beaker(45.0, 6.0), beaker(50.0, 0.0).into_iter().rev().collect());
        assert!(walls_contradict(&outer, &inner));
        assert!(filled(&outer, &inner).is_empty());
    }

    #[test]
    fn whole_wall_is_one_piece_with_every_station() {
        let (outer, inner) = (beaker(50.0, 0.0), inside());
        let found = filled(&outer, &inner);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].len(), outer.len() + inner.len());
    }

    #[test]
    fn wall_ends_where_the_inside_was_last_seen() {
        let upper: Vec<Place> = inside().into_iter().filter(|p| p.1 > 50.0).collect();
        let found = filled(&beaker(50.0, 0.0), &upper);
        assert_eq!(found.len(), 1);
        assert!(found[0].iter().all(|p| p.1 > 50.0));
    }

    #[test]
    fn floor_is_not_filled_where_the_underside_was_not_seen() {
        let outer: Vec<Place> = beaker(50.0, 0.0).into_iter().filter(|p| p.0 > 49.0).collect();
        let found = filled(&outer, &inside());
        assert_eq!(found.len(), 1);
        assert!(found[0].iter().all(|p| p.0 > 44.0));
    }

    #[test]
    fn gap_of_the_inside_is_not_bridged() {
        let holed: Vec<Place> = inside().into_iter().filter(|p| !(40.0..80.0).contains(&p.1)).collect();
        assert_eq!(filled(&beaker(50.0, 0.0), &holed).len(), 2);
        assert_eq!(pieces(&holed).len(), 2);
    }
}
