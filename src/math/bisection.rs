//! Where a condition ceases to hold.

/// Halvings: the interval shrinks by 2^64, beyond the rounding of any number in it.
const HALVINGS: usize = 64;

/// The place between `low` and `high` up to which `below` holds, for a condition that holds first and then does not.
///
/// # Example
/// ```
/// use tornus::math::bisection::crossing;
/// assert!((crossing(|x| x * x < 2.0, 0.0, 2.0) - 2.0_f64.sqrt()).abs() < 1e-15);
/// ```
pub fn crossing(below: impl Fn(f64) -> bool, low: f64, high: f64) -> f64 {
    let (mut low, mut high) = (low, high);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if below(middle) { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_condition_that_always_or_never_holds_ends_at_an_end() {
        assert!((crossing(|_| true, 1.0, 3.0) - 3.0).abs() < 1e-15);
        assert!((crossing(|_| false, 1.0, 3.0) - 1.0).abs() < 1e-15);
    }
}
