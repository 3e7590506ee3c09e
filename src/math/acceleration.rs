//! Short cuts to the end of a slow climb: of a map, such as a step of expectation-maximisation, whose steps shrink so evenly
//! that where they lead can be told from a few of them.

use super::cholesky;

/// Steps of the map that a leap is told from. Told from 5, fits of populations with missing values take up to half as many steps
/// again, from 3 up to twice as many.
const MOST_KNOWN: usize = 8;

/// By this share the squares are raised that the steps' differences are weighed by: those that say the same twice then share.
const RIDGE: f64 = 1e-10;

/// A leap is at first at most so many times as long as the step before it; four times as far once one held back was kept, a fourth
/// after one that was not. Without, one such fit in ten took 440 steps instead of 48.
const FIRST_REACH: f64 = 16.0;
const REACH_FACTOR: f64 = 4.0;

/// One step of the map from a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Where it leads.
    pub next: Vec<f64>,
    /// How far from the end the place was that it was made from: the less the nearer.
    pub loss: f64,
}

/// How a climb is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Climb {
    /// Steps at most.
    pub most: usize,
    /// Share by which a leap may raise the loss and still be kept.
    pub slack: f64,
}

impl Climb {
    /// Repeats `step` from `start` until it rests, leaping ahead after each; gives the last step. `None` if the map fails where
    /// its own steps led.
    ///
    /// `rests` is asked with the loss of one place and of the next. A leap is kept only if the map takes it and the loss there is
    /// within the slack; otherwise the map's own step is made.
    ///
    /// # Example
    /// ```
    /// use tornus::math::acceleration::{Climb, Step};
    /// // Steps towards 1 that each leave 0.99 of the way: two and a leap are there, where plain ones leave 1e-9 after 2,000.
    /// let map = |x: &[f64]| Some(Step { next: vec![1.0 + 0.99 * (x[0] - 1.0)], loss: (x[0] - 1.0).abs() });
    /// let end = Climb { most: 5, slack: 0.0 }.from(vec![0.0], map, |_, loss| loss < 1e-9).unwrap();
    /// assert!((end.next[0] - 1.0).abs() < 1e-9);
    /// ```
    ///
    /// # References
    /// Anderson 1965, Iterative procedures for nonlinear integral equations, doi:10.1145/321296.321305; Henderson & Varadhan
    /// 2019, Damped Anderson acceleration with restarts and monotonicity control for accelerating EM and EM-like algorithms,
    /// doi:10.1080/10618600.2019.1594835 (here without damping).
    pub fn from(
        self,
        start: Vec<f64>,
        mut step: impl FnMut(&[f64]) -> Option<Step>,
        rests: impl Fn(f64, f64) -> bool,
    ) -> Option<Step> {
        let (mut here, mut before, mut made) = (start, f64::INFINITY, 1);
        let (mut reach, mut leapt) = (FIRST_REACH, false);
        let mut last = step(&here)?;
        let mut known: Vec<Pair> = Vec::new();
        while made < self.most {
            // What a leap did not change a step may still: only steps rest.
            let resting = rests(before, last.loss);
            if resting && !leapt {
                break;
            }
            let moved = difference(&last.next, &here);
            let leap = leap(&moved, &known).filter(|_| !resting);
            let tried = leap.is_some();
            let share = leap.as_ref().map_or(1.0, |leap| (reach * length(&moved) / length(leap)).min(1.0));
            let place = leap.map(|leap| last.next.iter().zip(leap).map(|(next, leap)| next + share * leap).collect());
            let landed = place.and_then(|place: Vec<f64>| {
                made += 1;
                Some((step(&place)?, place))
            });
            let kept = landed.filter(|(landed, _)| landed.loss <= last.loss + self.slack * last.loss.abs());
            leapt = kept.is_some();
            if tried && !leapt {
                reach /= REACH_FACTOR;
                known.clear();
            } else if share < 1.0 {
                reach *= REACH_FACTOR;
            }
            let (next, place) = match kept {
                Some(kept) => kept,
                None => {
                    made += 1;
                    (step(&last.next)?, last.next.clone())
                }
            };
            if known.len() == MOST_KNOWN {
                known.remove(0);
            }
            let bend = difference(&difference(&next.next, &place), &moved);
            known.push(Pair { way: difference(&place, &here), bend });
            before = last.loss;
            (last, here) = (next, place);
        }
        Some(last)
    }
}

