//! Pieces and joints station by station, after the search over the grid.

use std::ops::Range;

use super::choice::{MOST_LEFT, Prices, Span};
use super::{ArcStation, Curve, FEWEST, Joint, Piece, Pieces};
use crate::math::density::chi_square_quantile;

/// Rounds in which joints and curves follow each other.
const ROUNDS: usize = 4;

/// A piece fits worse than its stations' uncertainty allows if chi-square exceeds this quantile.
const MISFIT_LEVEL: f64 = 0.99;

/// Stations within this many standard uncertainties of a smooth joint are left out of the published curve.
const GUARD: f64 = 2.0;

/// A span with its curve and price.
#[derive(Clone)]
struct Fitted {
    span: Span,
    curve: Curve,
    price: f64,
}

/// What all steps look at.
struct Chain<'a> {
    stations: &'a [ArcStation],
    weights: &'a [f64],
    prices: Prices,
}

/// The spans' pieces after their joints were moved and those not worth their price were merged.
pub(super) fn refine(stations: &[ArcStation], weights: &[f64], variances: &[f64], spans: Vec<Span>) -> Pieces {
    let chain = Chain { stations, weights, prices: Prices::of(stations.len()) };
    let mut fitted: Vec<Fitted> = spans.into_iter().filter_map(|span| chain.fitted(span)).collect();
    for _ in 0..ROUNDS {
        let before: Vec<Span> = fitted.iter().map(|piece| piece.span.clone()).collect();
        chain.move_joints(&mut fitted);
        chain.merge(&mut fitted);
        if fitted.iter().map(|piece| &piece.span).eq(&before) {
            break;
        }
    }
    let precise: Vec<f64> = variances.iter().map(|v| 1.0 / v).collect();
    let pieces: Vec<Piece> = fitted.iter().filter_map(|fitted| piece(stations, &precise, &fitted.span)).collect();
    let joints: Vec<Joint> = pieces.windows(2).map(|pair| joint(stations, &pair[0], &pair[1])).collect();
    let doubtful = |joint: Option<&Joint>| joint.filter(|j| j.smooth).map_or(0.0, |j| GUARD * j.u_along_mm);
    let pieces: Vec<Piece> = pieces
        .into_iter()
        .enumerate()
        .map(|(index, found)| {
            let [before, after] = [index.checked_sub(1), Some(index)].map(|i| i.and_then(|i| joints.get(i)));
            guarded(stations, &precise, found, [doubtful(before), doubtful(after)])
        })
        .collect();
    let joints = pieces.windows(2).map(|pair| joint(stations, &pair[0], &pair[1])).collect();
    Pieces { pieces, joints }
}

impl Chain<'_> {
    /// The cheaper of line and arc through a run of stations.
    fn best(&self, stations: Range<usize>) -> Option<Fitted> {
        let with = |bent| self.fitted(Span { stations: stations.clone(), bent });
        match (with(false), with(true)) {
            (Some(line), Some(arc)) => Some(if line.price <= arc.price { line } else { arc }),
            (line, arc) => line.or(arc),
        }
    }

    fn fitted(&self, span: Span) -> Option<Fitted> {
        let length = span.stations.len();
        if length < FEWEST + usize::from(span.bent) {
            return None;
        }
        let (stations, weights) = (&self.stations[span.stations.clone()], &self.weights[span.stations.clone()]);
        let curve = Curve::fit(stations, weights, span.bent)?;
        let price = self.prices.piece(span.bent) + chi_square(stations, weights, &curve);
        Some(Fitted { span, curve, price })
    }

    /// Moves every joint to where its two curves leave the least.
    fn move_joints(&self, fitted: &mut [Fitted]) {
        for index in 1..fitted.len() {
            let (before, after) = (&fitted[index - 1], &fitted[index]);
            let from = before.span.stations.start + FEWEST + 1;
            let to = after.span.stations.end.saturating_sub(FEWEST + 1);
            let Some((end, start)) = self.parting(&before.curve, &after.curve, from..to) else { continue };
            let moved = [before.span.stations.start..end, start..after.span.stations.end].map(|run| self.best(run));
            if let [Some(before), Some(after)] = moved {
                fitted[index - 1] = before;
                fitted[index] = after;
            }
        }
    }

    /// Where the first curve's stations end and the second's begin, between `from` and `to`.
    fn parting(&self, before: &Curve, after: &Curve, range: Range<usize>) -> Option<(usize, usize)> {
        let cost =
            |curve: &Curve, index: usize| self.weights[index] * curve.distance(self.stations[index].place()).powi(2);
        // Running: least price of the stations so far, all of them the first's or the last few left out.
        let second: f64 = range.clone().map(|index| cost(after, index)).sum();
        let mut rest: Vec<f64> = Vec::with_capacity(range.len() + 1);
        let mut first: Vec<f64> = Vec::with_capacity(range.len() + 1);
        let (mut sum, mut left) = (0.0, second);
        for index in range.clone() {
            first.push(sum);
            rest.push(left);
            sum += cost(before, index);
            left -= cost(after, index);
        }
        first.push(sum);
        rest.push(0.0);
        let mut least: Option<(f64, usize, usize)> = None;
        for (end, price) in first.iter().enumerate() {
            for (left, after) in rest[end..].iter().take(MOST_LEFT + 1).enumerate() {
                let (start, price) = (end + left, price + after + self.prices.left * left as f64);
                if least.is_none_or(|(best, ..)| price < best) {
                    least = Some((price, end, start));
                }
            }
        }
        least.map(|(_, end, start)| (range.start + end, range.start + start))
    }

    /// Merges neighbours while that lowers the price.
    fn merge(&self, fitted: &mut Vec<Fitted>) {
        loop {
            let mut least: Option<(f64, usize, Fitted)> = None;
            for index in 1..fitted.len() {
                let (before, after) = (&fitted[index - 1], &fitted[index]);
                let Some(one) = self.best(before.span.stations.start..after.span.stations.end) else { continue };
                let left = after.span.stations.start - before.span.stations.end;
                let gain = one.price - before.price - after.price - self.prices.left * left as f64;
                if gain < 0.0 && least.as_ref().is_none_or(|(best, ..)| gain < *best) {
                    least = Some((gain, index, one));
                }
            }
            let Some((_, index, one)) = least else { return };
            fitted[index - 1] = one;
            fitted.remove(index);
        }
    }
}

