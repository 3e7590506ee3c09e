//! How smoothly points lie round the vessel: noise of their own makes neighbours as unlike as any others, a kernel makes
//! them alike over its length.
//!
//! Of a surface that is smooth over a distance h the mean squared difference over 2 h is four times that over h; where points
//! have noise of their own it is the same, and for lobes whose amplitude falls as UPR to the power -1.3 it is three times. The
//! meridian's own errors, which hide a long kernel along the meridian, are the same all round.

use super::variogram::LAGS;

/// Distances looked at, in pitches, each with its double.
const REACHES: [usize; 5] = [1, 2, 3, 4, 8];

/// White share of a difference over one distance from which the surface is not smooth over it (project; noise smoothed over
/// three quarters of the distance has a half, over one and a half times an eighth).
const ROUGH: f64 = 0.12;

/// Least share looked for: below, it is as good as none.
const LEAST: f64 = 0.03;

/// Standard deviation in pitches of the kernel that white noise would be as smooth by; `None` with too few pairs.
///
/// Lobes that are smoothed themselves begin with the sixteenth and limit what can be told: of a kernel of R / 25 three quarters
/// are found, of R / 12 two fifths (36 simulated walls each).
pub(super) fn kernel_pitches(round: &[Option<(f64, usize)>]) -> Option<f64> {
    let at = |reach: usize| semivariance_at(round, reach);
    let mut longest = None;
    for reach in REACHES {
        let (Some(near), Some(far)) = (at(reach), at(2 * reach)) else { break };
        let white = white_share(reach, near, far);
        longest = Some(kernel_with(reach, white.max(LEAST)));
        if white > ROUGH {
            break;
        }
    }
    longest
}

/// Variance of the noise that points have of their own, mm2: what is left of their differences round the vessel at no distance, at
/// most, for lobes leave something too; `None` with too few pairs.
pub(super) fn own_noise(round: &[Option<(f64, usize)>]) -> Option<f64> {
    let [near, far] = [1, 2].map(|reach| semivariance_at(round, reach));
    Some((white_share(1, near?, far?) * near?).max(0.0))
}

fn semivariance_at(round: &[Option<(f64, usize)>], reach: usize) -> Option<f64> {
    round[LAGS.iter().position(|lag| *lag == reach)?].map(|(value, _)| value)
}

/// What is left of a semivariance at no distance, as a share of that at `reach`, if the rest grows with the square.
fn white_share(reach: usize, near: f64, far: f64) -> f64 {
    let growth = mean_square(2 * reach) / mean_square(reach);
    if near > 0.0 { (growth * near - far) / ((growth - 1.0) * near) } else { 0.0 }
}

/// Mean squared distance of pairs within half a pitch of a lag, pitches squared.
fn mean_square(lag: usize) -> f64 {
    (lag * lag) as f64 + 1.0 / 12.0
}

/// The kernel, in pitches, after which white noise has this white share at a reach.
fn kernel_with(reach: usize, share: f64) -> f64 {
    /// Halvings of the logarithm of what lies between.
    const CUTS: usize = 30;
    let (mut short, mut long) = (0.2 * reach as f64, 4.0 * reach as f64);
    for _ in 0..CUTS {
        let middle = (short * long).sqrt();
        let of = |lag: usize| smoothed(lag, middle);
        if white_share(reach, of(reach), of(2 * reach)) > share { short = middle } else { long = middle }
    }
    short
}

/// Semivariance of white noise smoothed with a kernel, as a share of its variance, over pairs within half a pitch of a lag.
fn smoothed(lag: usize, kernel: f64) -> f64 {
    const PARTS: usize = 10;
    let distance = |part: usize| lag as f64 - 0.5 + (part as f64 + 0.5) / PARTS as f64;
    let at = |part: usize| -(-0.25 * (distance(part) / kernel).powi(2)).exp_m1();
    (0..PARTS).map(at).sum::<f64>() / PARTS as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn variogram(of: impl Fn(usize) -> f64) -> Vec<Option<(f64, usize)>> {
        LAGS.iter().map(|&lag| Some((of(lag), 1000))).collect()
    }

    #[test]
    fn white_noise_has_no_kernel() {
        assert!(kernel_pitches(&variogram(|_| 1.0)).unwrap() < 0.25);
    }

    #[test]
    fn own_noise_is_told_from_what_grows_with_the_square() {
        // Windows of a pitch: a square's mean is greater by a twelfth.
        let found = own_noise(&variogram(|lag| 3.0 + 0.5 * mean_square(lag))).unwrap();
        assert!((found - 3.0).abs() < 1e-12, "{found}");
    }

    #[test]
    fn noise_beneath_lobes_is_no_less_than_it_is() {
        // Amplitudes as UPR to the power -1.3: squared differences grow as the distance to the power 1.6.
        let found = own_noise(&variogram(|lag| 1.0 + 4.0 * (lag as f64).powf(1.6))).unwrap();
        assert!((1.0..2.5).contains(&found), "{found}");
    }

    #[test]
    fn the_kernel_of_smoothed_noise_is_found() {
        for kernel in [0.7, 1.0, 2.0, 5.0] {
            let found = kernel_pitches(&variogram(|lag| smoothed(lag, kernel))).unwrap();
            assert!((found / kernel - 1.0).abs() < 0.1, "{found} of {kernel}");
        }
    }
}
