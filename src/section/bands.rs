//! The points of one wall, sorted into bands of equal height.

use std::ops::Range;

use rayon::prelude::*;

use super::Aside;
use crate::axis::HalfPlane;
use crate::profile::{Station, Stations};

/// Walls that lean further have no section worth the name: a deviation along the normal is 1 / `LEAST_STEEPNESS` times as
/// long across the axis (project).
const LEAST_STEEPNESS: f64 = 0.3;

/// Share of the height left out above the foot and below the rim: between is the body (project).
pub const BODY_MARGIN: f64 = 0.1;

/// Bands of equal height between two heights.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heights {
    /// Lower edge of the lowest band, mm.
    pub low: f64,
    /// Height of a band, mm.
    pub step: f64,
    /// How many bands.
    pub count: usize,
}

impl Heights {
    /// Bands over what lies between `low` and `tall`, as high as if `most` of them or one or two fewer filled 0 to `tall`.
    ///
    /// A tenth and nine tenths of the whole height are middles of bands, so that a body that ends there is as high on a
    /// coarse scan as on a dense one. The lowest band may begin below `low`, the highest end above `tall`.
    ///
    /// # Units
    /// mm; `low` is not negative.
    ///
    /// # Example
    /// Of 25 bands of 4 mm the third has its middle at 10 mm, the twenty-third at 90 mm.
    /// ```
    /// use tornus::section::Heights;
    /// let bands = Heights::of_body(100.0, 0.0, 28);
    /// assert_eq!((bands.step, bands.count), (4.0, 25));
    /// assert_eq!((bands.middle(2), bands.middle(22)), (10.0, 90.0));
    /// // A floor at 6 mm: the first band begins at 4 mm.
    /// let inside = Heights::of_body(100.0, 6.0, 28);
    /// assert_eq!((inside.low, inside.count, inside.middle(1)), (4.0, 24, 10.0));
    /// ```
    #[must_use]
    pub fn of_body(tall: f64, low: f64, most: usize) -> Self {
        /// What rounding may leave of a band that is not needed.
        const ROUNDING: f64 = 1e-9;
        let share = 1.0 - 2.0 * BODY_MARGIN;
        let body = (most.saturating_sub(2) as f64 * share).floor().max(4.0);
        let (step, margin) = (share * tall / body, BODY_MARGIN * tall);
        // Bands from one whose middle is an end of the body to the one that holds a height, less half of the first.
        let beyond = |height: f64| (height / step - 0.5 - ROUNDING).ceil();
        let (below, above) = (beyond(margin - low), beyond(margin));
        let count = (body + 1.0 + below + above).max(1.0) as usize;
        Self { low: margin - (below + 0.5) * step, step, count }
    }

    /// The same bands, each cut into as many lower ones.
    #[must_use]
    pub fn split(&self, parts: usize) -> Self {
        Self { low: self.low, step: self.step / parts as f64, count: self.count * parts }
    }

    /// The middle height of a band, mm.
    #[must_use]
    pub fn middle(&self, band: usize) -> f64 {
        self.low + (band as f64 + 0.5) * self.step
    }

    /// The band of a height; `None` outside.
    #[must_use]
    pub fn band(&self, height: f64) -> Option<usize> {
        let place = (height - self.low) / self.step;
        (place >= 0.0 && place < self.count as f64).then_some(place as usize)
    }
}

/// The points of one wall by band; inside a band in the order of the scan.
#[derive(Clone, Debug, PartialEq)]
pub struct Bands {
    /// The bands' heights.
    pub heights: Heights,
    starts: Vec<usize>,
    azimuth: Vec<f64>,
    deviation: Vec<f64>,
    aside: Vec<Aside>,
}

/// In no band.
const NO_BAND: u32 = u32::MAX;

impl Bands {
    /// Sorts the points that belong to the stations `wall` into bands.
    ///
    /// The deviation is the radial distance from the mean meridian, mm, positive outwards. Points where the wall leans
    /// too far are left out; what is set aside is there with its mark.
    #[must_use]
    pub fn new(
        points: &HalfPlane,
        (member, marks): (&[u32], &[Aside]),
        stations: &Stations,
        wall: &Range<usize>,
        heights: Heights,
    ) -> Self {
        // Which band each point is in, and how far off the meridian it lies.
        let placed: Vec<(u32, f64)> = (0..points.len())
            .into_par_iter()
            .with_min_len(4096)
            .map(|index| {
                let (radius, height) = (points.radius[index], points.height[index]);
                let station = member[index] as usize;
                if !wall.contains(&station) {
                    return (NO_BAND, 0.0);
                }
                let off = radial_deviation(radius, height, stations, station);
                match heights.band(height).zip(off) {
                    Some((band, off)) => (band as u32, off),
                    None => (NO_BAND, 0.0),
                }
            })
            .collect();
        let mut starts = vec![0; heights.count + 1];
        for &(band, _) in placed.iter().filter(|(band, _)| *band != NO_BAND) {
            starts[band as usize + 1] += 1;
        }
        for band in 0..heights.count {
            starts[band + 1] += starts[band];
        }
        let mut next = starts.clone();
        let total = starts[heights.count];
        let (mut azimuth, mut deviation) = (vec![0.0; total], vec![0.0; total]);
        let mut aside = vec![Aside::Kept; total];
        for (index, &(band, off)) in placed.iter().enumerate().filter(|(_, (band, _))| *band != NO_BAND) {
            let slot = next[band as usize];
            next[band as usize] += 1;
            azimuth[slot] = points.azimuth[index];
            deviation[slot] = off;
            aside[slot] = marks[index];
        }
        Self { heights, starts, azimuth, deviation, aside }
    }

