//! The space that the superimposed meridians of a corpus span.

use ndarray::{Array1, Array2, ArrayView1, Axis};
use rayon::prelude::*;

use super::super::corpus::Vessel;
use super::super::{AnalysisError, PrincipalComponents};
use super::choice::FormChoice;
use super::landmark::{Landmarks, MeridianPoint};
use super::layout::Layout;
use super::sample::{End, FORM_STATIONS, Marked, ScanWalls, marked, sampled, sampled_between};
use super::semilandmark::point_at;
use super::superimpose::{Superimposed, superimpose};

/// Components that hold this share of the variance are used to group vessels; the rest is mostly noise and detail.
const RETAINED_SHARE: f64 = 0.99;

/// Components used to group vessels: at most this many, and at most one per [`VESSELS_PER_COMPONENT`] vessels.
const MOST_RETAINED: usize = 6;

/// Vessels wanted per retained component ("common practice, no source": ten observations per estimated dimension).
const VESSELS_PER_COMPONENT: usize = 10;

/// A landmark of one vessel, mean of its scans.
#[derive(Clone, Debug, PartialEq)]
pub struct VesselLandmark {
    /// The vessel.
    pub vessel: String,
    /// `foot`, `neck`, `rim` or `widest`.
    pub landmark: &'static str,
    /// Height above the lowest point of the meridian, mm.
    pub height_mm: f64,
    /// Radius there, mm.
    pub radius_mm: f64,
}

/// Forms of a corpus in one space.
///
/// A form is what the [`FormChoice`] says, superimposed: by default the outer meridian at [`FORM_STATIONS`](super::FORM_STATIONS)
/// points, at equal steps of arc length from foot edge to rim.
#[derive(Clone, Debug, PartialEq)]
pub struct FormSpace {
    /// By what forms are compared.
    pub choice: FormChoice,
    /// Vessels in the order of the rows.
    pub vessels: Vec<String>,
    /// Forms, vessels x coordinates, size taken away. Of a meridian radii, then heights, in centroid sizes; of a half-section
    /// the mean radius, then a, b, c, d of each harmonic, in centroid sizes and over the root of 2; of tangent angles the
    /// foot's radius over the arc's length, then the directions, in radians and over the root of their number.
    pub coordinates: Array2<f64>,
    /// The size that was taken away, mm.
    pub centroid_size_mm: Vec<f64>,
    /// Principal components of the coordinates.
    pub components: PrincipalComponents,
    /// Scores, vessels x components.
    pub scores: Array2<f64>,
    /// Their standard uncertainties: from those of the walls, taken as independent from station to station, and from where
    /// foot edge and rim were found, which moves all points of a wall together.
    pub u_scores: Array2<f64>,
    /// How many independent errors of measurement show in the coordinates.
    pub noisy: usize,
    /// How many components are used to group vessels and to find unusual ones.
    pub retained: usize,
    /// Landmarks, sorted by vessel and name; a neck where every scan of the vessel shows one.
    pub landmarks: Vec<VesselLandmark>,
    /// Vessels without a place in the space, and why.
    pub left_out: Vec<(String, String)>,
    layout: Layout,
    /// What errors move, by vessel.
    sources: Vec<Sources>,
}

/// What errors of one standard uncertainty move of one form.
#[derive(Clone, Debug, PartialEq)]
struct Sources {
    /// The error at each point, along either of its directions.
    points: Vec<[f64; 2]>,
    /// Change of the coordinates with each end of each scan's wall, ends x coordinates.
    ends: Array2<f64>,
}

/// The form space of vessels sorted by identifier.
pub(in crate::analysis) fn form_space(vessels: &[Vessel], choice: FormChoice) -> Result<FormSpace, AnalysisError> {
    let seen = vessels.par_iter().filter(|vessel| !vessel.walls.is_empty());
    let read: Vec<Read> = seen.map(|vessel| read(vessel, choice)).collect();
    let (mut left_out, mut landmarks, mut forms) = (Vec::new(), Vec::new(), Vec::new());
    for Read { vessel, form, landmarks: found } in read {
        landmarks.extend(found);
        match form {
            Ok(form) => forms.push((vessel, form)),
            Err(reason) => left_out.push((vessel, reason.to_owned())),
        }
    }
    assemble(choice, forms, landmarks, left_out)
}

/// What the walls of one vessel give.
struct Read {
    vessel: String,
    form: Result<Form, &'static str>,
    landmarks: Vec<VesselLandmark>,
}

