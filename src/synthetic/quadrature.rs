//! Gauss-Legendre quadrature.

/// Nodes and weights on [-1, 1] of the 8-point rule, positive half.
///
/// # References
/// Abramowitz & Stegun 1964, Handbook of Mathematical Functions, table 25.4.
const NODES_AND_WEIGHTS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// Panels per interval: with 8 points each the fades and blends along a meridian come out to better than 1e-9.
const PANELS: u32 = 16;

/// Integral of a smooth function from `low` to `high`.
pub(super) fn integrate(low: f64, high: f64, integrand: impl Fn(f64) -> f64) -> f64 {
    let half = 0.5 * (high - low) / f64::from(PANELS);
    let mut sum = 0.0;
    for panel in 0..PANELS {
        let middle = low + half * f64::from(2 * panel + 1);
        for (node, weight) in NODES_AND_WEIGHTS {
            sum += weight * (integrand(middle - half * node) + integrand(middle + half * node));
        }
    }
    sum * half
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sine_over_half_a_period_is_two() {
        assert!((integrate(0.0, std::f64::consts::PI, f64::sin) - 2.0).abs() < 1e-13);
    }
}
