//! Where a condition ceases to hold, and where a function that falls passes nought.

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

/// Steps at most; where the function is smooth, six to ten suffice.
const MOST_STEPS: usize = 200;

/// Where a falling `function` passes nought between `low` and `high`, to `tolerance`; an end, where it does not between them.
///
/// Where halving would ask some fifty times, this asks some eight times: it goes where the parabola through the last three
/// values, as the place over the value, is nought, and halves where that cannot be trusted.
///
/// # Example
/// ```
/// use tornus::math::bisection::root;
/// assert!((root(|x| 2.0 - x * x, 0.0, 2.0, 1e-14) - 2.0_f64.sqrt()).abs() < 1e-14);
/// ```
///
/// # References
/// Chandrupatla 1997, A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function (from memory).
pub fn root(function: impl Fn(f64) -> f64, low: f64, high: f64, tolerance: f64) -> f64 {
    // The last place and value, the one with the other sign, and the one before.
    let (mut new, mut other) = ((low, function(low)), (high, function(high)));
    if new.1 <= 0.0 {
        return low;
    }
    if other.1 > 0.0 {
        return high;
    }
    let mut share = 0.5;
    for _ in 0..MOST_STEPS {
        let place = new.0 + share * (other.0 - new.0);
        let before = new;
        new = (place, function(place));
        let third = if (new.1 > 0.0) == (before.1 > 0.0) { before } else { std::mem::replace(&mut other, before) };
        let width = (other.0 - new.0).abs();
        let nearest = if new.1.abs() < other.1.abs() { new } else { other };
        if nearest.1.abs() <= 0.0 || width <= 2.0 * tolerance {
            return nearest.0;
        }
        let (x, y) = ((new.0 - other.0) / (third.0 - other.0), (new.1 - other.1) / (third.1 - other.1));
        share = if y * y < x && (1.0 - y) * (1.0 - y) < 1.0 - x {
            let (a, b, c) = (new, other, third);
            a.1 / (b.1 - a.1) * c.1 / (b.1 - c.1) + (c.0 - a.0) / (b.0 - a.0) * a.1 / (c.1 - a.1) * b.1 / (c.1 - b.1)
        } else {
            0.5
        };
        let least = tolerance / width;
        share = share.clamp(least, 1.0 - least);
    }
    new.0
}

#[cfg(test)]
mod tests {
    use super::*;

    type Function = fn(f64) -> f64;

    #[test]
    fn roots_are_found_in_few_steps_and_to_the_tolerance() {
        let functions: [(Function, f64); 5] = [
            (|x| 1.0 - x, 1.0),
            (|x| (-x).exp() - 0.5, 2.0_f64.ln()),
            (|x| -(x - 0.3).powi(3), 0.3),
            (|x| if x < 0.7 { 1.0 } else { -1e-3 }, 0.7),
            (|x| 1.0 / (x + 1e-3) - 1.0, 0.999),
        ];
        for (at, (function, wanted)) in functions.into_iter().enumerate() {
            let asked = std::cell::Cell::new(0);
            let counted = |x: f64| {
                asked.set(asked.get() + 1);
                function(x)
            };
            let found = root(counted, 0.0, 2.0, 1e-12);
            // Of a root of the third order the value is nought long before the place is exact.
            assert!((found - wanted).abs() < if at == 2 { 1e-5 } else { 3e-12 }, "{at}: {found}");
            assert!(asked.get() <= if [2, 3].contains(&at) { 130 } else { 20 }, "{at}: {}", asked.get());
        }
        assert!((root(|_| 1.0, 0.0, 2.0, 1e-9) - 2.0).abs() < 1e-15 && root(|_| -1.0, 0.0, 2.0, 1e-9).abs() < 1e-15);
    }

    #[test]
    fn a_condition_that_always_or_never_holds_ends_at_an_end() {
        assert!((crossing(|_| true, 1.0, 3.0) - 3.0).abs() < 1e-15);
        assert!((crossing(|_| false, 1.0, 3.0) - 1.0).abs() < 1e-15);
    }
}