fn read(vessel: &Vessel, choice: FormChoice) -> Read {
    let outer: Vec<Marked> =
        vessel.walls.iter().filter(|walls| !walls.partial).filter_map(|walls| marked(&walls.outer)).collect();
    let (mut scans, mut seen, mut reasons) = (Vec::new(), Vec::new(), Vec::new());
    for walls in &vessel.walls {
        match sampled(choice, walls) {
            Ok(scan) => {
                scans.push(scan);
                seen.push(walls);
            }
            Err(reason) => reasons.push(reason),
        }
    }
    let form = mean_outline(&scans).and_then(|mean| {
        Some(Form { superimposed: superimpose(&mean)?, mean, moved: with_ends_moved(choice, &mut scans, &seen) })
    });
    let reason = || reasons.first().copied().unwrap_or("its outline has no size");
    Read { vessel: vessel.id.clone(), form: form.ok_or_else(reason), landmarks: vessel_landmarks(&vessel.id, &outer) }
}

/// One vessel's outline, mean of its scans.
struct Form {
    mean: Vec<MeridianPoint>,
    superimposed: Superimposed,
    /// The same with one end of one scan elsewhere.
    moved: Vec<Superimposed>,
}

/// The mean of the scans with either end of each of them in turn where it may as well be.
fn with_ends_moved(choice: FormChoice, scans: &mut [Vec<MeridianPoint>], walls: &[&ScanWalls]) -> Vec<Superimposed> {
    let mut found = Vec::new();
    for (scan, walls) in walls.iter().enumerate() {
        for end in [End::Foot, End::Rim] {
            let Ok(moved) = sampled_between(choice, walls, Some(end)) else { continue };
            let rest = std::mem::replace(&mut scans[scan], moved);
            found.extend(mean_outline(scans).and_then(|mean| superimpose(&mean)));
            scans[scan] = rest;
        }
    }
    found
}

type Pick = fn(&Landmarks) -> Option<f64>;

/// The landmarks that have a name, in its order.
const NAMED: [(&str, Pick); 4] = [
    ("foot", |at| Some(at.foot_mm)),
    ("neck", |at| at.neck_mm),
    ("rim", |at| Some(at.rim_mm)),
    ("widest", |at| Some(at.widest_mm)),
];

fn vessel_landmarks(vessel: &str, scans: &[Marked]) -> Vec<VesselLandmark> {
    if scans.is_empty() {
        return Vec::new();
    }
    let one = |(landmark, pick): (&'static str, Pick)| {
        let points: Option<Vec<MeridianPoint>> = scans.iter().map(|scan| scan.point(pick)).collect();
        let points = points?;
        let mean = |value: fn(&MeridianPoint) -> f64| points.iter().map(value).sum::<f64>() / points.len() as f64;
        let (height_mm, radius_mm) = (mean(|p| p.height_mm), mean(|p| p.radius_mm));
        Some(VesselLandmark { vessel: vessel.to_owned(), landmark, height_mm, radius_mm })
    };
    NAMED.into_iter().filter_map(one).collect()
}

impl Marked {
    /// The point at a landmark, its height counted from the lowest point.
    fn point(&self, pick: Pick) -> Option<MeridianPoint> {
        let low = self.meridian.iter().map(|p| p.height_mm).fold(f64::INFINITY, f64::min);
        let point = point_at(&self.meridian, &self.arcs, pick(&self.at)?)?;
        Some(MeridianPoint { height_mm: point.height_mm - low, ..point })
    }
}

/// The mean of a vessel's scans, station by station, heights counted from the first station; `None` of no scans.
///
/// Scans are weighted by the inverse of their mean variance of the radius, so that a poor scan does not spoil a good one;
/// equally where none is given.
fn mean_outline(scans: &[Vec<MeridianPoint>]) -> Option<Vec<MeridianPoint>> {
    let variance = |points: &Vec<MeridianPoint>| {
        points.iter().map(|p| p.u_radius_mm * p.u_radius_mm).sum::<f64>() / points.len().max(1) as f64
    };
    let variances: Vec<f64> = scans.iter().map(variance).collect();
    let known = variances.iter().all(|variance| *variance > 0.0);
    let weights: Vec<f64> = variances.iter().map(|variance| if known { 1.0 / variance } else { 1.0 }).collect();
    let total: f64 = weights.iter().sum();
    let mut mean = vec![MeridianPoint::default(); scans.first()?.len()];
    for (points, weight) in scans.iter().zip(&weights) {
        let (share, foot) = (weight / total, points.first().map_or(0.0, |p| p.height_mm));
        for (sum, point) in mean.iter_mut().zip(points) {
            sum.radius_mm += share * point.radius_mm;
            sum.height_mm += share * (point.height_mm - foot);
            sum.u_radius_mm = sum.u_radius_mm.hypot(share * point.u_radius_mm);
        }
    }
    Some(mean)
}

