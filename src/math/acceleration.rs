//! Short cuts to the end of a slow climb: of a map, such as a step of expectation-maximisation, whose steps all shrink by much
//! the same share, so that where they lead can be told from three of its places.

/// One step of the map from a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Where it leads.
    pub next: Vec<f64>,
    /// How far from the end the place was that it was made from: the less the nearer.
    pub loss: f64,
}

/// Repeats `step` from `start` until it rests, leaping ahead after every two steps; at most `most` steps. Gives the last step;
/// `None` if the map fails where its own steps led.
///
/// `rests` is asked with the loss of one place and of the next. A leap is kept only if the map takes it and the loss there is
/// no greater than before it, so that a map whose steps lead to an end leads there from anywhere it is left.
///
/// # Example
/// ```
/// use tornus::math::acceleration::{Step, accelerated};
/// // Steps towards 1 that each leave 0.99 of the way: two and a leap are there, where plain ones leave 1e-9 after 2,000.
/// let map = |x: &[f64]| Some(Step { next: vec![1.0 + 0.99 * (x[0] - 1.0)], loss: (x[0] - 1.0).abs() });
/// let end = accelerated(vec![0.0], 5, map, |_, loss| loss < 1e-9).unwrap();
/// assert!((end.next[0] - 1.0).abs() < 1e-9);
/// ```
///
/// # References
/// Varadhan & Roland 2008, Simple and globally convergent methods for accelerating the convergence of any EM algorithm,
/// doi:10.1111/j.1467-9469.2007.00585.x: squared extrapolation, step length S3; here without the step after a leap.
pub fn accelerated(
    start: Vec<f64>,
    most: usize,
    mut step: impl FnMut(&[f64]) -> Option<Step>,
    rests: impl Fn(f64, f64) -> bool,
) -> Option<Step> {
    let (mut here, mut before, mut made) = (start, f64::INFINITY, 1);
    let mut first = step(&here)?;
    while made < most && !rests(before, first.loss) {
        let second = step(&first.next)?;
        made += 1;
        if made >= most || rests(first.loss, second.loss) {
            return Some(second);
        }
        let landed = leap(&here, &first.next, &second.next).and_then(|place| {
            made += 1;
            Some((step(&place)?, place))
        });
        before = second.loss;
        (first, here) = match landed {
            Some((landed, place)) if landed.loss <= before => (landed, place),
            _ => {
                made += 1;
                (step(&second.next)?, second.next)
            }
        };
    }
    Some(first)
}

/// Where two steps on from `start` point to; `None` where that is no farther than they went.
fn leap(start: &[f64], first: &[f64], second: &[f64]) -> Option<Vec<f64>> {
    let places = || start.iter().zip(first).zip(second);
    let (mut step, mut bend) = (0.0, 0.0);
    for ((a, b), c) in places() {
        step += (b - a) * (b - a);
        bend += (c - 2.0 * b + a) * (c - 2.0 * b + a);
    }
    let reach = (step / bend).sqrt();
    let at = |((a, b), c): ((&f64, &f64), &f64)| a + 2.0 * reach * (b - a) + reach * reach * (c - 2.0 * b + a);
    (reach > 1.0 && reach.is_finite()).then(|| places().map(at).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A map towards (1, -2, 3) that leaves these shares of the way in each direction.
    fn towards(shares: [f64; 3]) -> impl Fn(&[f64]) -> Option<Step> {
        const END: [f64; 3] = [1.0, -2.0, 3.0];
        move |x| {
            let next: Vec<f64> = (0..3).map(|k| END[k] + shares[k] * (x[k] - END[k])).collect();
            let loss = next.iter().zip(x).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            Some(Step { next, loss })
        }
    }

    #[test]
    fn several_rates_end_where_plain_steps_do_and_sooner() {
        let map = towards([0.95, 0.8, 0.3]);
        let mut made = 0;
        let counted = |x: &[f64]| {
            made += 1;
            map(x)
        };
        let end = accelerated(vec![9.0; 3], 1_000, counted, |_, loss| loss < 1e-9).unwrap();
        // A step of 1e-9 that shrinks to 0.95 each time is 2e-8 before the end. Plain steps: ln(1e-9 / 0.4) / ln(0.95) = 386.
        assert!(end.next.iter().zip([1.0, -2.0, 3.0]).all(|(a, b)| (a - b).abs() < 2e-8), "{end:?}");
        assert!(made < 100, "{made}");
    }

    #[test]
    fn where_the_map_cannot_be_taken_its_own_steps_are() {
        // Plain steps near 1 from below; the map is not defined beyond it, where some leaps land.
        let map = towards([0.9, 0.5, 0.5]);
        let fenced = |x: &[f64]| if x[0] > 1.0 { None } else { map(x) };
        let end = accelerated(vec![0.0; 3], 1_000, fenced, |_, loss| loss < 1e-9).unwrap();
        assert!((end.next[0] - 1.0).abs() < 1e-8, "{end:?}");
        let stops = |x: &[f64]| if x[0] > 0.5 { None } else { map(x) };
        assert_eq!(accelerated(vec![0.0; 3], 1_000, stops, |_, loss| loss < 1e-9), None);
    }

    #[test]
    fn no_more_steps_are_made_than_allowed() {
        for most in 1..12 {
            let mut made = 0;
            let counted = |x: &[f64]| {
                made += 1;
                towards([0.99, 0.9, 0.5])(x)
            };
            accelerated(vec![9.0; 3], most, counted, |_, _| false).unwrap();
            assert!(made <= most + 1, "{made} of {most}");
        }
    }
}
