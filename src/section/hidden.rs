//! What a gap in a section may hide.

use crate::math::fourier::HarmonicFit;

/// What of a deviation's standard deviation within the gap goes into RONt, times the root of the gap's share (project: with
/// it the intervals of 325 sections with gaps of 10 to 60 degrees held the truth in 89 to 98 of 100, by kind of noise).
const OF_RONT: f64 = 2.0;

/// By how much the bridge's own error adds to the mean's variance, times the gap's share (project: with it the radii of 400
/// sections held the truth in 92 to 96 of 100 with gaps of 30 to 115 degrees, without it in 78 with the widest).
const OF_BRIDGE: f64 = 2.5;

/// What the unseen part of a section adds to its variances, mm2.
///
/// A bridge follows waves longer than twice the gap; shorter ones go on behind it unseen, as strong as they are elsewhere.
/// Seen as one deviation of that strength over the gap, of share g, it moves a coefficient of any lower harmonic by
/// root 2 times g of it; of a harmonic's own power the share g stays unknown.
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
        let power: Vec<f64> = (0..harmonics.highest())
            .map(|i| {
                let own = 0.5 * noise * noise * (harmonics.cos_factor[i] + harmonics.sin_factor[i]);
                (0.5 * (harmonics.cos[i].powi(2) + harmonics.sin[i].powi(2)) - own).max(0.0)
            })
            .collect();
        // Half a wave of the gap's width, 2 pi share.
        let first = (0.5 / share).max(2.0) as usize;
        let above = |upr: usize| power.iter().skip(upr.max(first) - 1).sum::<f64>();
        let coefficient = |upr: usize| {
            let own = if upr > 0 { power[upr - 1] } else { 0.0 };
            2.0 * share * share * above(upr / 2) + if upr >= first { share * own } else { 0.0 }
        };
        Self {
            coefficients: (0..=power.len()).map(coefficient).collect(),
            mean: 0.5 * coefficient(0) * (1.0 + OF_BRIDGE * share),
            ront: OF_RONT * OF_RONT * share * above(0),
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
        // The nine lobes have the power 0.1^2 / 2: 2 x 0.16^2 of it in a low coefficient.
        assert!((wide.variance(1) - 2.0 * 0.16 * 0.16 * 0.005).abs() < 1e-9);
        assert!(narrow.variance(1) < wide.variance(1));
        // 25 lobes are not moved by what nine may hide, and have nothing of their own to hide.
        assert!(wide.variance(25) < 1e-12);
    }
}