fn assemble(
    choice: FormChoice,
    forms: Vec<(String, Form)>,
    landmarks: Vec<VesselLandmark>,
    left_out: Vec<(String, String)>,
) -> Result<FormSpace, AnalysisError> {
    let (vessels, forms): (Vec<String>, Vec<Form>) = forms.into_iter().unzip();
    let mut moved = Vec::new();
    let (means, forms): (Vec<_>, Vec<_>) = forms
        .into_iter()
        .map(|form| {
            moved.push(form.moved);
            (form.mean, form.superimposed)
        })
        .unzip();
    let layout = Layout::new(choice, &forms);
    let (rows, columns) = (forms.len(), layout.coordinates());
    let mut coordinates = Array2::zeros((rows, columns));
    forms.iter().enumerate().for_each(|(row, form)| coordinates.row_mut(row).assign(&layout.of(form)));
    let components =
        PrincipalComponents::new(&coordinates).ok_or(AnalysisError::NoComponents { space: "form", rows, columns })?;
    let sources_of = |(row, mean): (usize, &Vec<MeridianPoint>)| {
        let mut ends = Array2::zeros((moved[row].len(), columns));
        let changes = moved[row].iter().map(|form| layout.of(form) - coordinates.row(row));
        ends.rows_mut().into_iter().zip(changes).for_each(|(mut end, change)| end.assign(&change));
        Sources { points: layout.sources(mean, forms[row].centroid_size_mm), ends }
    };
    let sources: Vec<Sources> = means.par_iter().enumerate().map(sources_of).collect();
    let u_scores = u_of_scores(&layout, &sources, &components.loadings);
    let most = MOST_RETAINED.min((rows / VESSELS_PER_COMPONENT).max(1));
    Ok(FormSpace {
        choice,
        retained: components.holding(RETAINED_SHARE, most),
        centroid_size_mm: forms.iter().map(|form| form.centroid_size_mm).collect(),
        scores: components.scores(&coordinates),
        noisy: layout.noisy(),
        vessels,
        coordinates,
        components,
        u_scores,
        landmarks,
        left_out,
        layout,
        sources,
    })
}

/// Standard uncertainties of the forms' places along directions of the coordinates, the rows of `directions`.
fn u_of_scores(layout: &Layout, sources: &[Sources], directions: &Array2<f64>) -> Array2<f64> {
    let carried: Vec<[Array1<f64>; 2]> = directions.rows().into_iter().map(|along| layout.carried(along)).collect();
    let one = |sources: &Sources| -> Vec<f64> {
        let ends = sources.ends.dot(&directions.t());
        let place = |(along, [first, second]): (usize, &[Array1<f64>; 2])| {
            let moved = sources.points.iter().zip(first.iter().zip(second)).map(|(u, (a, b))| u[0] * a + u[1] * b);
            let of_ends = ends.column(along).iter().map(|moved| moved * moved).sum::<f64>();
            (moved.map(|moved| moved * moved).sum::<f64>() + of_ends).sqrt()
        };
        carried.iter().enumerate().map(place).collect()
    };
    let rows: Vec<Vec<f64>> = sources.par_iter().map(one).collect();
    Array2::from_shape_fn((sources.len(), directions.nrows()), |(row, along)| rows[row][along])
}

impl FormSpace {
    /// Scores along the retained components.
    #[must_use]
    pub fn retained_scores(&self) -> Array2<f64> {
        self.scores.slice(ndarray::s![.., ..self.retained]).to_owned()
    }

    /// Their standard uncertainties.
    #[must_use]
    pub fn retained_u_scores(&self) -> Array2<f64> {
        self.u_scores.slice(ndarray::s![.., ..self.retained]).to_owned()
    }

    /// Standard uncertainty of every vessel's place along a direction of the coordinates.
    #[must_use]
    pub fn u_along(&self, direction: ArrayView1<'_, f64>) -> Array1<f64> {
        u_of_scores(&self.layout, &self.sources, &direction.to_owned().insert_axis(Axis(0))).remove_axis(Axis(1))
    }

    /// The outline of a form given by its coordinates: radius and height in centroid sizes.
    ///
    /// Of a meridian from foot edge to rim, of a half-section around it and back to its first point.
    #[must_use]
    pub fn outline(&self, coordinates: ArrayView1<'_, f64>) -> Vec<(f64, f64)> {
        self.layout.drawn(coordinates)
    }

    /// What a distance in the coordinates is divided by to be the root mean square difference at a station.
    pub(in crate::analysis) fn stations_root(&self) -> f64 {
        match self.layout {
            Layout::Meridian => (FORM_STATIONS as f64).sqrt(),
            Layout::Elliptic { .. } | Layout::Tangent => 1.0, // mean squares already
        }
    }

    /// The mean form of these rows; `None` of no rows.
    #[must_use]
    pub fn mean_of(&self, rows: &[usize]) -> Option<Array1<f64>> {
        self.coordinates.select(ndarray::Axis(0), rows).mean_axis(ndarray::Axis(0))
    }
}
