//! The part of the harmonics that stands out of the noise.

/// Cosine and sine coefficients of harmonics 1, 2, ..
#[derive(Clone, Debug)]
pub(super) struct Coefficients {
    pub(super) cos: Vec<f64>,
    pub(super) sin: Vec<f64>,
}

/// Harmonics below this one are judged one by one; above, in bands half an octave wide. Project: low harmonics of turned
/// work differ from each other by orders of magnitude, high ones form a smooth spectrum.
const FIRST_BAND: usize = 8;

/// A band counts where its power exceeds the noise's by this many standard deviations of the noise's power.
///
/// Chosen by simulation (tests/it/roundness): with 0 a third of the noise's own range is taken for the vessel's, with 2
/// a tenth, with 3 weak but real harmonics are lost.
const THRESHOLD: f64 = 2.0;

/// The coefficients with each band shrunk by the share of its power that is not noise, or set to 0.
///
/// `variances[n - 1]` is the variance of either coefficient of harmonic n.
pub(super) fn denoised(found: &Coefficients, variances: &[f64]) -> Coefficients {
    let highest = found.cos.len();
    let mut clean = found.clone();
    let mut first = 1;
    while first <= highest {
        let width = if first < FIRST_BAND { 1 } else { first / 2 };
        let band = first - 1..(first + width - 1).min(highest);
        let power: f64 = band.clone().map(|i| found.cos[i] * found.cos[i] + found.sin[i] * found.sin[i]).sum();
        let noise: f64 = band.clone().map(|i| 2.0 * variances[i]).sum();
        // A sum of squares of two normals of variance V has mean 2 V and variance 4 V^2.
        let spread = band.clone().map(|i| 4.0 * variances[i] * variances[i]).sum::<f64>().sqrt();
        let share = if power > noise + THRESHOLD * spread { ((power - noise) / power).sqrt() } else { 0.0 };
        for i in band {
            clean.cos[i] *= share;
            clean.sin[i] *= share;
        }
        first += width;
    }
    clean
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_goes_and_lobes_stay() {
        let mut found = Coefficients { cos: vec![0.01; 40], sin: vec![0.01; 40] };
        found.cos[2] = 1.0;
        let clean = denoised(&found, &[1e-4; 40]);
        assert!((clean.cos[2] - 1.0).abs() < 2e-4);
        assert!(clean.cos.iter().enumerate().all(|(i, a)| i == 2 || a.abs() < 1e-12));
    }

    #[test]
    fn without_noise_nothing_changes() {
        let found = Coefficients { cos: vec![0.01, 0.0, 0.3], sin: vec![0.0, 0.0, 0.1] };
        let clean = denoised(&found, &[0.0; 3]);
        assert_eq!((clean.cos, clean.sin), (found.cos, found.sin));
    }
}
