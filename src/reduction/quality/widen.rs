//! Measures of precision widened by what the scan cannot show, so that a smoothed or coarse scan never makes a vessel seem
//! finer than a sharp one would.
//!
//! The value stays what the scan shows: how much a kernel took away is known too roughly to be given back.

use super::Quality;
use super::hidden::{Sight, hidden};
use crate::math::gaussian_filter::transmission;
use crate::math::robust;
use crate::quantity::Source;
use crate::reduction::record::{MeasureRow, SectionRow};

/// The filter passes a sixteenth at twice its cut-off: harmonics beyond tell nothing of roundness.
const HIGHEST_IN_CUTOFFS: usize = 2;

/// Smoothing draws a wall in by half its curvature times the kernel's variance; where a mesh's density changes round the
/// vessel, so does the kernel. Standard deviation of that variance round the vessel, as a share of it (project: meshes of
/// scanners vary by tenths in density; of little weight, the kernel's length counts twice).
const UNEVEN: f64 = 0.1;

/// Of a lip's squared radius as seen the kernel's square is taken to be this share at most: beyond, nothing of the lip is left
/// (project; then three and a half times the value may be missing).
const MOST_OF_LIP: f64 = 0.75;

/// How often the standard deviation of what is hidden a vessel without deviation must exceed to be told from it: 95 %.
const ONE_SIDED_95: f64 = 1.645;

/// What a measure is made of, as far as it matters for what a scan hides from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// Root mean square over a band of harmonics.
    Band([usize; 2]),
    /// Range of a filtered section of a wall (0 outer, 1 inner).
    Range(usize),
    /// Range of the truest of the outer wall's filtered sections: what is hidden from them is as much as from the others.
    Least,
    /// Range of the whole filtered outer surface.
    Whole,
    /// Root mean square of the filtered outer surface.
    Spread,
    /// Made of sections' centres; as a diameter, twice a distance.
    Centres,
    /// A line through all of them, as a diameter.
    Line,
    /// The same, as a distance.
    Apart,
    /// Heights along the rim (0) or the foot (1).
    End(usize),
}

/// Every measure that is widened.
const KINDS: [(&str, Kind); 20] = [
    ("roundness_outer", Kind::Range(0)),
    ("roundness_best", Kind::Least),
    ("roundness_inner", Kind::Range(1)),
    ("lobing_2", Kind::Band([2, 2])),
    ("lobing_3", Kind::Band([3, 3])),
    ("lobing_4_15", Kind::Band([4, 15])),
    ("lobing_16_50", Kind::Band([16, 50])),
    ("lobing_51_150", Kind::Band([51, 150])),
    ("total_runout", Kind::Whole),
    ("surface_profile_pv", Kind::Whole),
    ("surface_profile_rms", Kind::Spread),
    ("axis_straightness_outer", Kind::Centres),
    ("axis_straightness_inner", Kind::Centres),
    ("coaxiality_inner", Kind::Line),
    ("concentricity_rim", Kind::Centres),
    ("wall_unevenness", Kind::Apart),
    ("flatness_rim", Kind::End(0)),
    ("perpendicularity_rim", Kind::End(0)),
    ("flatness_foot", Kind::End(1)),
    ("perpendicularity_foot", Kind::End(1)),
];

/// Standard uncertainty from facets, as a share of their sagitta: vertices of a thinned mesh lie off the wall by about as
/// much, all over (project; the least with which decimated scans kept within two standard uncertainties of their dense
/// ones, see the tests).
fn facet_share(kind: Kind) -> f64 {
    match kind {
        Kind::Band(_) | Kind::Spread => 0.2,
        Kind::Apart => 0.5,
        Kind::Range(_) | Kind::Least | Kind::Whole | Kind::Centres | Kind::Line => 1.0,
        Kind::End(_) => 2.0,
    }
}

