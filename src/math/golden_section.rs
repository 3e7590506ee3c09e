//! Where a function of one number is least.

/// The golden ratio less one: the share of the interval each step keeps.
const KEPT: f64 = 0.618_033_988_749_894_9;

/// Steps: the interval shrinks by 0.618^60 = 3e-13, beyond which rounding decides.
const STEPS: usize = 60;

/// Where `function` is least between `low` and `high`, for a function that falls and then rises.
///
/// Of a function with several valleys, one of them.
///
/// # Example
/// ```
/// use tornus::math::golden_section::least;
/// assert!((least(|x| (x - 2.0) * (x - 2.0), 0.0, 5.0) - 2.0).abs() < 1e-7); // the square root of rounding, 1e-16
/// ```
///
/// # References
/// Kiefer 1953, Sequential minimax search for a maximum.
pub fn least(function: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let (mut low, mut high) = (low, high);
    let (mut left, mut right) = (high - KEPT * (high - low), low + KEPT * (high - low));
    let (mut at_left, mut at_right) = (function(left), function(right));
    for _ in 0..STEPS {
        if at_left <= at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - KEPT * (high - low);
            at_left = function(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + KEPT * (high - low);
            at_right = function(right);
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::least;

    #[test]
    fn a_function_that_only_falls_is_least_at_its_end() {
        assert!((least(|x| -x, 1.0, 3.0) - 3.0).abs() < 1e-9);
        assert!((least(|x| x, 1.0, 3.0) - 1.0).abs() < 1e-9);
    }
}