/// How far apart means, row by row, and covariances of two normals are, in standard deviations and products of them, those of
/// the covariance `scale`: the greatest.
///
/// # Example
/// With standard deviations of 2 and 1 a mean that moved by 1 moved by half of one, a covariance by 0.4 by a fifth of both.
/// ```
/// use tornus::math::acceleration::movement;
/// let (scale, before, after) = ([4.0, 0.0, 0.0, 1.0], [4.0, 0.0, 0.0, 1.0], [4.0, 0.4, 0.4, 1.0]);
/// assert_eq!(movement([&[3.0, 5.0], &[4.0, 5.0]], [&before, &after], &scale), 0.5);
/// assert_eq!(movement([&[3.0, 5.0], &[3.0, 5.0]], [&before, &after], &scale), 0.2);
/// ```
#[must_use]
pub fn movement(means: [&[f64]; 2], covariances: [&[f64]; 2], scale: &[f64]) -> f64 {
    let measures = scale.len().isqrt();
    let spread: Vec<f64> = (0..measures).map(|k| scale[k * measures + k].sqrt()).collect();
    let apart = |[a, b]: [&[f64]; 2], unit: &dyn Fn(usize) -> f64| {
        a.iter().zip(b).enumerate().map(|(at, (a, b))| (a - b).abs() / unit(at)).fold(0.0, f64::max)
    };
    let of_means = apart(means, &|at| spread[at % measures]);
    of_means.max(apart(covariances, &|at| spread[at / measures] * spread[at % measures]))
}

/// How far apart two places were, and by how much the steps from them differed.
struct Pair {
    way: Vec<f64>,
    bend: Vec<f64>,
}

fn difference(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn length(a: &[f64]) -> f64 {
    dot(a, a).sqrt()
}

/// From where the last step, `moved`, led to where the next would be shortest, were steps linear in their places as the known
/// ones show; `None` where nothing is known.
fn leap(moved: &[f64], known: &[Pair]) -> Option<Vec<f64>> {
    let n = known.len();
    let mut gram: Vec<f64> = (0..n * n).map(|at| dot(&known[at / n].bend, &known[at % n].bend)).collect();
    (0..n).for_each(|k| gram[k * n + k] *= 1.0 + RIDGE);
    let mut shares: Vec<f64> = known.iter().map(|pair| dot(&pair.bend, moved)).collect();
    if n == 0 || !cholesky::factorise(&mut gram, n) {
        return None;
    }
    cholesky::solve(&gram, n, &mut shares);
    let mut leap = vec![0.0; moved.len()];
    for (pair, share) in known.iter().zip(shares) {
        let whole = pair.way.iter().zip(&pair.bend);
        leap.iter_mut().zip(whole).for_each(|(cell, (way, bend))| *cell -= share * (way + bend));
    }
    Some(leap)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CLIMB: Climb = Climb { most: 1_000, slack: 1.0 };

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
        let end = CLIMB.from(vec![9.0; 3], counted, |_, loss| loss < 1e-9).unwrap();
        // A step of 1e-9 that shrinks to 0.95 each time is 2e-8 before the end. Plain steps: ln(1e-9 / 0.4) / ln(0.95) = 386.
        assert!(end.next.iter().zip([1.0, -2.0, 3.0]).all(|(a, b)| (a - b).abs() < 2e-8), "{end:?}");
        assert!(made < 20, "{made}"); // three rates: told from as many steps, and again where rounding is left
    }

    #[test]
    fn where_the_map_cannot_be_taken_its_own_steps_are() {
        // Plain steps near 1 from below; the map is not defined beyond it, where some leaps land.
        let map = towards([0.9, 0.5, 0.5]);
        let fenced = |x: &[f64]| if x[0] > 1.0 { None } else { map(x) };
        let end = CLIMB.from(vec![0.0; 3], fenced, |_, loss| loss < 1e-9).unwrap();
        assert!((end.next[0] - 1.0).abs() < 1e-8, "{end:?}");
        let stops = |x: &[f64]| if x[0] > 0.5 { None } else { map(x) };
        assert_eq!(CLIMB.from(vec![0.0; 3], stops, |_, loss| loss < 1e-9), None);
    }

    #[test]
    fn no_more_steps_are_made_than_allowed() {
        for most in 1..12 {
            let mut made = 0;
            let counted = |x: &[f64]| {
                made += 1;
                towards([0.99, 0.9, 0.5])(x)
            };
            Climb { most, slack: 1.0 }.from(vec![9.0; 3], counted, |_, _| false).unwrap();
            assert!(made <= most + 1, "{made} of {most}");
        }
    }
}