/// Widens the precision among `measures`; `walls` are the sections of the outer and the inner wall.
pub(in crate::reduction) fn widen(
    measures: &mut [MeasureRow],
    walls: &[&[SectionRow]],
    quality: &Quality,
    cutoff_upr: u16,
) {
    let blur_mm = quality.blur_mm();
    let seen: Vec<Option<Seen>> = walls.iter().map(|rows| Seen::of(rows, blur_mm)).collect();
    let typical = measures.iter().find(|row| row.measure == "roundness_outer").map_or(0.0, |row| row.estimate.value());
    for row in measures {
        let Some((_, kind)) = KINDS.iter().find(|(name, _)| *name == row.measure) else { continue };
        let wall = if let Kind::Range(wall) = kind { *wall } else { 0 };
        let Some(Some(seen)) = seen.get(wall) else { continue };
        let value = row.estimate.value();
        let mut unseen = match *kind {
            Kind::Band([from, to]) => seen.band(from, to),
            Kind::Range(_) => seen.filtered(value, cutoff_upr, 2.0),
            Kind::Least => {
                let filtered = seen.filtered(value, cutoff_upr, 2.0);
                let less = if value > 0.0 { (typical / value).max(1.0) } else { 1.0 };
                Unseen { share: less * filtered.share, ..filtered }
            }
            Kind::Whole => {
                let filtered = seen.filtered(value, cutoff_upr, 2.0);
                Unseen { share: filtered.share + 2.0 * seen.ends(), ..filtered }
            }
            Kind::Spread => seen.filtered(value, cutoff_upr, 1.0),
            Kind::Centres => seen.centres(2.0),
            // An end that moves takes the extremes of a course with it, but a line through all sections by its slope alone.
            Kind::Line => Unseen { share: seen.ends(), ..seen.centres(2.0) },
            Kind::Apart => seen.centres(1.0),
            Kind::End(end) => seen.end(quality.end_bend[end]),
        };
        unseen.absolute = unseen.absolute.hypot(facet_share(*kind) * quality.sagitta_mm());
        unseen.widen(row);
    }
}

/// What a scan may leave unseen of a measure: a share of the value, and a part that would be there without any.
#[derive(Clone, Copy, Debug, Default)]
struct Unseen {
    share: f64,
    absolute: f64,
    /// A part of the same kind that may be missing from a value of 0 as well, but adds to a value as powers do.
    amplitude: f64,
}

impl Unseen {
    fn widen(&self, row: &mut MeasureRow) {
        let value = row.estimate.value();
        let missing = self.share * value + value.hypot(self.amplitude) - value;
        row.widen(Source::Sampling, missing.hypot(self.absolute));
        let raised =
            |limit: f64| (limit * (1.0 + self.share)).hypot(ONE_SIDED_95 * self.absolute).hypot(self.amplitude);
        row.detection_limit = row.detection_limit.map(raised);
    }
}

/// What the body of one wall shows.
struct Seen {
    /// Root mean square over the body of each harmonic's amplitude, mm.
    amplitudes: Vec<f64>,
    sight: Sight,
    /// Height from the lowest section to the highest, mm.
    height_mm: f64,
}

impl Seen {
    fn of(rows: &[SectionRow], smoothing_mm: f64) -> Option<Self> {
        let body: Vec<&SectionRow> = rows.iter().filter(|row| row.body).collect();
        let radius_mm = robust::median(&mut body.iter().map(|row| row.radius.value()).collect::<Vec<_>>())?;
        // The first and the last lie half beyond the body: where the wall ends there they have few points.
        let within = body.get(1..body.len() - 1).filter(|within| !within.is_empty()).unwrap_or(&body);
        let highest = within.iter().map(|row| row.harmonics.len()).min()?;
        let mean_square = |n: usize| {
            within.iter().map(|row| row.harmonics[n].amplitude.value().powi(2)).sum::<f64>() / within.len() as f64
        };
        let amplitudes = (0..highest).map(|n| mean_square(n).sqrt()).collect();
        let height_mm = body.last()?.height_mm - body.first()?.height_mm;
        let sight = Sight { radius_mm, smoothing_mm };
        (radius_mm > 0.0).then_some(Self { amplitudes, sight, height_mm })
    }

    /// How unevenly the wall may have been drawn in, mm.
    fn drawn_in(&self) -> f64 {
        0.5 * UNEVEN * self.sight.smoothing_mm.powi(2) / self.sight.radius_mm
    }

    fn band(&self, from: usize, to: usize) -> Unseen {
        let amplitude = hidden(&self.amplitudes, from..=to, &self.sight, None);
        Unseen { share: 0.0, absolute: self.drawn_in(), amplitude }
    }

    /// Of a value that grows with the root of the filtered profile's power.
    fn filtered(&self, value: f64, cutoff_upr: u16, range: f64) -> Unseen {
        let cutoff = f64::from(cutoff_upr);
        let highest = HIGHEST_IN_CUTOFFS * usize::from(cutoff_upr);
        let missing = hidden(&self.amplitudes, 2..=highest, &self.sight, Some(cutoff));
        let filtered =
            |(index, amplitude): (usize, &f64)| (amplitude * transmission((index + 1) as f64, cutoff)).powi(2);
        let shown = self.amplitudes.iter().enumerate().skip(1).map(filtered).sum::<f64>().sqrt();
        let absolute = range * self.drawn_in();
        if shown > 0.0 {
            Unseen { share: (1.0_f64).hypot(missing / shown) - 1.0, absolute, amplitude: 0.0 }
        } else {
            Unseen { share: 0.0, absolute, amplitude: if value > 0.0 { 0.0 } else { missing } }
        }
    }

