//! What a gap in a section may hide.

use std::f64::consts::PI;

use crate::math::fourier::HarmonicFit;

/// Weight of the waves that a bridge does not follow in the variance of RONt, times the gap's share to the power of 1.5: the wider
/// the gap, the worse the bridge (project: with it 400 simulated sections each with gaps of 17 to 120 degrees held the truth in
/// 96 to 98 of 100, whole scans with a third missing in 90).
const OF_RONT: f64 = 10.5;

/// By how much the bridge's own error adds to the mean's variance, times the gap's share (project; same simulation: 93 to 98
/// of 100).
const OF_BRIDGE: f64 = 1.0;

/// Weight of the waves that a bridge does not follow in the variance of a coefficient that it does (project; same simulation:
/// 92 to 97 of 100 of the first harmonic's coefficients).
const OF_LOW: f64 = 2.4;

/// The same of a coefficient that it does not follow, of the waves in step with it (project; same simulation: 94 to 98 of 100
/// of the coefficients of 7 to 25 UPR).
const OF_FINE: f64 = 1.5;

/// What the unseen part of a section adds to its variances, mm2.
///
/// A bridge follows waves longer than twice the gap; shorter ones go on behind it unseen, as strong as they are elsewhere.
/// Seen as one deviation of that strength over the gap, of share g, it moves a coefficient of any lower harmonic by
/// about one and a half times g of it. A higher harmonic is moved by those alone that stay in step with it over the gap: what
/// is hidden begins and ends at the wall that is seen, so that of those that turn against it by a > 1 rad over half the gap about
/// 1 / a^2 is left, of their power 1 / a^4.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hidden {
    coefficients: Vec<f64>,
    mean: f64,
    ront: f64,
}

impl Hidden {
    /// From the section's own harmonics, their noise taken off.
    #[must_use]
    pub fn behind(share: f64, harmonics: &HarmonicFit, noise: f64) -> Self {
        if share <= 0.0 {
            return Self::default();
        }
        // The harmonics are of the whole turn, of which the bridge is smooth: what is seen is stronger by that.
        let seen = 1.0 - share;
        let power: Vec<f64> = (0..harmonics.highest())
            .map(|i| {
                let own = 0.5 * noise * noise * (harmonics.cos_factor[i] + harmonics.sin_factor[i]);
                (0.5 * (harmonics.cos[i].powi(2) + harmonics.sin[i].powi(2)) - own).max(0.0) / seen
            })
            .collect();
        // Half a wave of the gap's width, 2 pi share.
        let followed = (0.5 / share) as usize;
        let first = followed.max(2);
        let above = |upr: usize| power.iter().skip(upr.max(first) - 1).sum::<f64>();
        let in_step = |upr: usize| -> f64 {
            let kept = |other: usize| {
                let turn = PI * share * other.abs_diff(upr) as f64;
                if turn > 1.0 { turn.powi(-4) } else { 1.0 }
            };
            (first..=power.len()).map(|other| power[other - 1] * kept(other)).sum()
        };
        let coefficient = |upr: usize| {
            let moved = if upr <= followed + 1 { OF_LOW * above(upr / 2) } else { OF_FINE * in_step(upr) };
            share * share * moved
        };
        Self {
            coefficients: (0..=power.len()).map(coefficient).collect(),
            mean: 0.5 * coefficient(0) * (1.0 + OF_BRIDGE * share),
            ront: OF_RONT * share * share.sqrt() * above(0),
        }
    }

    /// Variance of either coefficient of a harmonic.
    #[must_use]
    pub fn variance(&self, upr: usize) -> f64 {
        self.coefficients.get(upr).copied().unwrap_or(0.0)
    }

    /// Variance of the mean radius.
    #[must_use]
    pub const fn mean_variance(&self) -> f64 {
        self.mean
    }

    /// Variance of RONt and of its parts.
    #[must_use]
    pub const fn ront_variance(&self) -> f64 {
        self.ront
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::fourier;

    #[test]
    fn nothing_is_hidden_where_all_is_seen_and_more_behind_a_wider_gap() {
        let angles: Vec<f64> = (0..720).map(|i| f64::from(i).to_radians() / 2.0).collect();
        let values: Vec<f64> = angles.iter().map(|a| 0.1 * (9.0 * a).cos()).collect();
        let fit = fourier::fit(&angles, &values, None, 30).unwrap();
        assert_eq!(Hidden::behind(0.0, &fit, 0.0), Hidden::default());
        let [narrow, wide] = [0.08, 0.16].map(|share| Hidden::behind(share, &fit, 0.0));
        // The nine lobes have the power 0.1^2 / 2, all of it in the 0.84 seen: 2.4 x 0.16^2 of it in a low coefficient.
        assert!((wide.variance(1) - 2.4 * 0.16 * 0.16 * 0.005 / 0.84).abs() < 1e-9);
        assert!(narrow.variance(1) < wide.variance(1));
        // 25 lobes turn against nine by 8 rad over half the gap, and have nothing of their own to hide.
        assert!(wide.variance(25) < 1e-3 * wide.variance(1));
    }
}
