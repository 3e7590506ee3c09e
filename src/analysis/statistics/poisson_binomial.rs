//! How many of several unlike chances come true.

/// Probability that more than `count`, and that exactly `count`, of independent events with these probabilities happen.
///
/// Sums of positive terms only, so that a tail of 1e-200 keeps its digits; the work is events x count.
///
/// # Example
/// ```
/// use tornus::analysis::statistics::poisson_binomial;
/// // chances 1/2 and 1/4: both 1/8; exactly one 1/2 x 3/4 + 1/2 x 1/4 = 1/2
/// let (above, equal) = poisson_binomial(&[0.5, 0.25], 1);
/// assert!((above - 0.125).abs() < 1e-15 && (equal - 0.5).abs() < 1e-15);
/// ```
///
/// # References
/// Wang 1993, On the number of successes in independent trials (the distribution; the recursion is elementary).
#[must_use]
pub fn poisson_binomial(probabilities: &[f64], count: usize) -> (f64, f64) {
    let mut exactly = vec![0.0; count + 1];
    exactly[0] = 1.0;
    let mut above = 0.0;
    for (tried, &p) in probabilities.iter().enumerate() {
        above += p * exactly[count];
        // No more can have come true than were tried.
        for k in (1..=count.min(tried + 1)).rev() {
            exactly[k] = exactly[k] * (1.0 - p) + exactly[k - 1] * p;
        }
        exactly[0] *= 1.0 - p;
    }
    (above, exactly[count])
}

/// Above this many uniforms their sum is taken as normal: the alternating sum would lose its digits, and the normal is
/// within 0.001 of it.
const MOST_UNIFORMS: usize = 15;

/// Probability that the sum of `count` independent uniforms on 0..1 is at least `sum`.
///
/// # Example
/// ```
/// use tornus::analysis::statistics::uniform_sum_above;
/// assert!((uniform_sum_above(2, 1.5) - 0.125).abs() < 1e-15); // the triangle of sides 1/2 in the unit square
/// ```
///
/// # References
/// Hall 1927, Irwin 1927: the distribution of means of samples from a rectangular population (from memory).
#[must_use]
pub fn uniform_sum_above(count: usize, sum: f64) -> f64 {
    let n = count as f64;
    if sum <= 0.0 {
        return 1.0;
    }
    if sum >= n {
        return 0.0;
    }
    if count > MOST_UNIFORMS {
        return crate::math::density::normal_cdf((0.5 * n - sum) / (n / 12.0).sqrt());
    }
    // The shorter tail has the fewer terms: the sum of the complements is as likely to be small as the sum to be large.
    if sum > 0.5 * n { uniform_sum_below(count, n - sum) } else { 1.0 - uniform_sum_below(count, sum) }
}

fn uniform_sum_below(count: usize, sum: f64) -> f64 {
    let n = count as i32;
    let (mut total, mut choose, mut factorial) = (0.0, 1.0, 1.0);
    for k in 0..=count {
        let rest = sum - k as f64;
        if rest > 0.0 {
            total += if k % 2 == 0 { choose } else { -choose } * rest.powi(n);
        }
        choose *= (count - k) as f64 / (k + 1) as f64;
        factorial *= if k > 0 { k as f64 } else { 1.0 };
    }
    (total / factorial).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_chances_are_binomial() {
        // 10 throws of a coin: more than 8 heads 11/1024, exactly 8 45/1024
        let (above, equal) = poisson_binomial(&[0.5; 10], 8);
        assert!((above - 11.0 / 1024.0).abs() < 1e-15 && (equal - 45.0 / 1024.0).abs() < 1e-15);
        assert_eq!(poisson_binomial(&[], 0), (0.0, 1.0));
        assert_eq!(poisson_binomial(&[1.0, 0.0], 1), (0.0, 1.0));
    }

    #[test]
    fn far_tails_keep_their_digits() {
        let (above, _) = poisson_binomial(&[1e-3; 20], 19);
        assert!((above / 1e-60 - 1.0).abs() < 1e-9);
    }

    #[test]
    fn sums_of_uniforms_follow_their_symmetry() {
        for count in [1, 3, 7, 15] {
            for part in [0.1, 0.3, 0.5, 0.8] {
                let at = part * count as f64;
                let both = uniform_sum_above(count, at) + uniform_sum_above(count, count as f64 - at);
                assert!((both - 1.0).abs() < 1e-9, "{count} {part} {both}");
            }
        }
        assert!((uniform_sum_above(3, 2.5) - 1.0 / 48.0).abs() < 1e-12); // a corner of side 1/2: (1/2)^3 / 3!
        assert_eq!((uniform_sum_above(0, 0.0), uniform_sum_above(4, 4.0)), (1.0, 0.0));
        assert!((uniform_sum_above(15, 9.5) - uniform_sum_above(16, 10.0)).abs() < 0.03); // joins the normal
    }
}
