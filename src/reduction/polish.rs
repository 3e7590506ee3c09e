//! The meridian moved to where every point of the scan, its lobes taken off, puts it.

use nalgebra::{Matrix3, Vector3};

use super::located::Located;
use super::lobes::{Centres, radius_without_lobes};
use super::wall::Wall;
use crate::section::NO_STATION;

/// Points that lie further off than this many scales of the whole surface have no say: handles, chips, loose parts.
const FAR: f64 = 5.0;

/// Points that a station needs for a parabola of its own; with fewer its neighbours' points help to move it.
const OWN_PARABOLA: f64 = 60.0;

/// Points that such a move is taken from, at least, and stations to each side that are asked for them, at most.
const WINDOW_POINTS: f64 = 150.0;
const WINDOW_STATIONS: usize = 4;

/// Stations to each side over which the curvature is averaged where it agrees: the meridian bends smoothly but at its
/// edges, and there the stations disagree.
const BEND_STATIONS: usize = 3;

/// Curvatures agree when their scatter is less than this many times what their noise explains (squared).
const AGREEMENT: f64 = 2.5;

/// Share of the points' weight that holds slope and curvature where a station's points lie in one row.
const RIDGE: f64 = 1e-3;

/// Sums over a station's points: powers of the place t along the tangent from 0 to 4, offset d times powers from 0 to 2,
/// and d squared.
#[derive(Clone, Copy, Default)]
struct Sums {
    powers: [f64; 5],
    offsets: [f64; 3],
    square: f64,
}

impl Sums {
    fn enter(&mut self, t: f64, d: f64) {
        let mut power = 1.0;
        for (index, sum) in self.powers.iter_mut().enumerate() {
            *sum += power;
            if let Some(offset) = self.offsets.get_mut(index) {
                *offset += power * d;
            }
            power *= t;
        }
        self.square += d * d;
    }

    fn count(&self) -> f64 {
        self.powers[0]
    }

    /// Mean and variance of the offsets.
    fn moments(&self) -> (f64, f64) {
        let mean = self.offsets[0] / self.count();
        (mean, (self.square / self.count() - mean * mean).max(0.0))
    }

    /// Offset, slope and half the bend of the least-squares parabola, and the cofactor of the last.
    fn parabola(&self, half: f64) -> Option<(Vector3<f64>, f64)> {
        let p = &self.powers;
        let ridge = RIDGE * p[0];
        let square = Matrix3::new(
            p[0],
            p[1],
            p[2],
            p[1],
            p[2] + ridge * half.powi(2),
            p[3],
            p[2],
            p[3],
            p[4] + ridge * half.powi(4),
        );
        let inverse = square.cholesky()?.inverse();
        Some((inverse * Vector3::from(self.offsets), inverse[(2, 2)]))
    }

    /// Offset and slope where half the bend is given, with the cofactor of the offset.
    fn line(&self, half_bend: f64, half: f64) -> Option<(f64, f64, f64)> {
        let p = &self.powers;
        let (a, b, c) = (p[0], p[1], p[2] + RIDGE * p[0] * half.powi(2));
        let determinant = a * c - b * b;
        let (y, z) = (self.offsets[0] - half_bend * p[2], self.offsets[1] - half_bend * p[3]);
        (determinant > 0.0).then(|| ((c * y - b * z) / determinant, (a * z - b * y) / determinant, c / determinant))
    }
}

