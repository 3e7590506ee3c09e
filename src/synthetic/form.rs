//! Six forms whose proportions vary from vessel to vessel.

use rand_distr::{Distribution, StandardNormal};

use super::{Corner, Meridian, OutlineError};
use crate::quantity::{Millimetre, Seed};

/// A family of outlines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum VesselForm {
    /// A hemispherical bowl on a foot ring.
    Bowl,
    /// A beaker, nearly cylindrical, with a flat foot.
    Beaker,
    /// A shouldered jar with a wide neck.
    Jar,
    /// A bottle with a long narrow neck.
    Bottle,
    /// A plate on a foot ring.
    Plate,
    /// A squat globular pot with a short collar.
    Globular,
}

/// Proportions of a form, in units of its greatest radius: corners of the outer wall (radius, height, rounding), the corner
/// from which the inner wall follows, wall, floor and recess.
struct Proportions {
    corners: Vec<[f64; 3]>,
    follow: usize,
    wall: f64,
    floor: f64,
    recess: f64,
}

/// Spread of proportions is cut off here, in standard deviations, so that every draw is still of its form.
const GREATEST_DRAW: f64 = 2.0;

impl VesselForm {
    /// Every form.
    pub const ALL: [Self; 6] = [Self::Bowl, Self::Beaker, Self::Jar, Self::Bottle, Self::Plate, Self::Globular];

    /// The word a catalogue would use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Bowl => "bowl",
            Self::Beaker => "beaker",
            Self::Jar => "jar",
            Self::Bottle => "bottle",
            Self::Plate => "plate",
            Self::Globular => "globular pot",
        }
    }

    /// A meridian of this form with the greatest radius about `size`; proportions vary with the relative standard
    /// deviation `spread` (0 to 0.06).
    ///
    /// # Errors
    /// [`OutlineError`] if a spread out of range makes an outline that cannot be.
    pub fn meridian(self, size: Millimetre, spread: f64, seed: Seed) -> Result<Meridian, OutlineError> {
        let mut rng = seed.rng();
        let mut vary = |value: f64| {
            let draw: f64 = StandardNormal.sample(&mut rng);
            value * (1.0 + spread * draw.clamp(-GREATEST_DRAW, GREATEST_DRAW))
        };
        let nominal = self.proportions();
        // Heights vary by their steps, so that a wall always climbs; the widths of neighbours vary apart.
        let mut corners = Vec::with_capacity(nominal.corners.len());
        let (mut height, mut nominal_height) = (0.0, 0.0);
        for [radius, at, rounding] in &nominal.corners {
            height += vary(at - nominal_height);
            nominal_height = *at;
            let scale = size.get();
            corners.push(Corner::new(scale * vary(*radius), scale * height, scale * vary(*rounding)));
        }
        if nominal.follow > 0 {
            // The flank of a foot ring stands upright.
            corners[1].radius_mm = corners[0].radius_mm * nominal.corners[1][0] / nominal.corners[0][0];
        }
        let [wall, floor, recess] = [nominal.wall, nominal.floor, nominal.recess].map(|part| size.get() * vary(part));
        Meridian::from_corners(&corners, nominal.follow, wall, floor, recess)
    }

    fn proportions(self) -> Proportions {
        match self {
            Self::Bowl => Proportions {
                corners: vec![[0.40, 0.0, 0.0], [0.41, 0.07, 0.03], [0.90, 0.17, 0.55], [1.0, 0.82, 0.0]],
                follow: 1,
                wall: 0.07,
                floor: 0.13,
                recess: 0.035,
            },
            Self::Beaker => Proportions {
                corners: vec![[0.88, 0.0, 0.06], [0.96, 1.1, 3.0], [1.0, 2.3, 0.0]],
                follow: 0,
                wall: 0.09,
                floor: 0.12,
                recess: 0.0,
            },
            Self::Jar => Proportions {
                corners: vec![[0.50, 0.0, 0.05], [1.06, 1.25, 0.45], [0.66, 1.62, 0.12], [0.72, 1.85, 0.0]],
                follow: 0,
                wall: 0.085,
                floor: 0.11,
                recess: 0.0,
            },
            Self::Bottle => Proportions {
                corners: vec![
                    [0.62, 0.0, 0.06],
                    [1.01, 0.40, 0.35],
                    [1.01, 1.25, 0.50],
                    [0.31, 1.80, 0.25],
                    [0.27, 2.45, 0.20],
                    [0.35, 2.68, 0.0],
                ],
                follow: 0,
                wall: 0.075,
                floor: 0.10,
                recess: 0.0,
            },
            Self::Plate => Proportions {
                corners: vec![[0.52, 0.0, 0.0], [0.53, 0.05, 0.02], [0.80, 0.115, 0.5], [1.0, 0.24, 0.0]],
                follow: 1,
                wall: 0.05,
                floor: 0.085,
                recess: 0.025,
            },
            Self::Globular => Proportions {
                corners: vec![
                    [0.42, 0.0, 0.05],
                    [1.04, 0.30, 0.50],
                    [1.04, 0.82, 0.50],
                    [0.56, 1.16, 0.08],
                    [0.62, 1.30, 0.0],
                ],
                follow: 0,
                wall: 0.075,
                floor: 0.09,
                recess: 0.0,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_draw_within_the_stated_spread_is_a_vessel() {
        for form in VesselForm::ALL {
            for seed in 0..400 {
                let meridian = form.meridian(Millimetre::new(60.0), 0.06, Seed::new(seed));
                assert!(meridian.is_ok(), "{form:?} {seed}: {meridian:?}");
            }
        }
    }
}
