//! The meridian moved to where every point of the scan, its lobes taken off, puts it.

use super::lobes::{Centres, radius_without_lobes};
use super::located::Located;
use super::wall::Wall;
use crate::math::robust;
use crate::profile::{Station, Stations};
use crate::section::{Aside, NO_STATION};

/// Points that lie further off than this many scales of the whole surface have no say: handles, chips, loose parts.
const FAR: f64 = 5.0;

/// A station of whose points more than this share lie that far off is itself misplaced (project; what is not set aside and
/// yet no part of the wall is a few in a hundred).
const MISPLACED: f64 = 0.25;

/// Uncertainty of a station that is not to be moved, mm.
const CERTAIN_MM: f64 = 1e-6;

/// Points of its own that a station needs to be heard.
const FEWEST: f64 = 4.0;

/// Points that the scatter at a station is taken from, at least; with fewer of its own its neighbours' help.
const WINDOW_POINTS: f64 = 60.0;
const WINDOW_STATIONS: usize = 4;

/// Rounds in which the stations' places and their curve follow each other.
const ROUNDS: usize = 3;

/// Sums over a station's points: their number, place t along the tangent and its square, offset and its square; and how many
/// lay too far off to be heard.
#[derive(Clone, Copy, Default)]
struct Sums {
    count: f64,
    far: f64,
    place: f64,
    place_square: f64,
    offset: f64,
    offset_square: f64,
}

impl Sums {
    fn enter(&mut self, t: f64, offset: f64) {
        self.count += 1.0;
        self.place += t;
        self.place_square += t * t;
        self.offset += offset;
        self.offset_square += offset * offset;
    }

    /// Mean offset about the curve of `now` where the sums were taken about that of `then`.
    fn mean(&self, then: &Station, now: &Station) -> f64 {
        let (slope, bend) = (now.slope - then.slope, now.bend - then.bend);
        (self.offset - slope * self.place - 0.5 * bend * self.place_square) / self.count
    }

    fn is_misplaced(&self) -> bool {
        self.far > MISPLACED * (self.far + self.count)
    }

    fn variance(&self) -> f64 {
        (self.offset_square / self.count - (self.offset / self.count).powi(2)).max(0.0)
    }
}

/// Moves each station to where its points lie, states its uncertainty, and takes what the sections' meridian moved by off
/// their means; z = 0 is put back to the foot.
pub(super) fn polish(located: &mut Located, walls: &mut [Wall]) {
    let radius = radius_without_lobes(located, walls, Centres::TakenOff);
    let first = located.stations.clone();
    let mut sums = put_right(located, &radius);
    let wider = located.aside.contains(&Aside::Fringe).then(|| {
        clear_of_edges(&mut sums, summed(located, &radius, |aside| *aside == Aside::Kept));
        summed(located, &radius, |aside| aside.is_clear())
    });
    let before = located.stations.clone();
    let own = uncertainties(&sums);
    let known: Vec<bool> = own.iter().map(|u| u.is_finite()).collect();
    // As good as certain, and alike, but where nothing is known.
    let unknown: Vec<f64> = known.iter().map(|known| if *known { CERTAIN_MM } else { f64::INFINITY }).collect();
    let mut between = Vec::new();
    for _ in 0..ROUNDS {
        let mut next = before.clone();
        for (index, sum) in sums.iter().enumerate().filter(|(_, sum)| sum.count > 0.0) {
            next.shift(index, sum.mean(&before.stations[index], &located.stations.stations[index]));
        }
        located.unsmoothed = next.clone();
        let (next, u) = next.smoothed(&own);
        // Again for those without points of their own: their neighbours lie better now.
        let (next, _) = next.smoothed(&unknown);
        let (next, sagitta) = next.bridged(&known);
        between = sagitta;
        // Lobes that were not taken off scatter the stations of a thinly scanned wall.
        let mut next = next.unkinked();
        next.bent();
        located.stations = next;
        located.u_offset = u;
    }
    located.u_own = own;
    if let Some(wider) = wider {
        located.edge = edge(&sums, &wider, [&before, &located.stations]);
    }
    // Where nothing at all is near, the surface's own scatter is all that is known.
    let most = located.scale;
    for (u, sagitta) in located.u_offset.iter_mut().zip(between) {
        *u = u.min(most).hypot(sagitta / 3.0_f64.sqrt());
    }
    for wall in walls.iter_mut() {
        wall.follow(located, &first);
    }
    located.u_hidden = hidden(located, walls);
    let foot = located.rezero();
    walls.iter_mut().for_each(|wall| wall.lower(foot));
}

fn is_kept(aside: &Aside) -> bool {
    !aside.is_set_aside()
}

/// What is left of damage beside a patch is heard only by stations that have too few points without.
fn clear_of_edges(sums: &mut [Sums], clear: Vec<Sums>) {
    let enough = |(_, clear): &(&mut Sums, Sums)| clear.count >= FEWEST && !clear.is_misplaced();
    sums.iter_mut().zip(clear).filter(enough).for_each(|(sum, clear)| *sum = clear);
}