fn chi_square(stations: &[ArcStation], weights: &[f64], curve: &Curve) -> f64 {
    stations.iter().zip(weights).map(|(s, w)| w * curve.distance(s.place()).powi(2)).sum()
}

/// The piece as published: fitted with the measurement's own weights, its covariance widened where it fits worse.
fn piece(stations: &[ArcStation], weights: &[f64], span: &Span) -> Option<Piece> {
    let (run, weights) = (&stations[span.stations.clone()], &weights[span.stations.clone()]);
    let widened = |bent: bool| -> Option<Curve> {
        let mut curve = Curve::fit(run, weights, bent)?;
        let free = run.len().checked_sub(2 + usize::from(bent)).filter(|free| *free > 0)? as f64;
        let square = chi_square(run, weights, &curve);
        if square > chi_square_quantile(MISFIT_LEVEL, free) {
            curve.covariance *= square / free;
        }
        Some(curve)
    };
    let curve = widened(span.bent)?;
    let arc = if span.bent { Some(curve) } else { widened(true) };
    let curvature = arc.map_or([0.0; 2], |arc| [arc.curvature, arc.covariance[(2, 2)].max(0.0).sqrt()]);
    let squares: f64 = run.iter().map(|s| curve.distance(s.place()).powi(2)).sum();
    let rms_mm = (squares / run.len() as f64).sqrt();
    Some(Piece { stations: span.stations.clone(), bent: span.bent, curve, curvature, rms_mm })
}

/// The piece fitted again without the stations that a smooth joint leaves in doubt, within `doubtful` mm of either end: they
/// were given to the neighbour they fit better, and would make the curve look more certain, and more bent, than it is.
fn guarded(stations: &[ArcStation], weights: &[f64], found: Piece, doubtful: [f64; 2]) -> Piece {
    let run = found.stations.clone();
    let [first, last] = [run.start, run.end - 1].map(|index| stations[index].place());
    let apart = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let inside = |index: &usize| {
        let place = stations[*index].place();
        apart(place, first) >= doubtful[0] && apart(place, last) >= doubtful[1]
    };
    let (Some(start), Some(end)) = (run.clone().find(inside), run.clone().rev().find(inside)) else { return found };
    if end + 1 < start + FEWEST.max(run.len() / 2) + 2 {
        return found;
    }
    let span = Span { stations: start..end + 1, bent: found.bent };
    piece(stations, weights, &span).map_or(found, |kept| Piece { stations: run, ..kept })
}

/// The joint between the last station of one piece and the first of the next.
fn joint(stations: &[ArcStation], before: &Piece, after: &Piece) -> Joint {
    let (last, first) = (stations[before.stations.end - 1].place(), stations[after.stations.start].place());
    let near = [0.5 * (last[0] + first[0]), 0.5 * (last[1] + first[1])];
    let gap = (last[0] - first[0]).hypot(last[1] - first[1]);
    // Where curves touch the place is uncertain by several stations, but never by more than half of either piece.
    let shorter = before.stations.len().min(after.stations.len());
    Joint::between(&before.curve, &after.curve, near, gap * (0.5 * shorter as f64).max(2.0))
}
