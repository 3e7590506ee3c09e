//! How a colour looks to readers who lack one kind of cone.
//!
//! # References
//! Machado, Oliveira & Fernandes 2009, A physiologically-based model for simulation of color vision deficiency, IEEE TVCG
//! 15(6), matrices for full severity (from memory; every row sums to one, which is tested).

use super::oklab::{Oklab, Rgb};

/// A kind of colour vision.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Vision {
    /// Three kinds of cones.
    Trichromat,
    /// Without the long-wave cones.
    Protanope,
    /// Without the middle-wave cones.
    Deuteranope,
}

impl Vision {
    /// The kinds a palette is checked for.
    pub const ALL: [Self; 3] = [Self::Trichromat, Self::Protanope, Self::Deuteranope];

    const fn matrix(self) -> [[f64; 3]; 3] {
        match self {
            Self::Trichromat => [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
            Self::Protanope => [
                [0.152_286, 1.052_583, -0.204_868],
                [0.114_503, 0.786_281, 0.099_216],
                [-0.003_882, -0.048_116, 1.051_998],
            ],
            Self::Deuteranope => [
                [0.367_322, 0.860_646, -0.227_968],
                [0.280_085, 0.672_501, 0.047_413],
                [-0.011_820, 0.042_940, 0.968_881],
            ],
        }
    }

    /// The colour as it is seen.
    #[must_use]
    pub fn sees(self, colour: Rgb) -> Oklab {
        let light = colour.linear();
        let seen = self.matrix().map(|row| row.iter().zip(light).map(|(m, c)| m * c).sum::<f64>().clamp(0.0, 1.0));
        Oklab::from_linear(seen)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn greys_look_the_same_to_everyone() {
        for vision in Vision::ALL {
            for row in vision.matrix() {
                assert!((row.iter().sum::<f64>() - 1.0).abs() < 2e-6);
            }
        }
    }

    #[test]
    fn red_and_green_come_closer_without_one_cone() {
        let (red, green) = (Rgb([200, 80, 80]), Rgb([110, 130, 60]));
        let apart = |v: Vision| v.sees(red).distance(v.sees(green));
        assert!(apart(Vision::Deuteranope) < 0.5 * apart(Vision::Trichromat));
    }
}
