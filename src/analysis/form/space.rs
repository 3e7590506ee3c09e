//! The space that the superimposed meridians of a corpus span.

use ndarray::{Array1, Array2};

use super::super::corpus::Vessel;
use super::super::{AnalysisError, PrincipalComponents};
use super::landmark::{Landmarks, MeridianPoint, arc_lengths, landmarks};
use super::semilandmark::{point_at, semilandmarks};
use super::superimpose::{Superimposed, superimpose};

/// Points per meridian, landmarks included ("project"); from 32 to 128 the components' shares change in the third digit.
pub const FORM_STATIONS: usize = 64;

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
/// A form is the outer meridian at [`FORM_STATIONS`] points, at equal steps of arc length from foot edge to rim.
#[derive(Clone, Debug, PartialEq)]
pub struct FormSpace {
    /// Vessels in the order of the rows.
    pub vessels: Vec<String>,
    /// Superimposed meridians, vessels x (radii, then heights), in units of the centroid size.
    pub coordinates: Array2<f64>,
    /// The size that was taken away, mm.
    pub centroid_size_mm: Vec<f64>,
    /// Principal components of the coordinates.
    pub components: PrincipalComponents,
    /// Scores, vessels x components.
    pub scores: Array2<f64>,
    /// Their standard uncertainties from those of the radii, taken as independent from station to station.
    pub u_scores: Array2<f64>,
    /// How many components are used to group vessels and to find unusual ones.
    pub retained: usize,
    /// Landmarks, sorted by vessel and name; a neck where every scan of the vessel shows one.
    pub landmarks: Vec<VesselLandmark>,
    /// Vessels whose meridian could not be used, and why.
    pub left_out: Vec<(String, String)>,
}

/// The form space of vessels sorted by identifier.
pub(in crate::analysis) fn form_space(vessels: &[Vessel]) -> Result<FormSpace, AnalysisError> {
    let mut left_out = Vec::new();
    let mut usable: Vec<(&str, Vec<Marked>)> = Vec::new();
    for vessel in vessels.iter().filter(|vessel| !vessel.meridians.is_empty()) {
        let marked: Vec<_> = vessel.meridians.iter().filter_map(|meridian| marked(meridian)).collect();
        if marked.is_empty() {
            left_out.push((vessel.id.clone(), "no foot edge and rim on its outer meridian".to_owned()));
        } else {
            usable.push((&vessel.id, marked));
        }
    }
    let forms: Vec<_> = usable
        .iter()
        .filter_map(|(id, marked)| Some(((*id).to_owned(), superimpose(&mean_meridian(marked))?)))
        .collect();
    let landmarks = usable.iter().flat_map(|(id, marked)| vessel_landmarks(id, marked)).collect();
    assemble(forms, landmarks, left_out)
}

struct Marked {
    meridian: Vec<MeridianPoint>,
    at: Landmarks,
}

/// A meridian with its landmarks, running upwards.
fn marked(meridian: &[MeridianPoint]) -> Option<Marked> {
    let mut meridian = meridian.to_vec();
    if meridian.first()?.height_mm > meridian.last()?.height_mm {
        meridian.reverse();
    }
    let at = landmarks(&meridian)?;
    Some(Marked { meridian, at })
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
        let point = point_at(&self.meridian, &arc_lengths(&self.meridian), pick(&self.at)?)?;
        Some(MeridianPoint { height_mm: point.height_mm - low, ..point })
    }
}

/// The mean of a vessel's scans, station by station, heights counted from the foot edge.
///
/// Scans are weighted by the inverse of their mean variance of the radius, so that a poor scan does not spoil a good one;
/// equally where none is given.
fn mean_meridian(scans: &[Marked]) -> Vec<MeridianPoint> {
    let all: Vec<Vec<MeridianPoint>> =
        scans.iter().map(|scan| semilandmarks(&scan.meridian, &scan.at, FORM_STATIONS)).collect();
    let variance = |points: &Vec<MeridianPoint>| {
        points.iter().map(|p| p.u_radius_mm * p.u_radius_mm).sum::<f64>() / points.len().max(1) as f64
    };
    let variances: Vec<f64> = all.iter().map(variance).collect();
    let known = variances.iter().all(|variance| *variance > 0.0);
    let weights: Vec<f64> = variances.iter().map(|variance| if known { 1.0 / variance } else { 1.0 }).collect();
    let total: f64 = weights.iter().sum();
    let mut mean = vec![MeridianPoint::default(); FORM_STATIONS];
    for (points, weight) in all.iter().zip(&weights) {
        let (share, foot) = (weight / total, points.first().map_or(0.0, |p| p.height_mm));
        for (sum, point) in mean.iter_mut().zip(points) {
            sum.radius_mm += share * point.radius_mm;
            sum.height_mm += share * (point.height_mm - foot);
            sum.u_radius_mm = sum.u_radius_mm.hypot(share * point.u_radius_mm);
        }
    }
    mean
}

fn assemble(
    forms: Vec<(String, Superimposed)>,
    landmarks: Vec<VesselLandmark>,
    left_out: Vec<(String, String)>,
) -> Result<FormSpace, AnalysisError> {
    let rows = forms.len();
    let columns = 2 * FORM_STATIONS;
    let coordinates = Array2::from_shape_fn((rows, columns), |(row, column)| forms[row].1.coordinates[column]);
    let components =
        PrincipalComponents::new(&coordinates).ok_or(AnalysisError::NoComponents { space: "form", rows, columns })?;
    let scores = components.scores(&coordinates);
    let u_scores = Array2::from_shape_fn(scores.dim(), |(row, component)| {
        let loadings = components.loadings.row(component);
        let parts = forms[row].1.u_radii.iter().zip(loadings).map(|(u, loading)| (u * loading) * (u * loading));
        parts.sum::<f64>().sqrt()
    });
    let most = MOST_RETAINED.min((rows / VESSELS_PER_COMPONENT).max(1));
    Ok(FormSpace {
        retained: components.holding(RETAINED_SHARE, most),
        centroid_size_mm: forms.iter().map(|(_, form)| form.centroid_size_mm).collect(),
        vessels: forms.into_iter().map(|(id, _)| id).collect(),
        coordinates,
        components,
        scores,
        u_scores,
        landmarks,
        left_out,
    })
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

    /// The mean superimposed meridian of these rows; `None` of no rows.
    #[must_use]
    pub fn mean_of(&self, rows: &[usize]) -> Option<Array1<f64>> {
        self.coordinates.select(ndarray::Axis(0), rows).mean_axis(ndarray::Axis(0))
    }
}
