//! How much of the vessel is in the scan: its foot, its rim, its widest place, its inside, and which end is up.
//!
//! A meridian that runs on past its lowest station, under the vessel, has its foot in it; one that ends there has it only if
//! it has turned level. A wall that ends steeply may have been cut anywhere: its end is no foot, and what would be measured
//! at it is no size of the vessel.

use super::ledger::Ledger;
use super::located::Located;
use super::measures::INSIDE_UNSEEN;
use super::meridian::unevenness;
use crate::profile::{AT_AXIS, Opening, Station};
use crate::quantity::Source;

/// A vessel may reach on beyond the end of its scan by this share of its height if the end is still to count as its own
/// (project: of planned vessels scanned without their underside a tenth reach further, of cut walls all).
const BEYOND: f64 = 0.004;

/// Stations over which the direction of an end is taken, and again as many for how it bends.
const END: usize = 4;

/// Stations from an end within which the widest place is where the scan ends.
const AT_END: usize = 2;

/// Where the scan ends a wall must be narrower than at its widest place by this many standard uncertainties: a wall that stands
/// as good as upright there may widen on (project).
const NARROWER: f64 = 3.0;

/// The lip's inner flank is seen if the inside is, to this share of the height below the rim.
const LIP: f64 = 0.06;

const NO_FOOT: &str = "the foot is not in the scan: at its lowest place the wall ends steeply";
const NO_RIM: &str = "the rim is not in the scan: at its highest place the wall ends steeply";
const NO_WIDEST: &str = "the widest place may not be in the scan: the wall is widest where the scan ends";
const NO_UNDERSIDE: &str = "the foot's ring was not seen: the vessel stood on it";
const NO_LIP: &str = "the inner flank of the lip is not in the scan";
const NO_UP: &str = "which end is up is not known: the scan shows no opening and the catalogue declares nothing";
const APART: &str = "the inside does not join the outside in the scan: the rim between them is missing";

/// What the vessel may have beyond the end of its scan.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Beyond {
    /// Along the axis, mm.
    height_mm: f64,
    /// Along the radius until the wall is level, mm.
    radius_mm: f64,
}

/// Whether the inside is in the scan as a wall of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Inside {
    Seen,
    Unseen,
    /// In the scan, but it does not join the outside.
    Apart,
}

/// What of the vessel the scan shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent {
    /// `None` where the foot is not in the scan.
    foot: Option<Beyond>,
    /// `None` where the rim is not in the scan.
    rim: Option<Beyond>,
    /// Whether the foot is known only because the vessel is said to have stood on it.
    declared_foot: bool,
    /// Whether the widest place lies within what is seen.
    widest: bool,
    /// Whether both flanks of the lip are seen.
    lip: bool,
    /// Whether and how the inside is in the scan.
    inside: Inside,
    /// Whether it is known which end is up.
    upright: bool,
}

impl Extent {
    /// From the meridian's ends; `on_foot` if the vessel is said to have stood on its foot.
    pub(super) fn of(located: &Located, opening: Opening, inside_apart: bool, on_foot: bool) -> Self {
        let (all, walls) = (&located.stations.stations, &located.walls);
        let widest = all.iter().map(|station| station.radius).fold(0.0, f64::max);
        let own = |beyond: Option<Beyond>| beyond.filter(|beyond| beyond.height_mm <= BEYOND * located.height);
        let closed = |end: Option<&Station>| end.is_some_and(|station| station.radius < AT_AXIS * widest);
        let seen_foot = if walls.foot >= END || closed(all.first()) {
            Some(Beyond::default())
        } else {
            own(beyond(all[walls.foot..].iter()))
        };
        // What the vessel stood on hides the last ring by up to the distance of the scan's points.
        let hidden_mm = located.pitch(walls.outer.clone());
        let declared_foot = on_foot && seen_foot.is_none();
        let foot = if declared_foot { Some(Beyond { height_mm: hidden_mm, radius_mm: hidden_mm }) } else { seen_foot };
        let runs_on = all.len() - 1 - walls.rim >= END || closed(all.last());
        let rim = if runs_on { Some(Beyond::default()) } else { own(beyond(all[..=walls.rim].iter().rev())) };
        let widest_at =
            walls.outer.clone().max_by(|&a, &b| all[a].radius.total_cmp(&all[b].radius)).unwrap_or(walls.foot);
        let u = |index: usize| located.u_offset[index].max(unevenness(located, index));
        let widens = |end: usize| {
            let narrower = all[widest_at].radius - all[end].radius;
            widest_at.abs_diff(end) <= AT_END || narrower <= NARROWER * u(widest_at).hypot(u(end))
        };
        let cut = (foot.is_none() && widens(walls.foot)) || (rim.is_none() && widens(walls.rim));
        let deepest = all[walls.rim..].iter().map(|station| station.height).fold(f64::INFINITY, f64::min);
        let inside = match (inside_apart, &walls.inner) {
            (true, _) => Inside::Apart,
            (false, Some(_)) => Inside::Seen,
            (false, None) => Inside::Unseen,
        };
        Self {
            foot,
            rim,
            declared_foot,
            widest: !cut,
            lip: located.height - deepest >= LIP * located.height,
            inside,
            upright: opening != Opening::Assumed,
        }
    }