/// What a gap hides of the mean at each station: as much as of the nearest section of its wall.
fn hidden(located: &Located, walls: &[Wall]) -> Vec<f64> {
    let of_wall = |wall: &Wall| -> Vec<(f64, f64)> {
        let section = |index: usize| {
            let (fit, meridian) = (wall.fits[index].as_ref()?, wall.meridian[index]?);
            Some((wall.heights.middle(index), fit.hidden.mean_variance().sqrt() * meridian.steepness))
        };
        (0..wall.heights.count).filter_map(section).collect()
    };
    let sections: Vec<Vec<(f64, f64)>> = walls.iter().map(of_wall).collect();
    let at = |(index, station): (usize, &Station)| {
        let side = walls.iter().position(|wall| wall.stations.contains(&index)).unwrap_or(0);
        let off = |section: &&(f64, f64)| (section.0 - station.height).abs();
        sections[side].iter().min_by(|a, b| off(a).total_cmp(&off(b))).map_or(0.0, |section| section.1)
    };
    located.stations.stations.iter().enumerate().map(at).collect()
}

/// By how much each station would lie elsewhere with what is set aside grown over its fringe alone, mm along its normal.
fn edge(heard: &[Sums], wider: &[Sums], [before, now]: [&Stations; 2]) -> Vec<f64> {
    let move_of = |(index, (heard, wider)): (usize, (&Sums, &Sums))| {
        let mean = |sums: &Sums| sums.mean(&before.stations[index], &now.stations[index]);
        let told = wider.count >= FEWEST && heard.count >= FEWEST && wider.count.to_bits() != heard.count.to_bits();
        if told { mean(wider) - mean(heard) } else { 0.0 }
    };
    heard.iter().zip(wider).enumerate().map(move_of).collect()
}

/// The sums of every station over the points that are kept, once misplaced stations are put to the median of theirs.
///
/// The meridian that the axis was found with runs along a coarse mesh's facets and cuts a sharp edge's corner, by more than
/// its points' scatter: points judged by their distance from there would leave it so.
fn put_right(located: &mut Located, radius: &[f64]) -> Vec<Sums> {
    let mut sums = summed(located, radius, is_kept);
    for _ in 0..ROUNDS {
        if !sums.iter().any(Sums::is_misplaced) {
            break;
        }
        let mut offsets = vec![Vec::new(); sums.len()];
        for_each_offset(located, radius, is_kept, |station, _, offset| {
            if sums[station].is_misplaced() {
                offsets[station].push(offset);
            }
        });
        let medians: Vec<f64> = offsets.iter_mut().map(|offsets| robust::median(offsets).unwrap_or(0.0)).collect();
        // Points scattered this widely about a station are no reason to move it.
        if medians.iter().all(|median| median.abs() <= located.scale) {
            break;
        }
        let limit = located.stations.spacing;
        for (station, median) in medians.into_iter().enumerate() {
            located.stations.shift(station, median.clamp(-limit, limit));
        }
        located.stations.bent();
        sums = summed(located, radius, is_kept);
    }
    sums
}

/// The sums of every station about the curve it has, over the points that are heard.
fn summed(located: &Located, radius: &[f64], heard: impl Fn(&Aside) -> bool) -> Vec<Sums> {
    let far = FAR * located.scale;
    let mut sums = vec![Sums::default(); located.stations.stations.len()];
    for_each_offset(located, radius, heard, |station, t, offset| {
        if offset.abs() <= far {
            sums[station].enter(t, offset);
        } else {
            sums[station].far += 1.0;
        }
    });
    sums
}

/// Hands every heard point's station, place along the tangent and offset to `enter`.
fn for_each_offset(
    located: &Located,
    radius: &[f64],
    heard: impl Fn(&Aside) -> bool,
    mut enter: impl FnMut(usize, f64, f64),
) {
    let spacing = located.stations.spacing;
    for (index, &station) in located.member.iter().enumerate() {
        if station == NO_STATION || !heard(&located.aside[index]) {
            continue;
        }
        let place = &located.stations.stations[station as usize];
        let (offset, t) = place.offset(radius[index], located.points.height[index], spacing);
        if t.abs() <= spacing {
            enter(station as usize, t, offset);
        }
    }
}

/// Standard uncertainty of each station's own mean offset, mm; infinite with too few points to tell.
fn uncertainties(sums: &[Sums]) -> Vec<f64> {
    (0..sums.len())
        .map(|index| {
            let window = window(sums, index);
            let enough = sums[index].count >= FEWEST && window.count > FEWEST;
            if enough { (window.variance() / sums[index].count).sqrt() } else { f64::INFINITY }
        })
        .collect()
}

/// The sums over a station and as many neighbours as the scatter at it needs.
fn window(sums: &[Sums], index: usize) -> Sums {
    let mut total = sums[index];
    for reach in 1..=WINDOW_STATIONS {
        if total.count >= WINDOW_POINTS {
            break;
        }
        for other in [index.checked_sub(reach), Some(index + reach)].into_iter().flatten() {
            if let Some(sum) = sums.get(other) {
                total.count += sum.count;
                total.offset += sum.offset;
                total.offset_square += sum.offset_square;
            }
        }
    }
    total
}
