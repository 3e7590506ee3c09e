//! One vessel's figures, from its rows of the tables.

use std::f64::consts::TAU;

use super::ReportError;
use super::corpus::Vessel;
use super::section_choice::{OuterSections, outer_sections};
use super::seen_angles::seen_angles;
use super::tables::{ReportTables, RowIndex};
use super::vessel_pieces::pieces;
use crate::figure::FigureError;
use crate::figure::half_section::{HalfSection, half_section};
use crate::figure::meridian_pieces::{MeridianPieces, meridian_pieces};
use crate::figure::roundness_plot::{RoundnessPlot, roundness_plot};
use crate::figure::spectrum::{Harmonic, Spectrum, spectrum};
use crate::figure::unrolled::{Aside, Unrolled, unrolled};
use crate::figure::wall::walls_contradict;
use crate::table::{Table, TableError};

/// Angles of the drawn roundness profile: ten per undulation at 72 UPR, beyond the usual cut-off of 50.
const ANGLES: usize = 720;
/// Amplitude of a noise vector with unit standard deviation per coefficient that is exceeded in one case of twenty:
/// sqrt(-2 ln 0.05), Rayleigh distribution.
const RAYLEIGH_95: f64 = 2.447_746_830_680_816;

/// The per-scan tables, indexed by scan.
pub(super) struct ScanRows<'a> {
    sections: Option<&'a Table>,
    harmonics: Option<&'a Table>,
    profiles: Option<&'a Table>,
    profile_arcs: Option<&'a Table>,
    unrolled: Option<&'a Table>,
    section_rows: RowIndex<'a>,
    harmonic_rows: RowIndex<'a>,
    profile_rows: RowIndex<'a>,
    arc_rows: RowIndex<'a>,
    unrolled_rows: RowIndex<'a>,
}

