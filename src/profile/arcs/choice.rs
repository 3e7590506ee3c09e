//! How many pieces, and about where they meet: dynamic programming over a grid of stations.

use std::ops::Range;

use super::cost::Sums;
use super::{ArcStation, FEWEST};

/// Places where a piece may begin or end in this search, at most; the refinement then goes station by station.
const MOST_PLACES: usize = 220;

/// Stations that a joint may leave to neither neighbour, at most: a corner too narrow to be seen as an arc.
pub(super) const MOST_LEFT: usize = 6;

/// Price of a line, an arc with the joint before it, and of a station that is left out at a joint.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prices {
    pub(super) line: f64,
    pub(super) arc: f64,
    pub(super) left: f64,
}

impl Prices {
    /// ln n for each parameter: of a line 2, of an arc 4, of the joint before either 2, of a station left out 1, which is
    /// then fitted exactly, so that the 1 it would have added to chi-square is added back.
    ///
    /// Joint and curvature count twice, because both are sought over many possibilities: with 1 each, exact cones and
    /// cylinders come out as arcs, or in two pieces, in one scan of twenty.
    pub(super) fn of(stations: usize) -> Self {
        let each = (stations as f64).ln();
        Self { line: 4.0 * each, arc: 6.0 * each, left: each + 1.0 }
    }

    pub(super) fn piece(&self, bent: bool) -> f64 {
        if bent { self.arc } else { self.line }
    }
}

/// A run of stations on one line or arc.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Span {
    pub(super) stations: Range<usize>,
    pub(super) bent: bool,
}

/// The best chain that ends at a place.
#[derive(Clone, Copy)]
struct Best {
    price: f64,
    from: usize,
    bent: bool,
}

/// The chain of least price.
pub(super) fn choose(stations: &[ArcStation], weights: &[f64]) -> Vec<Span> {
    let count = stations.len();
    let stride = count.div_ceil(MOST_PLACES);
    let places: Vec<usize> = (0..count).step_by(stride).chain([count]).collect();
    let prices = Prices::of(count);
    let mut best = vec![Best { price: f64::INFINITY, from: 0, bent: false }; places.len()];
    let mut entered = vec![(f64::INFINITY, 0); places.len()];
    for from in 0..places.len() - 1 {
        // Begin here after a chain that ends here or, with some stations left out, before.
        entered[from] = enter(&best, &places, from, &prices);
        let start = entered[from].0;
        if !start.is_finite() {
            continue;
        }
        let mut sums = frame(stations, places[from]);
        for to in from + 1..places.len() {
            for index in places[to - 1]..places[to] {
                sums.enter(&stations[index], weights[index]);
            }
            let length = places[to] - places[from];
            for bent in [false, true] {
                if length < FEWEST + usize::from(bent) {
                    continue;
                }
                let price = start + prices.piece(bent) + if bent { sums.arc() } else { sums.line() };
                if price < best[to].price {
                    best[to] = Best { price, from, bent };
                }
            }
        }
    }
    trace(&best, &entered, &places)
}

/// Least price with which a piece may begin at place `from`, and the place where the chain before it ended.
fn enter(best: &[Best], places: &[usize], from: usize, prices: &Prices) -> (f64, usize) {
    let mut least = if from == 0 { (0.0, 0) } else { (best[from].price, from) };
    for before in (0..from).rev() {
        let left = places[from] - places[before];
        if left > MOST_LEFT {
            break;
        }
        let ended = if before == 0 { 0.0 } else { best[before].price };
        let price = ended + prices.left * left as f64;
        if price < least.0 {
            least = (price, before);
        }
    }
    least
}

/// Sums in the frame of a station: x towards the next.
fn frame(stations: &[ArcStation], at: usize) -> Sums {
    let [from, to] = [at, (at + 1).min(stations.len() - 1)].map(|index| stations[index].place());
    let way = [to[0] - from[0], to[1] - from[1]];
    let length = way[0].hypot(way[1]);
    let direction = if length > 0.0 { [way[0] / length, way[1] / length] } else { [0.0, 1.0] };
    Sums::new(from, direction)
}

/// The spans of the best chain, in order.
fn trace(best: &[Best], entered: &[(f64, usize)], places: &[usize]) -> Vec<Span> {
    let mut spans = Vec::new();
    let mut to = best.len() - 1;
    while to > 0 {
        let found = best[to];
        if !found.price.is_finite() {
            break;
        }
        spans.push(Span { stations: places[found.from]..places[to], bent: found.bent });
        to = entered[found.from].1;
    }
    spans.reverse();
    spans
}