/// Moves each station to where its points lie, states its uncertainty, and takes what the sections' meridian moved by off
/// their means; z = 0 is put back to the foot.
pub(super) fn polish(located: &mut Located, walls: &mut [Wall]) {
    let sums = sums(located, walls);
    let half = 0.5 * located.stations.spacing;
    let before = located.stations.clone();
    let bends = bends(&sums, half);
    for (index, bend) in bends.into_iter().enumerate() {
        let own = bend.and_then(|half_bend| Some((half_bend, sums[index].line(half_bend, half)?)));
        if let Some((half_bend, (offset, slope, cofactor))) = own {
            let (_, variance) = sums[index].moments();
            located.stations.shift(index, offset);
            located.stations.turn(index, slope, 2.0 * half_bend);
            located.u_offset[index] = (variance * cofactor).sqrt();
        } else {
            let window = window(&sums, index);
            if window.count() < 1.0 {
                located.u_offset[index] = located.scale;
                continue;
            }
            let (mean, variance) = window.moments();
            located.stations.shift(index, mean);
            located.u_offset[index] = (variance / window.count().min(WINDOW_POINTS)).sqrt();
        }
    }
    for wall in walls.iter_mut() {
        wall.follow(located, &before);
    }
    let foot = located.rezero();
    walls.iter_mut().for_each(|wall| wall.lower(foot));
}

/// The sums of every station.
fn sums(located: &Located, walls: &[Wall]) -> Vec<Sums> {
    let radius = radius_without_lobes(located, walls, Centres::TakenOff);
    let spacing = located.stations.spacing;
    let far = FAR * located.scale;
    let mut sums = vec![Sums::default(); located.stations.stations.len()];
    for (index, &station) in located.member.iter().enumerate() {
        if station == NO_STATION {
            continue;
        }
        let place = &located.stations.stations[station as usize];
        let (offset, t) = place.offset(radius[index], located.points.height[index], spacing);
        if offset.abs() <= far && t.abs() <= spacing {
            sums[station as usize].enter(t, offset);
        }
    }
    sums
}

/// Half the change of bend of each station with points enough, averaged over neighbours that agree.
fn bends(sums: &[Sums], half: f64) -> Vec<Option<f64>> {
    let own: Vec<Option<(f64, f64)>> = sums
        .iter()
        .map(|sum| {
            if sum.count() < OWN_PARABOLA {
                return None;
            }
            let (parabola, cofactor) = sum.parabola(half)?;
            let (_, variance) = sum.moments();
            Some((parabola[2], (variance * cofactor).max(f64::MIN_POSITIVE)))
        })
        .collect();
    (0..own.len())
        .map(|index| {
            let (bend, _) = own[index]?;
            let near = index.saturating_sub(BEND_STATIONS)..(index + BEND_STATIONS + 1).min(own.len());
            let near: Vec<(f64, f64)> = own[near].iter().flatten().copied().collect();
            let weight: f64 = near.iter().map(|(_, variance)| 1.0 / variance).sum();
            let mean = near.iter().map(|(bend, variance)| bend / variance).sum::<f64>() / weight;
            let scatter: f64 = near.iter().map(|(bend, variance)| (bend - mean).powi(2) / variance).sum();
            Some(if scatter <= AGREEMENT * near.len() as f64 { mean } else { bend })
        })
        .collect()
}

/// The sums over a station and as many neighbours as a move of it needs.
fn window(sums: &[Sums], index: usize) -> Sums {
    let mut total = sums[index];
    for reach in 1..=WINDOW_STATIONS {
        if total.count() >= WINDOW_POINTS {
            break;
        }
        for other in [index.checked_sub(reach), Some(index + reach)].into_iter().flatten() {
            if let Some(sum) = sums.get(other) {
                total.powers[0] += sum.powers[0];
                total.offsets[0] += sum.offsets[0];
                total.square += sum.square;
            }
        }
    }
    total
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stations_own_parabola_is_found() {
        let mut sums = Sums::default();
        for index in 0..101 {
            let t = f64::from(index - 50) / 50.0;
            sums.enter(t, 0.3 + 0.1 * t - 0.2 * t * t);
        }
        let (parabola, _) = sums.parabola(1.0).unwrap();
        assert!((parabola - Vector3::new(0.3, 0.1, -0.2)).norm() < 2e-3);
        let (offset, slope, _) = sums.line(-0.2, 1.0).unwrap();
        assert!((offset - 0.3).abs() < 1e-12 && (slope - 0.1).abs() < 1e-3);
    }
}