    /// Where a smoothed wall's body ends is unclear by the kernel, as a share of its height or, if less, its radius; it has
    /// two ends (project: less left smoothed scans beyond two standard uncertainties of their sharp ones, see the tests).
    fn ends(&self) -> f64 {
        let size = self.sight.radius_mm.min(self.height_mm);
        if size > 0.0 { (self.sight.smoothing_mm / size).min(1.0) } else { 0.0 }
    }

    fn centres(&self, diameter: f64) -> Unseen {
        Unseen { share: 2.0 * self.ends(), absolute: diameter * self.drawn_in(), amplitude: 0.0 }
    }

    /// A lip's unevenness is as wide as the lip is sharp: smoothed, it goes as a wave of that length does. What is seen of the
    /// lip is smoothed too: its radius has grown by the kernel's length, as the sides of a right angle add.
    fn end(&self, bend: f64) -> Unseen {
        let seen = (self.sight.smoothing_mm * bend).powi(2).min(MOST_OF_LIP);
        let share = (0.5 * seen / (1.0 - seen)).exp_m1();
        let absolute = 0.5 * UNEVEN * self.sight.smoothing_mm.powi(2) * bend;
        Unseen { share, absolute: absolute.min(self.sight.smoothing_mm), amplitude: 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Budget, Estimate};

    fn section(highest: u16) -> SectionRow {
        let none = Estimate::exact_zero();
        let amplitude = Estimate::new(0.01, 0.0).unwrap();
        let harmonic = |upr| crate::reduction::HarmonicRow { upr, amplitude, raw_amplitude_mm: 0.01, phase_rad: 0.0 };
        SectionRow {
            height_mm: 10.0,
            body: true,
            radius: Estimate::new(50.0, 0.0).unwrap(),
            center_x: none,
            center_y: none,
            coverage: 1.0,
            masked: 0.0,
            ront_lsci: None,
            ronq_lsci: None,
            ronp_lsci: None,
            ronv_lsci: None,
            ront_mzci: None,
            ront_mcci: None,
            ront_mici: None,
            ront_found: None,
            detection_limit_mm: None,
            u_set_aside: Default::default(),
            harmonics: (1..=highest).map(harmonic).collect(),
        }
    }

    fn widened(measure: &'static str, highest: u16, quality: &Quality) -> [f64; 2] {
        let estimate = Estimate::new(0.1, 0.003).unwrap();
        let budget = Budget::of(Source::Noise, 0.003);
        let mut rows = [MeasureRow { measure, estimate, detection_limit: Some(0.01), budget, as_found: None }];
        widen(&mut rows, &[&[section(highest)]], quality, 50);
        [rows[0].estimate.standard_uncertainty(), rows[0].detection_limit.unwrap()]
    }

    #[test]
    fn a_sharp_and_dense_scan_is_left_alone() {
        for (measure, _) in KINDS.iter().filter(|(name, _)| !["roundness_inner", "lobing_51_150"].contains(name)) {
            let [u, limit] = widened(measure, 100, &Quality::default());
            assert!((u - 0.003).abs() < 1e-12 && (limit - 0.01).abs() < 1e-12, "{measure}");
        }
    }

    #[test]
    fn a_coarse_scan_owns_what_it_does_not_sample() {
        // Harmonics alike and filtered: power within 20 UPR and beyond, from the filter's own weights.
        let weight = |n: i32| (-f64::from(n * n) / 2500.0).exp2().powi(2);
        let [shown, missing] = [(2..=20).map(weight).sum::<f64>(), (21..=100).map(weight).sum::<f64>()];
        let expected = 0.1 * ((1.0 + missing / shown).sqrt() - 1.0);
        let [u, _] = widened("roundness_outer", 20, &Quality::default());
        assert!((u - 0.003_f64.hypot(expected)).abs() < 1e-9);
    }

    #[test]
    fn what_a_kernel_as_long_as_a_lip_is_sharp_takes_is_owned() {
        // Half a pitch of 2 mm is the kernel that cannot be told: of the lip's 2 mm as seen it made (1 mm x 0.5 / mm)^2 = 1/4 of
        // the square, so that it is 1/3 of the true square: exp(1/6) - 1 of the value, and 0.1 x 1 mm2 x 0.5 / mm / 2 = 0.025 mm
        // without any.
        let quality = Quality { pitch_mm: 2.0, end_bend: [0.5, 0.0], ..Quality::default() };
        let [u, limit] = widened("flatness_rim", 100, &quality);
        let share = (1.0_f64 / 6.0).exp() - 1.0;
        assert!((u - 0.003_f64.hypot(0.1 * share).hypot(0.025)).abs() < 1e-12);
        assert!((limit - (0.01 * (1.0 + share)).hypot(1.645 * 0.025)).abs() < 1e-12);
    }
}