impl<'a> ScanRows<'a> {
    pub(super) const TABLES: [&'static str; 5] = ["sections", "harmonics", "profiles", "profile_arcs", "unrolled"];

    pub(super) fn new(tables: &ReportTables<'a>) -> Result<Self, TableError> {
        let table = |name| tables.get(name);
        let rows = |name| RowIndex::new(table(name), "scan_id");
        Ok(Self {
            sections: table("sections"),
            harmonics: table("harmonics"),
            profiles: table("profiles"),
            profile_arcs: table("profile_arcs"),
            unrolled: table("unrolled"),
            section_rows: rows("sections")?,
            harmonic_rows: rows("harmonics")?,
            profile_rows: rows("profiles")?,
            arc_rows: rows("profile_arcs")?,
            unrolled_rows: rows("unrolled")?,
        })
    }
}

/// A drawn figure, its place among the report's files, and a number its caption states.
pub(super) struct Drawn {
    pub(super) file: String,
    pub(super) svg: String,
    pub(super) stated: f64,
}

/// One vessel's figures; what could not be drawn is `None`.
pub(super) struct VesselFigures {
    pub(super) sections: OuterSections,
    pub(super) inner_seen: bool,
    /// Whether the inner wall was read as lying outside the outer.
    pub(super) walls_contradict: bool,
    pub(super) profile: Option<Drawn>,
    /// The meridian in lines and arcs; what it states is their number.
    pub(super) pieces: Option<Drawn>,
    pub(super) roundness: Option<Drawn>,
    pub(super) spectrum: Option<Drawn>,
    pub(super) walls: Vec<(&'static str, Drawn)>,
}

impl VesselFigures {
    /// Every figure that was drawn.
    pub(super) fn drawn(&self) -> impl Iterator<Item = &Drawn> {
        let single = [&self.profile, &self.pieces, &self.roundness, &self.spectrum];
        single.into_iter().flatten().chain(self.walls.iter().map(|(_, drawn)| drawn))
    }
}

/// A figure or nothing, where nothing means that the data are not there.
fn if_enough<T>(figure: Result<T, FigureError>) -> Result<Option<T>, FigureError> {
    match figure {
        Ok(figure) => Ok(Some(figure)),
        Err(FigureError::NotEnough { .. }) => Ok(None),
        Err(error) => Err(error),
    }
}

/// Draws the figures of one vessel from its least noisy scan.
pub(super) fn vessel_figures(
    rows: &ScanRows<'_>,
    vessel: &Vessel<'_>,
    scan: &str,
    cutoff_upr: Option<f64>,
) -> Result<VesselFigures, ReportError> {
    let sections = match rows.sections {
        Some(table) => outer_sections(table, rows.section_rows.rows(scan))?,
        None => OuterSections::default(),
    };
    let file = |part: &str| format!("figures/{}-{part}.svg", vessel.slug);
    let maps = unrolled_walls(rows, vessel, scan)?;
    let (outer, inner) = meridians(rows, scan)?;
    let height = sections.chosen.as_ref().map(|s| s.height);
    let (inner_seen, contradict) = (!inner.is_empty(), walls_contradict(&outer, &inner));
    let in_pieces = match rows.profile_arcs {
        Some(table) => pieces(table, &rows.arc_rows, scan)?,
        None => Vec::new(),
    };
    let number = in_pieces.len() as f64;
    let in_pieces = if_enough(meridian_pieces(&MeridianPieces {
        label: format!("Meridian of {} in lines and arcs", vessel.id),
        outer: outer.clone(),
        inner: inner.clone(),
        pieces: in_pieces,
    }))?;
    let profile = if_enough(half_section(&HalfSection {
        label: format!("Half-section of {}", vessel.id),
        outer,
        inner,
        body: sections.body,
        section: height,
    }))?;
    let harmonics = match height {
        Some(height) => harmonics_at(rows, scan, height)?,
        None => Vec::new(),
    };
    let (roundness, spectrum) = section_figures(vessel, &sections, &harmonics, maps.first(), cutoff_upr)?;
    let mut walls = Vec::new();
    for (wall, map) in maps.iter().filter_map(|m| wall_word(&m.0).map(|w| (w, &m.1))) {
        if let Some((svg, end)) = if_enough(unrolled(map))? {
            walls.push((wall, Drawn { file: file(&format!("unrolled-{wall}")), svg, stated: end }));
        }
    }
    Ok(VesselFigures {
        profile: profile.map(|svg| Drawn { file: file("profile"), svg, stated: 0.0 }),
        pieces: in_pieces.map(|svg| Drawn { file: file("pieces"), svg, stated: number }),
        roundness: roundness.map(|(svg, stated)| Drawn { file: file("roundness"), svg, stated }),
        spectrum: spectrum.map(|svg| Drawn { file: file("spectrum"), svg, stated: 0.0 }),
        sections,
        inner_seen,
        walls_contradict: contradict,
        walls,
    })
}

fn wall_word(word: &str) -> Option<&'static str> {
    ["outer", "inner"].into_iter().find(|w| *w == word)
}

type Meridian = Vec<(f64, f64)>;

/// Radius and height of the outer wall from foot to rim, and of the inner from rim to floor.
fn meridians(rows: &ScanRows<'_>, scan: &str) -> Result<(Meridian, Meridian), TableError> {
    let (mut outer, mut inner) = (Vec::new(), Vec::new());
    if let Some(table) = rows.profiles {
        let (walls, radii, heights) = (table.texts("wall")?, table.floats("radius_mm")?, table.floats("height_mm")?);
        for row in rows.profile_rows.rows(scan) {
            if let (Some(wall), Some(radius), Some(height)) = (walls[row].as_deref(), radii[row], heights[row]) {
                if wall == "inner" { &mut inner } else { &mut outer }.push((radius, height));
            }
        }
    }
    Ok((outer, inner))
}

/// A harmonic as the figures need it.
struct HarmonicRow {
    upr: f64,
    amplitude: f64,
    raw: f64,
    phase: f64,
    u: f64,
}

fn harmonics_at(rows: &ScanRows<'_>, scan: &str, height: f64) -> Result<Vec<HarmonicRow>, TableError> {
    let Some(table) = rows.harmonics else { return Ok(Vec::new()) };
    let (walls, heights, uprs) = (table.texts("wall")?, table.floats("height_mm")?, table.integers("upr")?);
    let (amplitudes, raws) = (table.floats("amplitude_mm")?, table.floats("raw_amplitude_mm")?);
    let (phases, us) = (table.floats("phase_rad")?, table.floats("u_amplitude_mm")?);
    let mut found = Vec::new();
    for row in rows.harmonic_rows.rows(scan) {
        let here = heights[row].is_some_and(|h| h.total_cmp(&height).is_eq());
        if here
            && walls[row].as_deref() == Some("outer")
            && let (Some(upr), Some(amplitude), Some(raw)) = (uprs[row], amplitudes[row], raws[row])
        {
            let (phase, u) = (phases[row].unwrap_or(0.0), us[row].unwrap_or(0.0));
            found.push(HarmonicRow { upr: upr as f64, amplitude, raw, phase, u });
        }
    }
    Ok(found)
}

impl HarmonicRow {
    /// Amplitude that noise alone exceeds in one case of twenty.
    ///
    /// The power taken off is twice the variance of a coefficient; where nothing is left, the uncertainty of the amplitude
    /// is the root of that power.
    fn detection(&self) -> f64 {
        let power = if self.amplitude > 0.0 {
            (self.raw * self.raw - self.amplitude * self.amplitude).max(0.0)
        } else {
            self.u * self.u
        };
        RAYLEIGH_95 * (0.5 * power).sqrt()
    }
}

type Pair = (Option<(String, f64)>, Option<String>);

/// The roundness plot with its magnification, and the spectrum, of the chosen section.
fn section_figures(
    vessel: &Vessel<'_>,
    sections: &OuterSections,
    harmonics: &[HarmonicRow],
    outer: Option<&(String, Unrolled)>,
    cutoff_upr: Option<f64>,
) -> Result<Pair, FigureError> {
    let Some(section) = sections.chosen.as_ref().filter(|_| !harmonics.is_empty()) else { return Ok((None, None)) };
    let deviation = |index: usize| {
        let azimuth = TAU * index as f64 / ANGLES as f64;
        let wave = |h: &HarmonicRow| transmission(h.upr, cutoff_upr) * h.raw * (h.upr * azimuth - h.phase).cos();
        harmonics.iter().filter(|h| h.upr >= 2.0).map(wave).sum()
    };
    let plot = RoundnessPlot {
        label: format!("Roundness plot of {} at {:.1} mm", vessel.id, section.height),
        radius_mm: section.radius,
        deviation_mm: (0..ANGLES).map(deviation).collect(),
        seen: seen_angles(outer.map(|(_, map)| map), section, ANGLES),
        detection_limit_mm: section.limit,
    };
    let bars = harmonics.iter().map(|h| Harmonic {
        upr: h.upr,
        raw_mm: h.raw,
        amplitude_mm: h.amplitude,
        detection_mm: h.detection(),
    });
    let label = format!("Harmonics of {} at {:.1} mm", vessel.id, section.height);
    let spectrum_figure = Spectrum { label, harmonics: bars.collect(), cutoff_upr };
    Ok((if_enough(roundness_plot(&plot))?, if_enough(spectrum(&spectrum_figure))?))
}

/// What the Gaussian filter lets pass of a harmonic: a half at the cut-off.
///
/// # References
/// ISO 16610-21, weighting function of the closed profile: exp(-pi (alpha n / n_c)^2) with alpha^2 = ln 2 / pi.
fn transmission(upr: f64, cutoff_upr: Option<f64>) -> f64 {
    cutoff_upr.map_or(1.0, |cutoff| (-std::f64::consts::LN_2 * (upr / cutoff).powi(2)).exp())
}

/// The unrolled walls of one scan, outer first; a grid that is not whole is left out.
fn unrolled_walls(rows: &ScanRows<'_>, vessel: &Vessel<'_>, scan: &str) -> Result<Vec<(String, Unrolled)>, TableError> {
    let Some(table) = rows.unrolled else { return Ok(Vec::new()) };
    let (walls, heights) = (table.texts("wall")?, table.floats("height_mm")?);
    let (azimuths, deviations) = (table.floats("azimuth_rad")?, table.floats("deviation_mm")?);
    let patches = table.texts("patch")?;
    let mut maps = Vec::new();
    for wall in ["outer", "inner"] {
        let mut map = Unrolled {
            label: format!("Unrolled {wall} wall of {}", vessel.id),
            id: format!("{}-{wall}", vessel.slug),
            heights_mm: Vec::new(),
            azimuths_rad: Vec::new(),
            deviation_mm: Vec::new(),
            set_aside: Vec::new(),
        };
        for row in rows.unrolled_rows.rows(scan).filter(|row| walls[*row].as_deref() == Some(wall)) {
            let (Some(height), Some(azimuth)) = (heights[row], azimuths[row]) else { continue };
            if map.heights_mm.last().is_none_or(|last| last.total_cmp(&height).is_ne()) {
                map.heights_mm.push(height);
            }
            if map.heights_mm.len() == 1 {
                map.azimuths_rad.push(azimuth);
            }
            map.deviation_mm.push(deviations[row]);
            map.set_aside.push(match patches[row].as_deref() {
                Some("raised") => Some(Aside::Raised),
                Some("lost") => Some(Aside::Lost),
                _ => None,
            });
        }
        if !map.heights_mm.is_empty() && map.deviation_mm.len() == map.heights_mm.len() * map.azimuths_rad.len() {
            maps.push((wall.to_owned(), map));
        }
    }
    Ok(maps)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_passes_at_the_cutoff() {
        assert!((transmission(50.0, Some(50.0)) - 0.5).abs() < 1e-12);
        assert!((transmission(50.0, None) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn noise_exceeds_its_detection_level_once_in_twenty() {
        // Amplitude 5 left of raw amplitude 13: power 144 taken off, variance 72 per coefficient.
        let row = HarmonicRow { upr: 2.0, amplitude: 5.0, raw: 13.0, phase: 0.0, u: 1.0 };
        assert!((row.detection() - 72_f64.sqrt() * (-2.0 * 0.05_f64.ln()).sqrt()).abs() < 1e-12);
    }
}
