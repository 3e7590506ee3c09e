//! Outlines planned as a walk: lines and arcs of chosen length and curvature, one after the other.

use std::f64::consts::{FRAC_PI_2, PI};

use super::meridian::{Marks, Meridian, Piece};
use super::outline::OutlineError;

/// One line or arc of a planned outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Length, mm.
    pub length_mm: f64,
    /// Curvature, 1/mm, positive where the outline turns to the left of its way, so that the material bulges; 0 of a line.
    pub curvature_per_mm: f64,
}

impl Segment {
    /// A straight line.
    #[must_use]
    pub const fn line(length_mm: f64) -> Self {
        Self { length_mm, curvature_per_mm: 0.0 }
    }

    /// An arc of radius `radius_mm` that turns by `turn_rad`, to the left where positive.
    #[must_use]
    pub fn arc(radius_mm: f64, turn_rad: f64) -> Self {
        Self { length_mm: radius_mm * turn_rad.abs(), curvature_per_mm: turn_rad.signum() / radius_mm }
    }
}

/// How far from level the way may be where the chain is closed, rad: rounding.
const LEVEL: f64 = 1e-9;

impl Meridian {
    /// The outline that begins in the middle of the underside, outwards at height 0, and follows `chain` over the rim, which is
    /// where segment `rim` begins, down to the floor; the way must then lead level towards the axis, and a line closes it.
    /// The lip reaches from there back by one segment, and on to segment `lip_end`.
    ///
    /// # Errors
    /// [`OutlineError::Open`] if the way does not end level towards the axis, above height 0 and beyond the axis;
    /// [`OutlineError::TooFewCorners`] if the rim or the lip is no segment of the chain.
    ///
    /// # Example
    /// A tube of 20 mm outer radius with a lip of two quarters of R 3: 6 mm of wall, 3 mm above where the lip begins.
    /// ```
    /// use std::f64::consts::FRAC_PI_2;
    /// use tornus::synthetic::{Meridian, Segment};
    /// let (line, quarter) = (Segment::line, |r| Segment::arc(r, FRAC_PI_2));
    /// let chain = [line(15.0), quarter(5.0), line(60.0), quarter(3.0), quarter(3.0), line(50.0), Segment::arc(4.0, -FRAC_PI_2)];
    /// let tube = Meridian::from_chain(&chain, 4, 4)?;
    /// assert!((tube.height_mm() - 68.0).abs() < 1e-9);
    /// # Ok::<(), tornus::synthetic::OutlineError>(())
    /// ```
    pub fn from_chain(chain: &[Segment], rim: usize, lip_end: usize) -> Result<Self, OutlineError> {
        if rim == 0 || lip_end < rim || lip_end >= chain.len() {
            return Err(OutlineError::TooFewCorners(chain.len()));
        }
        let (mut at, mut heading) = ([0.0, 0.0], 0.0_f64);
        let mut pieces = Vec::with_capacity(chain.len() + 1);
        for segment in chain {
            let turn = segment.length_mm * segment.curvature_per_mm;
            let piece = piece(at, heading, segment, turn);
            let end = piece.at(segment.length_mm);
            pieces.push(piece);
            at = [end.radius_mm, end.height_mm];
            heading += turn;
        }
        // Up is a quarter turn from outwards, inwards another; a closed vessel has turned by half a turn in all.
        let closes = (heading - PI).abs() < LEVEL && at[0] > 0.0 && at[1] > 0.0;
        if !closes {
            return Err(OutlineError::Open { turned_rad: heading });
        }
        pieces.push(Piece::Line { start: at, direction: [-1.0, 0.0], length: at[0] });
        let marks = Marks { lip: [rim - 1, lip_end], ring_top: None };
        Ok(Self::from_pieces(pieces, &marks))
    }
}

fn piece(at: [f64; 2], heading: f64, segment: &Segment, turn: f64) -> Piece {
    let (sine, cosine) = heading.sin_cos();
    if turn.abs() <= 0.0 {
        return Piece::Line { start: at, direction: [cosine, sine], length: segment.length_mm };
    }
    let radius = 1.0 / segment.curvature_per_mm.abs();
    let side = turn.signum();
    let centre = [at[0] - side * radius * sine, at[1] + side * radius * cosine];
    // From the centre the beginning lies a quarter turn behind the way.
    Piece::Arc { centre, radius, angle: heading - side * FRAC_PI_2, sweep: turn }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chain_that_does_not_come_back_is_refused() {
        let chain = [Segment::line(10.0), Segment::arc(5.0, FRAC_PI_2), Segment::line(50.0), Segment::arc(3.0, PI)];
        assert!(matches!(Meridian::from_chain(&chain, 3, 3), Err(OutlineError::Open { .. })));
    }
}