    /// What the outline lacks, in words for the scan's notes.
    pub(super) fn notes(&self) -> impl Iterator<Item = String> {
        let foot = self.foot.is_none().then(|| format!("{NO_FOOT}; heights count from there"));
        let rim = self.rim.is_none().then(|| NO_RIM.to_owned());
        let on_foot = self.declared_foot.then(|| {
            "the lowest ring is taken for the foot: the catalogue says that the vessel stood on it".to_owned()
        });
        let inside = self.lacks(&[Need::Inside]).map(str::to_owned);
        [foot, on_foot, rim, inside].into_iter().flatten()
    }

    /// What keeps the outline from being the vessel's; `None` where it is whole and the right way up.
    pub(super) const fn outline_lacks(&self) -> Option<&'static str> {
        match (self.upright, self.foot, self.rim) {
            (false, ..) => Some("which end is up"),
            (true, None, None) => Some("foot and rim"),
            (true, None, Some(_)) => Some("foot"),
            (true, Some(_), None) => Some("rim"),
            (true, Some(_), Some(_)) => None,
        }
    }

    /// Takes back what was measured where the scan ends and not the vessel, and widens what depends on where it ends.
    pub(super) fn enter(&self, ledger: &mut Ledger) {
        for (measure, reason) in MEASURES.iter().filter_map(|(name, needs)| Some((*name, self.lacks(needs)?))) {
            ledger.withhold(measure, reason);
        }
        let [foot, rim] = [self.foot, self.rim].map(Option::unwrap_or_default);
        for row in &mut ledger.rows {
            let part = match row.measure {
                "height" => foot.height_mm.hypot(rim.height_mm),
                "foot_diameter" => 2.0 * foot.radius_mm,
                "rim_diameter" => 2.0 * rim.radius_mm,
                _ => continue,
            };
            row.widen(Source::Sampling, part);
        }
    }

    fn lacks(&self, needs: &[Need]) -> Option<&'static str> {
        let lacking = |need: &Need| match need {
            Need::Up => (!self.upright).then_some(NO_UP),
            Need::Inside => match self.inside {
                Inside::Seen => None,
                Inside::Unseen => Some(INSIDE_UNSEEN),
                Inside::Apart => Some(APART),
            },
            Need::Foot => self.foot.is_none().then_some(NO_FOOT),
            Need::Ring => self.declared_foot.then_some(NO_UNDERSIDE),
            Need::Rim => self.rim.is_none().then_some(NO_RIM),
            Need::Lip => (!self.lip).then_some(NO_LIP),
            Need::Widest => (!self.widest).then_some(NO_WIDEST),
        };
        needs.iter().find_map(lacking)
    }
}

/// What a measure needs to be in the scan.
enum Need {
    Foot,
    /// The foot's ring itself, not only where it is.
    Ring,
    Rim,
    Lip,
    Widest,
    Inside,
    Up,
}

/// The measures that need more than a piece of wall.
const MEASURES: [(&str, &[Need]); 22] = {
    use Need::{Foot, Inside, Lip, Rim, Ring, Up, Widest};
    [
        ("height", &[Foot, Rim]),
        ("max_diameter", &[Widest]),
        ("rim_diameter", &[Up, Rim]),
        ("foot_diameter", &[Up, Foot]),
        ("neck_diameter", &[Up, Rim, Widest]),
        ("centroid_size", &[Foot, Rim]),
        ("capacity", &[Inside, Up, Rim]),
        ("capacity_neck", &[Inside, Up, Rim]),
        ("body_volume", &[Inside, Up, Rim, Foot]),
        ("surface_area", &[Inside, Up, Rim, Foot]),
        ("wall_mean", &[Inside]),
        ("wall_min", &[Inside]),
        ("wall_max", &[Inside]),
        ("wall_unevenness", &[Inside]),
        ("roundness_inner", &[Inside]),
        ("axis_straightness_inner", &[Inside]),
        ("coaxiality_inner", &[Inside]),
        ("concentricity_rim", &[Up, Rim, Lip]),
        ("flatness_rim", &[Up, Rim]),
        ("perpendicularity_rim", &[Up, Rim]),
        ("flatness_foot", &[Up, Foot, Ring]),
        ("perpendicularity_foot", &[Up, Foot, Ring]),
    ]
};

/// What a meridian has beyond its end if it bends on as it does there until it is level; `None` where it does not bend that
/// way. `run` leads away from the end.
fn beyond<'a>(run: impl Iterator<Item = &'a Station>) -> Option<Beyond> {
    let run: Vec<&Station> = run.take(2 * END + 1).collect();
    let (end, middle, far) = (run.first()?, run.get(END)?, run.get(2 * END)?);
    let leg = |a: &Station, b: &Station| {
        let (dr, dz) = (b.radius - a.radius, b.height - a.height);
        (dz.abs().atan2(dr.abs()), dr.hypot(dz))
    };
    let ((near, length), (next, _)) = (leg(end, middle), leg(middle, far));
    let bend = (next - near) / length;
    let at_end = near - 0.5 * bend * length;
    if at_end <= 0.0 {
        return Some(Beyond::default());
    }
    let (sine, cosine) = at_end.sin_cos();
    (bend > 0.0).then(|| Beyond { height_mm: (1.0 - cosine) / bend, radius_mm: sine / bend })
}
