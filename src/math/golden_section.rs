//! Where a function of one number is least.

/// Less the golden ratio's inverse from 1: the share of the longer part a step of the golden section goes into.
const SECTION: f64 = 0.381_966_011_250_105_1;

/// Steps at most: by golden section alone the interval shrinks by 0.618^60 = 3e-13, beyond which rounding decides.
const STEPS: usize = 60;

/// Share of the interval to which the place is found; a function's own rounding hides less than about 1e-8 of it.
const TOLERANCE: f64 = 2e-10;

/// Where `function` is least between `low` and `high`, for a function that falls and then rises.
///
/// Golden section, hurried by the parabola through the three least values where that falls within the interval and its steps
/// shrink: some fifteen values where the function is smooth. Of a function with several valleys, one of them.
///
/// # Example
/// ```
/// use tornus::math::golden_section::least;
/// assert!((least(|x| (x - 2.0) * (x - 2.0), 0.0, 5.0) - 2.0).abs() < 1e-7); // the square root of rounding, 1e-16
/// ```
///
/// # References
/// Kiefer 1953, Sequential minimax search for a maximum; Brent 1973, Algorithms for minimization without derivatives, ch. 5.
pub fn least(function: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let tolerance = TOLERANCE * (high - low);
    let (mut low, mut high) = (low, high);
    let start = low + SECTION * (high - low);
    // The places of the least value, the second least, and the second least before.
    let mut best = (start, function(start));
    let (mut second, mut third) = (best, best);
    let (mut step, mut step_before) = (0.0_f64, 0.0_f64);
    for _ in 0..STEPS {
        let middle = 0.5 * (low + high);
        if (best.0 - middle).abs() <= 2.0 * tolerance - 0.5 * (high - low) {
            break;
        }
        let parabola = vertex(best, second, third).map(|place| place - best.0);
        let trusted = |step: &f64| {
            step.abs() < 0.5 * step_before.abs() && (low + tolerance..high - tolerance).contains(&(best.0 + step))
        };
        (step, step_before) = match parabola.filter(trusted) {
            Some(parabola) => (parabola, step),
            None => {
                let longer = if best.0 < middle { high - best.0 } else { low - best.0 };
                (SECTION * longer, longer)
            }
        };
        let place = best.0 + if step.abs() < tolerance { tolerance.copysign(step) } else { step };
        let new = (place, function(place));
        if new.1 <= best.1 {
            if place < best.0 {
                high = best.0
            } else {
                low = best.0
            }
            (third, second, best) = (second, best, new);
            continue;
        }
        if place < best.0 {
            low = place
        } else {
            high = place
        }
        let same = |a: f64, b: f64| (a - b).abs() <= 0.0;
        if new.1 <= second.1 || same(second.0, best.0) {
            (third, second) = (second, new);
        } else if new.1 <= third.1 || same(third.0, best.0) || same(third.0, second.0) {
            third = new;
        }
    }
    best.0
}

/// Where the parabola through three places and values turns; `None` where two are the same or they lie on a line.
fn vertex(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> Option<f64> {
    let (one, other) = ((a.0 - b.0) * (a.1 - c.1), (a.0 - c.0) * (a.1 - b.1));
    let turns = 2.0 * (one - other);
    (turns.abs() > 0.0)
        .then(|| a.0 - ((a.0 - b.0) * one - (a.0 - c.0) * other) / turns)
        .filter(|place| place.is_finite())
}

#[cfg(test)]
mod tests {
    use super::least;

    type Function = fn(f64) -> f64;

    #[test]
    fn few_values_suffice_and_corners_are_found() {
        let functions: [(Function, f64, f64, u32); 3] = [
            (|x| x.exp() - 2.0 * x, 2.0_f64.ln(), 1e-7, 25),
            (|x| (x - 0.3).powi(4), 0.3, 1e-3, 62),
            (|x| (x - 0.7).abs(), 0.7, 1e-8, 62),
        ];
        for (at, (function, wanted, tolerance, most)) in functions.into_iter().enumerate() {
            let asked = std::cell::Cell::new(0);
            let counted = |x: f64| {
                asked.set(asked.get() + 1);
                function(x)
            };
            let found = least(counted, 0.0, 2.0);
            assert!((found - wanted).abs() < tolerance && asked.get() <= most, "{at}: {found} {}", asked.get());
        }
    }

    #[test]
    fn a_function_that_only_falls_is_least_at_its_end() {
        assert!((least(|x| -x, 1.0, 3.0) - 3.0).abs() < 1e-9);
        assert!((least(|x| x, 1.0, 3.0) - 1.0).abs() < 1e-9);
    }
}