    /// Azimuths (rad, in (-pi, pi]) and radial deviations (mm) of neighbouring bands, band by band.
    #[must_use]
    pub fn points(&self, bands: Range<usize>) -> (&[f64], &[f64]) {
        let range = self.starts[bands.start]..self.starts[bands.end];
        (&self.azimuth[range.clone()], &self.deviation[range])
    }

    /// The marks of the points of neighbouring bands, in the same order.
    #[must_use]
    pub fn marks(&self, bands: Range<usize>) -> &[Aside] {
        &self.aside[self.starts[bands.start]..self.starts[bands.end]]
    }

    /// How many points lie in bands.
    #[must_use]
    pub fn len(&self) -> usize {
        self.azimuth.len()
    }

    /// Whether no point lies in a band.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.azimuth.is_empty()
    }
}

/// Distance of a point from the meridian along the radius, at the point's own height, mm; `None` where the meridian leans
/// too far, or the point lies beyond its end. `nearest` is the point's station.
///
/// A wall beside the axis meets the point's height further along than where it is nearest to the point, so that the search
/// goes on from station to station; along the normal a curved wall's eccentricity would show with its square.
#[must_use]
pub fn radial_deviation(radius: f64, height: f64, meridian: &Stations, nearest: usize) -> Option<f64> {
    /// Stations gone to at most, and rounds at each.
    const HOPS: usize = 4;
    const ROUNDS: usize = 3;
    /// Steepness below which there is no way on.
    const FLAT: f64 = 0.05;
    let (all, spacing) = (&meridian.stations, meridian.spacing);
    let (_, mut t) = all.get(nearest)?.offset(radius, height, spacing);
    if t.abs() > 1.5 * spacing {
        return None;
    }
    let mut index = nearest;
    for hop in 0..=HOPS {
        let station = &all[index];
        let [n_r, n_z] = station.normal;
        let steepness = |t: f64| n_r + station.slope_at(t, spacing) * n_z;
        for _ in 0..ROUNDS {
            let steep = steepness(t);
            if steep.abs() < FLAT {
                return None;
            }
            t += (height - station.height - station.curve(t, spacing) * n_z - t * n_r) / steep;
        }
        let further = (t / spacing).round().clamp(-(index as f64), (all.len() - 1 - index) as f64);
        if hop == HOPS || further.abs() < 1.0 {
            let on_wall = station.radius + station.curve(t, spacing) * n_r - t * n_z;
            return (steepness(t).abs() >= LEAST_STEEPNESS).then_some(radius - on_wall);
        }
        index = (index as f64 + further) as usize;
        t -= further * spacing;
    }
    None
}

/// The mean meridian at one height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeridianPoint {
    /// Radius, mm.
    pub radius: f64,
    /// Radial component of the wall's normal, 0 to 1.
    pub steepness: f64,
    /// Change of radius with height.
    pub slope: f64,
}

/// The meridian at the middle of each band; `None` where the wall does not reach or leans too far over the whole band.
#[must_use]
pub fn meridian_at(stations: &Stations, wall: &Range<usize>, heights: &Heights) -> Vec<Option<MeridianPoint>> {
    let steep: Vec<&Station> = stations.stations[wall.clone()]
        .iter()
        .filter(|s| s.normal[0].abs() >= LEAST_STEEPNESS && s.radius > 0.0)
        .collect();
    // Within the band, or where bands are lower than stations are apart between two of them.
    let near = 0.5 * heights.step.max(stations.spacing);
    (0..heights.count)
        .map(|band| {
            let height = heights.middle(band);
            let off = |station: &Station| (station.height - height).abs();
            let station = steep.iter().min_by(|a, b| off(a).total_cmp(&off(b))).filter(|s| off(s) <= near)?;
            // On the station's parabola: r = r_s + d n_r - t n_z and z = z_s + d n_z + t n_r, solved for z = height.
            let [n_r, n_z] = station.normal;
            let offset = |t: f64| station.curve(t, stations.spacing);
            let mut t = 0.0;
            for _ in 0..4 {
                t = (height - station.height - offset(t) * n_z) / n_r;
            }
            let radius = station.radius + offset(t) * n_r - t * n_z;
            let lean = station.slope_at(t, stations.spacing);
            let slope = (lean * n_r - n_z) / (lean * n_z + n_r);
            (radius > 0.0 && slope.is_finite()).then_some(MeridianPoint { radius, steepness: n_r.abs(), slope })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sphere_beside_the_axis_shows_its_eccentricity_alone() {
        // The upper part of a sphere of radius 40 mm; a second one is 0.5 mm to the side. At a given height both are circles,
        // so that seen along the radius the second is 0.5 cos(azimuth) off but for 0.5^2 / 2 r of its square.
        let arc = |a: f64| [40.0 * a.cos(), 40.0 * a.sin()];
        let path: Vec<[f64; 2]> = (0..400).map(|i| arc(0.003 * f64::from(i))).collect();
        let mut meridian = Stations::along(&path, 150).unwrap();
        meridian.bent();
        for height in [5.0, 20.0, 33.0] {
            let own = (1600.0 - f64::powi(height, 2)).sqrt();
            for side in [1.0, -1.0] {
                let radius = own + 0.5 * side;
                let off = |s: &Station| (s.radius - radius).hypot(s.height - height);
                let nearest =
                    (0..150).min_by(|&a, &b| off(&meridian.stations[a]).total_cmp(&off(&meridian.stations[b])));
                let found = radial_deviation(radius, height, &meridian, nearest.unwrap()).unwrap();
                assert!((found - 0.5 * side).abs() < 1e-3, "{height}: {found}");
            }
        }
    }
}
